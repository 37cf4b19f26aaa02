"""Stock levels against every possible stock of small cases, and a replay against a plain one."""

from __future__ import annotations

import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.calc.advice.base_stock import (
    ItemDemand,
    Refusal,
    levels_for_budget,
    levels_for_target,
    pooled,
)
from kitting.calc.advice.base_stock_replay import Use, replay
from kitting.calc.advice.poisson import level_for, poisson_cdf
from kitting.errors import FigureError, KittingError

means = st.integers(0, 40).map(lambda n: n / 10)


@st.composite
def demands(draw: st.DrawFn) -> list[ItemDemand]:
    rows = draw(
        st.lists(st.tuples(means, st.integers(1, 60), st.integers(1, 3)), min_size=1, max_size=3)
    )
    return [ItemDemand(f"i{at}", *row) for at, row in enumerate(rows)]


def every_stock(items: list[ItemDemand], most: int) -> list[tuple[int, float]]:
    """Money and chance of each stock of up to `most` jobs' worth of every item."""
    found = []
    for levels in product(range(most + 1), repeat=len(items)):
        pairs = list(zip(items, levels, strict=True))
        money = sum(item.cost * item.per_job * n for item, n in pairs)
        found.append((money, math.prod(poisson_cdf(n, item.mean) for item, n in pairs)))
    return found


@settings(deadline=None)
@given(st.one_of(st.floats(1e-9, 60.0), st.floats(400.0, 3000.0)), st.integers(0, 3200))
def test_chances_agree_with_another_package(mean: float, k: int) -> None:
    stats = pytest.importorskip("scipy.stats")
    expected = float(stats.poisson.cdf(k, mean))
    assert poisson_cdf(k, mean) == pytest.approx(expected, rel=1e-8, abs=1e-250)


def test_sixty_a_year_and_five_days_to_get_more() -> None:
    """Worked by hand: mean 60 × 5 / 250 = 1.2; 1 + 1.2 + 0.72 (+ 0.288) times exp(-1.2)."""
    assert round(poisson_cdf(3 - 1, 1.2), 3) == 0.879
    assert round(poisson_cdf(4 - 1, 1.2), 3) == 0.966
    assert (level_for(1.2, 0.87), level_for(1.2, 0.88), level_for(1.2, 0.97)) == (3, 4, 5)
    assert level_for(0.0, 0.99) == 0


@given(st.floats(0.01, 30.0), st.floats(0.01, 0.999999))
def test_level_is_the_least_that_leaves_a_piece_for_the_next_job(
    mean: float, target: float
) -> None:
    level = level_for(mean, target)
    assert poisson_cdf(level - 1, mean) >= target - 1e-9
    assert poisson_cdf(level - 2, mean) < target


@settings(deadline=None, max_examples=60)
@given(demands(), st.floats(0.3, 0.99))
def test_no_stock_that_reaches_the_target_ties_up_less(
    items: list[ItemDemand], target: float
) -> None:
    found = levels_for_target(items, target)
    assert found.gap <= 1e-12
    assert found.chance >= target - 1e-9
    assert found.value == min(
        money for money, chance in every_stock(items, 14) if chance >= target - 1e-12
    )
    assert found.value == sum(item.cost * found.levels[item.key] for item in items)
    assert all(found.levels[item.key] % item.per_job == 0 for item in items)


@settings(deadline=None, max_examples=60)
@given(demands(), st.integers(0, 900))
def test_no_stock_within_the_budget_is_surer(items: list[ItemDemand], budget: int) -> None:
    found = levels_for_budget(items, budget)
    best = max(chance for money, chance in every_stock(items, 14) if money <= budget)
    assert found.value <= budget
    assert found.gap <= 1e-12
    assert found.chance >= best - 1e-9


def test_of_many_items_the_gap_to_the_best_is_small_and_stated() -> None:
    items = [ItemDemand(f"i{n}", (n % 37 + 1) / 50, 20 + n * 7919 % 5000) for n in range(3000)]
    found = levels_for_target(items, 0.95)
    assert found.chance >= 0.95 - 1e-9
    assert 0 <= found.gap <= found.value / 10_000
    bought = levels_for_budget(items, found.value)
    assert bought.value <= found.value
    assert bought.chance + bought.gap >= found.chance - 1e-9
    # What the gap promises: with so much less money the target is out of reach.
    less = levels_for_budget(items, found.value - int(found.gap) - 1)
    assert less.chance < 0.95


def test_slow_short_life_stock_is_refused_with_the_reason() -> None:
    items = [
        ItemDemand("sealant", 0.1, 900, short_life=True, use_in_life=0.6),
        ItemDemand("primer", 0.2, 500, short_life=True),
        ItemDemand("cement", 0.4, 500, short_life=True, use_in_life=3.0),
        ItemDemand("ring", 1.2, 80),
    ]
    found = levels_for_target(items, 0.95)
    assert found.refused == {
        "sealant": Refusal(0.6, life_known=True),
        "primer": Refusal(0.2, life_known=False),
    }
    # 0.966 for 3 rings; 0.938 for 1 tube of cement, 0.992 for 2.
    assert found.levels == {"sealant": 0, "primer": 0, "cement": 2, "ring": 3}
    assert found.value == 2 * 500 + 3 * 80
    assert found.chance == pytest.approx(poisson_cdf(3, 1.2) * poisson_cdf(2, 0.4))


def test_branches_that_pool_their_stock_tie_up_less() -> None:
    found = pooled([[ItemDemand("ring", 1.2, 80)], [ItemDemand("ring", 1.2, 80)]], 0.95)
    assert [levels.levels for levels in found.separate] == [{"ring": 3}, {"ring": 3}]
    assert found.together.levels == {"ring": 5}
    assert found.saved == 80


def test_short_life_stock_no_branch_may_keep_can_be_kept_by_all_together() -> None:
    tube = ItemDemand("sealant", 0.2, 900, short_life=True, use_in_life=0.6)
    found = pooled([[tube], [tube]], 0.9)
    assert [set(levels.refused) for levels in found.separate] == [{"sealant"}, {"sealant"}]
    assert (found.together.refused, found.together.levels) == ({}, {"sealant": 1})


def plain_replay(
    rows: list[tuple[int, str, str, int]], levels: dict[str, int], lead: int, review: int
) -> tuple[int, list[tuple[int, str]]]:
    """Every day of every item in turn, without ages: the same policy written plainly."""
    first, last = min(r[0] for r in rows), max(r[0] for r in rows)
    net = dict.fromkeys({r[2] for r in rows}, 0)  # on the shelf, less what is owed
    net |= levels
    coming: list[tuple[int, str, int]] = []
    late, shelf_days = [], 0
    for day in range(first, last + 1):
        for due, key, pieces in coming:
            if due == day:
                net[key] += pieces
        for _, job, key, pieces in (r for r in rows if r[0] == day):
            if max(net[key], 0) < pieces and (day, job) not in late:
                late.append((day, job))
            net[key] -= pieces
        if (day - first) % review == 0:
            for key, has in net.items():
                under = sum(n for due, k, n in coming if k == key and due > day)
                coming.append((day + lead, key, levels.get(key, 0) - has - under))
        shelf_days += sum(max(has, 0) for has in net.values())
    return round(shelf_days / (last - first + 1) * 10), late


history = st.lists(
    st.tuples(st.integers(0, 12), st.sampled_from("JK"), st.sampled_from("abc"), st.integers(1, 3)),
    min_size=1,
    max_size=15,
)


@given(
    history,
    st.fixed_dictionaries({"a": st.integers(0, 5), "b": st.integers(0, 5)}),
    st.integers(1, 4),
    st.integers(1, 3),
)
def test_replay_agrees_with_a_plain_walk_through_the_days(
    rows: list[tuple[int, str, str, int]], levels: dict[str, int], lead: int, review: int
) -> None:
    found = replay(rows, levels, lead, review, costs={"a": 10, "b": 10})
    value, late = plain_replay(rows, levels, lead, review)
    assert found.jobs == len({row[:2] for row in rows})
    assert set(found.delayed) == set(late)
    assert found.value is not None
    assert abs(found.value - value) <= 1
    assert found.scrapped == {}


def test_replay_counts_a_job_once_however_many_of_its_pieces_are_missing() -> None:
    rows = [
        Use(1, "J1", "ring", 2),
        Use(1, "J1", "bolt", 6),
        Use(1, "J2", "ring", 1),
        Use(4, "J1", "ring", 2),
    ]
    found = replay(rows, {"ring": 2, "bolt": 5}, lead_days=3)
    assert found.jobs == 3
    assert found.delayed == ((1, "J1"), (1, "J2"))
    assert found.value is None  # no costs are known


def test_replay_asks_on_which_day_an_order_arrives() -> None:
    """One working day, days 5 and 6 not worked: the order of day 4 comes on 7, not on 5."""
    rows = [Use(4, "J1", "ring", 1), Use(5, "J2", "ring", 1), Use(7, "J3", "ring", 1)]

    def arrives(day: int) -> int:
        return day + 1 if day < 4 else max(day + 1, 7)

    assert replay(rows, {"ring": 1}, 1).delayed == ()
    # Day 7 brings two: one is owed to J2.
    assert replay(rows, {"ring": 1}, arrives).delayed == ((5, "J2"),)
    with pytest.raises(FigureError, match="Give a later day"):
        replay(rows, {"ring": 1}, lambda day: day)


def test_replay_throws_away_what_is_too_old_and_orders_it_again() -> None:
    rows = [Use(0, "J1", "tube", 1), Use(10, "J2", "tube", 1)]
    found = replay(rows, {"tube": 2}, 2, costs={"tube": 100}, shelf_days={"tube": 5})
    # Day 0: 1 of 2 used, 1 ordered, there on day 2. Day 5: the other of the first two goes, its
    # follower comes on day 7, when the one of day 2 goes; that one's follower comes on day 9.
    assert found.scrapped == {"tube": 2}
    assert found.delayed == ()
    # At the end of days 0 to 10: 1 1 2 2 2 1 1 1 1 2 1.
    assert found.value == round(15 * 100 / 11)


@pytest.mark.parametrize(
    ("life", "delayed", "scrapped"), [(5, ((5, "J2"),), {"tube": 1}), (6, (), {})]
)
def test_a_piece_goes_before_the_work_of_the_day_on_which_it_is_too_old(
    life: int, delayed: tuple[tuple[int, str], ...], scrapped: dict[str, int]
) -> None:
    """Two tubes of day 0, one used at once: nothing new comes before the second job on day 5."""
    rows = [Use(0, "J1", "tube", 1), Use(5, "J2", "tube", 1)]
    found = replay(rows, {"tube": 2}, lead_days=30, shelf_days={"tube": life})
    assert (found.delayed, found.scrapped) == (delayed, scrapped)


def test_a_piece_that_came_later_is_too_old_so_many_days_after_it_came() -> None:
    """The follower of day 0 comes on day 2 and keeps for 5 days: to day 6, not to day 7."""
    for day, delayed in ((6, ()), (7, ((7, "J2"),))):
        rows = [Use(0, "J1", "tube", 1), Use(day, "J2", "tube", 1)]
        found = replay(rows, {"tube": 1}, lead_days=2, review=100, shelf_days={"tube": 5})
        assert found.delayed == delayed


def test_pieces_that_grow_too_old_between_jobs_go_on_their_day_and_are_ordered_again() -> None:
    """Life 5, lead 2: there on days 2 to 6, 9 to 13 and 16 to 19; gone on 7 and 14, used on 20."""
    rows = [Use(0, "J1", "tube", 1), Use(20, "J2", "tube", 1)]
    found = replay(rows, {"tube": 1}, 2, costs={"tube": 100}, shelf_days={"tube": 5})
    assert (found.delayed, found.scrapped) == ((), {"tube": 2})
    assert found.value == round(14 * 100 / 21)


def test_figures_that_make_no_sense_are_refused() -> None:
    with pytest.raises(FigureError, match=r"1\.0 as target"):
        levels_for_target([], 1.0)
    with pytest.raises(FigureError, match=r"-0\.5 as mean use"):
        poisson_cdf(1, -0.5)
    with pytest.raises(FigureError, match="nan as mean use"):
        level_for(math.nan, 0.9)
    with pytest.raises(FigureError, match="ring: cost and pieces per job"):
        levels_for_target([ItemDemand("ring", 1.0, 0)], 0.9)
    with pytest.raises(KittingError, match="given twice"):
        levels_for_budget([ItemDemand("ring", 1.0, 1)] * 2, 5)
    with pytest.raises(KittingError, match="ring differs between branches"):
        pooled([[ItemDemand("ring", 1.0, 1)], [ItemDemand("ring", 1.0, 2)]])
    with pytest.raises(FigureError, match="Lead days"):
        replay([], {}, 0)


@pytest.mark.parametrize(("day", "delayed", "scrapped"), [(4, (), {}), (5, ((5, "J"),), {"x": 1})])
def test_a_piece_is_thrown_away_before_work_on_the_day_its_life_is_over(
    day: int, delayed: tuple[tuple[int, str], ...], scrapped: dict[str, int]
) -> None:
    # There from day 0 on, with a life of 5 days.
    found = replay(
        [(0, "FIRST", "y", 1), (day, "J", "x", 1)], {"x": 1, "y": 1}, 1, shelf_days={"x": 5}
    )
    assert (found.delayed, found.scrapped) == (delayed, scrapped)
