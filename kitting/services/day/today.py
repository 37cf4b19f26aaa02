"""Today: everything that slips, at all branches or one, sorted by what slips first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time

from sqlalchemy.orm import Session

from kitting.services.day.at_bookings import booking_rows
from kitting.services.day.at_ramps import price_rows, ramp_days, ramp_rows
from kitting.services.day.came_expired import expired_rows
from kitting.services.day.lacking import Lacking, lacking_at
from kitting.services.day.on_the_way import order_rows, transfer_rows
from kitting.services.day.scope import Day, read_day, what_slips_first
from kitting.services.day.to_hand_back import hand_back_rows
from kitting.services.day.to_order import AHEAD, ToOrder, answered, read_wants, to_order
from kitting.services.day.to_send import Vans
from kitting.services.purchasing.purchase import TARGET
from kitting.views.today import TodayRow, TodayView


@dataclass(frozen=True, slots=True)
class TodayRequest:
    """What is asked: the branch (None: all), the chance that orders must have, another day."""

    branch: str | None = None
    target: float = TARGET
    on: date | None = None


def today(session: Session, request: TodayRequest, now: datetime) -> TodayView:
    """The day as it stands now; of another day, as it begins.

    Every open booking is judged at its own fitting date. The number of statements is fixed for
    each branch, however many bookings, orders and transfers there are; a booking of which the
    catalogue changed since is planned anew. Raises UnknownNameError for an unknown branch.
    """
    if request.on is not None and request.on != now.date():
        now = datetime.combine(request.on, time.min, tzinfo=now.tzinfo)
    day = read_day(session, request.branch, now, request.target)
    lacking = {yard.id: lacking_at(session, day, yard) for yard in day.asked}
    everything = [one for some in lacking.values() for one in some]
    wanted = _to_get(session, day, lacking)
    rows = [
        *booking_rows(session, day, everything),
        *order_rows(session, day, wanted.sure),
        *transfer_rows(session, day),
        *expired_rows(session, day),
        *hand_back_rows(session, day),
    ]
    days = ramp_days(session, day)
    rows += [*ramp_rows(day, days), *price_rows(session, day)]
    first = day.asked[0]
    found = what_slips_first(answered([*rows, *wanted.rows]))
    return TodayView(
        branch=first.code if len(day.asked) == 1 else None,
        now=now,
        asked=request.target,
        next_day=first.next_day,
        ahead=first.calendar.add(now.date(), AHEAD),
        rows=found,
        slips=any(one.slips for one in found),
        beyond=len(wanted.beyond),
        bookings=len(day.bookings),
        ramps=tuple(one for yard in day.asked for one in days.of_ramps(yard.id, day.today)),
    )


def _to_get(session: Session, day: Day, lacking: dict[int, list[Lacking]]) -> ToOrder:
    """What to send and to order at all branches together."""
    vans = Vans(session, day)
    vans.read([one for some in lacking.values() for one in some])
    rows: list[TodayRow] = []
    beyond: set[str] = set()
    sure: dict[tuple[str, str], float | None] = {}
    for yard in day.asked:
        wants = read_wants(session, day, lacking[yard.id])
        send, having = vans.rows(yard, lacking[yard.id], wants.of)
        order = to_order(day, yard, wants, having)
        last = yard.calendar.add(day.today, AHEAD)
        rows += [one for one in send if one.day is not None and one.day <= last]
        rows += order.rows
        beyond |= order.beyond
        sure |= order.sure
    return ToOrder(tuple(rows), frozenset(beyond), sure)
