"""A whole delivery note is taken in at once: all rows, or none and every fault by its line."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, balances, booked, listed, load, priced, shop
from kitting.errors import FileProblemsError
from kitting.services.purchasing.delivery_notes import receive_notes
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.orders import place
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.views.purchasing import OrderView

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
HEADING = "item,part,good,damaged,wrong,lot,made,expires,bin,note"


@pytest.fixture
def ordered(store: Engine, tmp_path: Path) -> Engine:
    load(store, shop({"X1": {"RING": 6, "BOLT": 4}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each", "P-B,BOLT,0.10 GBP,1 each")
    number = booked(store, "X1", on=date(2026, 6, 1)).number
    assert place(store, [number], NOW).orders == ("P0001",)
    return store


def came(engine: Engine, folder: Path, *rows: str, token: str | None = None) -> OrderView:
    note = listed(folder, HEADING, *rows, name="note.csv")
    return receive_notes(engine, "P0001", [note], TUESDAY, token)


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
