"""Why a booking is closed for a reason only: old seals, what is unfit, what was not renewed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import Reason, RefusedError, because
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect
from kitting.facts.words import NeedRule
from kitting.services.bookings.closing_questions import Answers, counted
from kitting.services.bookings.findings import Inspected
from kitting.services.bookings.lacks import unfit_reason
from kitting.services.bookings.seal_count import removal_view, uncounted
from kitting.services.bookings.states import BookingFacts
from kitting.views.bookings import BookingView, Lack
from kitting.views.kit import SealReason

# What is missing of what has to be there; a spare need not be.
_MISSING = {NeedRule.RENEW: Lack.NOT_IN_KIT, NeedRule.USE: Lack.NOTHING_TO_USE}


def closing_faults(
    session: Session,
    booking: BookingFacts,
    view: BookingView,
    told: Answers,
    inspected: Inspected,
) -> list[Reason]:
    """Why a booking is closed for a reason only."""
    return [
        *_seal_faults(session, booking),
        *_kit_faults(view),
        *missing_parts(view, booking.override is not None, inspected),
        *_not_fitted(view, told),
        *_not_used(view, told),
        *(
            doubt.because
            for doubt in view.doubts
            if doubt.because.code is DoubtReason.FAILED_AND_OPEN
        ),
        *_changed(view),
    ]


def _seal_faults(session: Session, booking: BookingFacts) -> list[Reason]:
    """Joints whose old seals are not counted, or whose count differs."""
    removal = removal_view(session, booking)
    left = uncounted(removal)
    faults = list(removal.withheld)
    if left:
        faults.append(because(SealReason.NOT_COUNTED, joints=left))
    return faults


def _kit_faults(view: BookingView) -> list[Reason]:
    """What was put into the kit and may not be fitted by now."""
    return [
        unfit_reason(need, source, view.fit_on)
        for need in view.needs
        for source in need.unfit
        if source.picked
    ]


def missing_parts(view: BookingView, excused: bool, inspected: Inspected) -> Iterator[Reason]:
    """Parts that have to be renewed, and consumables, that are not in the kit.

    A reason given before the car went on the ramp excuses what was missing then, and not what
    failed its inspection since.
    """
    for need in view.needs:
        missing = need.needed - need.picked
        failed = inspected.failed & {need.item, *need.stands_for}
        code = _MISSING.get(need.rule)
        if code is not None and missing > 0 and (failed or not excused):
            yield because(code, item=need.item, quantity=Quantity(missing, need.unit))


def _not_fitted(view: BookingView, told: Answers) -> Iterator[Reason]:
    """Parts that have to be renewed, are in the kit, and were not fitted after all."""
    picked: dict[str, int] = defaultdict(int)
    for need in view.needs:
        picked[need.item] += need.picked
    for need in view.needs:
        if need.rule is not NeedRule.RENEW:
            continue
        # What was not in the kit is told as such.
        fitted = max(0, picked[need.item] - told.gone(need.item))
        missing = need.picked - min(need.picked, fitted)
        if missing:
            yield because(Lack.NOT_FITTED, item=need.item, quantity=Quantity(missing, need.unit))


def _not_used(view: BookingView, told: Answers) -> Iterator[Reason]:
    """Consumables that the work uses up and of which nothing was used."""
    for need in view.needs:
        if need.rule is not NeedRule.USE or counted(need) or not need.picked:
            continue
        in_kit = sum(n.picked for n in view.needs if n.item == need.item)
        if told.used.get(need.item) == 0 or told.gone(need.item) >= in_kit:
            amount = Quantity(need.picked, need.unit)
            yield because(Lack.NOT_USED, item=need.item, quantity=amount)


def not_renewed_of(view: BookingView, told: Answers) -> frozenset[str]:
    """Items of which less was fitted than has to be renewed, whatever excuses it."""
    picked: dict[str, int] = defaultdict(int)
    needed: dict[str, int] = defaultdict(int)
    for need in view.needs:
        picked[need.item] += need.picked
        if need.rule is NeedRule.RENEW:
            needed[need.item] += need.needed
    return frozenset(
        item for item, amount in needed.items() if picked[item] - told.gone(item) < amount
    )


def _failed_and_open(view: BookingView) -> Iterator[Reason]:
    """What failed its look while a variant decides what goes in for it."""
    reasons = (doubt.because for doubt in view.doubts)
    return (reason for reason in reasons if reason.code is DoubtReason.FAILED_AND_OPEN)


def _changed(view: BookingView) -> Iterator[Reason]:
    """That the catalogue says otherwise by now, and what."""
    for doubt in view.doubts:
        if doubt.aspect is Aspect.CATALOGUE:
            yield replace(doubt.because, then=())
    yield from view.changes


def refused(
    view: BookingView, faults: Sequence[Reason], open_questions: Sequence[Reason]
) -> RefusedError:
    """That a booking is not closed: what is wrong, what has to be asked, and what to do."""
    steps = {
        Action.COUNT_SEALS: any(isinstance(fault.code, SealReason) for fault in faults),
        Action.PROMISE: any(_promised_anew(view, fault) for fault in faults),
        Action.PICK: any(fault.code in _MISSING.values() for fault in faults),
        Action.CLOSE_DESPITE: bool(faults),
        Action.CLOSE_BY_TABLE: bool(open_questions),
    }
    return RefusedError(
        "{number} cannot be closed",
        [*faults, *open_questions],
        number=view.number,
        then=[next_step(action, booking=view.number) for action, helps in steps.items() if helps],
    )


def _promised_anew(view: BookingView, fault: Reason) -> bool:
    """Whether promising anew may cure it: what waits on the shelf has only to be picked."""
    if fault.code in _MISSING.values():
        waits = sum(need.to_pick for need in view.needs if need.item == fault["item"])
        missing = fault["quantity"]
        return isinstance(missing, Quantity) and waits < missing.thousandths
    return isinstance(fault.code, Lack) and fault.code not in (Lack.NOT_FITTED, Lack.NOT_USED)
