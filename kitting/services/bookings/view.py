"""Bookings as they stand: what each needs, what covers it, what is short and who has it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.stock.storage import judge
from kitting.facts.names import natural_key
from kitting.facts.plan_reasons import ContactPlace, ContactReason
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.units import Quantity
from kitting.facts.words import LotState, NeedRule, ShelfPolicy
from kitting.services.bookings.elsewhere import Asked, elsewhere
from kitting.services.bookings.states import BookingFacts
from kitting.services.db.reason_text import reason_of_text
from kitting.services.stock.lots import POLICY, STORED, stored
from kitting.tables.bookings import (
    Booking,
    BookingClash,
    BookingJob,
    BookingLicence,
    BookingNeed,
    Promise,
)
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, BranchLicence, OrderLine, PurchaseOrder, Supplier
from kitting.tables.vehicles import Model, Vehicle
from kitting.tables.vocabulary import Licence
from kitting.views.bookings import (
    BookingView,
    ElsewhereView,
    Lack,
    NeededView,
    PromisedView,
    SourceKind,
)

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_HEADS = (
    select(
        Booking.id, Booking.number, Booking.branch_id, Booking.fit_on, Booking.state,
        Booking.override, Booking.shelf_policy.label("own_policy"), POLICY,
        Branch.code.label("branch"), Vehicle.registration, Model.name.label("model"),
    )
    .join(Branch, Booking.branch_id == Branch.id)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .join(Model, Vehicle.model_id == Model.id)
    .where(Booking.id.in_(_KEYS))
)  # fmt: skip
_NEEDS = (
    select(
        BookingNeed.booking_id, BookingNeed.item_id, BookingNeed.rule, BookingNeed.quantity,
        BookingNeed.note, Item.code, Item.name, Item.unit,
    )
    .join(Item, BookingNeed.item_id == Item.id)
    .where(BookingNeed.booking_id.in_(_KEYS))
    .order_by(BookingNeed.id)
)  # fmt: skip
_LOTS = (
    select(
        Promise.booking_id, Promise.item_id, Promise.waiting, Promise.picked, Lot.code, Lot.bin,
        *STORED,
    )
    .join(Lot, Promise.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)  # fmt: skip
_ORDERS = (
    select(
        Promise.booking_id, Promise.item_id, Promise.waiting, Promise.picked,
        PurchaseOrder.number, PurchaseOrder.due, PurchaseOrder.due_late, Supplier.name,
    )
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .join(Supplier, PurchaseOrder.supplier_id == Supplier.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)  # fmt: skip
_UNQUALIFIED = (
    select(BookingLicence.booking_id, Licence.name, BookingLicence.asked_by)
    .join(Licence, BookingLicence.licence_id == Licence.id)
    .join(Booking, BookingLicence.booking_id == Booking.id)
    .outerjoin(
        BranchLicence,
        (BranchLicence.branch_id == Booking.branch_id) & (BranchLicence.licence_id == Licence.id),
    )
    .where(BookingLicence.booking_id.in_(_KEYS), BranchLicence.branch_id.is_(None))
    .order_by(Licence.code)
)
_CLASHES = (
    select(BookingClash.booking_id, BookingClash.text)
    .where(BookingClash.booking_id.in_(_KEYS))
    .order_by(BookingClash.seq)
)
_JOBS = (
    select(BookingJob.booking_id, BookingJob.name)
    .where(BookingJob.booking_id.in_(_KEYS))
    .order_by(BookingJob.booking_id, BookingJob.seq)
)
_COVERED = (
    select(Promise.item_id, func.sum(Promise.waiting + Promise.picked))
    .where(Promise.booking_id == bindparam("booking"))
    .group_by(Promise.item_id)
)
# What never goes back first, spares last.
_ORDER = (NeedRule.RENEW, NeedRule.USE, NeedRule.INSPECT)


def coverage(session: Session, booking_id: int) -> dict[int, int]:
    """What is promised or picked for a booking, by item."""
    rows = session.execute(_COVERED, {"booking": booking_id})
    return {item: int(amount) for item, amount in rows}


@dataclass(slots=True)
class _Source:
    """One promise with what it is of; `waiting` and `picked` are what no need has taken yet."""

    waiting: int
    picked: int
    of: PromisedView


_Sources = Mapping[tuple[int, int], Sequence[_Source]]  # by booking and item


def booking_view(session: Session, booking: BookingFacts) -> BookingView:
    """A booking with every need, as it stands now."""
    return booking_views(session, [booking.id])[0]


def booking_views(session: Session, bookings: Sequence[int]) -> tuple[BookingView, ...]:
    """Bookings in the order given, each with every need, in a fixed number of statements."""
    keys = {"keys": list(bookings)}
    heads = {row.id: row for row in session.execute(_HEADS, keys)}
    sources = _sources(session, keys, heads)
    needs: dict[int, list[Any]] = defaultdict(list)
    for row in session.execute(_NEEDS, keys):
        needs[row.booking_id].append(row)
    others = elsewhere(
        session,
        [
            Asked(head.id, head.branch_id, head.fit_on, head.policy, {n.item_id for n in rows})
            for head, rows in ((heads[key], needs[key]) for key in heads)
        ],
    )
    jobs = job_names(session, bookings)
    more: dict[int, list[Reason]] = defaultdict(list)
    for booking, licence, asked_by in session.execute(_UNQUALIFIED, keys):
        lack = because(Lack.NOBODY_QUALIFIED, licence=licence, asked_by=asked_by)
        more[booking].append(lack)
    for booking, clash in session.execute(_CLASHES, keys):
        again = next_step(Action.PROMISE, booking=heads[booking].number)
        more[booking].append(because(Lack.CLASH, again, clash=_recorded(clash)))
    return tuple(
        _view(heads[key], _needed_all(key, needs[key], sources, others), jobs[key], more[key])
        for key in bookings
    )


def _recorded(text: str) -> Reason:
    """A contact as it was recorded, by an older program as a sentence."""
    found = reason_of_text(text, (ContactPlace, ContactReason))
    return found or because(ContactPlace.AS_RECORDED, text=text)


def _view(
    head: Any, needed: tuple[NeededView, ...], jobs: tuple[str, ...], more: Sequence[Reason]
) -> BookingView:
    parts = [reason for need in needed if not need.spare for reason in _lacks(need)]
    lacking = (*parts, *more)
    return BookingView(
        number=head.number,
        branch=head.branch,
        registration=head.registration,
        vehicle=head.model,
        jobs=jobs,
        fit_on=head.fit_on,
        state=head.state,
        shelf_policy=head.policy,
        own_policy=head.own_policy is not None,
        ready=not lacking,
        lacking=lacking,
        override=head.override,
        needs=needed,
    )


def _needed_all(
    booking: int,
    needs: Sequence[Any],
    sources: _Sources,
    others: Mapping[tuple[int, int], tuple[ElsewhereView, ...]],
) -> tuple[NeededView, ...]:
    ordered = sorted(needs, key=lambda row: (_ORDER.index(row.rule), natural_key(row.code)))
    return tuple(
        _needed(
            need,
            sources.get((booking, need.item_id), ()),
            others.get((booking, need.item_id), ()),
        )
        for need in ordered
    )


def _lacks(need: NeededView) -> Iterator[Reason]:
    """Why a need is not met: what is short, on its way, on hold or expired."""
    if need.short:
        yield because(Lack.SHORT, item=need.item, quantity=Quantity(need.short, need.unit))
    if need.coming:
        due = max(source.due for source in need.sources if source.due is not None)
        coming = Quantity(need.coming, need.unit)
        yield because(Lack.NOT_HERE_YET, item=need.item, quantity=coming, due=due)
    for source in need.unfit:
        yield unfit_reason(need, source)


def unfit_reason(need: NeededView, source: PromisedView) -> Reason:
    """Why something promised or picked may not be fitted."""
    amount = Quantity(source.quantity, need.unit)
    values: dict[str, Value] = {"item": need.item, "quantity": amount, "lot": source.lot}
    if source.state is LotState.ON_HOLD:
        return because(Lack.ON_HOLD, **values, reason=source.on_hold)
    return because(Lack.EXPIRED, **values, limit=source.keeps_to)


def car_of(session: Session, booking: BookingFacts) -> tuple[str, tuple[str, ...]]:
    """The registration and the jobs of a booking."""
    registration = session.scalars(
        select(Vehicle.registration).where(Vehicle.id == booking.vehicle_id)
    ).one()
    return registration, job_names(session, [booking.id])[booking.id]


def job_names(session: Session, bookings: Sequence[int]) -> dict[int, tuple[str, ...]]:
    """The jobs of some bookings, in order."""
    found: dict[int, list[str]] = {booking: [] for booking in bookings}
    for booking, name in session.execute(_JOBS, {"keys": list(bookings)}):
        found[booking].append(name)
    return {booking: tuple(names) for booking, names in found.items()}


def _sources(session: Session, keys: Mapping[str, Any], heads: Mapping[int, Any]) -> _Sources:
    found: dict[tuple[int, int], list[_Source]] = defaultdict(list)
    for row in session.execute(_LOTS, keys):
        head = heads[row.booking_id]
        view = _of_lot(row, head.policy, head.fit_on)
        found[row.booking_id, row.item_id].append(_Source(row.waiting, row.picked, view))
    for line in session.execute(_ORDERS, keys):
        view = PromisedView(
            kind=SourceKind.ORDER,
            quantity=0,
            picked=0,
            order=line.number,
            supplier=line.name,
            due=line.due,
            due_late=line.due_late,
            late=line.due_late > heads[line.booking_id].fit_on,
        )
        found[line.booking_id, line.item_id].append(_Source(line.waiting, line.picked, view))
    return found


def _of_lot(row: Any, policy: ShelfPolicy, fit_on: date) -> PromisedView:
    judged = judge(stored(row), policy, fit_on)
    return PromisedView(
        kind=SourceKind.LOT,
        quantity=0,
        picked=0,
        lot=row.code,
        bin=row.bin,
        state=judged.state,
        keeps_to=judged.shelf.limit,
        keeps_why=judged.shelf.reason,
        on_hold=row.held,
    )


def _needed(
    need: Any, sources: Iterable[_Source], elsewhere: tuple[ElsewhereView, ...]
) -> NeededView:
    """A need with as much of the item's promises as it takes; the rest is for the next need."""
    short = need.quantity
    used: list[PromisedView] = []
    picked = on_shelf = coming = 0
    for source in sources:
        some = min(source.waiting + source.picked, short)
        if not some:
            continue
        some_picked = min(source.picked, some)
        waiting = some - some_picked
        source.picked -= some_picked
        source.waiting -= waiting
        picked += some_picked
        if source.of.kind is SourceKind.ORDER:
            coming += waiting
        else:
            on_shelf += waiting
        used.append(replace(source.of, quantity=some, picked=some_picked))
        short -= some
    return NeededView(
        item=need.code,
        name=need.name,
        rule=need.rule,
        unit=need.unit,
        needed=need.quantity,
        picked=picked,
        on_shelf=on_shelf,
        coming=coming,
        short=short,
        sources=tuple(used),
        elsewhere=elsewhere if short else (),
        note=need.note,
    )
