"""Spares: chances and least cost, against whole enumeration, scipy and drawn jobs.

The worked figures are common practice, no source; their prices and chances are invented.
"""

from __future__ import annotations

import itertools
import math
import random
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats  # type: ignore[import-untyped]

from kitting.calc.advice.looks import Looks, failures, needed, together
from kitting.calc.advice.shared_chance import needed_at_all
from kitting.calc.advice.spares import (
    Choice,
    Estimate,
    Line,
    chance_of,
    cheapest,
    demand,
    estimate,
    frontier,
    split,
    worth_above,
)
from kitting.errors import KittingError


def line_of(
    key: int,
    pieces: int,
    chance: float,
    group: bool = False,
    weight: float | None = None,
    cost: int = 0,
) -> Line:
    """An item looked at in one way, whose spares cost so much each."""
    costs = tuple(cost * n for n in range(pieces + 1))
    return Line(key, (Looks(pieces, chance, group, weight),), costs)


def limited(line: Line, most: int) -> Line:
    """A line of which no more can be had."""
    return replace(line, costs=line.costs[: most + 1])


A = line_of(1, 6, 0.15, cost=240)
B = line_of(2, 1, 0.25, cost=1400)
C = line_of(3, 4, 0.10, cost=110)
CHANCES = (0.0, 0.03, 0.1, 0.15, 0.25, 0.3, 0.5, 0.7, 1.0)


def every_choice(lines: Sequence[Line]) -> list[Choice]:
    """All choices there are, by enumeration."""
    found = []
    for counts in itertools.product(*(range(line.most + 1) for line in lines)):
        spares = {line.key: n for line, n in zip(lines, counts, strict=True)}
        cost = sum(line.costs[n] for line, n in zip(lines, counts, strict=True))
        chance = math.prod(
            sum(demand(line)[: n + 1]) for line, n in zip(lines, counts, strict=True)
        )
        found.append(Choice(spares, cost, chance))
    return found


def best_of_all(choices: list[Choice], target: float) -> Choice | None:
    """The cheapest, then the surest, then the one of fewest pieces."""
    enough = [c for c in choices if c.chance >= target * (1 - 1e-11)]
    if not enough:
        return None
    return min(enough, key=lambda c: (c.cost, -round(c.chance, 11), sum(c.spares.values())))


def a_case(rng: random.Random, most_lines: int = 4) -> list[Line]:
    prices = rng.choice([(0, 1, 2, 3), (110, 240, 1400), tuple(range(1, 90)), (100,)])
    return [
        line_of(
            key,
            rng.randint(0, 4),
            rng.choice([rng.choice(CHANCES), rng.random()]),
            rng.random() < 0.25,
            rng.choice([None, None, 3.0, 10.0]),
            rng.choice(prices),
        )
        for key in range(1, rng.randint(1, most_lines) + 1)
    ]


def agrees(found: Choice | None, wanted: Choice | None) -> bool:
    if found is None or wanted is None:
        return found is wanted
    return (
        found.cost == wanted.cost
        and abs(found.chance - wanted.chance) < 1e-10
        and sum(found.spares.values()) == sum(wanted.spares.values())
    )


def test_without_spares_the_job_is_finished_once_in_five_times() -> None:
    assert round(chance_of([A, B, C], {}), 3) == 0.186


def test_with_two_one_and_one_it_is_finished_nine_times_in_ten() -> None:
    assert round(chance_of([A, B, C], {1: 2, 2: 1, 3: 1}), 3) == 0.903


def test_seals_that_fail_together_make_the_same_spares_less_sure() -> None:
    together = [line_of(1, 6, 0.15, weight=10.0), B, line_of(3, 4, 0.10, weight=10.0)]
    assert round(chance_of(together, {1: 2, 2: 1, 3: 1}), 3) == 0.843


def test_the_cheapest_for_ninety_five_per_cent_is_two_one_three() -> None:
    found = cheapest([A, B, C], 0.95)
    assert found is not None
    assert dict(found.spares) == {1: 2, 2: 1, 3: 3}
    assert found.cost == 2210
    assert round(found.chance, 3) == 0.953
    # One fewer of the third is 94.9 % and refused.
    assert round(chance_of([A, B, C], {1: 2, 2: 1, 3: 2}), 3) == 0.949


def test_a_group_needs_none_or_all() -> None:
    none = 0.85**6
    assert demand(line_of(1, 6, 0.15, group=True)) == pytest.approx((none, 0, 0, 0, 0, 0, 1 - none))
    assert chance_of([line_of(1, 6, 0.15, group=True)], {1: 5}) == pytest.approx(none)


def test_a_group_is_brought_whole_or_not_at_all() -> None:
    found = cheapest([line_of(1, 6, 0.15, group=True, cost=100)], 0.5)
    assert found == Choice({1: 6}, 600, 1.0)


# scipy overflows at chances so small that they are no figures any more.
@given(st.integers(0, 12), st.just(0.0) | st.floats(1e-200, 1.0))
def test_independent_failures_agree_with_scipy(pieces: int, chance: float) -> None:
    wanted = stats.binom.pmf(range(pieces + 1), pieces, chance)
    assert demand(line_of(1, pieces, chance)) == pytest.approx(tuple(wanted), abs=1e-11)


@given(st.integers(0, 12), st.floats(0.01, 0.99), st.floats(0.5, 100.0))
def test_failures_together_agree_with_scipy(pieces: int, chance: float, weight: float) -> None:
    law = stats.betabinom(pieces, chance * weight, (1 - chance) * weight)
    wanted = tuple(float(law.pmf(k)) for k in range(pieces + 1))
    assert demand(line_of(1, pieces, chance, weight=weight)) == pytest.approx(wanted, abs=1e-10)


@given(
    st.integers(0, 8),
    st.sampled_from(CHANCES),
    st.booleans(),
    st.sampled_from([None, 1.0, 10.0]),
)
def test_chances_of_demand_sum_to_one(
    pieces: int, chance: float, group: bool, weight: float | None
) -> None:
    line = line_of(1, pieces, chance, group, weight)
    assert len(demand(line)) == pieces + 1
    assert math.fsum(demand(line)) == pytest.approx(1.0)
    assert math.fsum(failures(pieces, chance, weight)) == pytest.approx(1.0)


def test_a_sure_failure_needs_every_piece() -> None:
    line = line_of(1, 3, 1.0, weight=10.0, cost=50)
    assert demand(line) == (0.0, 0.0, 0.0, 1.0)
    assert cheapest([line], 0.001) == Choice({1: 3}, 150, 1.0)


def test_least_cost_equals_whole_enumeration_in_thousands_of_small_cases() -> None:
    rng = random.Random(42)
    refused = 0
    for _ in range(4000):
        lines = [
            limited(line, rng.randint(0, 4)) if rng.random() < 0.3 else line for line in a_case(rng)
        ]
        choices = every_choice(lines)
        target = rng.choice([0.5, 0.8, 0.9, 0.95, 0.99, 1.0, rng.choice(choices).chance])
        if target == 0.0:
            continue
        # A chance summed up by enumeration may come out above 1 by rounding.
        target = min(target, 1.0)
        wanted, found = best_of_all(choices, target), cheapest(lines, target)
        assert agrees(found, wanted), (lines, target, found, wanted)
        refused += found is None
    assert 50 < refused < 2000


@examples(100, 600)
@given(
    st.lists(
        st.tuples(
            st.integers(0, 3),
            st.floats(0.01, 0.9),
            st.booleans(),
            st.sampled_from([None, 10.0]),
            st.integers(0, 2000),
        ),
        min_size=1,
        max_size=5,
    ),
    st.floats(0.05, 0.999),
)
def test_least_cost_equals_whole_enumeration(
    drawn: list[tuple[int, float, bool, float | None, int]], target: float
) -> None:
    lines = [line_of(key, *one) for key, one in enumerate(drawn)]
    wanted = best_of_all(every_choice(lines), target)
    found = cheapest(lines, target)
    assert found is not None
    assert wanted is not None
    assert found.cost == wanted.cost
    assert found.chance == pytest.approx(wanted.chance, abs=1e-10)


def test_more_lines_than_can_be_enumerated_agree_with_the_whole_front() -> None:
    rng = random.Random(5)
    for _ in range(60):
        lines = [
            line_of(k, rng.randint(1, 6), rng.uniform(0.02, 0.5), cost=rng.randint(1, 9))
            for k in range(12)
        ]
        target = rng.uniform(0.7, 0.999)
        # Least cost by a table over every sum of money: another way to the same answer.
        most = sum(line.costs[-1] for line in lines)
        best = [1.0] + [0.0] * most
        for line in lines:
            cdf = list(itertools.accumulate(demand(line)))
            best = [
                max(best[m - c] * p for c, p in zip(line.costs, cdf, strict=True) if c <= m)
                for m in range(most + 1)
            ]
        cost = next(m for m, p in enumerate(best) if p >= target)
        found = cheapest(lines, target)
        assert found is not None
        assert found.cost == cost
        assert found.chance == pytest.approx(best[cost])


def greedy(lines: Sequence[Line], target: float) -> int:
    """Adds the piece that gains most chance for its money until the target is reached."""
    spares = {line.key: 0 for line in lines}
    cost = 0
    while (now := chance_of(lines, spares)) < target:
        gains = [
            (math.log(chance_of(lines, spares | {x.key: spares[x.key] + 1}) / now) / x.costs[1], x)
            for x in lines
            if spares[x.key] < x.pieces
        ]
        line = max(gains, key=lambda g: g[0])[1]
        spares[line.key] += 1
        cost += line.costs[1]
    return cost


def test_where_taking_the_best_piece_each_time_pays_too_much() -> None:
    # The cheap piece looks best and does not suffice; the dear one alone does.
    lines = [line_of(1, 1, 0.06, cost=100), line_of(2, 1, 0.20, cost=500)]
    assert greedy(lines, 0.93) == 600
    assert cheapest(lines, 0.93) == Choice({1: 0, 2: 1}, 500, 0.94)


def test_of_equal_cost_the_surer_choice_is_taken() -> None:
    found = cheapest([line_of(1, 1, 0.1, cost=100), line_of(2, 1, 0.2, cost=100)], 0.75)
    assert found == Choice({1: 0, 2: 1}, 100, 0.9)


def test_what_costs_nothing_is_brought_as_far_as_it_helps() -> None:
    assert cheapest([line_of(1, 3, 0.1), line_of(2, 3, 0.0)], 0.5) == Choice({1: 3, 2: 0}, 0, 1.0)


def test_a_target_out_of_reach_of_the_limits_has_no_answer() -> None:
    assert cheapest([A, limited(B, 0), C], 0.95) is None
    assert cheapest([limited(line_of(1, 1, 1.0), 0)], 0.01) is None


def test_without_a_target_nothing_is_bought() -> None:
    found = cheapest([A, B, C], 0.0)
    assert found == Choice({1: 0, 2: 0, 3: 0}, 0, chance_of([A, B, C], {}))


def test_no_lines_are_sure() -> None:
    assert cheapest([], 1.0) == Choice({}, 0, 1.0)
    assert chance_of([], {}) == 1.0


def test_certainty_brings_every_piece_that_may_fail() -> None:
    found = cheapest([A, B, line_of(3, 4, 0.0, cost=110)], 1.0)
    assert found == Choice({1: 6, 2: 1, 3: 0}, 2840, 1.0)


@pytest.mark.parametrize("target", [1.01, math.nan])
def test_a_target_that_is_no_chance_is_refused(target: float) -> None:
    with pytest.raises(KittingError, match="cannot be reached"):
        cheapest([A], target)


def test_two_lines_of_one_key_are_refused() -> None:
    with pytest.raises(KittingError, match="same key"):
        cheapest([A, A], 0.9)


@pytest.mark.parametrize(
    "wrong",
    [
        {"pieces": -1, "chance": 0.1},
        {"pieces": 1, "chance": 1.1},
        {"pieces": 1, "chance": 0.1, "weight": 0.0},
        {"pieces": 1, "chance": 0.1, "openings": 0},
    ],
)
def test_looks_that_make_no_sense_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(KittingError):
        Looks(**wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize("costs", [(), (-1, 0), (0, 5, 4)])
def test_costs_of_spares_that_make_no_sense_are_refused(costs: tuple[int, ...]) -> None:
    with pytest.raises(KittingError, match="must not be negative"):
        Line(1, (), costs)


@pytest.mark.parametrize("prices", [(110, 240, 1400), tuple(range(1, 5000)), (240,)])
def test_five_hundred_lines_are_settled_within_a_second(prices: tuple[int, ...]) -> None:
    rng = random.Random(3)
    lines = [
        line_of(
            k, rng.randint(1, 6), rng.uniform(0.02, 0.6), rng.random() < 0.2,
            rng.choice([None, 10.0]), rng.choice(prices),
        )
        for k in range(500)
    ]  # fmt: skip
    began = time.process_time()
    found = cheapest(lines, 0.99)
    assert time.process_time() - began < 1.0
    assert found is not None
    assert found.chance >= 0.99
    # No piece can be left at home.
    for line in lines:
        if found.spares[line.key]:
            fewer = {**found.spares, line.key: found.spares[line.key] - 1}
            assert chance_of(lines, fewer) < 0.99


def test_the_front_is_every_choice_that_nothing_else_beats() -> None:
    rng = random.Random(8)
    for _ in range(300):
        lines = a_case(rng)
        wanted: list[Choice] = []
        ordered = sorted(every_choice(lines), key=lambda c: (c.cost, -c.chance))
        for choice in ordered:
            if choice.chance > (wanted[-1].chance if wanted else 0.0) + 1e-12:
                wanted.append(choice)
        found = frontier(lines)
        assert len(wanted) <= 200
        assert [c.cost for c in found] == [c.cost for c in wanted]
        assert [c.chance for c in found] == pytest.approx([c.chance for c in wanted])


def test_the_front_of_the_worked_case_passes_through_its_cheapest() -> None:
    front = frontier([A, B, C])
    assert front[0] == Choice({1: 0, 2: 0, 3: 0}, 0, chance_of([A, B, C], {}))
    assert front[-1] == Choice({1: 6, 2: 1, 3: 4}, 3280, 1.0)
    assert cheapest([A, B, C], 0.95) in front


def test_a_long_front_is_thinned_and_each_point_stays_efficient() -> None:
    rng = random.Random(9)
    lines = [
        line_of(k, rng.randint(1, 6), rng.uniform(0.02, 0.5), cost=rng.randint(1, 5000))
        for k in range(60)
    ]
    front = frontier(lines)
    assert 50 < len(front) <= 200
    assert dict(front[0].spares) == dict.fromkeys(range(60), 0)
    assert front[-1].chance == 1.0
    for a, b in itertools.pairwise(front):
        assert a.cost < b.cost
        assert a.chance < b.chance
    for point in front[:: len(front) // 12]:
        found = cheapest(lines, point.chance)
        assert found is not None
        assert found.cost == point.cost


def test_a_cheap_part_is_worth_bringing_against_an_idle_ramp() -> None:
    # 2.40 not returnable against 270: from 0.88 % on.
    assert 0.0088 < worth_above(240, 27000) < 0.0089


def test_a_dear_part_with_restocking_is_worth_bringing_from_seven_per_cent_on() -> None:
    # 15 % of 145 is 21.75: from 7.46 % on.
    assert round(worth_above(2175, 27000), 4) == 0.0746


def test_nothing_to_lose_is_worth_bringing_at_any_chance() -> None:
    assert worth_above(0, 27000) == 0.0
    assert worth_above(0, 0) == 0.0
    assert worth_above(240, 0) == 1.0
    for loss, being_short in ((-1, 100), (100, -1)):
        with pytest.raises(KittingError, match="must not be negative"):
            worth_above(loss, being_short)


def test_the_estimate_of_one_piece_is_its_price_or_nothing() -> None:
    assert estimate(1000, [(line_of(1, 1, 0.25), (0, 400))]) == Estimate(1000, 1100, 1400)
    # Nine times in ten nothing is added; the upper figure is then the expected one.
    assert estimate(1000, [(line_of(1, 1, 0.05), (0, 400))]) == Estimate(1000, 1020, 1020)


def test_an_estimate_without_doubt_is_the_price_now() -> None:
    assert estimate(1000, []) == Estimate(1000, 1000, 1000)
    assert estimate(1000, [(line_of(1, 4, 0.0), (0, 400, 800, 1200, 1600))]) == Estimate(
        1000, 1000, 1000
    )


def test_the_estimate_equals_whole_enumeration() -> None:
    rng = random.Random(21)
    for _ in range(300):
        priced = [
            (line, sorted(rng.randint(0, 1800) for _ in range(line.pieces + 1)))
            for line in a_case(rng)
        ]
        share = rng.choice([0.5, 0.9, 0.95])
        outcomes = sorted(
            (
                sum(prices[k] for k, (_, prices) in zip(counts, priced, strict=True)),
                math.prod(demand(line)[k] for k, (line, _) in zip(counts, priced, strict=True)),
            )
            for counts in itertools.product(*(range(line.pieces + 1) for line, _ in priced))
        )
        reached = itertools.accumulate(chance for _, chance in outcomes)
        money = next(m for (m, _), p in zip(outcomes, reached, strict=True) if p >= share - 1e-12)
        mean = math.fsum(m * p for m, p in outcomes)
        expected = 500 + math.ceil(round(mean, 6))
        wanted = Estimate(500, expected, max(expected, 500 + money))
        assert estimate(500, priced, share) == wanted


def test_a_large_estimate_errs_upwards_by_little() -> None:
    priced = [
        (line_of(k, 6, 0.2), [n * (123_457 + 1_003 * k) for n in range(7)]) for k in range(10)
    ]
    exact = estimate(0, [(line, [price // 1000 for price in prices]) for line, prices in priced])
    found = estimate(0, priced)
    assert found.now < found.expected < found.likely
    # Prices cut to thousands bound it from below; a grid cell per line from above.
    assert 1000 * exact.likely <= found.likely
    cut = estimate(0, [(line, [-(-price // 1000) for price in prices]) for line, prices in priced])
    assert found.likely <= 1000 * cut.likely + 10 * 100


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_an_estimate_needs_a_share(share: float) -> None:
    with pytest.raises(KittingError, match="share"):
        estimate(0, [], share)


def test_prices_below_nothing_too_few_or_falling_are_refused() -> None:
    for prices in ((-1, *range(6)), (0, 1, 2), (0, 3, 2, 3, 4, 5, 6)):
        with pytest.raises(KittingError, match="price"):
            estimate(0, [(A, prices)])


def test_drawn_jobs_are_finished_as_often_as_reckoned() -> None:
    """Jobs are drawn look by look: whatever fails is renewed there and looked at again later."""
    rng = random.Random(1234)
    lines = [
        A,
        B,
        line_of(3, 4, 0.10, weight=10.0),
        line_of(4, 3, 0.05, group=True),
        line_of(5, 4, 0.15, group=True, weight=10.0),
        Line(6, (Looks(2, 0.1, openings=2), Looks(3, 0.05, True, 10.0, 2)), (0,) * 9),
    ]
    spares = {1: 2, 2: 1, 3: 1, 4: 0, 5: 4, 6: 3}
    trials, finished = 40_000, 0
    for _ in range(trials):
        finished += all(drawn(line, rng) <= spares[line.key] for line in lines)
    chance = chance_of(lines, spares)
    # Three standard errors of what was drawn.
    assert abs(finished / trials - chance) < 3 * (chance * (1 - chance) / trials) ** 0.5


def drawn(line: Line, rng: random.Random) -> int:
    """How many new ones a job takes."""
    new = 0
    for looks in line.looks:
        rate = looks.chance
        if looks.weight is not None:
            rate = rng.betavariate(rate * looks.weight, (1 - rate) * looks.weight)
        for _ in range(looks.openings):
            failed = sum(rng.random() < rate for _ in range(looks.pieces))
            new += looks.pieces if looks.group and failed else failed
    return new


def every_course(looks: Looks) -> Iterator[tuple[float, int]]:
    """The chance of every course of a job and the new ones it takes, one look after the other.

    With a weight a course has the chance that an urn gives it: it holds `weight` balls, chance ×
    weight of them "fails", and each ball drawn goes back with another of its sort.
    """
    for course in itertools.product((False, True), repeat=sum(map(sum, looks.each))):
        chance, bad, new = 1.0, 0, 0
        for number, failed in enumerate(course):
            rate = looks.chance
            if looks.weight is not None:
                rate = (looks.chance * looks.weight + bad) / (looks.weight + number)
            chance *= rate if failed else 1.0 - rate
            bad += failed
        left = iter(course)
        for pieces, others in looks.each:
            seen = [next(left) for _ in range(pieces + others)]
            new += pieces if looks.group and any(seen) else sum(seen[:pieces])
        yield chance, new


@pytest.mark.parametrize("weight", [None, 1.0, 10.0])
@pytest.mark.parametrize("group", [False, True])
@pytest.mark.parametrize(("pieces", "openings"), [(1, 1), (1, 6), (2, 3), (3, 2), (2, 5), (4, 1)])
@pytest.mark.parametrize("chance", [0.0, 0.1, 0.7, 1.0])
def test_new_ones_over_several_openings_equal_every_course_of_the_job(
    pieces: int, openings: int, chance: float, group: bool, weight: float | None
) -> None:
    looks = Looks(pieces, chance, group, weight, openings)
    wanted = [0.0] * (looks.most + 1)
    for p, new in every_course(looks):
        wanted[new] += p
    assert needed(looks) == pytest.approx(tuple(wanted), abs=1e-12)


@pytest.mark.parametrize("weight", [None, 10.0])
@pytest.mark.parametrize(
    ("pieces", "others", "later"),
    [(4, 0, ((2, 0),)), (2, 1, ((1, 0), (1, 0))), (1, 2, ((1, 1), (0, 1))), (3, 0, ((1, 2),))],
)
def test_a_group_that_is_opened_unequally_is_renewed_by_what_is_open(
    pieces: int, others: int, later: tuple[tuple[int, int], ...], weight: float | None
) -> None:
    looks = Looks(pieces, 0.2, True, weight, 1, others, later)
    wanted = [0.0] * (looks.most + 1)
    for p, new in every_course(looks):
        wanted[new] += p
    assert needed(looks) == pytest.approx(tuple(wanted), abs=1e-12)
    # Two more at another place: nothing is needed if no look fails that asks for any.
    here = sum(sum(at) for at in looks.each if at[0])
    none_fails = failures(here + 2, 0.2, weight)[0]
    assert needed_at_all([looks, Looks(2, 0.2, False, weight)])[0] == pytest.approx(none_fails)


def test_a_piece_that_is_looked_at_six_times_passes_six_times_in_three_of_five_jobs() -> None:
    """9/10 · 10/11 · … · 14/15 = 9/15: each look that passed makes the next likelier to pass."""
    assert needed(Looks(1, 0.1, weight=10.0, openings=6))[0] == pytest.approx(0.6)


def test_one_spare_serves_whichever_look_of_its_item_fails_but_only_one() -> None:
    hot, cold = Looks(1, 0.3), Looks(1, 0.1)
    line = Line(1, (hot, cold), (0, 0, 0))
    assert demand(line) == pytest.approx((0.63, 0.27 + 0.07, 0.03))
    assert chance_of([line], {1: 1}) == pytest.approx(0.97)
    assert split(line, 1) == (1, 0)
    assert split(line, 2) == (1, 1)
    with pytest.raises(KittingError, match="3 spares cannot be split"):
        split(line, 3)


@given(
    st.lists(
        st.tuples(st.integers(0, 3), st.floats(0.01, 0.9), st.booleans()), min_size=1, max_size=4
    ),
    st.data(),
)
def test_the_split_of_spares_is_the_best_of_all_and_promises_no_more_than_there_is(
    drawn_looks: list[tuple[int, float, bool]], data: st.DataObject
) -> None:
    line = Line(1, tuple(Looks(*one) for one in drawn_looks), (0,))
    spares = data.draw(st.integers(0, line.pieces))

    def apart(parts: Sequence[int]) -> float:
        return math.prod(
            sum(needed(looks)[: n + 1]) for looks, n in zip(line.looks, parts, strict=True)
        )

    found = split(line, spares)
    ways = itertools.product(*(range(looks.most + 1) for looks in line.looks))
    best = max(apart(parts) for parts in ways if sum(parts) == spares)
    assert sum(found) == spares
    assert apart(found) == pytest.approx(best)
    assert chance_of([line], {1: spares}) >= apart(found) - 1e-12


def test_sums_of_what_is_needed_agree_with_drawing_each_pair() -> None:
    rng = random.Random(3)
    spreads = [[rng.random() for _ in range(n)] for n in (3, 1, 4)]
    wanted = [0.0] * 6
    for picks in itertools.product(*(range(len(one)) for one in spreads)):
        wanted[sum(picks)] += math.prod(one[k] for one, k in zip(spreads, picks, strict=True))
    assert together(spreads) == pytest.approx(tuple(wanted))
    assert together([]) == (1.0,)
