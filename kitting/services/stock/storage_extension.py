"""Looks: a lot that somebody looked over keeps longer, once, where the standard has it so."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Engine, select, update
from sqlalchemy.orm import Session

from kitting.errors import FigureError, KittingError
from kitting.facts.reasons import RefusedError
from kitting.facts.shelf_life import Shelf, extension
from kitting.facts.units import show_quantity
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.stock.lots import POLICY, shelf_of
from kitting.services.stock.shelves import find_lot
from kitting.store import writing
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Transfer
from kitting.tables.supply import Branch
from kitting.views.stock import ExtendedView

WARNING = (
    "Whether, how and by whom a lot may be looked over and its storage extended is a matter of the"
    " standard and of the customer; read both. From memory the look belongs at the end of the first"
    " period, and there is no second one. The maker's data come first."
)


def extend_lot(
    engine: Engine,
    branch: str | None,
    item: str,
    lot: str,
    seen: str,
    on: date,
    today: date,
    dry_run: bool = False,
) -> ExtendedView:
    """Record that a lot of rubber was looked over on a day and what was seen; it keeps longer.

    Judged by ISO 2230, the only policy with an extension; by the others nothing changes. Raises
    UnknownNameError; KittingError for an empty text, a day to come, a lot that is not rubber, has
    no date of making, was looked over already, or has goods on the way to it, and where nothing
    would be gained.
    """
    told = " ".join(seen.split())
    if not told:
        raise KittingError("an empty look is none: say with --seen what was seen")
    if on > today:
        raise KittingError(f"{on} is to come; a look is recorded when it was taken")
    with writing(engine) as session:
        row, known = find_lot(session, branch, item, lot)
        _refuse(session, row, known, on)
        before = shelf_of(row, known, POLICY)
        changed = session.execute(
            update(Lot)
            .where(Lot.id == row.id, Lot.inspected_on.is_(None))
            .values(inspected_on=on, inspection=told)
            .returning(Lot.id)
            .execution_options(synchronize_session=False)
        ).scalar()
        session.refresh(row)
        if changed is None:
            raise KittingError(_already(row))
        after = shelf_of(row, known, POLICY)
        if after.limit == before.limit:
            raise RefusedError(f"lot {row.code}: the look gains nothing", [after.reason])
        view = _extended(session, row, known, on, told, before, after)
        if not dry_run:
            session.commit()
        return view


def _refuse(session: Session, lot: Lot, item: Item, on: date) -> None:
    """Raise KittingError where a look extends nothing, or would extend what nobody looked at."""
    if item.elastomer is None:
        raise KittingError(
            f"{item.code} is not rubber (no elastomer is stated): a look extends nothing. State the"
            " elastomer in the catalogue if it is"
        )
    if lot.made_on is None:
        raise KittingError(
            f"lot {lot.code} has no cure date, so no period to extend. Load it with its date of"
            " making first: kitting stock load"
        )
    if lot.inspected_on is not None:
        raise KittingError(_already(lot))
    try:
        extension(lot.made_on, item.elastomer, POLICY, on)
    except FigureError as error:
        raise KittingError(f"lot {lot.code} cannot be extended: {error}") from error
    coming = session.scalar(
        select(Transfer.id)
        .where(Transfer.to_lot_id == lot.id, Transfer.arrived_at.is_(None))
        .order_by(Transfer.id)
        .limit(1)
    )
    if coming is not None:
        raise KittingError(
            f"some of lot {lot.code} is on the way here and was not looked over. Let it arrive"
            f" first: kitting stock arrive {coming}"
        )


def _already(lot: Lot) -> str:
    return (
        f"lot {lot.code} was looked over on {lot.inspected_on} already ({lot.inspection}); its"
        " storage is extended once"
    )


def _extended(
    session: Session, lot: Lot, item: Item, on: date, told: str, before: Shelf, after: Shelf
) -> ExtendedView:
    still = [f"held: {lot.held}"] if lot.held is not None else []
    kits = session.execute(
        select(Booking.number, Promise.picked - Promise.returned - Promise.scrapped)
        .join(Booking, Promise.booking_id == Booking.id)
        .where(Promise.lot_id == lot.id, Promise.picked > 0, Booking.state.in_(OPEN_BOOKINGS))
        .order_by(Booking.number)
    )
    still += [
        f"{show_quantity(amount, item.unit)} of it in the kit of {number}: look those over too"
        for number, amount in kits
    ]
    return ExtendedView(
        branch=session.get_one(Branch, lot.branch_id).code,
        item=item.code,
        lot=lot.code,
        looked_over=on,
        seen=told,
        before=before.limit,
        before_why=before.reason,
        after=after.limit,
        after_why=after.reason,
        still=tuple(still),
        warning=WARNING,
    )
