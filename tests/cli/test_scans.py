"""Scans at the command line: goods in, counts, picks. Invented, but for GS1 examples of numbers."""

from __future__ import annotations

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
    assert (nothing.code, "the scan says no lot" in nothing.err) == (2, True)


def test_a_pick_refuses_what_was_scanned_and_is_not_promised(ordered: Run) -> None:
    ended = ordered("pick", "B0001", "--scan", RING, *NOW)
    assert ended.code == 1
    assert "scanned RING-OWN: B0001 takes none of it from the shelf" in ended.err
