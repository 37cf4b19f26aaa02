"""Sending: goods between branches, on neither shelf until they arrive.

A branch may be kept from seeing the stock of the others (PostgreSQL, one login per branch). So
each end of a transfer is written and read with what its own branch may see.
"""

from __future__ import annotations

from datetime import date, datetime, time

from sqlalchemy import Engine, func, select, update
from sqlalchemy.orm import Session, aliased

from kitting.calc.purchasing.delivery import before
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.services.branches import find_branch
from kitting.services.calendars import branch_calendar
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import post
from kitting.services.stock.shelves import find_lot, require_something
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Transfer
from kitting.tables.supply import Branch
from kitting.views.stock import OnTheWayView


def on_the_way(session: Session) -> tuple[OnTheWayView, ...]:
    """Goods between branches, the earliest due first."""
    origin, target = aliased(Lot), aliased(Lot)
    source, to = aliased(Branch), aliased(Branch)
    # Of the two lots, which are of one item and bear one code, the other branch's may be hidden.
    rows = session.execute(
        select(Transfer, Item, func.coalesce(origin.code, target.code), source.code, to.code)
        .outerjoin(origin, Transfer.from_lot_id == origin.id)
        .outerjoin(target, Transfer.to_lot_id == target.id)
        .join(Item, func.coalesce(origin.item_id, target.item_id) == Item.id)
        .join(source, Transfer.from_branch_id == source.id)
        .join(to, Transfer.to_branch_id == to.id)
        .where(Transfer.arrived_at.is_(None))
        .order_by(Transfer.due, Transfer.id)
    )
    return tuple(
        OnTheWayView(row.id, item.code, lot, here, there, item.unit, row.quantity, row.due)
        for row, item, lot, here, there in rows
    )


def send(
    engine: Engine, branch: str, item: str, lot: str, quantity: Quantity, to: str, at: datetime,
    token: str | None = None,
) -> tuple[int, date]:  # fmt: skip
    """Send stock to another branch; until it arrives it is on neither shelf.

    Returns the number of the transfer and the day it is due: the same working day before the
    van's cut-off, else the next. Promised and held stock is never sent. Raises TakenError if less
    is free.
    """
    with writing(engine) as session:
        row, known = find_lot(session, branch, item, lot)
        require_something(quantity, known)
        request = f"send {row.id} {quantity.thousandths} {to}"
        if (said := earlier(session, token, request)) is not None:
            return int(said.answer[0]), date.fromisoformat(said.answer[1])
        # Where it arrives the lot may lie unheld already: then it would be free to everybody.
        if row.held is not None:
            raise KittingError(f"lot {row.code} is held: {row.held}. Release it before it is sent")
        source, target = session.get_one(Branch, row.branch_id), find_branch(session, to)
        if target.id == row.branch_id:
            raise KittingError(f"{to} is where it is. Name another branch")
        due = van_due(source, at)
        post(session, row.id, "sent", -quantity.thousandths, at, note=f"to {target.code}")
        other = _same_lot(session, row, target.id, due)
        transfer = Transfer(
            from_lot_id=row.id, to_lot_id=other, from_branch_id=row.branch_id,
            to_branch_id=target.id, quantity=quantity.thousandths, sent_at=at, due=due,
        )  # fmt: skip
        session.add(transfer)
        session.flush()
        number = transfer.id
        record(session, token, request, row.branch_id, at, [number, due.isoformat()])
        session.commit()
        return number, due


def van_due(branch: Branch, at: datetime) -> date:
    """When goods that a branch sends now are at another: today if the van has not left yet."""
    calendar = branch_calendar(branch, at)
    today = calendar.next_open(at.date())
    left = today > at.date() or branch.van_cutoff is None
    if left or before(at, time.fromisoformat(branch.van_cutoff or "00:00")):
        return today
    return calendar.add(today, 1)


def _same_lot(session: Session, lot: Lot, branch_id: int, received: date) -> int:
    """The same lot in another branch, made if need be with the same dates and look."""
    if session.get_bind().dialect.name == "postgresql":
        # That lot may be hidden from who sends: a function of the database finds or makes it.
        there, looked_over = session.execute(
            select("*").select_from(func.lot_in_branch(lot.id, branch_id, received))
        ).one()
    else:
        there, looked_over = _found_or_made(session, lot, branch_id, received)
    # Mixed, what nobody looked over would keep as long as what somebody did.
    if bool(looked_over) != (lot.inspected_on is not None):
        only = "there" if looked_over else "here"
        raise KittingError(
            f"lot {lot.code} was looked over only {only}. Have the rest looked over and record"
            " it first: kitting stock extend"
        )
    return int(there)


def _found_or_made(session: Session, lot: Lot, branch_id: int, received: date) -> tuple[int, bool]:
    there = session.scalars(
        select(Lot).where(
            Lot.branch_id == branch_id, Lot.item_id == lot.item_id, Lot.code == lot.code
        )
    ).first()
    if there is None:
        there = Lot(
            branch_id=branch_id, item_id=lot.item_id, code=lot.code, bin=lot.bin,
            made_on=lot.made_on, expires_on=lot.expires_on, opened_on=lot.opened_on,
            received_on=received, on_hand=0, promised=0, held=lot.held,
            inspected_on=lot.inspected_on, inspection=lot.inspection,
        )  # fmt: skip
        session.add(there)
        session.flush()
    return there.id, there.inspected_on is not None


def arrive(engine: Engine, number: int, at: datetime, token: str | None = None) -> int:
    """A transfer has arrived: it is on the shelf of its branch now. Returns the balance there."""
    with writing(engine) as session:
        request = f"arrive {number}"
        if (said := earlier(session, token, request)) is not None:
            return int(said.answer)
        arrived = session.execute(
            update(Transfer)
            .where(Transfer.id == number, Transfer.arrived_at.is_(None))
            .values(arrived_at=at)
            .returning(Transfer.to_lot_id, Transfer.to_branch_id, Transfer.quantity)
            .execution_options(synchronize_session=False)
        ).first()
        if arrived is None:
            why = _not_arriving(session, number)
            raise KittingError(f"transfer {number} {why}. See: kitting stock list --on-the-way")
        balance = post(session, arrived.to_lot_id, "arrived", arrived.quantity, at)
        record(session, token, request, arrived.to_branch_id, at, balance)
        session.commit()
        return balance


def _not_arriving(session: Session, number: int) -> str:
    known = session.execute(
        select(Transfer.arrived_at, Branch.code)
        .join(Branch, Transfer.to_branch_id == Branch.id)
        .where(Transfer.id == number)
    ).first()
    if known is None:
        return "is not known"
    # Only where it goes can it arrive; who sent it sees it too.
    return (
        f"goes to {known.code}, who records it"
        if known.arrived_at is None
        else ("has arrived already")
    )
