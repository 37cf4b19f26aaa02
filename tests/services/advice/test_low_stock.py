"""What is below its level, with what is on its way and what is missing. All invented."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, booked, load, priced, shop, stock
from kitting.errors import UnknownNameError
from kitting.facts.units import Quantity
from kitting.services.advice.base_stock import stock_levels
from kitting.services.advice.low_stock import low_stock
from kitting.services.bookings.pick import cancel, pick
from kitting.services.purchasing.orders import place
from kitting.services.stock.shelves import LotName
from kitting.services.stock.transfers import send
from kitting.store import reading
from kitting.views.low_stock import LowStockView, NoLevelsView

# One job in so many days is often enough for a level.
DAYS = 30
LATER = datetime(2026, 4, 10, 9, 0)  # noqa: DTZ001


@pytest.fixture
def used(store: Engine, tmp_path: Path) -> Engine:
    """A yard that used two rings and a bolt; the bolt has no price."""
    load(store, shop({"X1": {"RING": 2, "BOLT": 1}, "X2": {"RING": 3}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each")
    stock(store, tmp_path, "yard,RING,A,2 each,1Q25", "yard,BOLT,B,1 each")
    booked(store, "X1", on=ON)
    pick(store, "B0001", NOW)
    return store


def low(engine: Engine, branch: str | None = "yard", *items: str) -> LowStockView:
    with reading(engine) as session:
        return low_stock(session, branch, LATER, items, days=DAYS)


def level(engine: Engine) -> int:
    """The level of rings in thousandths, by the command that derives it."""
    with reading(engine) as session:
        (line,) = stock_levels(session, "yard", LATER, days=DAYS).lines
    assert line.item == "RING"
    assert line.level >= 2
    return line.level * 1000


def amounts(view: LowStockView) -> list[tuple[str, int, int, int, int, int]]:
    return [
        (one.item, one.level, one.free, one.age_unknown, one.coming, one.missing)
        for one in view.lines
    ]


def test_an_empty_shelf_lacks_the_whole_level(used: Engine) -> None:
    wanted = level(used)
    assert amounts(low(used)) == [("RING", wanted, 0, 0, 0, wanted)]


def test_what_is_free_and_certain_counts_and_what_is_of_unknown_age_is_told(
    used: Engine, tmp_path: Path
) -> None:
    wanted = level(used)
    stock(
        used, tmp_path, "yard,RING,C,1 each,1Q25", "yard,RING,D,4 each",
        "yard,RING,E,9 each,1Q25,,,dropped",
    )  # fmt: skip
    assert amounts(low(used)) == [("RING", wanted, 1000, 4000, 0, wanted - 1000)]
    stock(used, tmp_path, f"yard,RING,C,{wanted // 1000} each,1Q25")
    assert amounts(low(used)) == []


def test_what_is_promised_is_neither_free_nor_on_its_way(used: Engine, tmp_path: Path) -> None:
    """Three are ordered for a booking and promised to it; two come by van and are not."""
    wanted = level(used)
    booked(used, "X2", on=ON)
    place(used, ["B0002"], NOW)
    assert amounts(low(used)) == [("RING", wanted, 0, 0, 0, wanted)]
    stock(used, tmp_path, "quay,RING,V,1 each,1Q25", "quay,RING,W,5 each")
    for lot in ("V", "W"):  # of W nobody knows how old it is
        send(used, LotName("quay", "RING", lot), Quantity(1000, "each"), "yard", NOW)
    assert amounts(low(used)) == [("RING", wanted, 0, 0, 1000, wanted - 1000)]


def test_an_order_that_is_later_than_its_late_day_is_told_and_not_counted(used: Engine) -> None:
    wanted = level(used)
    booked(used, "X2", on=ON)
    place(used, ["B0002"], NOW)
    cancel(used, "B0002", NOW)
    with reading(used) as session:
        (soon,) = low_stock(session, "yard", NOW, days=DAYS).lines
        (late,) = low_stock(session, "yard", LATER, days=DAYS).lines
    assert (soon.coming, soon.overdue, soon.missing) == (3000, 0, max(0, soon.level - 3000))
    assert (late.level, late.coming, late.overdue, late.missing) == (wanted, 0, 3000, wanted)


def test_all_branches_are_listed_with_what_has_no_level(used: Engine) -> None:
    view = low(used, None)
    assert {one.branch for one in view.lines} == {"yard"}
    assert view.no_levels == (
        NoLevelsView("quay", nothing_used=True),
        NoLevelsView("yard", nothing_used=False, unpriced=("BOLT",)),
    )


def test_only_the_items_that_are_asked_for(used: Engine) -> None:
    assert [one.item for one in low(used, "yard", "RING").lines] == ["RING"]
    assert low(used, "yard", "BOLT").lines == ()
    with pytest.raises(UnknownNameError, match="RIMG"):
        low(used, "yard", "RIMG")
