"""Opened life over several uses: what is left of a pack is late for a use long after it."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.stock.allocation import packs_needed
from kitting.calc.stock.opened_life import Packs, Spoilt, Use, free_for, spoilt

FIRST = date(2026, 4, 15)
LATER = date(2026, 7, 24)  # 100 days on


def test_the_rest_of_a_tube_is_late_after_its_opened_life() -> None:
    uses = [Use(1, FIRST, 18_900), Use(2, LATER, 18_900)]
    assert spoilt(uses, Packs(70_000, 70_000, 60)) == {2: Spoilt(18_900, FIRST)}
    assert spoilt(uses, Packs(140_000, 70_000, 60)) == {}
    assert spoilt(uses, Packs(70_000, 70_000, 100)) == {}


def test_who_comes_first_opens_whatever_the_order_of_the_bookings() -> None:
    uses = [Use(1, LATER, 18_900), Use(2, FIRST, 18_900)]
    assert spoilt(uses, Packs(70_000, 70_000, 60)) == {1: Spoilt(18_900, FIRST)}


def test_a_part_of_a_pack_is_opened_first() -> None:
    uses = [Use(1, FIRST, 10_000), Use(2, LATER, 20_000)]
    assert spoilt(uses, Packs(80_000, 70_000, 60)) == {}


def test_what_is_wanted_beyond_all_that_is_there_is_not_late() -> None:
    assert spoilt([Use(1, FIRST, 80_000)], Packs(70_000, 70_000, 60)) == {}


def test_free_is_what_can_be_promised_for_a_day_without_more_being_late() -> None:
    uses, packs = [Use(1, FIRST, 18_900)], Packs(70_000, 70_000, 60)
    assert free_for(uses, packs, LATER, 51_100) == 0
    assert free_for(uses, packs, FIRST + timedelta(days=60), 51_100) == 51_100
    # Sooner than the first by more than the opened life: then it would be the first that is late.
    assert free_for(uses, packs, FIRST - timedelta(days=61), 51_100) == 0


USES = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 40)), max_size=6)


@given(USES, st.integers(1, 15), st.integers(0, 30), st.integers(0, 12))
def test_nothing_is_late_exactly_where_the_packs_suffice(
    asked: list[tuple[int, int]], pack: int, days: int, count: int
) -> None:
    """Where enough is there by amount, packs in number decide."""
    dated = [(FIRST + timedelta(days=day), amount) for day, amount in asked]
    uses = [Use(key, on, amount) for key, (on, amount) in enumerate(dated)]
    found = spoilt(uses, Packs(count * pack, pack, days))
    if sum(amount for _, amount in dated) > count * pack:
        return
    assert (found == {}) == (packs_needed(dated, pack, days) <= count)


@given(USES, st.integers(1, 15), st.integers(0, 30), st.integers(0, 60))
def test_what_is_free_is_the_most_that_makes_nothing_late(
    asked: list[tuple[int, int]], pack: int, days: int, on: int
) -> None:
    there = Packs(sum(amount for _, amount in asked) + 2 * pack, pack, days)
    uses = [Use(key, FIRST + timedelta(days=d), amount) for key, (d, amount) in enumerate(asked)]
    free, day = 2 * pack, FIRST + timedelta(days=on)
    before = sum(one.quantity for one in spoilt(uses, there).values())

    def late(amount: int) -> int:
        found = spoilt([*uses, Use(len(uses), day, amount)], there)
        return sum(one.quantity for one in found.values()) - before

    most = free_for(uses, there, day, free)
    assert late(most) <= 0
    assert most == free or late(most + 1) > 0
