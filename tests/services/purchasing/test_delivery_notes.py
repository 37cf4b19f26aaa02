"""A whole delivery note is taken in at once: all rows, or none and every fault by its line."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, balances, booked, listed, load, priced, shop
from kitting.errors import FileProblemsError, KittingError
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand
from kitting.services.purchasing.corrections import take_back_receipt
from kitting.services.purchasing.delivery_notes import receive_notes
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.known_notes import NO_NOTE, DeliveryNote
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.orders import place
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.views.orders import OrderView

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
MADE = date(2026, 3, 31)
HEADING = "item,part,good,damaged,wrong,lot,made,expires,bin,note"


@pytest.fixture
def ordered(store: Engine, tmp_path: Path) -> Engine:
    load(store, shop({"X1": {"RING": 6, "BOLT": 4}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each", "P-B,BOLT,0.10 GBP,1 each")
    number = booked(store, "X1", on=date(2026, 6, 1)).number
    assert place(store, [number], NOW).orders == ("P0001",)
    return store


def came(engine: Engine, folder: Path, *rows: str, token: str | None = None,
         by: DeliveryNote = NO_NOTE) -> OrderView:  # fmt: skip
    note = listed(folder, HEADING, *rows, name="note.csv")
    return receive_notes(engine, "P0001", [note], TUESDAY, token, by)


NOTE = (
    "RING,,4 each,1 each,,F1,1Q26,,R1,",
    ",P-R,1 each,,,F2,2026-03,,,second packet",
    "BOLT,,3 each,,1 each,,,,,",
)


def test_every_row_is_taken_in(ordered: Engine, tmp_path: Path) -> None:
    view = came(ordered, tmp_path, *NOTE)
    lines = {line.item: line for line in view.lines}
    ring, bolt = lines["RING"], lines["BOLT"]
    assert (ring.received, ring.damaged, ring.lost) == (5000, 1000, 1000)
    assert (bolt.received, bolt.wrong, bolt.lost) == (3000, 1000, 1000)
    assert balances(ordered) == {
        ("yard", "RING", "F1"): (4000, 4000),
        ("yard", "RING", "F2"): (1000, 1000),
        ("yard", "BOLT", "P0001-BOLT"): (3000, 3000),
    }
    assert_ledger(ordered)
    assert audit(ordered, TUESDAY).fine


def test_sent_twice_it_is_taken_in_once(ordered: Engine, tmp_path: Path) -> None:
    assert came(ordered, tmp_path, *NOTE, token="t") == came(ordered, tmp_path, *NOTE, token="t")


def test_a_note_is_taken_in_once_by_its_number_however_it_is_spelled(
    ordered: Engine, tmp_path: Path
) -> None:
    """Read twice, what came damaged or as another part would be made up by goods that never came."""
    came(ordered, tmp_path, *NOTE, by=DeliveryNote("LS 4711"))
    before = balances(ordered)
    for number in ("LS 4711", "ls4711"):
        with pytest.raises(KittingError, match=r"came by delivery note LS 4711 of Prompt already,"
                           r" for P0001 on 2026-04-07 09:00"):  # fmt: skip
            came(ordered, tmp_path, *NOTE, by=DeliveryNote(number))
    rest = "BOLT,,1 each,,,,,,,"
    with pytest.raises(KittingError, match="BOLT came by delivery note"):
        came(ordered, tmp_path, rest, by=DeliveryNote("LS 4711"))
    assert balances(ordered) == before
    came(ordered, tmp_path, rest, by=DeliveryNote("LS 4711", another_line=True))
    came(ordered, tmp_path, rest, by=DeliveryNote("LS 4712"))
    assert balances(ordered)["yard", "BOLT", "P0001-BOLT"] == (4000, 4000)


def test_the_same_number_of_one_item_is_known_to_another(ordered: Engine, tmp_path: Path) -> None:
    """Item by item, as the packets are opened; and of another order of the supplier."""
    by = DeliveryNote("LS 4711")

    def one(order: str, item: str) -> None:
        receive(ordered, order, [GoodsReceived(item, 1000, made=MADE, by=by)], TUESDAY)

    one("P0001", "RING")
    one("P0001", "BOLT")
    place_by_hand(ordered, HandOrder("prompt", {"RING": 1, "BOLT": 1}, "yard"), TUESDAY)
    with pytest.raises(KittingError, match="RING came by delivery note LS 4711 of Prompt already"):
        one("P0002", "RING")
    with pytest.raises(KittingError, match="for P0001 on"):
        receive(ordered, "P0002", by, TUESDAY)


def test_taken_back_it_is_received_anew_by_the_same_number(ordered: Engine, tmp_path: Path) -> None:
    row, by = "BOLT,,3 each,,,,,,,", DeliveryNote("LS 4711")
    came(ordered, tmp_path, row, by=by)
    take_back_receipt(ordered, "P0001", "BOLT", "two came", TUESDAY)
    came(ordered, tmp_path, row.replace("3", "2"), by=by)
    assert balances(ordered)["yard", "BOLT", "P0001-BOLT"] == (2000, 2000)


def test_without_a_number_a_note_that_says_the_same_is_asked_for_one(
    ordered: Engine, tmp_path: Path
) -> None:
    came(ordered, tmp_path, *NOTE)
    before = balances(ordered)
    with pytest.raises(KittingError, match="says the same was taken in on 2026-04-07 09:00"):
        came(ordered, tmp_path, *reversed(NOTE))
    assert balances(ordered) == before
    # Another packet is another note, and so is one with a number.
    came(ordered, tmp_path, NOTE[0].replace("F1", "F3"))
    came(ordered, tmp_path, *NOTE, by=DeliveryNote("LS 4712"))


def test_two_files_are_two_notes(ordered: Engine, tmp_path: Path) -> None:
    rows = [HEADING, "BOLT,,1 each,,,,,,,"]
    both = [listed(tmp_path, *rows, name=name) for name in ("a.csv", "b.csv")]
    with pytest.raises(KittingError, match="two of the files say the same"):
        receive_notes(ordered, "P0001", both, TUESDAY)
    with pytest.raises(KittingError, match="a number is of one delivery note"):
        receive_notes(ordered, "P0001", both, TUESDAY, note=DeliveryNote("LS 4711"))
    assert balances(ordered) == {}
    receive_notes(ordered, "P0001", both, TUESDAY, note=DeliveryNote(another_line=True))
    assert balances(ordered)["yard", "BOLT", "P0001-BOLT"] == (2000, 2000)


def test_of_a_note_with_faults_nothing_is_taken_in_and_each_is_named(
    ordered: Engine, tmp_path: Path
) -> None:
    with pytest.raises(FileProblemsError) as caught:
        came(
            ordered, tmp_path,
            "RING,,4 each,,,F1,1Q26,,,",
            "RING,,1 each,,,F1,1Q20,,,",
            ",P-X,1 each,,,,,,,",
            "CLAMP,,1 each,,,,,,,",
            "BOLT,,1 ml,,,,,,,",
            "RING,P-B,1 each,,,,,,,",
            "RING,,1 each,,,F9,2027-01,,,",
        )  # fmt: skip
    faults = [(one.line, one.thing) for one in caught.value.problems]
    assert faults == [
        (3, "RING"), (4, "P-X"), (5, "CLAMP"), (6, "BOLT"), (7, "P-B"), (8, "RING"),
    ]  # fmt: skip
    told = " ".join(one.reason for one in caught.value.problems)
    for text in ("here with other dates", "no part 'P-X'", "'CLAMP'", "stocked in each",
                 "part P-B is BOLT", "still to come"):  # fmt: skip
        assert text in told
    assert balances(ordered) == {}
    with reading(ordered) as session:
        assert order_view(session, find_order(session, "P0001")).state == "placed"


def test_a_row_that_says_nothing_is_a_fault(ordered: Engine, tmp_path: Path) -> None:
    with pytest.raises(FileProblemsError) as caught:
        came(ordered, tmp_path, "RING,,,,,F1,,,,", ",,1 each,,,,,,,", "RING,,1 each,1 ml,,,,,,")
    assert [one.line for one in caught.value.problems] == [2, 3, 4]
    with pytest.raises(FileProblemsError, match="no rows"):
        came(ordered, tmp_path)
