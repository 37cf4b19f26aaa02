"""What a booking was planned to take, kept with it, so that a change of the catalogue shows."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping

from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity
from kitting.services.db.reason_text import reason_as_text, reason_of_text
from kitting.views.bookings import CatalogueChange, PlannedThing, PlannedValue
from kitting.views.plan import LineView, PlanView, PositionView, TighteningView

_KINDS = (PlannedThing, PlannedValue)


def _entries(plan: PlanView) -> Iterator[tuple[Reason, Reason]]:
    """Everything of a plan that the catalogue decides: things, and what is said of each."""
    for line in plan.lines:
        for place in line.positions:
            yield _at(PlannedThing.PART, line.item, place), _part(line, place)
        if not line.positions:
            yield because(PlannedThing.ITEM, item=line.item), _amount(line.to_take, line.unit)
    for use in plan.uses:
        yield because(PlannedThing.ITEM, item=use.item), _amount(use.quantity, use.unit)
    for row in plan.tightenings:
        yield _at(PlannedThing.FIGURE, row.item, row), _figure(row)
    for step in plan.steps:
        yield because(PlannedThing.STEP, step=step.code), _hours(step.hours)
    for licence in plan.licences:
        asked_by = because(PlannedValue.ASKED_BY, places=licence.asked_by)
        yield because(PlannedThing.LICENCE, licence=licence.name), asked_by
    for split in plan.unresolved:
        yield because(PlannedThing.VARIANT, variant=split.split), because(PlannedValue.OPEN)


def _at(code: PlannedThing, item: str, place: PositionView | TighteningView) -> Reason:
    return because(code, item=item, joint=place.joint, position=place.position)


def _amount(thousandths: int, unit: str) -> Reason:
    return because(PlannedValue.AMOUNT, amount=Quantity(thousandths, unit))


def _hours(thousandths: int) -> Reason:
    return because(PlannedValue.HOURS, hours=Quantity(thousandths, "each"))


def _part(line: LineView, place: PositionView) -> Reason:
    return because(
        PlannedValue.PART,
        amount=Quantity(place.quantity, line.unit),
        rule=line.rule,
        criterion=line.criterion or "–",
    )


def _figure(row: TighteningView) -> Reason:
    return because(
        PlannedValue.FIGURE,
        stages=tuple(map(str, row.stages)) or ("?",),
        state=row.thread_state,
        pattern=row.pattern or "–",
        source=row.source or "–",
    )


def as_text(plan: PlanView) -> str:
    """The entries of a plan as JSON text."""
    return json.dumps(_texts(plan), ensure_ascii=False)


def _texts(plan: PlanView) -> dict[str, str]:
    found: dict[str, str] = {}
    for thing, value in _entries(plan):
        key, said = reason_as_text(thing), reason_as_text(value)
        # One item may be at a position under two rules.
        found[key] = f"{found[key]}\n{said}" if key in found else said
    return found


def changes(planned: str, now: PlanView) -> tuple[Reason, ...]:
    """What differs between what was planned (JSON text) and a plan of now."""
    return tuple(_changes(json.loads(planned), _texts(now)))


def _changes(before: Mapping[str, str], after: Mapping[str, str]) -> Iterable[Reason]:
    for key in (*before, *(key for key in after if key not in before)):
        was, now = before.get(key), after.get(key)
        if was == now:
            continue
        code = CatalogueChange.OTHERWISE
        if was is None or now is None:
            code = CatalogueChange.NEW if was is None else CatalogueChange.GONE
        yield because(code, what=_read(key), was=_read(was), now=_read(now))


def _read(text: str | None) -> tuple[Reason, ...]:
    lines = text.split("\n") if text else ()
    return tuple(found for line in lines if (found := reason_of_text(line, _KINDS)) is not None)
