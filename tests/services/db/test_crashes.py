"""A process killed in the middle of a change leaves the database as it was before."""

from __future__ import annotations

import signal
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import racing
from processes import ended
from racing import NOW, ON
from sqlalchemy import Engine, func, select

from helpers import UNCOUNTED
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import pick
from kitting.services.purchasing.goods_in import receive
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.price_lists import load_prices
from kitting.services.stock.shelves import LotName, count_lot
from kitting.services.stock.stock_lists import load_stock
from kitting.store import reading
from kitting.tables.base import Base
from kitting.tables.bookings import Booking
from kitting.tables.stock import Lot
from kitting.tables.supply import Offer, OrderLine

Rows = dict[str, list[tuple[Any, ...]]]


def everything(engine: Engine) -> Rows:
    """Every row of every table."""
    with reading(engine) as session:
        return {
            table.name: sorted(map(tuple, session.execute(select(table)).all()), key=repr)
            for table in Base.metadata.sorted_tables
        }


@dataclass(frozen=True)
class Case:
    """A change: the service with what it is given, and a figure that it brings from to."""

    service: Callable[..., object]
    given: tuple[Any, ...]
    figure: Any
    before: Any
    after: Any


def stock_load(engine: Engine, folder: Path) -> Case:
    path = folder / "counted.csv"
    rows = "".join(f"upper,RING,N{n},{n} each,1Q25\n" for n in range(1, 21))
    path.write_text(f"branch,item,lot,quantity,made\nupper,GASKET,G1,2 each,1Q25\n{rows}")
    figure = select(func.sum(Lot.on_hand))
    # G1 goes from 6 to 2, and 1 + 2 + … + 20 = 210 rings are new.
    return Case(load_stock, ([path], NOW), figure, 29_000, 29_000 - 4_000 + 210_000)


def price_load(_engine: Engine, folder: Path) -> Case:
    path = folder / "new.csv"
    rows = "".join(f",N-{n},{n}.50 GBP,1 each,no\n" for n in range(1, 2101))
    path.write_text(f"item,part,price,pack,returns\nGASKET,Q-1,6.50 GBP,1 each,no\n{rows}")
    # Two offers before; Q-2 is no longer named afterwards.
    figure = select(func.count()).select_from(Offer)
    return Case(load_prices, ("quandrel", path), figure, 2, 2101)


def receipt(engine: Engine, _folder: Path) -> Case:
    for lot in ("G1", "G2"):
        count_lot(engine, LotName("upper", "GASKET", lot), Quantity(0, "each"), NOW)
    count_lot(engine, LotName("upper", "RING", "R1"), Quantity(0, "each"), NOW)
    number = book(engine, BookingRequest("PELL 001", ["X3"], ON, "upper", again=True), NOW).number
    (order,) = place(engine, [number], NOW).orders
    # One gasket, and two rings from a pack of five.
    figure = select(func.sum(OrderLine.received))
    return Case(receive, (order, None, NOW), figure, 0, 6_000)


def closing(engine: Engine, _folder: Path) -> Case:
    number = book(engine, BookingRequest("PELL 001", ["X3"], ON, "upper", again=True), NOW).number
    pick(engine, number, NOW)
    step_to(engine, number, BookingState.CONFIRMED, "the customer waits")
    step_to(engine, number, BookingState.ON_THE_RAMP)
    told = Closing({"RING": 1000}, {"GASKET": 1000})
    return Case(
        close, (number, told, NOW, UNCOUNTED), select(Booking.state), "on the ramp", "closed"
    )


@pytest.mark.parametrize("prepare", [stock_load, price_load, receipt, closing])
def test_a_change_killed_half_way_has_not_happened_and_goes_through_the_next_time(
    yards: Engine, tmp_path: Path, prepare: Callable[[Engine, Path], Case]
) -> None:
    case = prepare(yards, tmp_path)
    url = yards.url.render_as_string(hide_password=False)

    def figure() -> Any:
        with reading(yards) as session:
            return session.scalar(case.figure)

    def killed(after: int | None) -> int | None:
        return ended(racing.die, url, after, tmp_path / "length", case.service, *case.given)

    before = everything(yards)
    assert figure() == case.before
    # With everything done but the commit; then at the start, on the way and at the last statement.
    assert killed(None) == -signal.SIGKILL
    assert everything(yards) == before
    length = int((tmp_path / "length").read_text())
    moments = sorted({2, length // 3, length // 2, length})
    assert len(moments) == 4
    for moment in moments:
        assert killed(moment) == -signal.SIGKILL
        assert everything(yards) == before
    case.service(yards, *case.given)
    assert figure() == case.after
