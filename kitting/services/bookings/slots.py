"""What a booking takes of the day (time, ramp, technicians) and what was agreed of its price."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Any, TypeVar

from sqlalchemy import BindParameter, bindparam, delete, func, insert, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.services.lookup import lookup
from kitting.tables.ramps import BookingPrice, BookingSlot, BookingTechnician, Ramp, Technician
from kitting.tables.supply import Branch
from kitting.views.slot import SlotView

_T = TypeVar("_T")
_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_NEWEST = (
    select(func.max(BookingPrice.id))
    .where(BookingPrice.booking_id.in_(_KEYS))
    .group_by(BookingPrice.booking_id)
)
_PRICES: Any = select(
    BookingPrice.booking_id, BookingPrice.currency, BookingPrice.agreed, BookingPrice.upper_limit,
    BookingPrice.deposit, BookingPrice.hour_price,
).where(BookingPrice.id.in_(_NEWEST))  # fmt: skip
_SLOTS = select(BookingSlot.booking_id, BookingSlot.starts, BookingSlot.ramp).where(
    BookingSlot.booking_id.in_(bindparam("keys", expanding=True))
)
_SLOT = select(BookingSlot.starts, BookingSlot.ramp).where(
    BookingSlot.booking_id == bindparam("booking")
)


class Cleared(Enum):
    """That something is to be stated no longer."""

    CLEARED = "none"


CLEARED = Cleared.CLEARED


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be settled of a booking; None leaves it as it is, CLEARED takes it away.

    `starts` is a time of day as it is kept ("08:30"); no technicians named leaves them.
    """

    starts: str | Cleared | None = None
    ramp: str | Cleared | None = None
    technicians: tuple[str, ...] | Cleared = ()
    agreed: Money | Cleared | None = None
    limit: Money | Cleared | None = None
    deposit: Money | Cleared | None = None
    hour_price: Money | Cleared | None = None


NOTHING_ASKED = Asked()


@dataclass(frozen=True, slots=True)
class Terms:
    """What was agreed of money for a booking, as far as it is stated."""

    agreed: Money | None = None
    limit: Money | None = None
    deposit: Money | None = None
    hour_price: Money | None = None


def settle(session: Session, booking_id: int, branch_id: int, asked: Asked, at: datetime) -> None:
    """Write what is asked for a booking, which the caller commits.

    Raises UnknownNameError for a ramp or technician that the branch does not have, KittingError for
    money that is not in its currency, and an agreed price above the limit.
    """
    _slot(session, booking_id, branch_id, asked)
    _technicians(session, booking_id, branch_id, asked.technicians)
    _prices(session, booking_id, branch_id, asked, at)


def leave_places(session: Session, booking_id: int) -> None:
    """Give up ramp and technicians: they are of a branch that the booking leaves."""
    ramp = session.execute(_SLOT, {"booking": booking_id}).first()
    if ramp is not None:
        _write_slot(session, booking_id, ramp.starts, None)
    _delete_technicians(session, booking_id)


def terms_of(session: Session, bookings: Sequence[int]) -> Mapping[int, Terms]:
    """What was agreed of money for some bookings; those of which nothing was are left out."""
    found = {}
    for row in session.execute(_PRICES, {"keys": list(bookings)}):
        sums = (row.agreed, row.upper_limit, row.deposit, row.hour_price)
        if any(one is not None for one in sums):
            found[row.booking_id] = Terms(
                *(None if one is None else Money(one, row.currency) for one in sums)
            )
    return found


def _kept(asked: _T | Cleared | None, before: _T | None) -> _T | None:
    if isinstance(asked, Cleared):
        return None
    return before if asked is None else asked


def _slot(session: Session, booking_id: int, branch_id: int, asked: Asked) -> None:
    if asked.starts is None and asked.ramp is None:
        return
    ramp = asked.ramp
    if isinstance(ramp, str):
        ramp = _named(session, Ramp, "ramp", branch_id, ramp)
    before = session.execute(_SLOT, {"booking": booking_id}).first()
    was = (None, None) if before is None else (before.starts, before.ramp)
    _write_slot(session, booking_id, _kept(asked.starts, was[0]), _kept(ramp, was[1]))


def _write_slot(session: Session, booking_id: int, starts: str | None, ramp: str | None) -> None:
    session.execute(delete(BookingSlot).where(BookingSlot.booking_id == booking_id))
    row = {"booking_id": booking_id, "starts": starts, "ramp": ramp}
    session.execute(insert(BookingSlot), [row])


def _technicians(
    session: Session, booking_id: int, branch_id: int, asked: tuple[str, ...] | Cleared
) -> None:
    if not asked:
        return
    names = () if isinstance(asked, Cleared) else asked
    codes = [_named(session, Technician, "technician", branch_id, name) for name in names]
    _delete_technicians(session, booking_id)
    for code in dict.fromkeys(codes):
        row = {"booking_id": booking_id, "technician": code}
        session.execute(insert(BookingTechnician), [row])


def _delete_technicians(session: Session, booking_id: int) -> None:
    session.execute(delete(BookingTechnician).where(BookingTechnician.booking_id == booking_id))


def _named(
    session: Session, table: type[Ramp] | type[Technician], what: str, branch_id: int, code: str
) -> str:
    """The code of a ramp or technician of a branch, as it is listed."""
    codes = session.scalars(
        select(table.code).where(table.branch_id == branch_id).order_by(table.code)
    ).all()
    branch = session.execute(select(Branch.code).where(Branch.id == branch_id)).scalar_one()
    if not codes:
        action = Action.LOAD_RAMPS if what == "ramp" else Action.LOAD_TECHNICIANS
        raise KittingError(
            "no {what} of {branch} is stated yet",
            what=what,
            branch=branch,
            then=(next_step(action),),
        )
    known = {one: one for one in codes}
    return lookup(f"{what} of {branch}", code, known, f"Known: {', '.join(known)}")


def _prices(session: Session, booking_id: int, branch_id: int, asked: Asked, at: datetime) -> None:
    sums = (asked.agreed, asked.limit, asked.deposit, asked.hour_price)
    if all(one is None for one in sums):
        return
    branch = session.execute(
        select(Branch.code, Branch.currency).where(Branch.id == branch_id)
    ).one()
    for one in sums:
        if isinstance(one, Money) and one.currency != branch.currency:
            raise KittingError(
                "{one}: {code} counts in {currency}, and no rate of exchange is known. State the"
                " sum in {currency}",
                one=one,
                code=branch.code,
                currency=branch.currency,
            )
    before = terms_of(session, [booking_id]).get(booking_id, Terms())
    now = Terms(
        _kept(asked.agreed, before.agreed),
        _kept(asked.limit, before.limit),
        _kept(asked.deposit, before.deposit),
        _kept(asked.hour_price, before.hour_price),
    )
    stated = [one for one in (now.agreed, now.limit, now.deposit, now.hour_price) if one]
    if any(one.currency != branch.currency for one in stated):
        raise KittingError(
            "sums of this booking are in another currency than {currency}. State all of them anew",
            currency=branch.currency,
        )
    if now.agreed and now.limit and now.agreed.minor > now.limit.minor:
        raise KittingError(
            "the agreed price {agreed} is above the limit {limit}. Correct one of the two",
            agreed=now.agreed,
            limit=now.limit,
        )
    session.execute(
        insert(BookingPrice),
        [
            {
                "booking_id": booking_id,
                "at": at,
                "currency": branch.currency,
                "agreed": now.agreed and now.agreed.minor,
                "upper_limit": now.limit and now.limit.minor,
                "deposit": now.deposit and now.deposit.minor,
                "hour_price": now.hour_price and now.hour_price.minor,
            }
        ],
    )


def slots_of(session: Session, bookings: Sequence[int]) -> dict[int, SlotView]:
    """The time and ramp of those of some bookings that have any, by key, in one statement."""
    rows = session.execute(_SLOTS, {"keys": list(bookings)})
    return {
        row.booking_id: SlotView(row.starts, row.ramp) for row in rows if row.starts or row.ramp
    }
