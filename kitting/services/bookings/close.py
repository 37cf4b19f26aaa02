"""Closing: refused over seals that nobody counted, and over stock that may not be fitted by now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from sqlalchemy import Engine, bindparam, select, update
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.reasons import Reason, RefusedError, because
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.verdicts import Aspect
from kitting.facts.words import BookingState, NeedRule
from kitting.services.bookings.findings import Inspected, read_inspected
from kitting.services.bookings.history import write_history
from kitting.services.bookings.lacks import unfit_reason
from kitting.services.bookings.pick import Account, promises_of, put_back
from kitting.services.bookings.seal_count import removal_view, uncounted
from kitting.services.bookings.states import BookingFacts, find_booking, require_step
from kitting.services.bookings.view import booking_view
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import let_all_go
from kitting.services.stock.lots import find_items, require_amount
from kitting.store import writing
from kitting.tables.bookings import Booking
from kitting.tables.items import Item
from kitting.views.bookings import BookingView, Lack
from kitting.views.kit import SealReason

_ITEMS = select(Item.id, Item.code).where(Item.id.in_(bindparam("keys", expanding=True)))
# What is missing of what has to be there; a spare need not be.
_MISSING = {NeedRule.RENEW: Lack.NOT_IN_KIT, NeedRule.USE: Lack.NOTHING_TO_USE}


@dataclass(frozen=True, slots=True)
class Closing:
    """What came back unused and what was scrapped, by item code, in thousandths of its unit.

    `units` says in which unit each was given, where it was; another than the item's is refused.
    """

    returned: Mapping[str, int]
    scrapped: Mapping[str, int]
    units: Mapping[str, str] = field(default_factory=dict)


def close(
    engine: Engine,
    number: str,
    closing: Closing,
    at: datetime,
    despite: str | None = None,
    token: str | None = None,
) -> BookingView:
    """Close a booking: everything picked was used, but for what came back or was scrapped.

    What came back goes to its lot again; promises not picked are free again. Checked and closed in
    one transaction: nobody can put a lot on hold in between.

    Spares of positions that passed their inspection go back too, and what is not needed any more,
    unless something else is told of the item. What became of each position is written into the
    history of the car.

    Raises KittingError while old seals are not counted out of every joint, a count differs,
    something in the kit is on hold or expired by now, a part that has to be renewed or a consumable
    is not in the kit, such a part came back or was scrapped, or the catalogue was changed,
    unless `despite` gives the reason; and when more came back or was scrapped than was picked:
    nothing may vanish or appear.
    """
    if despite is not None and not despite.strip():
        raise KittingError("a reason is required: say why it is closed all the same")
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"close {booking.number}"
        # Sent again after it went through, the checks would find a booking that is closed.
        if earlier(session, token, request) is not None:
            return booking_view(session, booking)
        require_step(booking, BookingState.CLOSED)
        before = booking_view(session, booking, at.date())
        inspected = read_inspected(session, booking.id)
        told = _checked(session, closing)
        faults = [
            *_seal_faults(session, booking),
            *_kit_faults(before),
            *_unmet(before, booking.override is not None, inspected),
            *_not_fitted(before, told),
            *_changed(before),
        ]
        if faults and despite is None:
            raise _refused(before, faults)
        _account(session, booking, told, _goes_back(before, inspected), at)
        write_history(session, booking, _not_renewed(before, told))
        override = _joined(booking.override, despite if faults else None)
        session.execute(
            update(Booking)
            .where(Booking.id == booking.id)
            .values(state=BookingState.CLOSED, closed_at=at, override=override)
            .execution_options(synchronize_session=False)
        )
        record(session, token, request, booking.branch_id, at)
        view = booking_view(session, booking)
        session.commit()
        return view


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


def _unmet(view: BookingView, excused: bool, inspected: Inspected) -> Iterator[Reason]:
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


@dataclass(frozen=True, slots=True)
class _Told:
    """What somebody said came back and was scrapped, by item code in thousandths."""

    returned: Mapping[str, int]
    scrapped: Mapping[str, int]

    def gone(self, code: str) -> int:
        """How much of an item was not fitted."""
        return self.returned.get(code, 0) + self.scrapped.get(code, 0)


def _not_fitted(view: BookingView, told: _Told) -> Iterator[Reason]:
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


def _not_renewed(view: BookingView, told: _Told) -> frozenset[str]:
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


def _changed(view: BookingView) -> Iterator[Reason]:
    """That the catalogue says otherwise by now, and what."""
    for doubt in view.doubts:
        if doubt.aspect is Aspect.CATALOGUE:
            yield replace(doubt.because, then=())
    yield from view.changes


@dataclass(frozen=True, slots=True)
class _GoesBack:
    """What goes back by itself, by item code in thousandths.

    `needed` is what the booking needs of each item in all, `spares` what positions that passed did
    not take.
    """

    needed: Mapping[str, int]
    spares: Mapping[str, int]

    def of(self, code: str, picked: int) -> int:
        """How much of what was picked of an item is left over."""
        needed = self.needed.get(code, 0)
        return max(0, picked - needed) + min(self.spares.get(code, 0), picked, needed)


def _goes_back(view: BookingView, inspected: Inspected) -> _GoesBack:
    needed: dict[str, int] = defaultdict(int)
    spares: dict[str, int] = {}
    for need in view.needs:
        needed[need.item] += need.needed
        if need.spare:
            passed = sum(inspected.passed.get(item, 0) for item in {need.item, *need.stands_for})
            spares[need.item] = min(need.picked, passed)
    return _GoesBack(needed, spares)


def _account(
    session: Session, booking: BookingFacts, closing: _Told, goes_back: _GoesBack, at: datetime
) -> None:
    """Write down what became of everything picked, lot by lot, and free what was not picked."""
    returned, scrapped = dict(closing.returned), dict(closing.scrapped)
    promises = promises_of(session, booking.id)
    codes = {
        row.id: row.code
        for row in session.execute(_ITEMS, {"keys": sorted({p.item_id for p in promises})})
    }
    picked: dict[str, int] = defaultdict(int)
    for promise in promises:
        picked[codes[promise.item_id]] += promise.picked
    told = {*returned, *scrapped}
    returned |= {
        code: goes_back.of(code, amount) for code, amount in picked.items() if code not in told
    }
    accounts = []
    for promise in promises:
        code = codes[promise.item_id]
        gone = min(promise.picked, scrapped.get(code, 0))
        back = min(promise.picked - gone, returned.get(code, 0))
        scrapped[code] = scrapped.get(code, 0) - gone
        returned[code] = returned.get(code, 0) - back
        accounts.append(Account(promise, used=promise.picked - gone - back, back=back, gone=gone))
    _refuse_left(session, booking, returned, scrapped)
    put_back(session, booking.id, accounts, at)
    let_all_go(session, [(p.id, p.waiting) for p in promises if p.waiting])


def _checked(session: Session, closing: Closing) -> _Told:
    """What came back and what was scrapped, in the units of the items and not below 0."""
    items = find_items(session, [*closing.returned, *closing.scrapped])
    for amounts in (closing.returned, closing.scrapped):
        for code, amount in amounts.items():
            unit = closing.units.get(code, items[code].unit)
            require_amount(Quantity(amount, unit), items[code])
            if amount < 0:
                raise KittingError(f"{code}: the amount must not be negative. Count again")
    return _Told(closing.returned, closing.scrapped)


def _refuse_left(
    session: Session,
    booking: BookingFacts,
    returned: Mapping[str, int],
    scrapped: Mapping[str, int],
) -> None:
    left = [
        (code, amount) for some in (returned, scrapped) for code, amount in some.items() if amount
    ]
    if left:
        items = find_items(session, sorted({code for code, _ in left}))
        amounts = ", ".join(f"{format_quantity(n, items[code].unit)} {code}" for code, n in left)
        raise KittingError(
            f"{booking.number}: returns and scrap exceed what was picked by {amounts}. Nothing was"
            " recorded; count again"
        )


def _refused(view: BookingView, faults: Sequence[Reason]) -> RefusedError:
    steps = {
        Action.COUNT_SEALS: any(isinstance(fault.code, SealReason) for fault in faults),
        Action.PROMISE: any(_promised_anew(view, fault) for fault in faults),
        Action.PICK: any(fault.code in _MISSING.values() for fault in faults),
        Action.CLOSE_DESPITE: True,
    }
    return RefusedError(
        f"{view.number} cannot be closed",
        faults,
        then=[next_step(action, booking=view.number) for action, helps in steps.items() if helps],
    )


def _promised_anew(view: BookingView, fault: Reason) -> bool:
    """Whether promising anew may cure it: what waits on the shelf has only to be picked."""
    if fault.code in _MISSING.values():
        waits = sum(need.to_pick for need in view.needs if need.item == fault["item"])
        missing = fault["quantity"]
        return isinstance(missing, Quantity) and waits < missing.thousandths
    return isinstance(fault.code, Lack) and fault.code is not Lack.NOT_FITTED


def _joined(before: str | None, now: str | None) -> str | None:
    return "; ".join(text for text in (before, now) if text) or None
