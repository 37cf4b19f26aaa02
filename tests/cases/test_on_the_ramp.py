"""What the sheets and labels of a kit say is what they show."""

from __future__ import annotations

import pytest
from bench import CAR, FAULT, FINE, NOT_FINE, NOW, ON, Bench

from helpers import shop

STOCK = "branch,item,lot,quantity,made\nyard,RING,L1,5 each,1Q26\nyard,BOLT,L2,5 each,\n"


@pytest.fixture
def ramp(bench: Bench) -> Bench:
    """Two rings and a bolt are in the kit, and the car is on the ramp."""
    bench.load(bench.write("shop.yaml", shop({"J": {"RING": 2, "BOLT": 1}})))
    bench.must("stock", "load", bench.write("stock.csv", STOCK), *NOW)
    day = ("--on", "2026-04-14")
    bench.must("book", "PELL 001", "J", *day, "--branch", "yard", *NOW)
    for command in (("booking", "confirm"), ("pick",), ("booking", "ramp")):
        bench.must(*command, "B0001", *NOW)
    return bench


def test_the_sheet_says_that_seals_are_not_counted_and_leaves_nothing_off(ramp: Bench) -> None:
    ended, text = ramp.sheet("tighten", "--booking", "B0001", *NOW)
    assert ended.code == NOT_FINE
    assert "OLDSEALSNOTCOUNTED:j" in text
    assert "LEFTOFF" not in text
    assert "8N·m" in text


def test_a_count_that_differs_withholds_the_whole_sheet(ramp: Bench) -> None:
    assert ramp.run("count", "B0001", "j=1", *NOW).code == NOT_FINE
    refused = ramp.run("sheet", "tighten", "--booking", "B0001", *NOW, "--out", "withheld.pdf")
    assert refused.code == FAULT
    assert "the tightening and refit sheets are withheld: J: 1 still in there" in refused.said
    assert not (ramp.folder / "withheld.pdf").exists()
    assert ramp.run("count", "B0001", "j=2", *NOW).code == FINE
    _, text = ramp.sheet("tighten", "--booking", "B0001", *NOW)
    assert "NOTCOUNTED" not in text
    assert "8N·m" in text


WORK = """
cautions: [{code: hot, title: Hot, word: HOT, text: It burns.}]
items:
  - {code: PAD, name: pad, kind: wire-clip}
  - {code: PASTE, name: paste, kind: sealant, unit: ml, pack: 70 ml}
  - {code: LOCK, name: locker, kind: threadlocker, unit: ml, pack: 10 ml}
units:
  - code: u
    name: U
    joints:
      - code: left
        name: left
        system: body
        fits: [{item: PAD, position: l, quantity: 2 each, group: pads}]
        uses: [{item: PASTE, amount: 3 ml}, {item: LOCK, amount: 1 ml}]
      - {code: right, name: right, system: body, fits: [{item: PAD, position: r, quantity: 2 each, group: pads}]}
    steps: [{code: S, name: s, hours: 1 h, opens: [left, right], cautions: [hot]}]
    jobs: [{code: J, name: job, needs: [S]}]
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: C 1, model: m}]
branches: [{code: up, name: Upper}]
"""


def test_a_group_is_renewed_on_both_sides_if_one_fails(bench: Bench) -> None:
    bench.load(bench.write("work.yaml", WORK))
    said = bench.run("plan", CAR, "J", *ON, "--full").said
    assert "group pads: if one fails, all 4 are renewed" in said
    assert "all 2 are renewed" not in said
    (pads,) = bench.sure("J")["risks"]
    assert (pads["positions"], pads["pieces"], pads["group"]) == (["l", "r"], 4, True)


def test_the_word_of_a_caution_and_what_is_applied_stand_on_the_labels(bench: Bench) -> None:
    bench.load(bench.write("work.yaml", WORK))
    _, text = bench.sheet("labels", CAR, "J", *ON)
    # On the label of the kit, and on the bags of both joints that the step opens.
    assert text.count("HOT") >= 3
    assert "paste" in text
    assert "locker" in text
