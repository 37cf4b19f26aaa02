"""Nothing is promised past an open variant: what has to be settled or chosen first, and how."""

from __future__ import annotations

from collections.abc import Sequence

from kitting.actions import Action, NextStep, next_step
from kitting.errors import KittingError
from kitting.facts.words import SettledBy
from kitting.views.plan import PlanView
from kitting.views.plan_stops import UnresolvedView


def refuse_open(
    planned: PlanView,
    model: str | None = None,
    what: str = "be booked for",
    booking: str | None = None,
) -> None:
    """Raise KittingError while work or a part that is fetched waits for a variant.

    Where only spares of what goes back are not known, the rest goes on. `what` cannot be done of
    these jobs; `model` is its code where no car is named, `booking` the number of the booking that
    has them.
    """
    asked = [one for one in planned.unresolved if not one.only_looks]
    if not asked:
        return
    car = planned.vehicle.registration
    steps = [_settling(one, car, booking) for one in asked]
    checks = "; ".join(f"{one.question} {one.check}" for one in asked)
    if all(one.settled_by is SettledBy.CUSTOMER for one in asked):
        raise KittingError(
            "{called} cannot {what} these jobs before the customer has chosen: {rstrip}. {offered}",
            called=planned.vehicle.called,
            what=what,
            rstrip=checks.rstrip(". "),
            offered=_offered(asked),
            then=steps,
        )
    if not car:
        named = {} if model is None else {"model": model}
        raise KittingError(
            "{called}: for these jobs the car has to be known: {rstrip}. Once that is settled"
            " name the car instead of its model",
            called=planned.vehicle.called,
            rstrip=checks.rstrip(". "),
            then=[next_step(Action.ADD_CAR, **named), *steps],
        )
    raise KittingError(
        "{car} cannot {what} these jobs yet: {checks}",
        car=car,
        what=what,
        checks=checks,
        then=steps,
    )


def _offered(asked: Sequence[UnresolvedView]) -> str:
    """What there is to choose: "pads: plain (as fitted), long (long-life pads)"."""
    return "; ".join(
        f"{one.split}: " + ", ".join(f"{option.code} ({option.name})" for option in one.options)
        for one in asked
    )


def _settling(one: UnresolvedView, car: str, booking: str | None) -> NextStep:
    """How a split is settled: at the car, or by the customer for this booking."""
    if one.settled_by is SettledBy.CAR:
        where = {"registration": f'"{car}"'} if car else {}
        return next_step(Action.SETTLE_VARIANT, **where, variant=one.split)
    if booking is None:
        return next_step(Action.CHOOSE_ONE, variant=one.split)
    return next_step(Action.CHANGE_CHOICE, booking=booking, variant=one.split)
