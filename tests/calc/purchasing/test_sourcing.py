"""Sourcing: breaks, packs, carriage, leftovers, chances, and the best of all purchases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import pytest
from every_purchase import Drawn, counted, purchases
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.purchasing.sourcing import (
    Delivery,
    Limits,
    Line,
    Offer,
    Price,
    Purchase,
    Worth,
    best_chance,
    lacking,
    source,
)
from kitting.errors import KittingError

UNIT = 1000  # one stock unit in thousandths
WASHER, RING, CLAMP = 1, 2, 3
PLAIN = Delivery(1)


def single(key: int, item: int, minor: int, delivery: int = 1) -> Offer:
    return Offer(key, item, delivery, UNIT, (Price(1, minor),))


# Breaks, packs, minimum and multiple

BROKEN = Offer(1, WASHER, 1, UNIT, (Price(1, 42), Price(100, 31)))


def test_sixty_are_bought_as_they_are_where_the_break_is_too_far() -> None:
    assert source({WASHER: 60 * UNIT}, [BROKEN], [PLAIN]) == Purchase(
        lines=(Line(1, 60, 2520),), carriage=((1, 0),), spent=2520, worth=0, cost=2520, chance=1.0
    )


def test_for_eighty_the_hundred_of_the_next_break_cost_less() -> None:
    found = source({WASHER: 80 * UNIT}, [BROKEN], [PLAIN])
    assert found is not None
    assert (found.lines, found.cost) == ((Line(1, 100, 3100),), 3100)


def test_prices_may_come_in_any_order_and_begin_above_one_pack() -> None:
    offer = replace(BROKEN, prices=(Price(100, 31), Price(10, 42)))
    found = source({WASHER: 3 * UNIT}, [offer], [PLAIN])
    assert found is not None
    assert found.lines == (Line(1, 10, 420),)


def test_the_break_cannot_be_had_where_fewer_are_available() -> None:
    found = source({WASHER: 80 * UNIT}, [replace(BROKEN, available=99)], [PLAIN])
    assert found is not None
    assert found.lines == (Line(1, 80, 3360),)


def test_a_need_is_split_over_two_suppliers_where_one_has_not_enough() -> None:
    near = replace(single(1, RING, 100), available=3)
    far = single(2, RING, 130, delivery=2)
    found = source({RING: 5 * UNIT}, [near, far], [PLAIN, Delivery(2, carriage=250)])
    assert found is not None
    assert found.lines == (Line(1, 3, 300), Line(2, 2, 260))
    assert (found.carriage, found.cost) == (((1, 0), (2, 250)), 810)


def test_minimum_and_multiple_round_the_packs_up() -> None:
    offer = Offer(1, CLAMP, 1, UNIT, (Price(1, 50),), minimum=5, multiple=4)
    for need, packs in ((1, 8), (8, 8), (9, 12)):
        found = source({CLAMP: need * UNIT}, [offer], [PLAIN])
        assert found is not None
        assert found.lines == (Line(1, packs, 50 * packs),)


def test_part_of_a_unit_takes_a_whole_pack() -> None:
    bottle = Offer(1, WASHER, 1, 250, (Price(1, 499),))  # 0.25 l
    found = source({WASHER: 501}, [bottle], [PLAIN])
    assert found is not None
    assert found.lines == (Line(1, 3, 1497),)


# What is left over

TEN = Offer(1, RING, 1, 10 * UNIT, (Price(1, 900),))
ONE = single(2, RING, 240)


def test_a_dear_single_beats_the_pack_of_ten_of_which_nine_would_be_worth_little() -> None:
    # One a year is used and the ring keeps seven years: the next is worth its price, no more.
    kept = [Worth(RING, 90, UNIT)]
    found = source({RING: UNIT}, [TEN, ONE], [PLAIN], worth=kept)
    assert found is not None
    assert (found.lines, found.spent, found.worth, found.cost) == ((Line(2, 1, 240),), 240, 0, 240)


def test_the_pack_of_ten_is_bought_where_the_rest_will_be_used() -> None:
    kept = [Worth(RING, 90, 9 * UNIT)]
    found = source({RING: UNIT}, [TEN, ONE], [PLAIN], worth=kept)
    assert found is not None
    assert (found.lines, found.spent, found.worth, found.cost) == ((Line(1, 1, 900),), 900, 810, 90)


def test_the_first_left_over_may_be_worth_more_than_the_later_ones() -> None:
    tiers = [Worth(RING, 10, 6 * UNIT), Worth(RING, 80, 2 * UNIT)]
    found = source({RING: UNIT}, [TEN], [PLAIN], worth=tiers)
    assert found is not None
    assert (found.spent, found.worth, found.cost) == (900, 2 * 80 + 6 * 10, 680)


def test_worth_is_rounded_down_per_item() -> None:
    offers = [
        Offer(1, WASHER, 1, 700, (Price(1, 100),)),
        Offer(2, CLAMP, 1, 700, (Price(1, 100),)),
    ]
    tiers = [Worth(WASHER, 3, UNIT), Worth(CLAMP, 3, UNIT)]
    found = source({WASHER: 200, CLAMP: 200}, offers, [PLAIN], worth=tiers)
    assert found is not None
    assert (found.spent, found.worth, found.cost) == (200, 2, 198)  # 1.5 and 1.5


# Carriage

USUAL = 7
POUNDS_50_FREE = Delivery(1, carriage=695, carriage_free=5000)


def test_stock_in_use_anyway_tops_the_order_up_to_free_carriage() -> None:
    part, usual = single(1, RING, 4320), single(2, USUAL, 680)
    kept = [Worth(USUAL, 680, 10 * UNIT)]
    found = source({RING: UNIT}, [part, usual], [POUNDS_50_FREE], worth=kept)
    assert found is not None
    assert found.lines == (Line(1, 1, 4320), Line(2, 1, 680))
    assert found.carriage == ((1, 0),)
    assert (found.spent, found.worth, found.cost) == (5000, 680, 4320)


def test_without_stock_in_use_carriage_is_paid() -> None:
    part, usual = single(1, RING, 4320), single(2, USUAL, 680)
    found = source({RING: UNIT}, [part, usual], [POUNDS_50_FREE])
    assert found is not None
    assert found.lines == (Line(1, 1, 4320),)
    assert (found.carriage, found.cost) == (((1, 695),), 5015)


def test_a_second_piece_worth_nothing_is_bought_where_it_costs_less_than_the_carriage() -> None:
    found = source({RING: 9 * UNIT}, [single(1, RING, 500)], [POUNDS_50_FREE])
    assert found is not None
    assert (found.lines, found.cost) == ((Line(1, 10, 5000),), 5000)


def test_one_carriage_serves_all_items_of_a_delivery() -> None:
    offers = [single(1, RING, 100), single(2, CLAMP, 100), single(3, CLAMP, 40, delivery=2)]
    deliveries = [Delivery(1, carriage=300), Delivery(2, carriage=100)]
    found = source({RING: UNIT, CLAMP: UNIT}, offers, deliveries)
    assert found is not None
    assert found.lines == (Line(1, 1, 100), Line(2, 1, 100))
    assert (found.carriage, found.cost) == (((1, 300),), 500)


def test_a_least_order_value_is_reached_with_more_of_the_same_or_elsewhere() -> None:
    offers = [single(1, RING, 300), single(2, RING, 1300, delivery=2)]
    strict = Delivery(1, minimum=1000)
    found = source({RING: UNIT}, offers, [strict, Delivery(2)])
    assert found is not None
    assert (found.lines, found.cost) == ((Line(1, 4, 1200),), 1200)
    elsewhere = source({RING: UNIT}, offers, [replace(strict, minimum=1201), Delivery(2)])
    assert elsewhere is not None
    assert elsewhere.lines == (Line(2, 1, 1300),)


def test_one_more_beyond_the_least_order_value_may_save_the_carriage() -> None:
    strict = Delivery(1, carriage=20, carriage_free=61, minimum=60)
    found = source({RING: UNIT}, [single(1, RING, 10)], [strict])
    assert found is not None
    assert (found.lines, found.cost) == ((Line(1, 7, 70),), 70)


def test_large_orders_are_exact_to_the_last_penny() -> None:
    # One penny under a limit of a million pounds is under it.
    offer = single(1, RING, 99_999_999)
    pin = single(2, CLAMP, 1)
    big = Delivery(1, carriage=695, carriage_free=100_000_000)
    alone = source({RING: UNIT}, [offer], [replace(big, carriage=10)])
    assert alone is not None
    assert (alone.carriage, alone.cost) == (((1, 10),), 100_000_009)
    both = source({RING: UNIT, CLAMP: UNIT}, [offer, pin], [big])
    assert both is not None
    assert (both.carriage, both.cost) == (((1, 0),), 100_000_000)


# Chances

CHEAP, SURE = single(1, RING, 500), single(2, RING, 800, delivery=2)
OTHER = single(3, CLAMP, 200, delivery=3)
CHANCES = [Delivery(1, chance=0.8), Delivery(2, chance=0.99), Delivery(3, chance=0.9)]
BOTH = {RING: UNIT, CLAMP: UNIT}


def test_a_required_chance_chooses_the_dearer_supplier_who_is_sure() -> None:
    cheap = source(BOTH, [CHEAP, SURE, OTHER], CHANCES, target=0.72)
    assert cheap is not None
    assert cheap.cost == 700
    assert cheap.chance == pytest.approx(0.72)  # 0.8 × 0.9 meets 0.72
    sure = source(BOTH, [CHEAP, SURE, OTHER], CHANCES, target=0.73)
    assert sure is not None
    assert sure.cost == 1000
    assert sure.chance == pytest.approx(0.891)


def test_one_supplier_for_all_is_surer_than_three_deliveries_at_ninety_per_cent() -> None:
    offers = [single(n, n, 100, delivery=n) for n in (1, 2, 3)]
    offers += [single(10 + n, n, 150, delivery=4) for n in (1, 2, 3)]
    deliveries = [Delivery(n, chance=0.9) for n in (1, 2, 3, 4)]
    needs = dict.fromkeys((1, 2, 3), UNIT)
    split = source(needs, offers, deliveries, target=0.7)
    assert split is not None
    assert split.cost == 300
    assert split.chance == pytest.approx(0.729)
    whole = source(needs, offers, deliveries, target=0.73)
    assert whole is not None
    assert whole.cost == 400
    assert whole.chance == pytest.approx(0.81)  # two from the fourth
    surer = source(needs, offers, deliveries, target=0.82)
    assert surer is not None
    assert (surer.carriage, surer.cost, surer.chance) == (((4, 0),), 450, 0.9)


def test_the_best_chance_is_given_where_the_target_is_out_of_reach() -> None:
    offers, deliveries = [CHEAP, OTHER], CHANCES
    assert source(BOTH, offers, deliveries, target=0.95) is None
    assert best_chance(BOTH, offers, deliveries) == pytest.approx(0.72)
    assert lacking(BOTH, offers, deliveries, 0.95) == (RING, CLAMP)
    assert lacking(BOTH, offers, deliveries, 0.85) == (RING,)
    assert lacking(BOTH, offers, deliveries, 0.8) == ()


def test_a_delivery_that_cannot_arrive_in_time_is_used_only_without_a_target() -> None:
    late = [Delivery(1, chance=0.0)]
    found = source({RING: UNIT}, [CHEAP], late)
    assert found is not None
    assert (found.cost, found.chance) == (500, 0.0)
    assert source({RING: UNIT}, [CHEAP], late, target=0.001) is None
    assert best_chance({RING: UNIT}, [CHEAP], late) == 0.0
    assert best_chance(BOTH, [CHEAP, OTHER], [*late, CHANCES[2]]) == 0.0
    assert lacking({RING: UNIT}, [CHEAP], late, 0.001) == (RING,)


def test_of_equal_costs_the_higher_chance_is_taken_then_fewer_deliveries() -> None:
    offers = [single(n, RING, 500, delivery=n) for n in (1, 2, 3)]
    offers += [single(10 + n, CLAMP, 200, delivery=n) for n in (1, 3)]
    deliveries = [Delivery(1, chance=0.7), Delivery(2), Delivery(3, chance=0.9)]
    found = source(BOTH, offers, deliveries)
    assert found is not None
    assert found.lines == (Line(3, 1, 500), Line(13, 1, 200))
    assert (found.carriage, found.chance) == (((3, 0),), 0.9)


# What cannot be had, what is barred and what is settled already


def test_what_no_usable_offer_supplies_is_lacking() -> None:
    few = replace(CHEAP, available=2)
    assert source({RING: 3 * UNIT, CLAMP: UNIT}, [few, OTHER], CHANCES) is None
    assert lacking({RING: 3 * UNIT, CLAMP: UNIT}, [few, OTHER], CHANCES) == (RING,)
    assert best_chance({RING: 3 * UNIT}, [few], CHANCES) == 0.0
    assert lacking({RING: UNIT}, [replace(CHEAP, prices=())], CHANCES) == (RING,)
    assert lacking({RING: UNIT}, [replace(CHEAP, minimum=5, available=4)], CHANCES) == (RING,)
    assert lacking({RING: UNIT}, [CHEAP], CHANCES, barred=[1]) == (RING,)
    assert lacking({RING: UNIT, CLAMP: 0}, [CHEAP], CHANCES) == ()


def test_without_needs_nothing_is_bought() -> None:
    nothing = Purchase((), (), 0, 0, 0, 1.0)
    assert source({}, [CHEAP], CHANCES, target=0.99) == nothing
    assert source({RING: 0}, [CHEAP], CHANCES) == nothing
    assert source({}, [CHEAP], CHANCES, worth=[Worth(RING, 499, 3 * UNIT)]) == nothing
    assert best_chance({}, [], []) == 1.0


def test_with_an_offer_barred_the_next_best_is_found() -> None:
    second = source({RING: UNIT}, [CHEAP, SURE], CHANCES, limits=Limits(barred={1}))
    assert second is not None
    assert second.lines == (Line(2, 1, 800),)
    assert source({RING: UNIT}, [CHEAP, SURE], CHANCES, limits=Limits(barred={1, 2})) is None


def test_what_is_settled_already_is_bought_and_the_rest_around_it() -> None:
    found = source({RING: 3 * UNIT}, [CHEAP, SURE], CHANCES, limits=Limits({2: 2}))
    assert found is not None
    assert found.lines == (Line(1, 1, 500), Line(2, 2, 1600))
    unneeded = source({RING: UNIT}, [CHEAP, OTHER], CHANCES, limits=Limits({3: 1}))
    assert unneeded is not None
    assert unneeded.lines == (Line(1, 1, 500), Line(3, 1, 200))
    assert source({RING: UNIT}, [CHEAP, SURE], CHANCES, limits=Limits({2: 1}, [2])) is None
    assert (
        source({RING: UNIT}, [replace(CHEAP, available=3)], CHANCES, limits=Limits({1: 4})) is None
    )


def test_packs_that_cost_nothing_are_taken_only_as_they_are_needed() -> None:
    free = replace(single(1, RING, 0), available=9)
    found = source({RING: 2 * UNIT, CLAMP: UNIT}, [free, OTHER], CHANCES)
    assert found is not None
    assert found.lines == (Line(1, 2, 0), Line(3, 1, 200))


@pytest.mark.parametrize(
    ("offers", "deliveries", "message"),
    [
        ([CHEAP], [], "Offer 1 comes with delivery 1, which is not there"),
        ([CHEAP, CHEAP], CHANCES, "have the same key"),
        ([replace(CHEAP, pack=0)], CHANCES, "Offer 1: pack 0"),
        ([replace(CHEAP, prices=(Price(1, -5),))], CHANCES, r"prices \[-5\]"),
        ([CHEAP], [Delivery(1, chance=1.01)], "Delivery 1: chance 1.01"),
        ([CHEAP], [Delivery(1, carriage=-1)], "carriage -1"),
    ],
)
def test_what_makes_no_sense_is_refused(
    offers: list[Offer], deliveries: list[Delivery], message: str
) -> None:
    for ask in (source, best_chance, lacking):
        with pytest.raises(KittingError, match=message):
            ask({RING: UNIT}, offers, deliveries)


# Against every purchase there is


ITEMS = st.integers(0, 2)
PRICES = st.dictionaries(st.integers(1, 5), st.integers(0, 30), max_size=2).map(
    lambda drawn: tuple(Price(packs, minor) for packs, minor in ({1: 25} | drawn).items())
)
TWENTIETHS = st.sampled_from([20, 19, 18, 16, 14, 10, 0])
DELIVERIES = st.lists(
    st.builds(
        Delivery,
        key=st.just(0),
        carriage=st.sampled_from([0, 7, 20]),
        carriage_free=st.none() | st.integers(0, 80),
        minimum=st.sampled_from([0, 0, 25, 60]),
        chance=TWENTIETHS.map(lambda n: n / 20),
    ),
    min_size=1,
    max_size=3,
).map(lambda drawn: [replace(delivery, key=n) for n, delivery in enumerate(drawn)])


@st.composite
def cases(draw: st.DrawFn) -> Drawn:
    deliveries = draw(DELIVERIES)
    offers = draw(
        st.lists(
            st.builds(
                Offer,
                key=st.just(0),
                item=ITEMS,
                delivery=st.integers(0, len(deliveries) - 1),
                pack=st.sampled_from([300, 1000, 1000, 2500]),
                prices=PRICES,
                minimum=st.sampled_from([1, 1, 2, 3]),
                multiple=st.sampled_from([1, 1, 2, 3]),
                available=st.none() | st.integers(2, 6),
            ),
            min_size=3,
            max_size=4,
        )
    )
    offers = [replace(offer, key=n) for n, offer in enumerate(offers)]
    offered = st.sampled_from(sorted({offer.item for offer in offers}))
    return Drawn(
        draw(st.dictionaries(offered, st.sampled_from([400, 1000, 2000, 3500]), min_size=1)),
        offers,
        deliveries,
        draw(st.sampled_from([Fraction(n, 400) for n in (0, 200, 288, 304, 324, 361, 400)])),
        draw(
            st.lists(
                st.builds(Worth, ITEMS, st.integers(0, 15), st.sampled_from([500, 1000, 3000])),
                max_size=3,
            )
        ),
        draw(st.dictionaries(st.integers(0, len(offers) - 1), st.integers(1, 2), max_size=1)),
    )


def as_packs(case: Drawn, found: Purchase) -> list[int]:
    packs: Mapping[int, int] = {line.offer: line.packs for line in found.lines}
    return [packs.get(offer.key, 0) for offer in case.offers]


@given(case=cases())
@examples(50, 400)
def test_no_purchase_of_any_kind_costs_less(case: Drawn) -> None:
    possible = list(purchases(case))
    found = case.found()
    if found is None:
        assert not possible
        return
    packs = as_packs(case, found)
    own = counted(case, packs)
    assert own is not None
    assert own.cost == found.cost == found.spent - found.worth
    assert own.deliveries == tuple(key for key, _ in found.carriage)
    assert float(own.chance) == pytest.approx(found.chance)
    assert found.spent == sum(n.minor for n in found.lines) + sum(
        paid for _, paid in found.carriage
    )
    least = min((other.cost for other in possible), default=found.cost)
    assert found.cost <= least
    if max(packs, default=0) < 8:
        assert found.cost == least
    # Of equal costs the highest chance, then the fewest deliveries.
    equal = [other for other in possible if other.cost == found.cost]
    assert own.chance >= max((other.chance for other in equal), default=Fraction(0))
    if own.chance:
        alike = [len(other.deliveries) for other in equal if other.chance == own.chance]
        assert len(own.deliveries) <= min(alike, default=len(own.deliveries))


@given(case=cases())
@examples(35, 300)
def test_the_best_chance_is_reached_and_not_exceeded(case: Drawn) -> None:
    free = replace(case, forced={}, target=Fraction(0))
    chance = best_chance(case.needs, case.offers, case.deliveries, case.worth)
    assert chance >= float(max((other.chance for other in purchases(free)), default=0)) - 1e-9
    assert free.found(min(chance + 0.001, 1.0)) is None or chance == 1.0
    if chance:
        found = free.found(chance)
        assert found is not None
        assert found.chance == pytest.approx(chance)
    if lacking(case.needs, case.offers, case.deliveries, float(case.target)):
        assert case.found() is None


@given(case=cases())
@examples(20, 150)
def test_the_order_of_what_is_given_does_not_change_the_purchase(case: Drawn) -> None:
    turned = Drawn(
        dict(reversed(case.needs.items())),
        case.offers[::-1],
        case.deliveries[::-1],
        case.target,
        case.worth[::-1],
        case.forced,
    )
    assert turned.found() == case.found()


@given(case=cases(), data=st.data())
@examples(25, 200)
def test_an_offer_more_never_raises_the_cost(case: Drawn, data: st.DataObject) -> None:
    """Nor does it put out of reach what could be bought before; a settled line stays settled."""
    kept_back = data.draw(st.sampled_from([o.key for o in case.offers if o.key not in case.forced]))
    fewer = replace(case, offers=[offer for offer in case.offers if offer.key != kept_back])
    before, after = fewer.found(), case.found()
    if before is not None:
        assert after is not None
        assert after.cost <= before.cost
