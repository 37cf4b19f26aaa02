"""Sending: goods between branches, on neither shelf until they arrive.

A branch may be kept from seeing the stock of the others (PostgreSQL, one login per branch). So
each end of a transfer is written and read with what its own branch may see.
"""

from __future__ import annotations

from datetime import date, datetime, time

from sqlalchemy import Engine, func, select, update
from sqlalchemy.orm import Session, aliased

from kitting.actions import Action, next_step
from kitting.calc.purchasing.delivery import before
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import MovementKind
from kitting.services.branches import find_branch
from kitting.services.calendars import branch_calendar
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import Move, post
from kitting.services.stock.shelves import LotName, find_lot, require_something
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Transfer
from kitting.tables.supply import Branch
from kitting.views.stock import OnTheWayView

_origin, _target = aliased(Lot), aliased(Lot)
_source, _to = aliased(Branch), aliased(Branch)
# Of the two lots, which are of one item and have one code, the other branch's may be hidden.
_ON_THE_WAY = (
    select(
        Transfer.id, Transfer.quantity, Transfer.due, Item.code.label("item"), Item.unit,
        func.coalesce(_origin.code, _target.code).label("lot"), _source.code.label("source"),
        _to.code.label("to"), _source.van_cutoff.label("cutoff"),
    )
    .outerjoin(_origin, Transfer.from_lot_id == _origin.id)
    .outerjoin(_target, Transfer.to_lot_id == _target.id)
    .join(Item, func.coalesce(_origin.item_id, _target.item_id) == Item.id)
    .join(_source, Transfer.from_branch_id == _source.id)
    .join(_to, Transfer.to_branch_id == _to.id)
    .where(Transfer.arrived_at.is_(None))
    .order_by(Transfer.due, Transfer.id)
)  # fmt: skip


def on_the_way(session: Session) -> tuple[OnTheWayView, ...]:
    """Goods between branches, the earliest due first."""
    return tuple(
        OnTheWayView(
            number=row.id,
            item=row.item,
            lot=row.lot,
            source=row.source,
            to=row.to,
            unit=row.unit,
            quantity=row.quantity,
            due=row.due if row.cutoff is not None else None,
        )
        for row in session.execute(_ON_THE_WAY)
    )


def send(
    engine: Engine,
    name: LotName,
    quantity: Quantity,
    to: str,
    at: datetime,
    token: str | None = None,
) -> tuple[int, date | None]:
    """Send stock to another branch; until it arrives it is on neither shelf.

    Returns the number of the transfer and the day it is due: the same working day before the
    van's cut-off, else the next; None where nobody says when the van goes. Stock
    that is promised or on hold is never sent. Raises TakenError if less is free.
    """
    with writing(engine) as session:
        row, known = find_lot(session, name)
        require_something(quantity, known)
        request = f"send {row.id} {quantity.thousandths} {to}"
        if (sent := earlier(session, token, request)) is not None:
            number, day = sent.answer
            return int(number), None if day is None else date.fromisoformat(day)
        # Where it arrives the lot may be on no hold: then it would be free to everybody.
        if row.held is not None:
            raise KittingError(
                f"lot {row.code} is on hold: {row.held}. Release it before it is sent"
            )
        source, target = session.get_one(Branch, row.branch_id), find_branch(session, to)
        if target.id == row.branch_id:
            raise KittingError(f"{to} is where it is. Name another branch")
        due = van_due(source, at)
        # The day on which it left stands for the one that nobody knows.
        listed = due or at.date()
        out = Move(row.id, MovementKind.SENT, -quantity.thousandths, note=f"to {target.code}")
        post(session, out, at)
        other = _same_lot(session, row, target.id, listed)
        transfer = Transfer(
            from_lot_id=row.id, to_lot_id=other, from_branch_id=row.branch_id,
            to_branch_id=target.id, quantity=quantity.thousandths, sent_at=at, due=listed,
        )  # fmt: skip
        session.add(transfer)
        session.flush()
        number = transfer.id
        day = None if due is None else due.isoformat()
        record(session, token, request, row.branch_id, at, [number, day])
        session.commit()
        return number, due


def van_due(branch: Branch, at: datetime) -> date | None:
    """When goods that a branch sends now are at another: today if the van has not left yet.

    None where nobody says when it leaves.
    """
    if branch.van_cutoff is None:
        return None
    calendar = branch_calendar(branch, at)
    today = calendar.next_open(at.date())
    if today > at.date() or before(at, time.fromisoformat(branch.van_cutoff)):
        return today
    return calendar.add(today, 1)


def _same_lot(session: Session, lot: Lot, branch_id: int, received: date) -> int:
    """The same lot in another branch, made if need be with the same dates and inspection."""
    if session.get_bind().dialect.name == "postgresql":
        # That lot may be hidden from who sends: a function of the database finds or makes it.
        there, inspected = session.execute(
            select("*").select_from(func.lot_in_branch(lot.id, branch_id, received))
        ).one()
    else:
        there, inspected = _found_or_made(session, lot, branch_id, received)
    # Mixed, what nobody inspected would keep as long as what somebody did.
    if bool(inspected) != (lot.inspected_on is not None):
        only = "there" if inspected else "here"
        raise KittingError(
            f"lot {lot.code} was inspected only {only}. Have the rest inspected, and record it"
            " first",
            then=[next_step(Action.EXTEND_STORAGE, lot=lot.code)],
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
        if (done := earlier(session, token, request)) is not None:
            return int(done.answer)
        arrived = session.execute(
            update(Transfer)
            .where(Transfer.id == number, Transfer.arrived_at.is_(None))
            .values(arrived_at=at)
            .returning(Transfer.to_lot_id, Transfer.to_branch_id, Transfer.quantity)
            .execution_options(synchronize_session=False)
        ).first()
        if arrived is None:
            why = _not_arriving(session, number)
            raise KittingError(f"transfer {number} {why}", then=[next_step(Action.LIST_TRANSFERS)])
        came = Move(arrived.to_lot_id, MovementKind.ARRIVED, arrived.quantity)
        balance = post(session, came, at)
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
