"""How many statements buying sends: never more for more orders, bookings or receipts."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from helpers import NOW, booked, counted, load, priced, shop, stock
from kitting.services.advice.base_stock import stock_levels
from kitting.services.advice.learned_rates import learned
from kitting.services.purchasing.order_view import find_order, list_orders, order_view
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.services.purchasing.shortages import shortage
from kitting.store import reading

LATER = date(2026, 6, 1)


def sent(engine: Engine, question: Callable[[Session], object]) -> int:
    """The statements of a question, but for the BEGIN of its transaction."""
    with counted(engine) as statements, reading(engine) as session:
        question(session)
    return len([text for text in statements if not text.startswith("BEGIN")])


@pytest.fixture
def ordered(store: Engine, tmp_path: Path) -> Engine:
    """Six bookings of one job each, B0001 to B0004 with an order of their own."""
    load(store, shop({f"X{no}": {"RING": no, "BOLT": 1} for no in range(1, 7)}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each", "P-B,BOLT,0.10 GBP,1 each")
    for no in range(1, 7):
        booked(store, f"X{no}", on=LATER)
    for no in range(1, 5):
        place(store, [f"B{no:04d}"], NOW)
    stock(store, tmp_path, "yard,RING,A,2 each,1Q25")
    return store


# Each with how many statements it may send.
AT_MOST: dict[str, tuple[Callable[[Session], object], int]] = {
    "order list": (lambda s: list_orders(s), 8),
    "order show": (lambda s: order_view(s, find_order(s, "P0001")), 9),
    "shortage of six bookings": (lambda s: shortage(s, [f"B{no:04d}" for no in range(1, 7)]), 5),
    "shortage of one booking": (lambda s: shortage(s, ["B0006"]), 5),
    # Five of these look at what is free on the shelf, comes free or is on a van.
    "buy": (lambda s: buy(s, ["B0005", "B0006"], NOW), 37),
    "dates": (lambda s: dates(s, ["B0005", "B0006"], NOW), 28),
    "learned": (learned, 4),
}


@pytest.mark.parametrize("what", AT_MOST)
def test_a_question_sends_no_more_statements_than_it_may(ordered: Engine, what: str) -> None:
    question, most = AT_MOST[what]
    assert sent(ordered, question) <= most


def test_the_list_of_orders_sends_as_many_for_four_orders_as_for_one(ordered: Engine) -> None:
    four = sent(ordered, list_orders)
    with reading(ordered) as session:
        assert len(list_orders(session)) == 4
        branch = find_order(session, "P0001").branch_id
    assert four == sent(ordered, lambda s: list_orders(s, branch)) == 8


def test_buying_for_six_bookings_sends_as_many_as_for_two(ordered: Engine) -> None:
    two = sent(ordered, lambda s: buy(s, ["B0005", "B0006"], NOW))
    assert sent(ordered, lambda s: buy(s, [f"B{no:04d}" for no in range(1, 7)], NOW)) == two


def test_levels_of_one_branch_send_a_fixed_number(garage: Engine) -> None:
    from kitting.services.bookings.pick import pick

    pick(garage, "B0001", NOW)
    later = NOW.replace(month=5)
    year = sent(garage, lambda s: stock_levels(s, "upper", later))
    assert sent(garage, lambda s: stock_levels(s, "upper", later, days=60)) == year
