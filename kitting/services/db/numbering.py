"""Numbers of bookings and orders: one row of them for the whole group."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.tables.bookings import Booking
from kitting.tables.supply import PurchaseOrder


def next_number(session: Session, table: type[Booking] | type[PurchaseOrder], letter: str) -> str:
    """The next free number, such as "B0007"; to be asked by a writer, who is alone.

    On PostgreSQL a login may see only its own branch, and would draw a number that another has:
    there a function of the database looks at all of them.
    """
    if session.get_bind().dialect.name == "postgresql":
        newest = session.scalar(select(func.newest_id(table.__tablename__)))
    else:
        newest = session.scalar(select(func.max(table.id)))
    return f"{letter}{(newest or 0) + 1:04d}"
