"""Ring ends: what could be swapped, how rings differ, how few bags keep them apart.

All rings are invented. Second route: every partition of a few rings, looked at one by one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.rubber.ring_ends import (
    NEAR_MM,
    NEAR_SHARE,
    RingEnd,
    apart,
    difference,
    near,
    nearness,
    swappable,
)
from kitting.wording.reasons import say

PUMP = RingEnd("pipe", "into the pump", "short leg", "FKM-17X2.5", 17.0, 2.5, "FKM", 75, "brown")
HEATER = RingEnd("pipe", "into the heater", "long leg", "EPDM-17X2", 17.0, 2.0, "EPDM", 70, "black")
UNKNOWN = RingEnd("pipe", "plate groove", None, "MOULDED")


def test_the_same_inside_with_another_section_could_be_swapped() -> None:
    assert swappable(PUMP, HEATER)


def test_the_same_size_in_another_rubber_could_be_swapped() -> None:
    assert swappable(PUMP, replace(PUMP, item="EPDM-17X2.5", elastomer="EPDM"))


def test_two_rings_of_one_item_are_no_hazard() -> None:
    assert not swappable(PUMP, replace(PUMP, position="elsewhere"))
    assert not swappable(UNKNOWN, replace(UNKNOWN, position="elsewhere"))


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        # 1.0 mm decides below 16.67 mm, 6 % of the larger above it (our own threshold).
        (10.0, 11.0, True),
        (10.0, 11.01, False),
        (17.0, 18.08, True),
        (17.0, 18.09, False),
        (66.0, 70.21, True),
        (66.0, 70.22, False),
        (17.0, 17.12, True),
        (10.8, 14.0, False),
    ],
)
def test_insides_are_near_within_a_millimetre_or_6_percent(
    one: float, other: float, expected: bool
) -> None:
    assert (NEAR_MM, NEAR_SHARE) == (1.0, 0.06)
    assert near(one, other) is expected
    assert near(other, one) is expected


def test_a_ring_of_unknown_size_could_be_swapped_with_every_other_item_of_its_joint_only() -> None:
    large = replace(PUMP, item="FKM-66X3", inside=66.0, section=3.0)
    assert swappable(UNKNOWN, large)
    assert swappable(large, UNKNOWN)
    assert swappable(UNKNOWN, replace(UNKNOWN, item="MOULDED-2"))
    assert not swappable(UNKNOWN, replace(large, joint="filter"))


def test_an_eye_tells_rings_of_two_kinds_apart_without_their_sizes() -> None:
    moulded = replace(UNKNOWN, kind="moulded ring")
    assert not swappable(moulded, replace(PUMP, kind="O-ring"))
    assert swappable(moulded, replace(UNKNOWN, item="MOULDED-2", kind="moulded ring"))
    assert swappable(moulded, replace(PUMP, kind=None))
    # Where both sizes are known and near, the kind does not help.
    assert swappable(replace(PUMP, kind="O-ring"), replace(HEATER, kind="quad ring"))


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        (
            PUMP,
            HEATER,
            "section 2.5 mm, not 2 mm; FKM, not EPDM; hardness 75, not 70;"
            " as supplied brown, the other black",
        ),
        (PUMP, replace(PUMP, inside=17.12, section=2.62),
         "section 2.5 mm, not 2.62 mm; inside 17 mm, not 17.12 mm"),
        (PUMP, replace(PUMP, hardness=90), "hardness 75, not 90"),
        (PUMP, replace(PUMP, hardness=None), "the other's hardness not stated: ask before fitting"),
        (UNKNOWN, PUMP, "size not stated; rubber not stated; hardness not stated:"
         " ask before fitting"),
        (PUMP, UNKNOWN, "the other's size not stated; the other's rubber not stated;"
         " the other's hardness not stated: ask before fitting"),
        (replace(UNKNOWN, elastomer="FKM"), replace(UNKNOWN, elastomer="EPDM"),
         "FKM, not EPDM; size not stated"),
    ],
)  # fmt: skip
def test_only_what_differs_is_named(one: RingEnd, other: RingEnd, expected: str) -> None:
    assert say(difference(one, other)) == expected


SAME = "same size and rubber by the data: ask before fitting"


def test_a_colour_is_never_a_difference_of_its_own() -> None:
    other = replace(PUMP, item="FKM-17X2.5-B", colour="green")
    assert say(difference(PUMP, other)) == SAME


def test_the_worst_swap_is_the_nearest() -> None:
    rubber = replace(PUMP, item="B", elastomer="EPDM")
    section = replace(PUMP, item="C", section=2.0)
    inside = replace(PUMP, item="D", inside=17.12)
    ranked = sorted((inside, section, rubber), key=lambda end: nearness(PUMP, end))
    assert ranked == [rubber, section, inside]


def test_rings_that_cannot_be_swapped_share_one_bag_in_the_order_given() -> None:
    oil = RingEnd("cooler", "oil in", None, "FKM-10.8", 10.8, 1.8, "FKM")
    water = RingEnd("cooler", "coolant in", None, "EPDM-14", 14.0, 2.0, "EPDM")
    ends = (water, oil, replace(water, position="coolant out"), replace(oil, position="oil out"))
    assert apart(ends) == (ends,)


def test_the_classic_swap_gets_two_bags() -> None:
    again = replace(PUMP, position="second stub")
    assert apart((PUMP, HEATER, again)) == ((PUMP, again), (HEATER,))


def test_no_ring_needs_no_bag() -> None:
    assert apart(()) == ()


SIZES = st.one_of(
    st.none(),
    st.sampled_from([10.0, 10.5, 11.0, 11.5, 12.0, 17.0, 17.12, 18.0, 40.0, 42.5, 45.0]),
    st.floats(3.0, 60.0),
)


@st.composite
def joints(draw: st.DrawFn, most: int = 7) -> list[RingEnd]:
    """The rings of one joint: each item has one size, and goes to one or more positions."""
    catalogue = draw(st.lists(SIZES, min_size=1, max_size=most))
    chosen = draw(st.lists(st.integers(0, len(catalogue) - 1), min_size=1, max_size=most))
    return [
        RingEnd(
            "j", f"p{place}", None, f"I{n}", catalogue[n], None if catalogue[n] is None else 2.0
        )
        for place, n in enumerate(chosen)
    ]


def partitions(ends: Sequence[RingEnd]) -> Iterator[list[list[RingEnd]]]:
    """Every way to put rings into bags."""
    if not ends:
        yield []
        return
    for rest in partitions(ends[1:]):
        yield [[ends[0]], *rest]
        for number, bag in enumerate(rest):
            yield [*rest[:number], [ends[0], *bag], *rest[number + 1 :]]


def safe(bags: Sequence[Sequence[RingEnd]]) -> bool:
    """No two rings that could be swapped lie in one bag."""
    return not any(swappable(a, b) for bag in bags for a, b in combinations(bag, 2))


@examples(60, 400)
@given(joints())
def test_no_partition_keeps_swappable_rings_apart_in_fewer_bags(ends: list[RingEnd]) -> None:
    least = min(len(bags) for bags in partitions(ends) if safe(bags))
    assert len(apart(ends)) == least


@given(joints(most=30))
def test_every_ring_is_in_one_bag_apart_from_those_it_could_be_swapped_with(
    ends: list[RingEnd],
) -> None:
    bags = apart(ends)
    assert safe(bags)
    assert sorted(end.position for bag in bags for end in bag) == sorted(e.position for e in ends)
    places = {end.position: number for number, end in enumerate(ends)}
    for bag in bags:
        assert [places[end.position] for end in bag] == sorted(places[end.position] for end in bag)
    assert [places[bag[0].position] for bag in bags] == sorted(
        places[bag[0].position] for bag in bags
    )
    # Every item is in one bag.
    assert len({(n, end.item) for n, bag in enumerate(bags) for end in bag}) == len(
        {end.item for end in ends}
    )


@given(joints(most=20), st.randoms(use_true_random=False))
def test_the_order_of_positions_changes_neither_the_number_of_bags_nor_what_shares_one(
    ends: list[RingEnd], chance: object
) -> None:
    mixed = list(ends)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert {frozenset(bag) for bag in apart(mixed)} == {frozenset(bag) for bag in apart(ends)}


@given(joints(most=5))
def test_being_swappable_holds_both_ways(ends: list[RingEnd]) -> None:
    for a in ends:
        assert not swappable(a, a)
        for b in ends:
            assert swappable(a, b) == swappable(b, a)


WORDS = st.sampled_from([None, "FKM", "EPDM"])
HARDNESS = st.sampled_from([None, 70, 75])


@given(WORDS, WORDS, HARDNESS, HARDNESS, st.sampled_from([None, 17.0, 17.12]))
def test_words_are_never_empty_and_two_rings_alike_have_none_but_the_warning(
    rubber: str | None, other: str | None, hard: int | None, soft: int | None, inside: float | None
) -> None:
    section = None if inside is None else 2.5
    one = RingEnd("j", "p", None, "A", inside, section, rubber, hard, "brown")
    two = RingEnd("j", "q", None, "B", inside, section, other, soft, "green")
    text = say(difference(one, two))
    same = rubber == other and hard == soft
    if same and rubber and hard and inside:
        assert text == SAME
    assert ("ask before fitting" in text) == (
        not ((rubber and other and rubber != other) or (hard and soft and hard != soft))
    )
    assert ("green" in text) == ("ask before fitting" not in text)
