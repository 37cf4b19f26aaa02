"""Extended storage: a lot that was inspected keeps longer, once, where the standard says so."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import Engine, bindparam, select, update
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.stock.storage import shelf_of
from kitting.errors import FigureError, KittingError
from kitting.facts.reasons import RefusedError, because
from kitting.facts.shelf_life import Shelf, extension
from kitting.facts.units import Quantity
from kitting.facts.words import OPEN_BOOKINGS, ShelfPolicy
from kitting.services.stock.lots import stored_lot
from kitting.services.stock.shelves import LotName, find_lot
from kitting.store import writing
from kitting.tables.bookings import UNACCOUNTED, Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Transfer
from kitting.tables.supply import Branch
from kitting.views.stock import ExtendedView, StorageReason

_ONLY = ShelfPolicy.ISO_2230  # the only policy with an extension
_COMING = (
    select(Transfer.id)
    .where(Transfer.to_lot_id == bindparam("lot"), Transfer.arrived_at.is_(None))
    .order_by(Transfer.id)
    .limit(1)
)
_KITS = (
    select(
        Booking.number,
        UNACCOUNTED.label("amount"),
    )
    .join(Booking, Promise.booking_id == Booking.id)
    .where(
        Promise.lot_id == bindparam("lot"),
        UNACCOUNTED > 0,
        Booking.state.in_(OPEN_BOOKINGS),
    )
    .order_by(Booking.number)
)


@dataclass(frozen=True, slots=True)
class Inspection:
    """That a lot was inspected on a day, and what was seen."""

    on: date
    seen: str


def extend_lot(
    engine: Engine, name: LotName, inspection: Inspection, today: date, dry_run: bool = False
) -> ExtendedView:
    """Record that a lot of rubber was inspected on a day and what was seen; it keeps longer.

    Judged by ISO 2230, the only policy with an extension; by the others nothing changes. Raises
    UnknownNameError; KittingError for an empty text, a day to come, a lot that is not rubber, has
    no date of making, was inspected already, or has goods on the way to it, and where nothing
    would be gained.
    """
    seen, on = " ".join(inspection.seen.split()), inspection.on
    if not seen:
        raise KittingError("what was seen must not be empty: say what the inspection showed")
    if on > today:
        raise KittingError("{on} is to come; an inspection is recorded once it was made", on=on)
    with writing(engine) as session:
        lot, item = find_lot(session, name)
        _refuse(session, lot, item, on)
        known = stored_lot(lot, item)
        before = shelf_of(known, _ONLY)
        changed = session.execute(
            update(Lot)
            .where(Lot.id == lot.id, Lot.inspected_on.is_(None))
            .values(inspected_on=on, inspection=seen)
            .returning(Lot.id)
            .execution_options(synchronize_session=False)
        ).scalar()
        if changed is None:
            session.refresh(lot)
            raise KittingError(_already(lot))
        after = shelf_of(replace(known, inspected_on=on), _ONLY)
        if after.limit == before.limit:
            raise RefusedError(
                "lot {lot}: the inspection gains nothing", [after.reason], lot=lot.code
            )
        view = _extended(session, lot, item, Inspection(on, seen), (before, after))
        if not dry_run:
            session.commit()
        return view


def _refuse(session: Session, lot: Lot, item: Item, on: date) -> None:
    """Raise KittingError where an inspection extends nothing, or not all of the lot was seen."""
    if item.elastomer is None:
        raise KittingError(
            "{code} is not rubber (no elastomer is stated): an inspection extends nothing. State"
            " the elastomer in the catalogue if it is",
            code=item.code,
        )
    if lot.made_on is None:
        raise KittingError(
            "lot {code} has no cure date, so no period to extend. Load it with its date of making"
            " first",
            code=lot.code,
            then=[next_step(Action.LOAD_STOCK)],
        )
    if lot.inspected_on is not None:
        raise KittingError(_already(lot))
    try:
        extension(lot.made_on, item.elastomer, _ONLY, on)
    except FigureError as error:
        raise KittingError(
            "lot {code} cannot be extended: {error}", code=lot.code, error=error
        ) from error
    coming = session.scalar(_COMING, {"lot": lot.id})
    if coming is not None:
        raise KittingError(
            "some of lot {code} is on the way here and was not inspected. Let it arrive first",
            code=lot.code,
            then=[next_step(Action.ARRIVE_STOCK, transfer=coming)],
        )


def _already(lot: Lot) -> str:
    return (
        f"lot {lot.code} was inspected on {lot.inspected_on} already ({lot.inspection}); its"
        " storage is extended once"
    )


def _extended(
    session: Session, lot: Lot, item: Item, inspection: Inspection, limits: tuple[Shelf, Shelf]
) -> ExtendedView:
    still = []
    if lot.held is not None:
        still.append(because(StorageReason.STILL_ON_HOLD, reason=lot.held))
    still += [
        because(
            StorageReason.IN_A_KIT, booking=row.number, quantity=Quantity(row.amount, item.unit)
        )
        for row in session.execute(_KITS, {"lot": lot.id})
    ]
    before, after = limits
    return ExtendedView(
        branch=session.get_one(Branch, lot.branch_id).code,
        item=item.code,
        lot=lot.code,
        inspected_on=inspection.on,
        inspection=inspection.seen,
        before=before.limit,
        before_why=before.reason,
        after=after.limit,
        after_why=after.reason,
        still=tuple(still),
    )
