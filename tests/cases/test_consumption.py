"""Packets, opened packs and spares are counted once, and at their age."""

from __future__ import annotations

import math
from typing import Any

import pytest
from bench import CAR, FAULT, FINE, NOW, ON, SUPPLY, Bench
from scipy.integrate import quad
from scipy.stats import beta

# A belief before any finding weighs ten inspections; a clip fails in 10 %, a moulded seal in 15 %
# (both assumed, seeds/general.yaml), and the hot side moves log-odds by 0.9 (invented, as the
# product says of it).
WEIGHT, HOT = 10, 0.9


def passes(chance: float, looks: int) -> float:
    """The chance that so many looks all pass, where the chance itself is a Beta: a product."""
    good = (1 - chance) * WEIGHT
    return math.prod((good + n) / (WEIGHT + n) for n in range(looks))


def dated(bench: Bench, name: str, made: str) -> str:
    """A stock list whose first lot has a date of making."""
    rows = (bench.folder / name).read_text(encoding="utf-8").splitlines()
    assert rows[0] == "branch,item,lot,quantity"
    full = [f"{row},{made if ',WS,' in row else ''}" for row in rows[1:]]
    return bench.write("dated.csv", "\n".join([f"{rows[0]},made", *full]) + "\n")


def risks(sure: Any) -> dict[tuple[str, ...], int]:
    """By position, how many pieces in stock count as spares."""
    return {tuple(one["positions"]): one["in_stock"] for one in sure["risks"]}


@pytest.mark.parametrize("name", ["q1.csv", "q1a.csv"])
def test_c2_a_heading_that_was_renamed_is_refused_with_the_new_one(bench: Bench, name: str) -> None:
    bench.load("q1.yaml")
    refused = bench.run("stock", "load", name, *NOW)
    assert (refused.code, "Write 'on hold' instead" in refused.said) == (FAULT, True)


@pytest.mark.parametrize(
    ("name", "free", "cools"),
    [
        ("q1.csv", 2, 1.0),  # the clips are free, the seals expired
        ("q1a.csv", 0, passes(0.10, 2)),  # the clips are on hold as well: 60.1 %
    ],
)
def test_c2_stock_that_is_expired_or_on_hold_is_no_spare(
    bench: Bench, name: str, free: int, cools: float
) -> None:
    bench.load("q1.yaml")
    bench.must("stock", "load", bench.changed(name, (",held\n", ",on hold\n")), *NOW)
    listed = bench.must("stock", "list", *ON, "--json").data
    assert {lot["lot"]: lot["state"] for lot in listed}["W1"] == "expired"
    assert {lot["lot"]: lot["free"] for lot in listed} == {"W1": 0, "C1": free}
    sure = bench.sure("J")
    assert risks(sure) == {("ws",): 0, ("cl",): free}
    assert sure["chance"] == pytest.approx(passes(0.15, 2) * cools)


def test_c2_stock_of_unknown_age_is_no_spare_and_is_told(bench: Bench) -> None:
    bench.load("q1.yaml")
    bench.must("stock", "load", "q1b.csv", *NOW)
    (seal,) = (one for one in bench.sure("J")["risks"] if one["item"] == "WS")
    assert (seal["in_stock"], seal["unknown_age"]) == (0, 2)


def test_c2_what_is_renewed_in_any_case_is_not_a_spare_as_well(bench: Bench) -> None:
    bench.load("q1.yaml")
    bench.must("stock", "load", dated(bench, "q1b.csv", "1Q26"), *NOW)
    assert bench.sure("J")["chance"] == pytest.approx(1.0)
    sure = bench.sure("J", "K")
    assert risks(sure) == {("ws",): 2, ("cl",): 0, ("clh",): 0}
    # Two clips pass at each place; what is believed of their chance is shared (by quantiles).
    odds = 0.1 / 0.9 * math.exp(HOT)
    hot = odds / (1 + odds)
    cool_one, hot_one = (beta(WEIGHT * p, WEIGHT * (1 - p)) for p in (0.1, hot))
    both, _ = quad(lambda u: ((1 - cool_one.ppf(u)) * (1 - hot_one.ppf(u))) ** 2, 0, 1)
    assert sure["chance"] == pytest.approx(both, abs=1e-6)  # 54.4 %
    assert passes(0.1, 2) * passes(hot, 2) < sure["chance"] < 0.6


def test_c15_every_opening_of_a_joint_is_a_look(bench: Bench) -> None:
    bench.load("op.yaml")
    sure = bench.sure("J")
    (clip,) = sure["risks"]
    assert clip["openings"] == 6
    assert sure["chance"] == pytest.approx(passes(0.10, 6))  # 60 %, where one look has 90 %


PACKETS = {
    # Two seals lie in a kit in the big kit; the grease comes in a kit of its own.
    "J": {"BIGKIT": 1, "KIT": 1, "SEAL": 0},
    # One pair for its A, and the nine B that it lacks in a ten.
    "K": {"AB": 1, "B10": 1, "A": 0, "B": 0},
}


@pytest.mark.parametrize("job", PACKETS)
def test_c13_packets_are_the_fewest_that_hold_what_is_needed(bench: Bench, job: str) -> None:
    bench.load("p1.yaml")
    plan = bench.plan(job)
    assert {line["item"]: line["to_take"] for line in plan["lines"]} == PACKETS[job]
    assert all(use["to_take"] == 0 for use in plan["uses"])


def test_c13_a_packet_says_which_job_it_is_taken_for(bench: Bench) -> None:
    bench.load("p1.yaml")
    lines = {line["item"]: line for line in bench.plan("J")["lines"]}
    for packet in ("BIGKIT", "KIT"):
        assert [reason["jobs"] for reason in lines[packet]["reasons"]] == [["J"]], packet
    assert "J → step S → joint j" in bench.run("why", CAR, "J", *ON, "--about", "KIT").said


PRICES = """item,part,price,pack,returns
SEAL,P1,4.00 GBP,1 each,no
SEAL2,P2,5.00 GBP,1 each,no
SACHET,P3,2.00 GBP,5 ml,no
CAPS,P4,1.00 GBP,1 each,no
"""


@pytest.mark.parametrize(
    ("jobs", "ordered"),
    [
        (("J",), {"SEAL": 1}),
        (("K",), {"SEAL2": 1}),  # brings four caps and the grease
        (("J", "K"), {"SEAL": 1, "SEAL2": 1}),
    ],
)
def test_c13_what_a_packet_brings_is_not_bought_again(
    bench: Bench, jobs: tuple[str, ...], ordered: dict[str, int]
) -> None:
    bench.load("pk2.yaml")
    bench.load(bench.write("supply.yaml", SUPPLY))
    bench.must("prices", "q", bench.write("prices.csv", PRICES))
    number, _ = bench.book(*jobs)
    bought = bench.run("buy", number, *NOW, "--json").data
    lines = [line for parcel in bought["parcels"] for line in parcel["lines"]]
    assert {line["item"]: line["ordered"] for line in lines} == ordered


CLIPS = """
items:
  - {code: CLIP, name: clip, kind: wire-clip}
  - {code: RAIL, name: rail, kind: shaft-seal, elastomer: NBR, contents: [{item: CLIP, quantity: 4 each}]}
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: engine
        fluids: [engine-oil]
        fits:
          - {item: RAIL, position: rail}
          - {item: CLIP, position: clips, quantity: %d each}
    steps: [{code: S, name: s, hours: 1 h, opens: [j]}]
    jobs: [{code: J, name: job, needs: [S]}]
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: C 1, model: m}]
branches: [{code: up, name: Upper}]
"""


@pytest.mark.parametrize(("inspected", "spares"), [(4, 0), (6, 2)])
def test_clips_that_a_packet_brings_are_the_spares(
    bench: Bench, inspected: int, spares: int
) -> None:
    bench.load(bench.write("clips.yaml", CLIPS % inspected))
    stock = "branch,item,lot,quantity,made\nup,CLIP,C1,20 each,\nup,RAIL,R1,1 each,1Q26\n"
    bench.must("stock", "load", bench.write("stock.csv", stock), *NOW)
    number, _ = bench.book("J")
    shown = bench.run("booking", "show", number, *NOW, "--json").data
    needed = {(need["item"], need["rule"]): need["needed"] for need in shown["needs"]}
    assert needed.get(("CLIP", "inspect"), 0) == spares
    lots = {lot["lot"]: lot for lot in bench.must("stock", "list", *ON, "--json").data}
    assert lots["C1"]["promised"] == spares


SECOND = ("--on", "2026-07-24")  # 100 days after the first; the sealant keeps 60 days once opened


@pytest.fixture
def tubes(bench: Bench) -> Bench:
    times = "times: {open: 10 min, cure: 24 h, laying: 1 m/min, source: invented}"
    bench.load(bench.changed("o1.yaml", ("opened_life: 60 days", f"opened_life: 60 days, {times}")))
    bench.must("prices", "q", "o1p.csv")
    return bench


def test_c14_one_tube_is_not_promised_to_a_kit_after_its_opened_life(tubes: Bench) -> None:
    tubes.must("stock", "load", "o1.csv", *NOW)
    first, ended = tubes.book("J")
    assert (ended.code, "READY" in ended.out) == (FINE, True)
    second, later = tubes.book("J", car="C 2", on=SECOND)
    assert "NOT READY: NO" in later.out
    assert "TUBE: 18.9 ml short" in later.said
    bought = tubes.run("buy", first, second, *NOW, "--json").data
    (line,) = (line for parcel in bought["parcels"] for line in parcel["lines"])
    assert (line["item"], line["packs"]) == ("TUBE", 1)


def test_c14_within_the_opened_life_one_tube_does_for_both(tubes: Bench) -> None:
    tubes.must("stock", "load", "o1.csv", *NOW)
    tubes.book("J")
    _, later = tubes.book("J", car="C 2", on=("--on", "2026-06-01"))
    assert (later.code, "NOT READY" in later.out) == (FINE, False)


def test_c14_packs_are_bought_by_the_dates_of_the_bookings(tubes: Bench) -> None:
    tubes.must("stock", "load", "o2.csv", *NOW)
    numbers = [tubes.book("J")[0], tubes.book("J", car="C 2", on=SECOND)[0]]
    bought = tubes.run("buy", *numbers, *NOW, "--json").data
    (line,) = (line for parcel in bought["parcels"] for line in parcel["lines"])
    assert (line["item"], line["packs"]) == ("TUBE", 2)
