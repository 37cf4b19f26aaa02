"""By which clock a branch lives and in which language, of whatever is of a branch.

That is what a command names: the branch, its bookings, orders, transfers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

from sqlalchemy import ColumnElement, Select, false, func, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from kitting.tables.bookings import Booking
from kitting.tables.stock import Transfer
from kitting.tables.supply import Branch, PurchaseOrder

_Stated = Select[str | None]


class OfBranch(Enum):
    """What a name or a number may be of."""

    BRANCH = "branch"
    BOOKING = "booking"
    ORDER = "order"
    TRANSFER = "transfer"


def zones_of(session: Session, named: Mapping[OfBranch, Sequence[str]]) -> frozenset[str | None]:
    """The time zones of the branches of what is named; None stands for one that states none.

    Numbers may be given by their last digits. Of all branches where nothing is found, or where one
    clock serves them all.
    """
    return _stated(session, named, select(Branch.zone).distinct())


def languages_of(
    session: Session, named: Mapping[OfBranch, Sequence[str]]
) -> frozenset[str | None]:
    """The languages of the branches of what is named, found like their time zones."""
    return _stated(session, named, select(Branch.language).distinct())


def _stated(
    session: Session, named: Mapping[OfBranch, Sequence[str]], asked: _Stated
) -> frozenset[str | None]:
    every = frozenset(session.scalars(asked))
    if len(every) < 2:
        return every
    found: set[str | None] = set()
    for sort, names in named.items():
        if names:
            found.update(session.scalars(_OF[sort](asked, names)))
    return frozenset(found) or every


def _of_branch(asked: _Stated, names: Sequence[str]) -> _Stated:
    return asked.where(func.lower(Branch.code).in_([name.strip().lower() for name in names]))


def _of_booking(asked: _Stated, names: Sequence[str]) -> _Stated:
    return asked.join(Booking, Booking.branch_id == Branch.id).where(_ends(Booking.number, names))


def _of_order(asked: _Stated, names: Sequence[str]) -> _Stated:
    of_branch = PurchaseOrder.branch_id == Branch.id
    return asked.join(PurchaseOrder, of_branch).where(_ends(PurchaseOrder.number, names))


def _of_transfer(asked: _Stated, names: Sequence[str]) -> _Stated:
    numbers = [int(name) for name in names if name.strip().isdecimal()]
    arrives = Transfer.to_branch_id == Branch.id
    return asked.join(Transfer, arrives).where(Transfer.id.in_(numbers))


def _ends(column: InstrumentedAttribute[str], names: Sequence[str]) -> ColumnElement[bool]:
    """Whether a number is one of some, which may be given by their last digits."""
    numbers = (name.strip().upper() for name in names if name.strip().isalnum())
    return or_(false(), *(column.like(f"%{number}") for number in numbers))


_OF = {
    OfBranch.BRANCH: _of_branch,
    OfBranch.BOOKING: _of_booking,
    OfBranch.ORDER: _of_order,
    OfBranch.TRANSFER: _of_transfer,
}
