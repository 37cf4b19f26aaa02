"""Whole packs, and what spares lose: against trying every purchase. All prices invented."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.advice.spare_costs import WHOLE, Way, loss, one_spare, price, spare_costs
from kitting.calc.purchasing.sourcing import Delivery, source
from kitting.calc.purchasing.sourcing_case import Line, Offer, Price, whole_packs

SINGLE = Offer(1, 1, 1, 1000, (Price(1, 600),))
TENS = Offer(2, 1, 1, 10_000, (Price(1, 4000),))


@st.composite
def offers(draw: st.DrawFn, key: int = 1) -> Offer:
    starts = sorted(draw(st.sets(st.integers(1, 12), min_size=1, max_size=3)))
    return Offer(
        key=key,
        item=1,
        delivery=1,
        pack=draw(st.sampled_from([1000, 2000, 5000])),
        prices=tuple(Price(start, draw(st.integers(0, 900))) for start in starts),
        minimum=draw(st.integers(1, 4)),
        multiple=draw(st.integers(1, 3)),
        available=draw(st.none() | st.integers(0, 20)),
    )


def ways() -> st.SearchStrategy[list[Way]]:
    lost = st.sampled_from([0, 15_000, WHOLE])
    return st.lists(st.builds(Way, offers(), lost), max_size=3)


def test_one_piece_is_bought_as_a_whole_pack_at_the_price_of_one_pack() -> None:
    assert whole_packs(TENS, 1000) == Line(2, 1, 4000)
    assert whole_packs(SINGLE, 1000) == Line(1, 1, 600)


def test_more_packs_are_taken_where_the_break_makes_them_cheaper() -> None:
    """Worked: common practice, no source. 60 at £0.42; 80 are dearer than 100 at £0.31."""
    offer = Offer(1, 1, 1, 1000, (Price(1, 42), Price(100, 31)), multiple=20)
    assert whole_packs(offer, 60_000) == Line(1, 60, 2520)
    assert whole_packs(offer, 80_000) == Line(1, 100, 3100)


def test_the_least_quantity_and_what_is_available_are_kept_to() -> None:
    assert whole_packs(replace(TENS, minimum=3), 1000) == Line(2, 3, 12_000)
    assert whole_packs(replace(TENS, available=1), 11_000) is None
    assert whole_packs(replace(TENS, prices=()), 1000) is None
    assert whole_packs(TENS, 0) == Line(2, 0, 0)


@given(offers(), st.integers(1, 30))
def test_a_line_of_whole_packs_is_what_the_cheapest_purchase_of_it_pays(
    offer: Offer, pieces: int
) -> None:
    ours = whole_packs(offer, pieces * 1000)
    bought = source({1: pieces * 1000}, [offer], [Delivery(1)])
    assert (ours is None) == (bought is None)
    if ours is not None and bought is not None:
        assert ours.minor == bought.spent


def test_what_may_go_back_loses_its_restocking_share_and_other_packs_are_lost_whole() -> None:
    assert loss([Way(TENS, WHOLE)], 0, 1) == 4000
    assert loss([Way(TENS, 15_000)], 0, 1) == 600
    assert loss([Way(TENS, 15_000), Way(SINGLE, WHOLE)], 0, 1) == 600
    assert loss([], 0, 1) is None
    assert loss([], 0, 0) == 0


def test_what_is_left_in_a_pack_that_is_needed_anyway_costs_nothing_more() -> None:
    assert [loss([Way(TENS, WHOLE)], 3000, n) for n in (1, 7, 8)] == [0, 0, 4000]


def test_of_a_purchase_that_is_needed_only_what_spares_add_may_go_back() -> None:
    assert loss([Way(SINGLE, 15_000)], 3000, 2) == 180


def test_what_lies_on_the_shelf_loses_nothing_and_the_rest_is_bought() -> None:
    assert spare_costs([Way(SINGLE, WHOLE)], 2, 0, 4) == (0, 0, 0, 600, 1200)
    assert spare_costs([], 2, 0, 4) == (0, 0, 0)
    assert spare_costs([Way(replace(TENS, available=1), WHOLE)], 0, 0, 12) == (0, *[4000] * 10)


def test_the_price_of_one_spare_is_that_of_the_offer_that_loses_least() -> None:
    assert one_spare([Way(SINGLE, WHOLE), Way(TENS, 0)]) == 4000
    assert one_spare([Way(SINGLE, WHOLE), Way(TENS, WHOLE)]) == 600
    assert one_spare([]) is None


@given(ways(), st.integers(0, 3), st.integers(0, 9), st.integers(0, 12))
def test_more_spares_never_lose_less(found: list[Way], free: int, short: int, most: int) -> None:
    costs = spare_costs(found, free, short * 1000, most)
    assert costs[0] == 0
    assert all(a <= b for a, b in pairwise(costs))


@given(ways(), st.builds(Way, offers(), st.sampled_from([0, 15_000, WHOLE])), st.integers(0, 9))
def test_an_offer_more_never_raises_what_needs_and_spares_cost_together(
    found: list[Way], more: Way, short: int
) -> None:
    before, after = price(found, short * 1000), price([*found, more], short * 1000)
    for pieces in range(12):
        lost = loss(found, short * 1000, pieces)
        if before is not None and lost is not None:
            now = loss([*found, more], short * 1000, pieces)
            assert after is not None
            assert now is not None
            assert after + now <= before + lost
            assert short or now <= lost


@pytest.mark.parametrize("pieces", [1, 4])
def test_what_is_needed_and_from_no_one_offer_does_not_make_spares_free(pieces: int) -> None:
    few = Way(replace(SINGLE, available=4), WHOLE)
    assert loss([few], 9000, pieces) == 600 * pieces
