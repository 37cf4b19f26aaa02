"""Scans at the command line: goods in, counts, picks. Invented, but for GS1 examples of numbers."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from commands import Run

NOW = ("--now", "2026-04-07 11:00")
RING = "4006381333931"
OWN = f"""
items:
  - {{code: RING-OWN, name: Ring, kind: o-ring, elastomer: FKM, shelf_life: 7 years, gtins: ["{RING}"]}}
"""
PACKET = f"01{RING.zfill(14)}1125063010L-9\x1d99X"


@pytest.fixture
def ordered(garage_folder: Path, run: Run) -> Run:
    (garage_folder / "own.yaml").write_text(OWN, encoding="utf-8")
    (garage_folder / "p.csv").write_text("item,part,price\nRING-OWN,R-1,2.00 GBP\n")
    assert run("load", "own.yaml").code == 0
    assert run("prices", "ombrith", "p.csv").code == 0
    placed = run(
        "order", "place", "ombrith", "RING-OWN=4", "--branch", "upper", "--place", "--now",
        "2026-04-02 14:20",
    )  # fmt: skip
    assert placed.code == 0, placed.said
    return run


def lot(run: Run) -> tuple[str, int]:
    (found,) = run("stock", "list", "RING-OWN", "--json", *NOW).data
    return found["lot"], found["on_hand"]


def test_goods_in_takes_item_lot_and_date_of_making_from_the_scan(ordered: Run) -> None:
    came = ordered("receive", "P0001", "--scan", PACKET, "--good", "4 each", *NOW)
    assert came.code == 0, came.said
    assert "not used of the scan: (99)X" in came.err
    assert lot(ordered) == ("L-9", 4)
    # Ten years (ISO 2230, group C) from the day of making, which nobody typed.
    assert "2035-06-30" in ordered("stock", "list", "RING-OWN", *NOW).out


def test_a_number_of_pieces_in_the_scan_is_what_came(ordered: Run) -> None:
    came = ordered("receive", "P0001", "--scan", f"(01)0{RING}(10)L-9(11)250630(30)4", *NOW)
    assert came.code == 0, came.said
    assert lot(ordered)[1] == 4


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (
            ("--item", "RING-FKM-14X2"),
            "the item was typed as RING-FKM-14X2 and scanned as RING-OWN",
        ),
        (("--lot", "L-8"), "the lot was typed as L-8 and scanned as L-9"),
        (("--made", "2025-07-01"), "the day of making was typed as 2025-07-01"),
    ],
)
def test_what_is_typed_beside_a_scan_has_to_agree(
    ordered: Run, given: tuple[str, ...], message: str
) -> None:
    ended = ordered("receive", "P0001", "--scan", PACKET, "--good", "4 each", *given, *NOW)
    assert ended.code == 1
    assert message in ended.err
    assert ordered("stock", "list", "RING-OWN", "--json", *NOW).data == []


def test_a_packet_that_nobody_knows_names_the_way_to_add_it(ordered: Run) -> None:
    ended = ordered("receive", "P0001", "--scan", "036000291452", "--good", "4 each", *NOW)
    assert ended.code == 1
    assert "write it at its item: gtins: ['036000291452']" in ended.err


def test_a_count_takes_the_scan_and_its_lot(ordered: Run) -> None:
    ordered("receive", "P0001", "--scan", PACKET, "--good", "4 each", *NOW)
    counted = ordered("stock", "count", "upper", f"(01)0{RING}(10)L-9", "-", "3 each", *NOW)
    assert counted.code == 0, counted.said
    assert lot(ordered)[1] == 3
    nothing = ordered("stock", "count", "upper", RING, "-", "3 each", *NOW)
    assert (nothing.code, "the scan says no lot" in nothing.err) == (1, True)


def test_a_pick_refuses_what_was_scanned_and_is_not_promised(ordered: Run) -> None:
    ended = ordered("pick", "B0001", "--scan", RING, *NOW)
    assert ended.code == 1
    assert "scanned RING-OWN: B0001 takes none of it from the shelf" in ended.err


@pytest.mark.parametrize("count", ["30", "37"])
def test_another_number_of_pieces_than_the_packet_says_is_told(ordered: Run, count: str) -> None:
    scan = f"(01)0{RING}(10)L-9(11)250630({count})5"
    came = ordered("receive", "P0001", "--scan", scan, "--good", "1 each", *NOW)
    assert came.code == 0, came.said
    assert "the packet says 5 pieces, 1 each was typed: taken as typed" in came.err
    assert lot(ordered)[1] == 1


@pytest.mark.parametrize(
    "given", [("--good", "4 each"), ("--good", "3 each", "--damaged", "1 each"), ()]
)
def test_whole_packets_and_all_of_one_are_no_contradiction(
    ordered: Run, given: tuple[str, ...]
) -> None:
    scan = f"(01)0{RING}(10)L-9(11)250630(30)4"
    came = ordered("receive", "P0001", "--scan", scan, *given, *NOW)
    assert (came.code, "taken as typed" in came.err) == (0, False), came.said


def test_the_day_of_the_packet_counts_where_its_quarter_is_typed(ordered: Run) -> None:
    scan = f"(01)0{RING}(10)L-9(11)250101"
    came = ordered(
        "receive", "P0001", "--scan", scan, "--good", "4 each", "--made", "1Q25", *NOW
    )  # fmt: skip
    assert came.code == 0, came.said
    # Ten years (ISO 2230, group C) from the day, not from the end of its quarter.
    assert "2035-01-01" in ordered("stock", "list", "RING-OWN", *NOW).out


def test_the_earlier_of_two_days_is_taken_and_the_other_is_told(ordered: Run) -> None:
    scan = f"(01)0{RING}(10)L-9(11)250630(17)300630(15)290101"
    came = ordered("receive", "P0001", "--scan", scan, "--good", "4 each", *NOW)
    assert came.code == 0, came.said
    assert "best before 2029-01-01: taken as its last day" in came.err
    assert "not used of the scan: (17)300630" in came.err
    assert "2029-01-01" in ordered("stock", "list", "RING-OWN", *NOW).out


def test_an_item_named_by_its_whole_packet_brings_lot_and_dates(ordered: Run) -> None:
    scan = f"(01)0{RING}(10)L-9(17)300630"
    came = ordered("receive", "P0001", "--item", scan, "--good", "4 each", *NOW)
    assert came.code == 0, came.said
    assert lot(ordered) == ("L-9", 4)
    assert "2030-06-30" in ordered("stock", "list", "RING-OWN", *NOW).out
    bought = ordered(
        "order", "counter", "ombrith", f"(01)0{RING}(10)L-8(17)290101", "1 each", "--paid",
        "2 GBP", "--bill", "7", "--branch", "upper", *NOW,
    )  # fmt: skip
    assert bought.code == 0, bought.said
    there = {one["lot"] for one in ordered("stock", "list", "RING-OWN", "--json", *NOW).data}
    assert there == {"L-8", "L-9"}
    assert "2029-01-01" in ordered("stock", "list", "RING-OWN", *NOW).out


def test_a_number_names_an_item_of_an_order_as_its_code_does(ordered: Run) -> None:
    came = ordered("receive", "P0001", "--item", RING, "--good", "1 each", "--lot", "A", *NOW)
    assert came.code == 0, came.said
    assert lot(ordered) == ("A", 1)
    back = ordered("order", "correct", "P0001", RING, "--why", "wrong lot", *NOW)
    assert back.code == 0, back.said
    Path("note.csv").write_text(f"item,good,lot\n{RING},1 each,B\n036000291452,1 each,C\n")
    note = ordered("receive", "P0001", "--file", "note.csv", *NOW)
    assert (note.code, "no item has the number 036000291452" in note.err) == (1, True), note.said
    Path("note.csv").write_text(f"item,good,lot\n{RING},1 each,B\n")
    first = ordered("receive", "P0001", "--file", "note.csv", "--note-no", "N1", *NOW)
    assert first.code == 0, first.said
    again = ordered(
        "receive", "P0001", "--item", RING, "--good", "1 each", "--note-no", "N1", *NOW
    )  # fmt: skip
    assert (again.code, "RING-OWN came by delivery note N1" in again.err) == (1, True), again.said
    later = ordered("order", "announce", "P0001", "--due", "2026-04-20", "--item", RING, *NOW)
    assert later.code == 0, later.said


def test_a_number_orders_prices_photographs_and_recalls_its_item(ordered: Run) -> None:
    from PIL import Image

    placed = ordered("order", "place", "ombrith", f"{RING}=1", "--branch", "upper", *NOW)
    assert (placed.code, "RING-OWN" in placed.out) == (0, True), placed.said
    Path("q.csv").write_text(f"item,part,price\n{RING},R-1,2.50 GBP\n")
    priced = ordered("prices", "ombrith", "q.csv")
    assert priced.code == 0, priced.said
    assert "1 of items known here" in priced.out
    Image.new("RGB", (20, 20), "navy").save("ring.jpg")
    assert ordered("photo", "add", "ring.jpg", "--item", RING, *NOW).code == 0
    assert "RING-OWN" in ordered("photo", "list", "--item", RING).out
    ordered("receive", "P0001", "--item", RING, "--good", "1 each", "--lot", "N11-24", *NOW)
    found = ordered("recall", "N11-24", "--item", RING)
    assert (found.code, "RING-OWN" in found.out) == (0, True), found.said


def test_a_scan_says_which_lot_of_which_item_was_counted(ordered: Run) -> None:
    ordered("receive", "P0001", "--scan", PACKET, "--good", "4 each", *NOW)
    scan = f"(01)0{RING}(10)L-9(17)310630(99)X"
    counted = ordered("stock", "count", "upper", scan, "-", "4 each", *NOW)
    assert counted.out.strip() == "RING-OWN L-9: as before"
    assert "not used of the scan: (99)X" in counted.err
    assert "its packet says last day 2031-06-30, which is not on record and not used" in counted.err
    other = ordered("stock", "scrap", "upper", scan, "L-8", "1 each", "--why", "torn", *NOW)
    assert (other.code, "typed as L-8 and scanned as L-9" in other.err) == (1, True)
    held = ordered("stock", "hold", "upper", scan, "-", "--why", "wrong colour", *NOW)
    assert (held.code, "RING-OWN L-9: on hold" in held.out) == (0, True), held.said


def test_a_packet_that_came_in_place_of_another_item_is_scanned_as_what_it_is(
    garage_folder: Path, run: Run
) -> None:
    old = "{code: RING-OLD, name: Old, kind: o-ring, elastomer: FKM, alternatives: [{item: RING-OWN}]}"
    (garage_folder / "own.yaml").write_text(f"{OWN}  - {old}\n", encoding="utf-8")
    (garage_folder / "p.csv").write_text("item,part,price\nRING-OLD,R-0,2.00 GBP\n")
    assert run("load", "own.yaml").code == 0
    assert run("prices", "ombrith", "p.csv").code == 0
    placed = run(
        "order", "place", "ombrith", "RING-OLD=2", "--branch", "upper", "--place", *NOW
    )  # fmt: skip
    assert placed.code == 0, placed.said
    came = ("receive", "P0001", "--item", "RING-OLD", "--instead", RING, "--good", "2 each")
    wrong = run(*came, "--scan", "036000291452", *NOW)
    assert (wrong.code, "no item has the number" in wrong.err) == (1, True)
    right = run(*came, "--scan", PACKET, *NOW)
    assert right.code == 0, right.said
    assert lot(run) == ("L-9", 2)


def test_what_a_customer_brought_has_the_dates_of_its_packet(garage_folder: Path, run: Run) -> None:
    with closing(sqlite3.connect(garage_folder / "kitting.db")) as database, database:
        database.execute(
            "INSERT INTO item_gtin (gtin, item_id)"
            f" SELECT '0{RING}', id FROM item WHERE code = 'SEAL-INTAKE'"
        )
    brought = run(
        "booking", "brought", "B0001", f"(01)0{RING}(10)C-1(17)270630", "2 each", "--shown",
        "number on the bag", *NOW,
    )  # fmt: skip
    assert "not used of the scan: (10)C-1" in brought.err
    found = run("stock", "list", "SEAL-INTAKE", "--json", *NOW).data
    assert [one["keeps_to"] for one in found if one["customer_of"] == "B0001"] == ["2027-06-30"]


def test_a_packet_with_other_dates_than_its_lot_gets_a_lot_of_its_own(ordered: Run) -> None:
    first = f"(01)0{RING}(10)L-9(11)250630"
    assert ordered("receive", "P0001", "--scan", first, "--good", "2 each", *NOW).code == 0
    later = f"(01)0{RING}(10)L-9(11)250930"
    came = ("receive", "P0001", "--good", "2 each", *NOW)
    assert "Give this packet a lot of its own" in ordered(*came, "--scan", later).err
    refused = ordered(*came, "--scan", later, "--lot", "L-9-2")
    assert "for a lot of its own, type what is printed without the lot" in refused.err
    assert ordered(*came, "--scan", f"(01)0{RING}(11)250930", "--lot", "L-9-2").code == 0
    there = {one["lot"] for one in ordered("stock", "list", "RING-OWN", "--json", *NOW).data}
    assert there == {"L-9", "L-9-2"}
