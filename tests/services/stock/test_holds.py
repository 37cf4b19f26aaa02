"""Holds reach a batch wherever it lies, end by their own number, and stay on record. Invented stock."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine, select, text
from sqlalchemy.exc import DatabaseError

from helpers import NOW, ON, booked, load, needed, priced, shop, stock
from kitting.cli.render.stock import stay_held_text
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import ClaimKind, MovementKind
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.orders import place
from kitting.services.stock.holds import Said, put_on_hold, release
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName, list_stock
from kitting.services.stock.stock_lists import load_stock
from kitting.services.stock.transfers import arrive, send
from kitting.services.upkeep.audit import audit
from kitting.store import reading, writing
from kitting.tables.stock import Lot, Movement
from kitting.views.stock import HeldLotView, HoldEventView

YARD, QUAY = LotName("yard", "RING", "R1"), LotName("quay", "RING", "R1")
OVER = LotName("yard", "RING", "R9-OVER")


def on_hold(engine: Engine) -> dict[tuple[str, str], str | None]:
    with reading(engine) as session:
        lots = list_stock(session, None, ["RING"], ON)
    return {(lot.branch, lot.lot): lot.on_hold for lot in lots}


@pytest.fixture
def rings(store: Engine, tmp_path: Path) -> Engine:
    load(store, shop({"X1": {"RING": 1}}))
    stock(store, tmp_path, "yard,RING,R1,3 each,1Q26", "quay,RING,R1,2 each,1Q26")
    return store


def test_a_hold_reaches_its_batch_in_every_branch_and_what_arrives_later(
    rings: Engine,
) -> None:
    number, _ = send(rings, YARD, Quantity(1000, "each"), "quay", NOW)
    view = put_on_hold(rings, YARD, "recalled", NOW)
    assert view.others == (HeldLotView("quay", "R1", "recalled"),)
    arrive(rings, number, NOW)
    everywhere = [("quay", "R1"), ("yard", "R1")]
    assert on_hold(rings) == dict.fromkeys(everywhere, "recalled")
    assert needed(booked(rings, "X1"), "RING").short == 1000
    assert release(rings, QUAY, NOW).on_hold is None
    assert on_hold(rings) == dict.fromkeys(everywhere)


def test_a_hold_ends_by_its_own_number_whatever_the_words_of_another(
    rings: Engine, tmp_path: Path
) -> None:
    stock(rings, tmp_path, "yard,RING,R2,1 each,1Q26,,,recalled")
    first = put_on_hold(rings, YARD, "recalled", NOW).number
    second = put_on_hold(rings, QUAY, "recalled", NOW).number
    with pytest.raises(KittingError, match=f"R1 is on 2 holds .{first}: recalled; {second}: rec"):
        release(rings, YARD, NOW)
    assert release(rings, YARD, NOW, hold=str(second)).on_hold == "recalled"
    assert release(rings, YARD, NOW).on_hold is None
    assert on_hold(rings) == {
        ("yard", "R1"): None,
        ("quay", "R1"): None,
        ("yard", "R2"): "recalled",
    }
    with pytest.raises(KittingError, match="lot R1 is not on hold"):
        release(rings, YARD, NOW)


def test_who_held_and_released_what_when_and_why_stays_on_record(rings: Engine) -> None:
    put_on_hold(rings, YARD, Said("recalled", "ana"), NOW)
    release(rings, QUAY, NOW, Said("the maker says fine", "bo"))
    with reading(rings) as session:
        told = recall(session, "R1", ON).holds
    assert told == (
        HoldEventView(NOW, "yard", "R1", True, "recalled", None, "ana"),
        HoldEventView(NOW, "quay", "R1", False, "recalled", "the maker says fine", "bo"),
    )
    for change in ("UPDATE batch_hold SET why = 'x'", "DELETE FROM hold_release"):
        with pytest.raises(DatabaseError, match="never altered"), rings.begin() as connection:
            connection.execute(text(change))
    assert audit(rings, NOW).fine


def test_a_hold_reaches_what_was_more_than_ordered_and_leaves_it_its_own(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 8}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each")
    place(store, [booked(store, "X1", on=date(2026, 6, 1)).number], NOW)
    receive(store, "P0001", [GoodsReceived("RING", 9000, lot="R9")], NOW)
    own = "more than ordered on P0001: keep or send back"
    number = put_on_hold(store, LotName("yard", "RING", "R9"), "recalled", NOW).number
    with pytest.raises(KittingError, match="R9-OVER is on 2 holds"):
        release(store, OVER, NOW)
    release(store, OVER, NOW, hold=str(number))
    assert on_hold(store) == {("yard", "R9"): None, ("yard", "R9-OVER"): own}
    with reading(store) as session:
        found = recall(session, "R9", ON)
    assert [lot.lot for lot in found.shelves] == ["R9", "R9-OVER"]
    one = NewClaim(ClaimKind.RETURN, "RING", Quantity(1000, "each"), "too many", "R9-OVER")
    claim(store, "P0001", one, NOW)
    release(store, OVER, NOW, hold="own")
    with reading(store) as session:
        found = recall(session, "R9", ON)
    told = [(event.lot, event.held, event.reason) for event in found.holds]
    assert told == [("R9", True, "recalled"), ("R9-OVER", False, "recalled"),
                    ("R9-OVER", False, own)]  # fmt: skip


def test_a_hold_is_on_what_a_movement_tells_was_opened_of_its_lot_and_on_no_other(
    rings: Engine, tmp_path: Path
) -> None:
    """Of former remainders only their movements tell which lot they were opened of."""
    stock(rings, tmp_path, "yard,RING,REST,1 each,1Q26", "yard,RING,R2,1 each,1Q26")
    with writing(rings) as session:
        rest = session.scalars(select(Lot).where(Lot.code == "REST")).one()
        session.add(
            Movement(
                at=NOW,
                lot_id=rest.id,
                kind=MovementKind.OPENED,
                quantity=1000,
                balance=1000,
                note="R1",
            )
        )
        session.commit()
    put_on_hold(rings, YARD, "recalled", NOW)
    held = {lot for (_, lot), why in on_hold(rings).items() if why == "recalled"}
    assert held == {"R1", "REST"}


def events(engine: Engine, lot: str = "R1") -> list[tuple[bool, str, str]]:
    with reading(engine) as session:
        return [(one.held, one.lot, one.reason) for one in recall(session, lot, ON).holds]


def test_a_hold_of_a_list_is_on_record_like_one_by_hand(rings: Engine, tmp_path: Path) -> None:
    """It reaches its batch in every branch, is made once, and ends by its number."""
    row = "yard,RING,R1,3 each,1Q26,,,wrong colour"
    assert stock(rings, tmp_path, row).held == 1
    everywhere = [("quay", "R1"), ("yard", "R1")]
    assert on_hold(rings) == dict.fromkeys(everywhere, "wrong colour")
    assert events(rings) == [(True, "R1", "wrong colour")]
    assert stock(rings, tmp_path, row, "quay,RING,R1,2 each,1Q26,,,wrong colour").held == 0
    assert events(rings) == [(True, "R1", "wrong colour")]
    view = release(rings, QUAY, NOW, Said("looked at"), hold="1")
    assert (view.number, view.on_hold) == (1, None)
    assert on_hold(rings) == dict.fromkeys(everywhere)
    assert events(rings)[1] == (False, "R1", "wrong colour")
    assert audit(rings, NOW).fine


def test_a_list_adds_its_own_reason_to_another_and_silence_releases_nothing(
    rings: Engine, tmp_path: Path
) -> None:
    put_on_hold(rings, YARD, "recalled", NOW)
    assert stock(rings, tmp_path, "yard,RING,R1,3 each,1Q26,,,recalled").held == 0
    assert stock(rings, tmp_path, "yard,RING,R1,3 each,1Q26,,,dropped").held == 1
    assert stock(rings, tmp_path, "yard,RING,R1,3 each,1Q26").held == 0
    assert [why for _, _, why in events(rings)] == ["recalled", "dropped"]
    with pytest.raises(KittingError, match="is on 2 holds"):
        release(rings, YARD, NOW)


def test_a_new_lot_of_a_list_that_is_on_hold_is_on_record_too(
    rings: Engine, tmp_path: Path
) -> None:
    report = stock(rings, tmp_path, "yard,RING,R2,3 each,1Q26,,,dropped")
    assert (report.new, report.held) == (1, 1)
    assert events(rings, "R2") == [(True, "R2", "dropped")]
    with reading(rings) as session:
        assert session.scalars(select(Lot.own_hold)).all() == [None] * 3


def test_a_list_that_is_only_tried_holds_nothing(rings: Engine, tmp_path: Path) -> None:
    path = tmp_path / "tried.csv"
    path.write_text("branch,item,lot,quantity,on hold\nyard,RING,R1,3 each,dropped\n")
    assert load_stock(rings, [path], NOW, dry_run=True).held == 1
    assert events(rings) == []


def test_a_blank_cell_of_a_list_ends_no_hold_and_that_is_told(
    rings: Engine, tmp_path: Path
) -> None:
    put_on_hold(rings, YARD, "recalled", NOW)
    path = tmp_path / "list.csv"
    head = "branch,item,lot,quantity,on hold\n"
    for cell, stays, made in (("", 1, 0), ("recalled", 0, 0), ("dropped", 1, 1)):
        path.write_text(f"{head}yard,RING,R1,3 each,{cell}\n")
        report = load_stock(rings, [path], NOW)
        assert (report.stay_held, report.held) == (stays, made)
    assert on_hold(rings)["yard", "R1"] is not None
    assert "1 lot of it is on hold" in stay_held_text(1)
