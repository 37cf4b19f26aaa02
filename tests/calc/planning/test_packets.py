"""Packets: nothing is ordered that a packet already brings."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.calc.planning.packets import cover
from kitting.errors import KittingError

COOLER, RING, KIT, SEAL, BOOT = 1, 2, 3, 4, 5
# The first example that asks the solver loads it, which takes longer than an example may.


def test_a_cooler_on_the_plan_brings_its_rings() -> None:
    found = cover({COOLER: 1000, RING: 2000}, {COOLER: {RING: 2000}}, set())
    assert found.take == {COOLER: 1000, RING: 0}
    assert found.covered == {RING: ((COOLER, 2000),)}
    assert found.added == {}


def test_rings_beyond_what_the_cooler_brings_are_still_taken() -> None:
    found = cover({COOLER: 1000, RING: 5000}, {COOLER: {RING: 2000}}, set())
    assert found.take == {COOLER: 1000, RING: 3000}


def test_a_cooler_that_is_not_on_the_plan_brings_nothing() -> None:
    assert cover({RING: 2000}, {COOLER: {RING: 2000}}, set()).take == {RING: 2000}


def test_one_axle_kit_serves_two_calipers() -> None:
    found = cover({SEAL: 2000, BOOT: 2000}, {KIT: {SEAL: 2000, BOOT: 2000}}, {SEAL, BOOT})
    assert found.take == {SEAL: 0, BOOT: 0, KIT: 1000}
    assert found.added == {KIT: 1000}


def test_three_calipers_need_two_axle_kits() -> None:
    found = cover({SEAL: 3000, BOOT: 3000}, {KIT: {SEAL: 2000, BOOT: 2000}}, {SEAL, BOOT})
    assert found.added == {KIT: 2000}


def test_an_item_that_nothing_brings_is_left_to_be_taken() -> None:
    assert cover({SEAL: 1000}, {}, {SEAL}).take == {SEAL: 1000}


def test_an_item_that_nothing_brings_does_not_keep_the_others_from_their_packet() -> None:
    found = cover({SEAL: 1000, BOOT: 1000}, {KIT: {BOOT: 1000}}, {SEAL, BOOT})
    assert found.take == {SEAL: 1000, BOOT: 0, KIT: 1000}


PACKET = st.dictionaries(
    st.sampled_from([RING, SEAL, BOOT]), st.integers(1, 4).map(lambda n: n * 1000), min_size=1
)
NEED = st.integers(0, 6).map(lambda n: n * 1000)


@given(
    st.dictionaries(st.sampled_from([COOLER, KIT, RING, SEAL, BOOT]), NEED),
    st.dictionaries(st.sampled_from([COOLER, KIT]), PACKET),
    st.sets(st.sampled_from([SEAL, BOOT])),
)
def test_what_is_taken_and_covered_adds_up_to_the_need(
    demand: dict[int, int], contents: dict[int, dict[int, int]], only: set[int]
) -> None:
    found = cover(demand, contents, only)
    for item, need in demand.items():
        covered = sum(amount for _, amount in found.covered.get(item, ()))
        assert found.take[item] + covered == need + found.added.get(item, 0)
        held = any(item in inside for inside in contents.values())
        if item in only and held:
            assert found.take[item] == 0


def test_of_a_packet_that_holds_more_than_is_needed_no_more_is_covered() -> None:
    found = cover({SEAL: 3000, BOOT: 1000}, {KIT: {SEAL: 2000, BOOT: 2000}}, {SEAL, BOOT})
    assert found.take == {SEAL: 0, BOOT: 0, KIT: 2000}
    assert found.covered == {BOOT: ((KIT, 1000),), SEAL: ((KIT, 3000),)}


def test_a_packet_of_another_size_brings_its_contents_once_each() -> None:
    found = cover({COOLER: 2000, RING: 9000}, {COOLER: {RING: 2000}}, set())
    assert found.take == {COOLER: 2000, RING: 5000}
    assert found.covered == {RING: ((COOLER, 4000),)}


def test_one_packet_that_holds_all_is_taken_and_not_two() -> None:
    small, whole = 1, 2
    contents = {small: {SEAL: 1000}, whole: {SEAL: 1000, BOOT: 1000}}
    found = cover({SEAL: 1000, BOOT: 1000}, contents, {SEAL, BOOT})
    assert found.added == {whole: 1000}
    # Where one thing is asked for, the packet with nothing else in it will do.
    assert cover({SEAL: 1000}, contents, {SEAL}).added == {small: 1000}


def test_so_many_packets_are_taken_that_the_scarcest_content_suffices() -> None:
    found = cover({SEAL: 2000, BOOT: 2000}, {KIT: {SEAL: 2000, BOOT: 1000}}, {SEAL, BOOT})
    assert found.added == {KIT: 2000}


def test_the_least_amount_of_what_is_not_sold_singly_brings_a_packet() -> None:
    assert cover({SEAL: 1}, {KIT: {SEAL: 1000}}, {SEAL}).added == {KIT: 1000}


def test_what_is_open_is_looked_for_item_by_item() -> None:
    # No packet holds both: each item brings its own.
    found = cover({SEAL: 1000, BOOT: 1000}, {8: {SEAL: 1000}, 9: {BOOT: 1000}}, {SEAL, BOOT})
    assert found.added == {8: 1000, 9: 1000}


@pytest.mark.parametrize("amount", [1500, 1998])
def test_less_than_a_whole_packet_brings_nothing(amount: int) -> None:
    assert cover({COOLER: amount, RING: 9000}, {COOLER: {RING: 2000}}, set()).take[RING] == 7000


def test_of_as_few_packets_those_with_the_fewest_other_things_are_taken() -> None:
    contents = {8: {SEAL: 1000, RING: 1000, BOOT: 1000}, 9: {SEAL: 1000, RING: 1000}}
    found = cover({RING: 1000, SEAL: 1000}, contents, {RING, SEAL})
    assert found.added == {9: 1000}


def test_what_two_needed_packets_hold_is_drawn_from_one_of_them() -> None:
    contents = {8: {SEAL: 1000, BOOT: 1000}, 9: {BOOT: 1000, RING: 1000}}
    found = cover({RING: 1000, SEAL: 1000, BOOT: 1000}, contents, {RING, SEAL, BOOT})
    assert found.added == {8: 1000, 9: 1000}
    assert found.covered[BOOT] in (((8, 1000),), ((9, 1000),))


A, B, PAIR, TEN = 11, 12, 13, 14


def test_one_pair_and_one_bag_of_ten_do_where_ten_pairs_would_too() -> None:
    contents = {PAIR: {A: 1000, B: 1000}, TEN: {B: 10_000}}
    found = cover({A: 1000, B: 10_000}, contents, {A, B})
    assert found.added == {PAIR: 1000, TEN: 1000}
    assert found.take[A] == found.take[B] == 0


def test_the_packet_of_packets_is_taken_where_the_small_ones_are_not_sold_singly() -> None:
    contents = {KIT: {SEAL: 1000}, COOLER: {KIT: 2000}}
    found = cover({SEAL: 2000}, contents, {SEAL, KIT})
    assert found.added == {COOLER: 1000}
    assert found.covered[SEAL] == ((COOLER, 2000),)


def test_a_packet_that_lies_in_another_is_not_unpacked_twice() -> None:
    contents = {KIT: {SEAL: 1000}, COOLER: {KIT: 1000}}
    found = cover({COOLER: 1000, KIT: 1000, SEAL: 2000}, contents, set())
    assert found.take == {COOLER: 1000, KIT: 0, SEAL: 1000}


def test_what_a_packet_brings_beside_what_is_needed_serves_as_spares() -> None:
    found = cover({COOLER: 1000, RING: 1000}, {COOLER: {RING: 4000}}, set(), {RING: 5000})
    assert found.covered[RING] == ((COOLER, 1000),)
    assert found.spares == {RING: ((COOLER, 3000),)}


def test_a_packet_that_holds_itself_is_refused() -> None:
    with pytest.raises(KittingError, match="a packet holds itself"):
        cover({SEAL: 1000}, {KIT: {COOLER: 1000}, COOLER: {KIT: 1000}}, {SEAL})


@given(
    st.dictionaries(st.sampled_from([RING, SEAL, BOOT]), NEED, min_size=1),
    st.dictionaries(st.sampled_from([21, 22, 23]), PACKET, min_size=1),
)
def test_no_fewer_packets_hold_enough(
    demand: dict[int, int], contents: dict[int, dict[int, int]]
) -> None:
    found = cover(demand, contents, set(demand))
    held = {item for inside in contents.values() for item in inside}
    fewest = min(
        sum(counts)
        for counts in product(range(13), repeat=len(contents))
        if all(
            need
            <= sum(
                n * inside.get(item, 0) for n, inside in zip(counts, contents.values(), strict=True)
            )
            for item, need in demand.items()
            if item in held
        )
    )
    assert sum(found.added.values()) == fewest * 1000


SMALL, BIG, HUGE = 31, 32, 33


def test_a_packet_taken_for_itself_is_not_the_one_that_lies_in_another() -> None:
    contents = {SMALL: {A: 1000}, BIG: {B: 1000, SMALL: 1000}}
    found = cover({A: 2000, B: 1000}, contents, {A, B})
    assert found.added == {SMALL: 1000, BIG: 1000}
    assert found.take == {A: 0, B: 0, SMALL: 1000, BIG: 1000}
    assert sorted(found.covered[A]) == [(SMALL, 1000), (BIG, 1000)]


def test_a_packet_on_the_plan_whose_contents_are_used_is_not_replaced_by_one_in_another() -> None:
    contents = {SMALL: {A: 1000}, BIG: {B: 1000, SMALL: 1000}}
    found = cover({SMALL: 1000, A: 2000, B: 1000}, contents, {A, B})
    assert found.take == {A: 0, B: 0, SMALL: 1000, BIG: 1000}


FEW = st.integers(0, 3).map(lambda n: n * 1000)
SOME = st.dictionaries(st.sampled_from([A, B, RING]), st.integers(1, 2).map(lambda n: n * 1000))


@settings(deadline=None)  # the solver is loaded by the first
@given(
    st.dictionaries(st.sampled_from([A, B, RING, SMALL, BIG]), FEW, min_size=1),
    st.tuples(SOME, SOME, SOME),
    st.tuples(*[st.sampled_from([0, 1000, 2000])] * 3),
    st.sampled_from([frozenset({A, B, RING}), frozenset({A, B})]),
)
def test_nothing_is_missing_where_packets_lie_in_packets_and_no_fewer_hold_enough(
    demand: dict[int, int],
    inside: tuple[dict[int, int], dict[int, int], dict[int, int]],
    nested: tuple[int, int, int],
    only: frozenset[int],
) -> None:
    contents = dict(zip((SMALL, BIG, HUGE), inside, strict=True))
    for outer, inner, amount in zip((BIG, HUGE, HUGE), (SMALL, SMALL, BIG), nested, strict=True):
        contents[outer] |= {inner: amount} if amount else {}
    contents = {packet: held for packet, held in contents.items() if held}

    def got(taken: dict[int, int]) -> dict[int, int]:
        """Everything that is there once every packet is opened, by counting piece by piece."""
        found: dict[int, int] = {}
        ahead = [(item, amount) for item, amount in taken.items() if amount]
        while ahead:
            item, amount = ahead.pop()
            found[item] = found.get(item, 0) + amount
            ahead += [(one, each * amount // 1000) for one, each in contents.get(item, {}).items()]
        return found

    found = cover(demand, contents, only)
    have = got(dict(found.take))
    assert all(have.get(item, 0) >= need for item, need in demand.items())
    if not found.added:
        return
    brings = {packet: got({packet: 1000}) for packet in contents}
    wanted = {item for item in only if demand.get(item)}
    own = {packet for packet in contents if demand.get(packet)}
    at_hand = [packet for packet in contents if packet in own or wanted & brings[packet].keys()]
    asked = own | {item for item in wanted if any(item in brings[one] for one in at_hand)}
    few = (
        sum(counts)
        for counts in product(range(4), repeat=len(at_hand))
        if all(
            sum(n * brings[one].get(item, 0) for n, one in zip(counts, at_hand, strict=True))
            >= demand[item]
            for item in asked
        )
    )
    assert sum(found.take.get(packet, 0) for packet in contents) == min(few) * 1000
