"""Bookings in words: what each needs, what covers it, what is short and who has it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.facts.names import natural_key
from kitting.facts.units import format_quantity
from kitting.services.stock.lots import POLICY, shelf_of, unfit
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
from kitting.views.bookings import BookingLine, BookingView, NeededView, PromisedView


def coverage(session: Session, booking_id: int) -> dict[int, int]:
    """What is promised or picked for a booking, by item."""
    rows = session.execute(
        select(Promise.item_id, func.sum(Promise.waiting + Promise.picked))
        .where(Promise.booking_id == booking_id)
        .group_by(Promise.item_id)
    )
    return {item: int(amount) for item, amount in rows}


@dataclass(slots=True)
class _Source:
    """One promise with what it is of; `waiting` and `picked` are what no need has taken yet."""

    waiting: int
    picked: int
    text: str
    keeps_to: date | None
    due: date | None
    warning: str | None


def booking_view(session: Session, booking: Booking, policy: str = POLICY) -> BookingView:
    """A booking with every need, in a fixed number of statements."""
    sources = _sources(session, booking, policy)
    needs = session.execute(
        select(BookingNeed, Item)
        .join(Item, BookingNeed.item_id == Item.id)
        .where(BookingNeed.booking_id == booking.id)
        .order_by(BookingNeed.id)
    ).all()
    elsewhere = _elsewhere(session, booking, [item.id for _, item in needs], policy)
    order = ("renew", "use", "inspect")
    needed = tuple(
        _needed(need, item, sources.get(item.id, []), elsewhere.get(item.id, ()))
        for need, item in sorted(
            needs, key=lambda row: (order.index(row[0].rule), natural_key(row[1].code))
        )
    )
    parts = [_lacks(need) for need in needed if need.rule != "inspect" and _open(need)]
    lacking = (*parts, *_unqualified(session, booking), *_clashing(session, booking))
    vehicle, model = session.execute(
        select(Vehicle, Model.name)
        .join(Model, Vehicle.model_id == Model.id)
        .where(Vehicle.id == booking.vehicle_id)
    ).one()
    return BookingView(
        number=booking.number,
        branch=session.scalars(select(Branch.code).where(Branch.id == booking.branch_id)).one(),
        registration=vehicle.registration,
        vehicle=model,
        jobs=job_names(session, [booking.id])[booking.id],
        fit_on=booking.fit_on,
        state=booking.state,
        ready=not lacking,
        lacking=lacking,
        override=booking.override,
        needs=needed,
    )


def car_of(session: Session, booking: Booking) -> tuple[str, tuple[str, ...]]:
    """The registration and the jobs of a booking."""
    registration = session.scalars(
        select(Vehicle.registration).where(Vehicle.id == booking.vehicle_id)
    ).one()
    return registration, job_names(session, [booking.id])[booking.id]


def _unqualified(session: Session, booking: Booking) -> list[str]:
    """Work that nobody at the branch is qualified for: all parts there is not ready."""
    held = select(BranchLicence.licence_id).where(BranchLicence.branch_id == booking.branch_id)
    rows = session.execute(
        select(Licence.name, BookingLicence.asked_by)
        .join(BookingLicence, BookingLicence.licence_id == Licence.id)
        .where(BookingLicence.booking_id == booking.id, Licence.id.not_in(held))
        .order_by(Licence.code)
    )
    return [
        f"{name}: nobody at this branch is qualified ({asked_by}); sublet that work, then confirm"
        " with the reason"
        for name, asked_by in rows
    ]


def _clashing(session: Session, booking: Booking) -> list[str]:
    """What is certain to spoil a rubber: it holds the booking like a part that is not there."""
    rows = session.scalars(
        select(BookingClash.text)
        .where(BookingClash.booking_id == booking.id)
        .order_by(BookingClash.seq)
    )
    return [
        f"{text}. Mend the catalogue, then: kitting booking promise {booking.number}"
        for text in rows
    ]


def _open(need: NeededView) -> bool:
    return bool(need.short or need.coming or unfit_sources(need))


def unfit_sources(need: NeededView) -> list[PromisedView]:
    """What was promised or picked and may not be fitted after all: it makes nothing ready."""
    return [
        source
        for source in need.sources
        if source.warning is not None and source.warning.startswith(("HELD", "EXPIRES"))
    ]


def _lacks(need: NeededView) -> str:
    parts = []
    if need.short:
        parts.append(f"{format_quantity(need.short, need.unit)} short")
    if need.coming:
        dues = sorted({source.due for source in need.sources if source.due is not None})
        when = f", due {dues[-1]}" if dues else ""
        parts.append(f"{format_quantity(need.coming, need.unit)} not here yet{when}")
    parts += [
        f"{format_quantity(source.quantity, need.unit)} of {source.source}: {source.warning}"
        for source in unfit_sources(need)
    ]
    return f"{need.item}: {', '.join(parts)}"


def job_names(session: Session, bookings: Sequence[int]) -> dict[int, tuple[str, ...]]:
    """The jobs of some bookings, in order."""
    found: dict[int, list[str]] = {booking: [] for booking in bookings}
    for booking, name in session.execute(
        select(BookingJob.booking_id, BookingJob.name)
        .where(BookingJob.booking_id.in_(bookings))
        .order_by(BookingJob.booking_id, BookingJob.seq)
    ):
        found[booking].append(name)
    return {booking: tuple(names) for booking, names in found.items()}


def _sources(session: Session, booking: Booking, policy: str) -> dict[int, list[_Source]]:
    found: dict[int, list[_Source]] = defaultdict(list)
    for promise, lot, item in session.execute(
        select(Promise, Lot, Item)
        .join(Lot, Promise.lot_id == Lot.id)
        .join(Item, Lot.item_id == Item.id)
        .where(Promise.booking_id == booking.id)
        .order_by(Promise.id)
        .execution_options(populate_existing=True)
    ):
        shelf = shelf_of(lot, item, policy)
        warning = unfit(lot, shelf, booking.fit_on)
        if warning is None and not shelf.known:
            warning = f"AGE UNKNOWN: not known: {shelf.reason.code}"
        where = f" in {lot.bin}" if lot.bin else ""
        found[promise.item_id].append(
            _Source(
                promise.waiting,
                promise.picked,
                f"lot {lot.code}{where}",
                shelf.limit,
                None,
                warning,
            )
        )
    for promise, order, supplier in session.execute(
        select(Promise, PurchaseOrder, Supplier.name)
        .join(OrderLine, Promise.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .join(Supplier, PurchaseOrder.supplier_id == Supplier.id)
        .where(Promise.booking_id == booking.id)
        .order_by(Promise.id)
        .execution_options(populate_existing=True)
    ):
        late = f"may come as late as {order.due_late}" if order.due_late > booking.fit_on else None
        text = f"order {order.number} from {supplier}"
        found[promise.item_id].append(
            _Source(promise.waiting, promise.picked, text, None, order.due, late)
        )
    return found


def _needed(
    need: BookingNeed, item: Item, left: list[_Source], elsewhere: Sequence[str]
) -> NeededView:
    """A need with as much of the item's promises as it takes; the rest is for the next need."""
    open_amount = need.quantity
    used: list[PromisedView] = []
    amounts = {"picked": 0, "shelf": 0, "coming": 0}
    for source in left:
        some = min(source.waiting + source.picked, open_amount)
        if not some:
            continue
        some_picked = min(source.picked, some)
        source.picked -= some_picked
        source.waiting -= some - some_picked
        amounts["picked"] += some_picked
        amounts["coming" if source.due else "shelf"] += some - some_picked
        used.append(
            PromisedView(
                source.text, some, some_picked, source.keeps_to, source.due, source.warning
            )
        )
        open_amount -= some
    return NeededView(
        item=item.code,
        name=item.name,
        rule=need.rule,
        unit=item.unit,
        needed=need.quantity,
        picked=amounts["picked"],
        on_shelf=amounts["shelf"],
        coming=amounts["coming"],
        short=open_amount,
        sources=tuple(used),
        elsewhere=tuple(elsewhere) if open_amount else (),
        note=need.note,
    )


def _elsewhere(
    session: Session, booking: Booking, items: Sequence[int], policy: str
) -> dict[int, tuple[str, ...]]:
    """Who else has what: promises of open bookings, and free stock of other branches."""
    found: dict[int, list[str]] = defaultdict(list)
    for item, unit, number, amount in session.execute(
        select(Promise.item_id, Item.unit, Booking.number, func.sum(Promise.waiting))
        .join(Booking, Promise.booking_id == Booking.id)
        .join(Item, Promise.item_id == Item.id)
        .where(
            Promise.item_id.in_(items), Booking.id != booking.id,
            Booking.branch_id == booking.branch_id, Promise.waiting > 0,
        )
        .group_by(Promise.item_id, Item.unit, Booking.number)
        .order_by(Booking.number)
    ):  # fmt: skip
        found[item].append(f"{format_quantity(int(amount), unit)} promised to {number}")
    free: dict[tuple[int, str, str], list[int]] = defaultdict(lambda: [0, 0])
    for lot, item_row, branch in session.execute(
        select(Lot, Item, Branch.code)
        .join(Branch, Lot.branch_id == Branch.id)
        .join(Item, Lot.item_id == Item.id)
        .where(Lot.item_id.in_(items), Lot.on_hand > Lot.promised)
        .order_by(Branch.code)
    ):
        unusable = unfit(lot, shelf_of(lot, item_row, policy), booking.fit_on) is not None
        if unusable or lot.branch_id != booking.branch_id:
            free[item_row.id, item_row.unit, branch][unusable] += lot.on_hand - lot.promised
    for (item, stock_unit, branch), (good, bad) in free.items():
        told = [f"{format_quantity(good, stock_unit)} free in {branch}"] if good else []
        told += [f"{format_quantity(bad, stock_unit)} expired or held in {branch}"] if bad else []
        found[item] += told
    return {item: tuple(texts) for item, texts in found.items()}


def list_bookings(
    session: Session, branch_id: int | None, states: Sequence[str]
) -> tuple[BookingLine, ...]:
    """Bookings in some states by fitting date, with how many must lines nothing covers."""
    wanted = (
        select(Booking, Branch.code, Vehicle.registration)
        .join(Branch, Booking.branch_id == Branch.id)
        .join(Vehicle, Booking.vehicle_id == Vehicle.id)
        .where(Booking.state.in_(states))
        .order_by(Booking.fit_on, Booking.id)
    )
    if branch_id is not None:
        wanted = wanted.where(Booking.branch_id == branch_id)
    rows = session.execute(wanted).all()
    keys = [booking.id for booking, _, _ in rows]
    jobs, short = job_names(session, keys), _short(session, keys)
    return tuple(
        BookingLine(
            booking.number, branch, registration, jobs[booking.id], booking.fit_on, booking.state,
            short.get(booking.id, 0),
        )
        for booking, branch, registration in rows
    )  # fmt: skip


def _short(session: Session, bookings: Sequence[int]) -> Mapping[int, int]:
    """How many items of each booking nothing covers, spares left aside."""
    covered = (
        select(
            Promise.booking_id,
            Promise.item_id,
            func.sum(Promise.waiting + Promise.picked).label("amount"),
        )
        .group_by(Promise.booking_id, Promise.item_id)
        .subquery()
    )
    rows = session.execute(
        select(BookingNeed.booking_id, BookingNeed.item_id)
        .outerjoin(
            covered,
            (covered.c.booking_id == BookingNeed.booking_id)
            & (covered.c.item_id == BookingNeed.item_id),
        )
        .where(BookingNeed.booking_id.in_(bookings), BookingNeed.rule != "inspect")
        .group_by(BookingNeed.booking_id, BookingNeed.item_id, covered.c.amount)
        .having(func.sum(BookingNeed.quantity) > func.coalesce(covered.c.amount, 0))
    )
    counts: dict[int, int] = defaultdict(int)
    for booking, _ in rows:
        counts[booking] += 1
    return counts
