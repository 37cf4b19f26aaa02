"""Lots keep their nature: age, opening, inspection and hold go with the goods. Invented stock."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine, select, update

from helpers import NOW, ON, assert_ledger, balances, booked, load, needed, shop, stock
from kitting.facts.units import Quantity
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName, list_stock
from kitting.services.stock.transfers import arrive, send
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch
from kitting.views.stock import GoingView, HeldLotView, LotView

FLUID = """  - {code: FLUID, name: paste, kind: sealant, unit: ml, pack: 500 ml,
     opened_life: 30 days}"""
RINGS = LotName("quay", "RING", "R1")


def each(number: int) -> Quantity:
    return Quantity(number * 1000, "each")


def on_shelves(engine: Engine, on: date = ON) -> dict[tuple[str, str], LotView]:
    with reading(engine) as session:
        return {(lot.branch, lot.lot): lot for lot in list_stock(session, None, [], on)}


def sound(engine: Engine) -> None:
    assert_ledger(engine)
    assert audit(engine, NOW).fine


def moved(engine: Engine, name: LotName, quantity: Quantity, to: str = "yard") -> None:
    number, _ = send(engine, name, quantity, to, NOW)
    arrive(engine, number, NOW)


@pytest.fixture
def rings(store: Engine) -> Engine:
    load(store, shop({"X1": {"RING": 1}}, items=FLUID))
    return store


def test_rings_of_another_age_arrive_in_a_lot_of_their_own(rings: Engine, tmp_path: Path) -> None:
    stock(rings, tmp_path, "yard,RING,R1,1 each,1Q26", "quay,RING,R1,2 each,1Q12")
    moved(rings, RINGS, each(1))
    moved(rings, RINGS, each(1))
    assert balances(rings) == {
        ("yard", "RING", "R1"): (1000, 0),
        ("yard", "RING", "R1-2"): (2000, 0),
        ("quay", "RING", "R1"): (0, 0),
    }
    with reading(rings) as session:
        made = dict(session.execute(select(Lot.code, Lot.made_on).where(Lot.on_hand > 0)).all())
        batches = dict(session.execute(select(Lot.code, Lot.batch)).all())
    assert made == {"R1": date(2026, 3, 31), "R1-2": date(2012, 3, 31)}
    assert batches == {"R1": None, "R1-2": "R1"}
    sound(rings)


def test_an_opened_can_does_not_become_a_sealed_one_where_it_arrives(
    rings: Engine, tmp_path: Path
) -> None:
    stock(
        rings, tmp_path,
        "yard,FLUID,F1,500 ml,,2028-01-01", "quay,FLUID,F1,200 ml,,2028-01-01,2026-03-20",
    )  # fmt: skip
    moved(rings, LotName("quay", "FLUID", "F1"), Quantity(200_000, "ml"))
    there = on_shelves(rings)
    assert (there["yard", "F1"].on_hand, there["yard", "F1"].keeps_to) == (
        500_000, date(2028, 1, 1),
    )  # fmt: skip
    assert (there["yard", "F1-2"].on_hand, there["yard", "F1-2"].keeps_to) == (
        200_000, date(2026, 4, 19),
    )  # fmt: skip


def test_goods_of_one_nature_arrive_in_one_lot(rings: Engine, tmp_path: Path) -> None:
    stock(rings, tmp_path, "yard,RING,R1,1 each,1Q26", "quay,RING,R1,2 each,1Q26")
    moved(rings, RINGS, each(2))
    assert balances(rings)["yard", "RING", "R1"] == (3000, 0)
    assert ("yard", "RING", "R1-2") not in balances(rings)


def test_a_long_code_leaves_room_for_its_number(rings: Engine, tmp_path: Path) -> None:
    code = "L" * 40
    stock(rings, tmp_path, f"yard,RING,{code},1 each,1Q26", f"quay,RING,{code},2 each,1Q12")
    moved(rings, LotName("quay", "RING", code), each(2))
    assert balances(rings)["yard", "RING", f"{'L' * 36}-2"] == (2000, 0)


@pytest.mark.parametrize("there", [0, 2])
def test_what_is_put_on_hold_where_it_came_from_arrives_on_hold(
    rings: Engine, tmp_path: Path, there: int
) -> None:
    stock(rings, tmp_path, f"yard,RING,R1,{there} each,1Q26", "quay,RING,R1,3 each,1Q26")
    number, _ = send(rings, RINGS, each(2), "yard", NOW)
    assert put_on_hold(rings, RINGS, "recalled", NOW).on_the_way == (GoingView("yard", 2000),)
    assert arrive(rings, number, NOW) == 2000 + 1000 * there
    held = {lot.lot: (lot.on_hand, lot.on_hold) for lot in on_shelves(rings).values()
            if lot.branch == "yard"}  # fmt: skip
    # What lies there of the same batch is on hold with it.
    assert held == {"R1": (2000 + 1000 * there, "recalled")}
    assert needed(booked(rings, "X1"), "RING").short == 1000
    sound(rings)


def test_a_hold_where_goods_arrive_holds_them_too(rings: Engine, tmp_path: Path) -> None:
    """One of that lot alone, as lists made them in earlier versions."""
    stock(
        rings, tmp_path, "yard,RING,R1,1 each,1Q26", "quay,RING,R1,2 each,1Q26",
        "quay,RING,R2,2 each,1Q12", "yard,RING,R2,2 each,1Q13",
    )  # fmt: skip
    yard = select(Branch.id).where(Branch.code == "yard").scalar_subquery()
    with rings.begin() as connection:
        for lot, why in (("R1", "recalled"), ("R2", "torn")):
            at_yard = Lot.branch_id == yard
            connection.execute(update(Lot).where(Lot.code == lot, at_yard).values(own_hold=why))
    moved(rings, RINGS, each(2))
    moved(rings, LotName("quay", "RING", "R2"), each(2))
    held = {lot.lot: lot.on_hold for lot in on_shelves(rings).values()}
    assert held == {"R1": "recalled", "R2": "torn", "R2-2": "torn"}


def test_a_recall_and_a_hold_reach_what_arrived_under_another_code(
    rings: Engine, tmp_path: Path
) -> None:
    stock(rings, tmp_path, "yard,RING,R1,1 each,1Q26", "quay,RING,R1,2 each,1Q12")
    moved(rings, RINGS, each(2))
    with reading(rings) as session:
        shelves = recall(session, "R1", ON).shelves
    assert [(lot.branch, lot.lot, lot.on_hand) for lot in shelves] == [
        ("quay", "R1", 0), ("yard", "R1", 1000), ("yard", "R1-2", 2000),
    ]  # fmt: skip
    view = put_on_hold(rings, LotName("yard", "RING", "R1"), "recalled", NOW)
    assert (view.others, view.on_the_way) == ((HeldLotView("yard", "R1-2", "recalled"),), ())
