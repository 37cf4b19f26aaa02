"""By which clock a branch lives, of whatever is of a branch: its bookings, orders, transfers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

from sqlalchemy import ColumnElement, Select, false, func, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from kitting.tables.bookings import Booking
from kitting.tables.stock import Transfer
from kitting.tables.supply import Branch, PurchaseOrder

_Zones = Select[str | None]
_ALL: _Zones = select(Branch.zone).distinct()


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
    every = frozenset(session.scalars(_ALL))
    if len(every) < 2:
        return every
    found: set[str | None] = set()
    for sort, names in named.items():
        if names:
            found.update(session.scalars(_OF[sort](names)))
    return frozenset(found) or every


def _of_branch(names: Sequence[str]) -> _Zones:
    return _ALL.where(func.lower(Branch.code).in_([name.strip().lower() for name in names]))


def _of_booking(names: Sequence[str]) -> _Zones:
    return _ALL.join(Booking, Booking.branch_id == Branch.id).where(_ends(Booking.number, names))


def _of_order(names: Sequence[str]) -> _Zones:
    of_branch = PurchaseOrder.branch_id == Branch.id
    return _ALL.join(PurchaseOrder, of_branch).where(_ends(PurchaseOrder.number, names))


def _of_transfer(names: Sequence[str]) -> _Zones:
    numbers = [int(name) for name in names if name.strip().isdecimal()]
    arrives = Transfer.to_branch_id == Branch.id
    return _ALL.join(Transfer, arrives).where(Transfer.id.in_(numbers))


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
