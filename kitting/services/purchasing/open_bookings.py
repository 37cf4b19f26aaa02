"""All open bookings of a branch, by date: what is bought for at once."""

from __future__ import annotations

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.branches import find_branch
from kitting.tables.bookings import Booking
from kitting.tables.supply import Branch

_OPEN = (
    select(Branch.code, Booking.number)
    .join(Branch, Booking.branch_id == Branch.id)
    .where(Booking.state.in_(OPEN_BOOKINGS))
    .order_by(Booking.fit_on, Booking.id)
)
_OF_BRANCH = _OPEN.where(Booking.branch_id == bindparam("branch"))


def open_bookings(session: Session, branch: str | None = None) -> tuple[str, ...]:
    """The numbers of the open bookings of a branch, the earliest date first; () if there are none.

    Raises UnknownNameError, and KittingError where none is named and several have some.
    """
    if branch is not None:
        rows = session.execute(_OF_BRANCH, {"branch": find_branch(session, branch).id}).all()
    else:
        rows = session.execute(_OPEN).all()
    branches = sorted({code for code, _ in rows})
    if len(branches) > 1:
        raise KittingError(
            "open bookings are of {branches}; an order goes to one branch",
            branches=", ".join(branches),
            then=(next_step(Action.NAME_BRANCH),),
        )
    return tuple(number for _, number in rows)
