"""The nature of lots: goods of different age, opened or inspected on another day, never mix."""

from __future__ import annotations

from datetime import date
from itertools import count

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.tables.stock import Lot

# What two lots must have in common so that one may be put to the other.
_NATURE = ("made_on", "expires_on", "opened_on", "inspected_on")
# What a lot that is split off has of the one it comes from.
_KEPT = ("item_id", "bin", *_NATURE, "inspection")
_LONGEST = 36  # of a code before its suffix


def batch_of(lot: Lot) -> str:
    """The code that a recall names a lot by."""
    return lot.batch or lot.code


def found_or_made(
    session: Session, lot: Lot, branch_id: int, received: date, held: str | None = None
) -> Lot:
    """A lot of the nature of another in a branch: by its code, else by a code of its own.

    What is on hold there by that code or for its batch holds what comes to it too; with `held` the
    lot is on hold at least. On PostgreSQL the function `lot_in_branch` does the same for who may
    not see the branch.
    """
    hold = held or lot.held or _hold_there(session, lot, branch_id)
    for number in count(1):
        code = lot.code if number == 1 else f"{lot.code[:_LONGEST]}-{number}"
        there = session.scalars(
            select(Lot).where(
                Lot.branch_id == branch_id, Lot.item_id == lot.item_id, Lot.code == code
            )
        ).first()
        if there is None:
            return _made(session, lot, branch_id, received, (code, hold))
        if _one_nature(there, lot) and (there.held is not None or hold is None):
            return there
    raise AssertionError("numbers do not end")


def _hold_there(session: Session, lot: Lot, branch_id: int) -> str | None:
    return session.scalars(
        select(Lot.held)
        .where(
            Lot.branch_id == branch_id,
            Lot.item_id == lot.item_id,
            Lot.code.in_({lot.code, batch_of(lot)}),
            Lot.held.is_not(None),
        )
        .order_by(Lot.id)
        .limit(1)
    ).first()


def _one_nature(one: Lot, other: Lot) -> bool:
    same = all(getattr(one, name) == getattr(other, name) for name in _NATURE)
    return same and batch_of(one) == batch_of(other)


def _made(
    session: Session, lot: Lot, branch_id: int, received: date, named: tuple[str, str | None]
) -> Lot:
    code, held = named
    made = Lot(
        branch_id=branch_id, code=code, received_on=received, on_hand=0, promised=0, held=held,
        batch=lot.batch if code == lot.code else batch_of(lot),
        **{name: getattr(lot, name) for name in _KEPT},
    )  # fmt: skip
    session.add(made)
    session.flush()
    return made
