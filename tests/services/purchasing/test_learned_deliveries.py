"""What receipts teach: days from the cut-off that applied, and chances without a ceiling (P7)."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import booked, load, priced, shop
from kitting.facts.words import DateState
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.market import LATE
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.services.purchasing.supplier_terms import read_suppliers
from kitting.store import reading

MONDAY = datetime(2026, 6, 1, 9, 0)  # noqa: DTZ001  (wall clock of the garage)


def punctual(engine: Engine, count: int, days: int = 1) -> datetime:
    """So many orders of Prompt, each here after so many days; the Monday after the last."""
    for week in range(count):
        now = MONDAY + timedelta(weeks=week)
        number = booked(engine, "X1", on=date(2027, 6, 1), at=now).number
        (order,) = place(engine, [number], now).orders
        came = [GoodsReceived("RING", 1000, made=date(2026, 5, 1))]
        receive(engine, order, came, now + timedelta(days=days))
    return MONDAY + timedelta(weeks=count)


def observed(engine: Engine, now: datetime) -> tuple[int, ...]:
    with reading(engine) as session:
        (terms,) = (one for one in read_suppliers(session, {1, 2}, now).values() if one.seen)
        return terms.terms.lead.observed


def test_p7_ten_punctual_deliveries_do_not_block_a_supplier(lite: Engine, tmp_path: Path) -> None:
    """A job seven weeks off is bought with any chance asked for, and 95 % is had the next day."""
    load(lite, shop({"X1": {"RING": 1}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    now = punctual(lite, 10)
    number = booked(lite, "X1", on=now.date() + timedelta(weeks=7), at=now).number
    with reading(lite) as session:
        far = buy(session, [number], now, None, 0.999)
        soon = buy(session, [number], now, now.date() + timedelta(days=2), 0.5)
        view = dates(session, [number], now, 0.99)
    assert far.total is not None
    assert far.chance > 0.9999
    assert 0.94 <= soon.chance <= 0.99
    assert view.earliest is not None
    assert DateState.SAFE in {day.state for day in view.dates}


@pytest.mark.parametrize(
    ("placed", "came", "days"),
    [
        (datetime(2026, 6, 1, 9, 0), datetime(2026, 6, 2, 9, 0), 1),  # noqa: DTZ001
        # After the cut-off Monday's order is Tuesday's, and Wednesday is a day later.
        (datetime(2026, 6, 1, 23, 0), datetime(2026, 6, 3, 9, 0), 1),  # noqa: DTZ001
        (datetime(2026, 6, 1, 23, 0), datetime(2026, 6, 2, 9, 0), 0),  # noqa: DTZ001
        # After the cut-off of a Friday it is Monday's.
        (datetime(2026, 6, 5, 23, 0), datetime(2026, 6, 9, 9, 0), 1),  # noqa: DTZ001
        (datetime(2026, 6, 6, 9, 0), datetime(2026, 6, 9, 9, 0), 1),  # noqa: DTZ001
        (datetime(2026, 6, 5, 9, 0), datetime(2026, 6, 6, 9, 0), 1),  # noqa: DTZ001
    ],
)  # fmt: skip
def test_p7_days_are_counted_from_the_day_that_the_order_counted_for(
    lite: Engine, tmp_path: Path, placed: datetime, came: datetime, days: int
) -> None:
    """Working days of June 2026, counted by hand."""
    load(lite, shop({"X1": {"RING": 1}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    number = booked(lite, "X1", on=date(2027, 6, 1), at=placed).number
    (order,) = place(lite, [number], placed).orders
    receive(lite, order, [GoodsReceived("RING", 1000, made=date(2026, 5, 1))], came)
    assert observed(lite, came) == (days,)


def test_what_was_learned_holds_for_what_is_on_its_way_as_well(
    lite: Engine, tmp_path: Path
) -> None:
    """An order that was sure enough when it was placed is not too late the moment after."""
    load(lite, shop({"X1": {"RING": 1}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    now = punctual(lite, 12)
    number = booked(lite, "X1", on=now.date() + timedelta(days=2), at=now).number
    with reading(lite) as session:
        asked = buy(session, [number], now, None, 0.93)
    assert asked.chance > 0.93
    place(lite, [number], now, None, 0.93)
    with reading(lite) as session:
        again = buy(session, [number], now + timedelta(minutes=1), None, 0.93)
    (coming,) = again.awaited
    assert coming.chance == pytest.approx(asked.chance)
    assert not coming.late
    assert asked.chance > LATE
