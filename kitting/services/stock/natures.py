"""The nature of lots: goods of different age, opened or inspected on another day, never mix."""

from __future__ import annotations

from datetime import date
from itertools import count
from typing import Any

from sqlalchemy import BindParameter, ColumnElement, and_, exists, or_, select
from sqlalchemy.orm import Session, aliased

from kitting.facts.words import MovementKind
from kitting.tables.items import Item
from kitting.tables.stock import CustomerLot, Lot, Movement

# What two lots must have in common so that one may be put to the other.
NATURE = ("made_on", "expires_on", "opened_on", "inspected_on")
# What a lot that is split off has of the one it comes from.
_KEPT = ("item_id", "bin", *NATURE, "inspection")
_LONGEST = 36  # of a code before its suffix


def batch_of(lot: Any) -> str:
    """The code that a recall names a lot by."""
    return str(lot.batch or lot.code)


def of_batch(code: str | BindParameter[str]) -> ColumnElement[bool]:
    """Condition: a lot has a code, comes from the lot that has it, or was opened of it.

    Of former remainders only their movements tell where they come from.
    """
    stem = aliased(Lot)
    opened = exists().where(
        Movement.lot_id == Lot.id,
        Movement.kind == MovementKind.OPENED,
        Movement.quantity > 0,
        Movement.note == code,
    )
    items = select(stem.item_id).where(stem.code == code)
    remainder = and_(Lot.item_id.in_(items), opened)
    return or_(Lot.code == code, Lot.batch == code, remainder)


def numbered(code: str, number: int) -> str:
    """A code, from the second lot on with its number."""
    return code if number == 1 else f"{code[:_LONGEST]}-{number}"


def takes(there: Any, lot: Lot, hold: str | None, opened_on: date | None = None) -> bool:
    """Whether goods of a lot, perhaps opened on a day, may be put to what lies in another.

    What is on hold goes to what is on hold only.
    """
    wanted = {name: getattr(lot, name) for name in NATURE}
    if opened_on is not None:
        wanted["opened_on"] = opened_on
    same = all(getattr(there, name) == value for name, value in wanted.items())
    return same and batch_of(there) == batch_of(lot) and (there.held is not None or hold is None)


def mixes(there: Lot, item: Item, amount: int) -> bool:
    """Whether so much that comes, or what is there, is a begun pack: its time is its own.

    What is no whole number of packs is begun, and nobody said when; a lot opened on a stated day
    takes only what was opened then.
    """
    if not item.opened_life_days or not item.pack or not there.on_hand or there.opened_on:
        return False
    return bool(there.on_hand % item.pack or amount % item.pack)


def found_or_made(
    session: Session,
    lot: Lot,
    branch_id: int,
    received: date,
    held: str | None = None,
    coming: int | None = None,
) -> Lot:
    """A lot of the nature of another in a branch: by its code, else by a code of its own.

    What is there by that code or of its batch on a hold of its own holds what comes to it too; with
    `held` the lot is on hold at least. Of so much that is `coming` no begun pack is put to others.
    On PostgreSQL the function `lot_in_branch` does the same for
    who may not see the branch.
    """
    hold = held or lot.own_hold or _hold_there(session, lot, branch_id)
    for number in count(1):
        code = numbered(lot.code, number)
        there = session.scalars(
            select(Lot).where(
                Lot.branch_id == branch_id, Lot.item_id == lot.item_id, Lot.code == code
            )
        ).first()
        if there is None:
            return _made(session, lot, branch_id, received, (code, hold))
        begun = coming is not None and mixes(there, session.get_one(Item, lot.item_id), coming)
        if not begun and takes(there, lot, hold):
            return there
    raise AssertionError("numbers do not end")


def _hold_there(session: Session, lot: Lot, branch_id: int) -> str | None:
    return session.scalars(
        select(Lot.own_hold)
        .where(
            Lot.branch_id == branch_id,
            Lot.item_id == lot.item_id,
            Lot.code.in_({lot.code, batch_of(lot)}),
            Lot.own_hold.is_not(None),
        )
        .order_by(Lot.id)
        .limit(1)
    ).first()


def _made(
    session: Session, lot: Lot, branch_id: int, received: date, named: tuple[str, str | None]
) -> Lot:
    code, held = named
    made = Lot(
        branch_id=branch_id, code=code, received_on=received, on_hand=0, promised=0, own_hold=held,
        batch=lot.batch if code == lot.code else batch_of(lot),
        **{name: getattr(lot, name) for name in _KEPT},
    )  # fmt: skip
    session.add(made)
    session.flush()
    theirs = session.get(CustomerLot, lot.id)
    if theirs is not None:
        session.add(CustomerLot(lot_id=made.id, booking_id=theirs.booking_id))
        session.flush()
    return made
