"""Sending: goods between branches, on neither shelf until they arrive.

A branch may be kept from seeing the stock of the others (PostgreSQL, one login per branch). So
each end of a transfer is written and read with what its own branch may see.
"""

from __future__ import annotations

from collections.abc import Callable
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
from kitting.services.lookup import whole_number
from kitting.services.stock.ledger import Move, post
from kitting.services.stock.natures import found_or_made, mixes
from kitting.services.stock.shelves import LotName, find_lot, require_something
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.stock import CustomerLot, Lot, Movement, Transfer
from kitting.tables.supply import Branch
from kitting.views.stock import ArrivedView, OnTheWayView

_origin, _target = aliased(Lot), aliased(Lot)
_source, _to = aliased(Branch), aliased(Branch)
# Of the two lots, which are of one item and one batch, the other branch's may be hidden.
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
_BIN = 20  # characters of a bin
_TRANSFERS = select(Transfer.id).order_by(Transfer.id)


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
            leaves=row.cutoff,
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
    that is promised or on hold is never sent. Where its code stands for goods of another age it
    gets a lot of its own. Raises TakenError if less is free.
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
                "lot {code} is on hold: {held}. Release it before it is sent",
                code=row.code,
                held=row.held,
            )
        if session.get(CustomerLot, row.id) is not None:
            raise KittingError(
                "lot {code} is a customer's own: it stays where their car is", code=row.code
            )
        source, target = session.get_one(Branch, row.branch_id), find_branch(session, to)
        if target.id == row.branch_id:
            raise KittingError("{to} is where it is. Name another branch", to=to)
        due = van_due(source, at)
        # The day on which it left stands for the one that nobody knows.
        listed = due or at.date()
        out = Move(row.id, MovementKind.SENT, -quantity.thousandths, note=f"to {target.code}")
        post(session, out, at)
        other = _lot_there(session, row, target.id, listed)
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


def _lot_there(session: Session, lot: Lot, branch_id: int, received: date) -> int:
    """A lot of the same nature in another branch, made if need be."""
    if session.get_bind().dialect.name != "postgresql":
        return found_or_made(session, lot, branch_id, received).id
    # The lots there may be hidden from who sends: a function of the database finds or makes it.
    there = func.lot_in_branch(lot.id, branch_id, received)
    return int(session.execute(select("*").select_from(there)).one()[0])


def find_transfer(session: Session, given: str) -> int:
    """The number of a transfer, or the one that is meant by its last digits.

    Raises UnknownNameError for one that is not known or not clear.
    """
    known = [str(number) for number in session.scalars(_TRANSFERS)]
    return int(whole_number("transfer", given, known, [next_step(Action.LIST_TRANSFERS)]))


# What else is done with goods that have arrived, in the same transaction: by branch and item.
Served = Callable[[Session, int, int], None]


def arrive(
    engine: Engine,
    number: int,
    at: datetime,
    token: str | None = None,
    serve: Served | None = None,
) -> int:
    """A transfer has arrived: it is on the shelf of its branch now. Returns the balance there.

    What was put on hold where it came from, while it was on the way, arrives on hold. Goods
    cannot arrive before they were sent: KittingError. `serve` is given the branch and the item.
    """
    with writing(engine) as session:
        request = f"arrive {number}"
        if (done := earlier(session, token, request)) is not None:
            return int(done.answer)
        lot = _lot_to_arrive_in(session, number, at.date())
        arrived = session.execute(
            update(Transfer)
            .where(Transfer.id == number, Transfer.arrived_at.is_(None))
            .values(arrived_at=at, to_lot_id=lot)
            .returning(Transfer.to_branch_id, Transfer.quantity, Transfer.sent_at)
            .execution_options(synchronize_session=False)
        ).first()
        if lot is None or arrived is None:
            why = _not_arriving(session, number)
            raise KittingError(
                "transfer {number} {why}",
                number=number,
                why=why,
                then=[next_step(Action.LIST_TRANSFERS)],
            )
        if at < arrived.sent_at:
            raise KittingError(
                "transfer {number} was sent {sent_at:%Y-%m-%d %H:%M} and cannot arrive"
                " {at:%Y-%m-%d %H:%M}. Give the time it came",
                number=number,
                sent_at=arrived.sent_at,
                at=at,
            )
        _put_away(session, lot)
        came = Move(lot, MovementKind.ARRIVED, arrived.quantity)
        balance = post(session, came, at)
        if serve is not None:
            serve(session, arrived.to_branch_id, session.get_one(Lot, lot).item_id)
        record(session, token, request, arrived.to_branch_id, at, balance)
        session.commit()
        return balance


def _put_away(session: Session, key: int) -> None:
    """The bin of a lot in which nothing has been yet: its branch's own, not that it came from.

    Where the same item lies in one bin there, that bin, else the item's usual one.
    """
    if session.scalars(select(Movement.id).where(Movement.lot_id == key).limit(1)).first():
        return
    lot = session.get_one(Lot, key)
    bins = session.scalars(
        select(Lot.bin)
        .where(
            Lot.branch_id == lot.branch_id, Lot.item_id == lot.item_id, Lot.id != key,
            Lot.on_hand > 0, Lot.bin.is_not(None),
        )
        .distinct()
    ).all()  # fmt: skip
    usual = session.get_one(Item, lot.item_id).bin
    lot.bin = bins[0] if len(bins) == 1 else usual and usual[:_BIN]
    session.flush()


def arrived_as(session: Session, number: int) -> ArrivedView:
    """In which lot a transfer arrived, for its label. Raises KittingError if it did not, here."""
    row = session.execute(
        select(Item.code.label("item"), Lot.code, Lot.batch, Lot.held)
        .select_from(Transfer)
        .join(Lot, Transfer.to_lot_id == Lot.id)
        .join(Item, Lot.item_id == Item.id)
        .where(Transfer.id == number, Transfer.arrived_at.is_not(None))
    ).first()
    if row is None:
        raise KittingError("transfer {number} has not arrived here", number=number)
    return ArrivedView(number, row.item, row.code, row.batch, row.held)


def _lot_to_arrive_in(session: Session, number: int, today: date) -> int | None:
    """The lot that goods on the way arrive in: one on hold, if they were put on hold meanwhile.

    Another one, where a begun pack would come to sealed ones, or the other way round. None where
    nothing is on the way, or where its lot is not of the own branch.
    """
    on_the_way = (
        select(Lot).join(Transfer, Transfer.to_lot_id == Lot.id).where(Transfer.id == number)
    ).where(Transfer.arrived_at.is_(None))
    there = session.scalars(on_the_way).first()
    if there is None:
        return None
    if session.get_bind().dialect.name == "postgresql":
        # That lot may be hidden from who receives.
        held = session.scalar(select(func.held_at_origin(number)))
    else:
        origin = select(Lot.own_hold).join(Transfer, Transfer.from_lot_id == Lot.id)
        held = session.scalar(origin.where(Transfer.id == number))
    coming = session.scalars(select(Transfer.quantity).where(Transfer.id == number)).one()
    if mixes(there, session.get_one(Item, there.item_id), coming):
        return found_or_made(session, there, there.branch_id, today, held, coming).id
    if held is None or there.own_hold is not None:
        return there.id
    if there.on_hand or _others_coming(session, there.id, number):
        return found_or_made(session, there, there.branch_id, today, held).id
    there.own_hold = held
    session.flush()
    return there.id


def _others_coming(session: Session, lot: int, number: int) -> bool:
    coming = select(Transfer.id).where(
        Transfer.to_lot_id == lot, Transfer.arrived_at.is_(None), Transfer.id != number
    )
    return session.scalars(coming.limit(1)).first() is not None


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
