"""What counts as a spare: fit for certain, nobody else's, given once; looks and money as they are."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, listed, load, priced, stock, unit
from kitting.calc.purchasing.sourcing_case import Offer, Price, whole_packs
from kitting.services.advice.completion import completion_chance
from kitting.services.advice.learned_rates import learned, load_findings
from kitting.services.advice.weighed_case import Work
from kitting.store import reading
from kitting.views.completion import CompletionView

# Of 100 wire clips 10 are assumed to fail (seeds, invented); a kind of its own says nothing.
LOOK = "rules: [{rule: inspect, source: maker, criterion: no crack, reference: test}]"
RENEW = "rules: [{rule: renew, source: maker, reference: test}]"
ITEMS = "\n  - {code: CL, name: clip, kind: wire-clip}"
TWO = f"\n          - {{item: CL, position: p, quantity: 2 each, {LOOK}}}"


def garage_of(engine: Engine, fits: str, items: str = ITEMS, opens: str = "x1") -> None:
    joint = f"\n      - code: x1\n        name: X1\n        system: engine\n        fits:{fits}"
    step = f"\n      - {{code: S1, name: S, hours: 1 h, opens: [{opens}]}}"
    job = "\n      - {code: X1, name: X1, needs: [S1]}"
    load(engine, unit(joint, step, job, items=items) + SUPPLY)


def sure(engine: Engine) -> CompletionView:
    with reading(engine) as session:
        return completion_chance(session, Work("PELL 001", ["X1"], ON, "yard"), NOW)


def test_what_is_expired_on_hold_or_of_unknown_age_is_no_spare(
    lite: Engine, tmp_path: Path
) -> None:
    seal = "\n  - {code: WS, name: seal, kind: moulded-ring, elastomer: NBR, shelf_life: 12 months}"
    garage_of(lite, f"\n          - {{item: WS, position: p, quantity: 2 each, {LOOK}}}", seal)
    alone = sure(lite).chance
    stock(lite, tmp_path, "yard,WS,OLD,2 each,1Q10", "yard,WS,NODATE,2 each")
    assert (sure(lite).chance, sure(lite).risks[0].in_stock) == (alone, 0)
    stock(lite, tmp_path, "yard,WS,OLD,2 each,1Q10", "yard,WS,NEW,2 each,1Q26")
    assert (sure(lite).chance, sure(lite).risks[0].in_stock) == (1.0, 2)


def test_a_piece_that_is_renewed_anyway_is_no_spare_and_none_is_given_twice(
    lite: Engine, tmp_path: Path
) -> None:
    hot = f"\n          - {{item: CL, position: h, quantity: 2 each, heat: hot, {LOOK}}}"
    must = f"\n          - {{item: CL, position: m, quantity: 2 each, {RENEW}}}"
    garage_of(lite, TWO + hot + must)
    stock(lite, tmp_path, "yard,CL,A,2 each")
    assert [risk.in_stock for risk in sure(lite).risks] == [0, 0]
    stock(lite, tmp_path, "yard,CL,A,5 each")
    hot_side, cold_side = sure(lite).risks
    assert (hot_side.in_stock, cold_side.in_stock, cold_side.shared_by) == (3, 3, 2)
    # Whoever fails takes them: with two more, all four that may fail are there.
    assert sure(lite).chance < 1
    stock(lite, tmp_path, "yard,CL,A,6 each")
    assert sure(lite).chance == 1


@pytest.mark.parametrize(("reopened", "looks"), [(0, 1), (5, 6)])
def test_each_opening_looks_at_every_piece_again(lite: Engine, reopened: int, looks: int) -> None:
    """A share of ½ failures in 10 looks of belief: Beta(1, 9), six looks, 9/15 pass them all."""
    garage_of(
        lite, f"\n          - {{item: CL, position: p, {LOOK}}}",
        opens=f"{{joint: x1, times: 1, reopened: {reopened}}}",
    )  # fmt: skip
    (risk,) = sure(lite).risks
    assert risk.looks == looks
    # The chance that none of n fails by Beta(1, 9): the product of (9 + i)/(10 + i).
    none = 1.0
    for look in range(looks):
        none *= (9 + look) / (10 + look)
    assert sure(lite).without == pytest.approx(none)


def test_money_comes_in_whole_packs_at_the_price_for_so_many(lite: Engine, tmp_path: Path) -> None:
    """A ring in tens at £40.00, a clip at £6.00, from a hundred at £0.10."""
    ring = f"\n          - {{item: RING, position: r, {RENEW}}}"
    garage_of(lite, f"\n          - {{item: CL, position: p, {LOOK}}}" + ring)
    heading = "part,item,price,pack,returns,break 1 from,break 1 price"
    priced(
        lite, tmp_path, "prompt", "P1,RING,40.00 GBP,10 each,no,,",
        "P2,CL,6.00 GBP,1 each,no,100,0.10 GBP", heading=heading,
    )  # fmt: skip
    view = sure(lite)
    assert view.estimate.now.minor == 4000
    # One time in ten £6.00 more: 60p on average, and never more than that clip.
    assert (view.estimate.expected.minor, view.estimate.upper.minor) == (4060, 4600)
    # A hundred clips at 10p cost more than one at £6.00.
    assert view.risks[0].price is not None
    assert view.risks[0].price.minor == 600


@given(
    amount=st.integers(1, 60_000),
    pack=st.sampled_from([1000, 2000, 5000]),
    breaks=st.dictionaries(st.integers(2, 30), st.integers(1, 500), max_size=3),
    minimum=st.integers(1, 4),
    multiple=st.integers(1, 3),
)
def test_the_whole_packs_is_that_of_every_number_of_packs_tried(
    amount: int, pack: int, breaks: dict[int, int], minimum: int, multiple: int
) -> None:
    prices = (Price(1, 300), *(Price(start, minor) for start, minor in sorted(breaks.items())))
    offer = Offer(1, 1, 1, pack, prices, minimum, multiple)

    def each(packs: int) -> int:
        return max((p for p in prices if p.from_packs <= packs), key=lambda p: p.from_packs).minor

    possible = [
        packs * each(packs)
        for packs in range(multiple, 200, multiple)
        if packs >= minimum and packs * pack >= amount
    ]
    line = whole_packs(offer, amount)
    assert line is not None
    assert line.minor == min(possible)


def test_a_kind_without_a_stated_chance_learns_from_its_first_finding(
    lite: Engine, tmp_path: Path
) -> None:
    kinds = """
kinds:
  - code: own-kind
    name: own kind
    family: seal
    rules: [{rule: inspect, source: general, criterion: whole, reference: test}]
"""
    joint = (
        "\n      - code: x1\n        name: X1\n        system: engine\n        fits:"
        f"\n          - {{item: OWN, position: p, {LOOK}}}"
    )
    step = "\n      - {code: S1, name: S, hours: 1 h, opens: [x1]}"
    job = "\n      - {code: X1, name: X1, needs: [S1]}"
    items = "\n  - {code: OWN, name: own, kind: own-kind}"
    load(lite, kinds + unit(joint, step, job, items=items) + SUPPLY)
    assert [one.item for one in sure(lite).unknown] == ["OWN"]
    heading = "on,unit,joint,position,item,found,reason"
    row = "2026-01-05,grebe,x1,p,OWN,{},{}"
    load_findings(lite, [listed(tmp_path, heading, row.format("failed", "torn"))])
    view = sure(lite)
    # Jeffreys' prior Beta(½, ½) and one failure: Beta(1½, ½).
    assert (view.unknown, view.risks[0].chance) == ((), pytest.approx(0.75))
    with reading(lite) as session:
        (told,) = learned(session)
    assert (told.item, told.prior, told.inspected, told.failed) == ("OWN", None, 1, 1)


def test_two_cars_that_fail_alike_on_one_day_are_two_findings(lite: Engine, tmp_path: Path) -> None:
    garage_of(lite, TWO)
    heading = "on,unit,joint,position,item,found,reason"
    row = "2026-01-05,grebe,x1,p,CL,failed,cracked"
    twice = listed(tmp_path, heading, row, row)
    assert load_findings(lite, [twice]) == 2
    assert load_findings(lite, [twice]) == 0
    assert load_findings(lite, [listed(tmp_path, heading, row, row, row)]) == 1


def test_a_date_of_making_never_lowers_the_chance(lite: Engine, tmp_path: Path) -> None:
    seal = "\n  - {code: WS, name: seal, kind: moulded-ring, elastomer: NBR}"
    garage_of(lite, f"\n          - {{item: WS, position: p, quantity: 2 each, {LOOK}}}", seal)
    chances = []
    for made in ("", "1Q25"):
        stock(lite, tmp_path, f"yard,WS,A{made},1 each,{made}")
        chances.append(sure(lite).chance)
    assert chances == sorted(chances)
    assert chances[0] < chances[1]
    assert date(2026, 4, 15) == ON
