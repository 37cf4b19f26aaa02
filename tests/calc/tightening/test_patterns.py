"""Patterns: crosswise round a circle, outwards on a plate, every hole once."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.tightening.circles import fit_circle, rings
from kitting.calc.tightening.patterns import Pattern, general_pattern, maker_pattern
from kitting.facts.words import PatternShape

Holes = Sequence[tuple[float, float]]


def ring(
    count: int, radius: float = 60.0, x: float = 0.0, y: float = 0.0, turned: float = 0.0
) -> list[tuple[float, float]]:
    """Holes round a circle, the first at the top, clockwise (mm); all `turned` by so much."""
    return [
        (
            x + radius * math.sin(math.tau * n / count + turned),
            y + radius * math.cos(math.tau * n / count + turned),
        )
        for n in range(count)
    ]


def on_circle(holes: Holes) -> bool:
    """Whether holes are taken for one circle."""
    return len(rings(holes)) == 1


# A head of an engine: two rows of seven (invented spacing, mm).
TWO_ROWS = [(60.0 * n, 0.0) for n in range(7)] + [(60.0 * n, 100.0) for n in range(7)]


def test_a_circle_of_eight_is_tightened_crosswise() -> None:
    # Common practice, no source.
    found = general_pattern(ring(8))
    assert (found.order, found.shape) == ((1, 5, 3, 7, 2, 6, 4, 8), PatternShape.CIRCLE)
    (circle,) = found.circles
    assert (circle.x, circle.y, circle.radius) == pytest.approx((0, 0, 60), abs=1e-9)


@pytest.mark.parametrize(
    ("count", "order"),
    [(3, (1, 2, 3)), (4, (1, 3, 2, 4)), (5, (1, 3, 5, 2, 4)), (6, (1, 4, 2, 5, 3, 6))],
)
def test_smaller_circles_go_crosswise_too(count: int, order: tuple[int, ...]) -> None:
    # 4, 5 and 6: common practice for wheels and flanges, no source; the star and its mirror
    # image (or either neighbour of the hole opposite) are as good as one another.
    assert general_pattern(ring(count)).order == order


def test_a_circle_is_known_wherever_its_origin_is_and_however_large_it_is() -> None:
    assert general_pattern(ring(8, radius=4.5, x=300, y=-120)).order == (1, 5, 3, 7, 2, 6, 4, 8)


def test_four_corners_are_a_circle_and_a_half_circle_is_none() -> None:
    assert on_circle([(0, 0), (80, 0), (80, 50), (0, 50)])
    assert not on_circle(ring(8)[:4])
    assert general_pattern([(0, 0), (100, 0), (100, 10), (0, 10)]).order == (1, 3, 4, 2)
    assert not on_circle(ring(8)[:2])
    assert not on_circle([(5.0, 5.0)] * 3)


def test_a_plate_of_fourteen_goes_from_the_centre_outwards() -> None:
    # Common practice, no source: the middle pair first, the corners last. Worked by hand from
    # the rule: of holes equally far from the centre, the one farthest from the last.
    found = general_pattern(TWO_ROWS)
    assert found.shape == "plate"
    assert found.order == (4, 11, 3, 12, 10, 5, 9, 6, 2, 13, 1, 14, 8, 7)


def test_two_rows_of_five_go_from_the_centre_outwards() -> None:
    rows = [(40.0 * n, 0.0) for n in range(5)] + [(40.0 * n, 70.0) for n in range(5)]
    assert general_pattern(rows) == Pattern((3, 8, 2, 9, 7, 4, 6, 5, 1, 10), PatternShape.PLATE)


def test_few_holes_have_an_order_too() -> None:
    assert general_pattern([]) == Pattern((), PatternShape.PLATE)
    assert general_pattern([(3.0, 4.0)]) == Pattern((1,), PatternShape.PLATE)
    assert general_pattern([(0.0, 0.0), (9.0, 0.0)]) == Pattern((1, 2), PatternShape.PLATE)


def test_the_makers_order_is_kept() -> None:
    assert maker_pattern([2, 1, 3], [1, 2, 3]) == Pattern((2, 1, 3), PatternShape.MAKER)
    # Holes 1 and 2 are of dowels: nothing is tightened there.
    assert maker_pattern([4, 3], [3, 4]) == Pattern((4, 3), PatternShape.MAKER)


@pytest.mark.parametrize("order", [[1, 2], [1, 2, 2], [1, 2, 4], [0, 1, 2], [1, 2, 3, 4], []])
def test_a_makers_order_that_leaves_out_or_repeats_a_hole_is_none(order: list[int]) -> None:
    assert maker_pattern(order, [1, 2, 3]) is None


COORDINATE = st.floats(-500, 500, allow_nan=False)


@given(st.lists(st.tuples(COORDINATE, COORDINATE), max_size=20))
def test_every_hole_is_tightened_once(holes: list[tuple[float, float]]) -> None:
    found = general_pattern(holes)
    assert sorted(found.order) == list(range(1, len(holes) + 1))


@given(st.integers(3, 60), st.floats(1, 500), COORDINATE, COORDINATE)
def test_every_even_ring_is_a_circle_and_begins_with_opposite_holes(
    count: int, radius: float, x: float, y: float
) -> None:
    found = general_pattern(ring(count, radius, x, y))
    assert found.shape == "circle"
    assert found.order[0] == 1
    assert abs(found.order[1] - (1 + count / 2)) <= 0.5


@given(st.lists(st.tuples(COORDINATE, COORDINATE), min_size=1, max_size=20))
def test_on_a_plate_no_hole_comes_before_one_much_nearer_to_the_centre(
    holes: list[tuple[float, float]],
) -> None:
    found = general_pattern(holes)
    if found.shape != "plate":
        return
    xs, ys = [x for x, _ in holes], [y for _, y in holes]
    centre = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    away = [math.dist(centre, holes[number - 1]) for number in found.order]
    # Within 2 mm, or a hundredth of the largest distance, they count as equally far; a group of
    # such holes is never wider than three times that.
    slack = 3 * max(2.0, max(away) / 100) + 1e-9
    assert all(later >= earlier - slack for earlier, later in pairwise(away))


def neighbours(order: Sequence[int], count: int) -> list[tuple[int, int]]:
    """Steps from a hole to the one beside it, of holes numbered round a circle."""
    return [pair for pair in pairwise(order) if abs(pair[0] - pair[1]) in (1, count - 1)]


def whole(holes: Holes) -> list[tuple[float, float]]:
    """Coordinates as somebody writes them down, in whole millimetres."""
    return [(float(round(x)), float(round(y))) for x, y in holes]


def anywhere(chance: random.Random, count: int, least: float = 12.0) -> list[tuple[float, float]]:
    """A circle of any size and place, its holes at least so many mm apart."""
    smallest = max(15.0, least * count / math.tau)
    radius = chance.uniform(smallest, max(200.0, 1.5 * smallest))
    x, y = chance.uniform(-300, 300), chance.uniform(-300, 300)
    return ring(count, radius, x, y, chance.uniform(0, math.tau))


@pytest.mark.parametrize("count", range(4, 25))
def test_circles_in_whole_millimetres_begin_opposite_and_never_go_on_beside(count: int) -> None:
    chance = random.Random(f"{count} bolts")
    for _ in range(100):
        holes = whole(anywhere(chance, count))
        found = general_pattern(holes)
        first, second = found.order[:2]
        apart = (second - first) % count
        assert found.shape == PatternShape.CIRCLE, holes
        assert min(apart, count - apart) == count // 2, (holes, found.order)
        assert count < 5 or not neighbours(found.order, count), (holes, found.order)


def test_five_bolts_of_a_pump_in_whole_millimetres_go_in_a_star() -> None:
    holes = [(0, 40), (38, 12), (24, -32), (-24, -32), (-38, 12)]
    assert general_pattern(holes).order == (1, 3, 5, 2, 4)


def test_seven_holes_of_eight_are_a_circle_with_a_hole_missing() -> None:
    # Common practice, no source: as the eight, without the one that lacks.
    holes = [(0, 50), (35.4, 35.4), (50, 0), (35.4, -35.4), (0, -50), (-35.4, -35.4), (-50, 0)]
    found = general_pattern(holes)
    assert (found.shape, found.order) == ("circle", (1, 5, 3, 7, 2, 6, 4))


@pytest.mark.parametrize("count", range(6, 25))
def test_a_circle_with_any_hole_missing_stays_a_circle(count: int) -> None:
    chance = random.Random(f"{count} bolts, one missing")
    for _ in range(50):
        holes = whole(anywhere(chance, count))
        del holes[chance.randrange(count)]
        found = general_pattern(holes)
        assert found.shape == PatternShape.CIRCLE, holes
        assert not neighbours(found.order, count - 1), (holes, found.order)
        # The second lies opposite the first, as near as a whole number of spaces lets it.
        (circle,) = found.circles
        first, second = (holes[number - 1] for number in found.order[:2])
        across = math.dist(first, second) / (2 * circle.radius)
        assert across > math.cos(math.pi / 2 / count) - 0.06, (holes, found.order)


def test_two_circles_round_one_centre_are_two_circles_with_a_hole_missing_too() -> None:
    chance = random.Random("two circles")
    for _ in range(200):
        count, inside = chance.randrange(6, 17), chance.randrange(3, 9)
        outer = anywhere(chance, count)
        fitted = fit_circle(outer)
        assert fitted is not None
        lacking = chance.randrange(count) if chance.random() < 0.5 else None
        kept = [hole for n, hole in enumerate(outer) if n != lacking]
        radius = fitted.radius * chance.uniform(0.35, 0.75)
        inner = ring(inside, radius, fitted.x, fitted.y, chance.uniform(0, math.tau))
        if min(math.dist(a, b) for a, b in pairwise(inner)) < 12:
            continue
        holes = whole([*kept, *inner])
        found = general_pattern(holes)
        assert found.shape == PatternShape.CIRCLES, holes
        numbers = list(range(len(kept) + 1, len(holes) + 1))
        assert sorted(found.order[:inside]) == numbers, (holes, found.order)
        within = [number - len(kept) for number in found.order[:inside]]
        assert inside < 5 or not neighbours(within, inside)
        assert not neighbours(found.order[inside:], len(kept))


def test_a_bolt_in_the_middle_or_two_opposite_come_before_the_circle_round_them() -> None:
    assert general_pattern([*ring(6), (0.3, 0.0)]).order == (7, 1, 4, 2, 5, 3, 6)
    assert general_pattern([*ring(6), (20.0, 0.0), (-20.0, 0.0)]).order[:2] == (8, 7)
    assert general_pattern([*ring(6), (20.0, 0.0), (-20.0, 9.0)]).shape == PatternShape.PLATE
    assert general_pattern([*ring(6), (20.0, 0.0)]).shape == PatternShape.PLATE


def test_a_circle_of_unequal_spaces_goes_crosswise_by_turn() -> None:
    turns = (0, 50, 118, 180, 245, 300)
    holes = [(50 * math.sin(math.radians(t)), 50 * math.cos(math.radians(t))) for t in turns]
    assert general_pattern(holes).order == (1, 4, 2, 5, 3, 6)


def round_a_circle(chance: random.Random) -> tuple[list[float], Holes]:
    """Angles in degrees, clockwise, of holes anywhere round a circle, and the holes (whole mm)."""
    turns = sorted(chance.sample(range(0, 360, 12), chance.randrange(4, 13)))
    radius, x, y = chance.uniform(60, 200), chance.uniform(-300, 300), chance.uniform(-300, 300)
    holes = [
        (x + radius * math.sin(math.radians(t)), y + radius * math.cos(math.radians(t)))
        for t in turns
    ]
    return [float(turn) for turn in turns], whole(holes)


def test_holes_anywhere_round_a_circle_go_by_its_rule_unless_half_of_it_is_empty() -> None:
    """Common practice, no source. By brute force: of all pairs no two lie farther apart."""
    chance, circles, plates, unequal = random.Random("anywhere round"), 0, 0, 0
    for _ in range(1500):
        turns, holes = round_a_circle(chance)
        count = len(turns)
        gap = max((b - a) % 360 for a, b in zip(turns, [*turns[1:], turns[0]], strict=True))
        if abs(gap - 180) < 6:
            continue
        found = general_pattern(holes)
        if gap > 180:
            plates += 1
            assert found.shape == PatternShape.PLATE, (turns, holes)
            continue
        circles += 1
        assert found.shape == PatternShape.CIRCLE, (turns, holes)
        assert count < 5 or not neighbours(found.order, count), (turns, found.order)
        first, second = (number - 1 for number in found.order[:2])
        widest = max(
            across(turns[a], turns[b])
            for a in range(count)
            for b in range(a)
            if count < 5 or a - b not in (1, count - 1)
        )
        if rings(holes)[0].places == 360:  # else as equal spaces, some of them empty
            unequal += 1
            assert across(turns[first], turns[second]) >= widest - 3, (turns, found.order)
    assert min(circles, plates, unequal) > 100


def across(one: float, other: float) -> float:
    """How many degrees two lie apart, the shorter way round."""
    return min((one - other) % 360, (other - one) % 360)


def test_rows_of_bolts_are_no_circles() -> None:
    far = [(x * 40.0, y) for y in (0.0, 260.0) for x in (-1, 0, 1)]
    assert general_pattern(far).order[:2] == (2, 5)  # the middle first, though nearly on a circle
    rows = [(60.0 * n, y) for y in (0.0, 100.0) for n in range(4)]
    assert general_pattern(rows).shape == PatternShape.PLATE
    assert general_pattern([(x * 40.0, 0.0) for x in range(6)]).shape == PatternShape.PLATE


def measured_plate(chance: random.Random) -> tuple[Holes, Holes]:
    """A plate of two or three rows as it is, and as measured to a quarter of a millimetre."""
    across, rows = chance.randrange(3, 9), chance.choice((2, 2, 3))
    dx, dy = chance.uniform(30, 80), chance.uniform(50, 150)
    true = [(dx * i, dy * j) for j in range(rows) for i in range(across)]
    return true, [(x + chance.uniform(-0.25, 0.25), y + chance.uniform(-0.25, 0.25))
                  for x, y in true]  # fmt: skip


def test_on_a_measured_plate_no_step_stays_on_a_side_while_the_other_has_one_equally_far() -> None:
    chance = random.Random("plates")
    for _ in range(300):
        true, measured = measured_plate(chance)
        found = general_pattern(measured)
        if found.shape != PatternShape.PLATE:
            continue
        x0, y0 = (true[0][0] + true[-1][0]) / 2, (true[0][1] + true[-1][1]) / 2
        steps = [(true[n - 1][0] - x0, true[n - 1][1] - y0) for n in found.order]
        for place, (last, now) in enumerate(pairwise(steps)):
            if cosine(last, now) < 0.1:
                continue
            for other in steps[place + 2 :]:
                equal = abs(math.hypot(*other) - math.hypot(*now)) < 1e-6
                assert not (equal and cosine(last, other) < -0.1), (measured, found.order)


def cosine(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Of the angle between two holes, seen from the centre; 0 for one in the centre."""
    size = math.hypot(*one) * math.hypot(*other)
    return (one[0] * other[0] + one[1] * other[1]) / size if size > 1e-9 else 0.0


def renumbered(holes: Holes, chance: random.Random) -> tuple[Holes, list[tuple[float, float]]]:
    """The holes in another order, and their pattern as places."""
    other = chance.sample(holes, len(holes))
    return other, [other[number - 1] for number in general_pattern(other).order]


def shape_of(places: Sequence[tuple[float, float]], centre: tuple[float, float]) -> list[float]:
    """The turns from each place to the next, round a centre, in degrees."""
    turns = [math.degrees(math.atan2(x - centre[0], y - centre[1])) for x, y in places]
    return [(b - a) % 360 for a, b in pairwise(turns)]


@given(st.integers(3, 16), st.integers(0, 2), st.floats(20, 200), st.randoms(use_true_random=False))
def test_another_numbering_turns_the_pattern_of_a_circle_at_most(
    count: int, lacking: int, radius: float, chance: random.Random
) -> None:
    full = ring(count, radius, turned=chance.uniform(0, math.tau))
    holes = sorted(full)[: max(3, count - min(lacking, count // 5))]
    found = general_pattern(holes)
    places = [holes[number - 1] for number in found.order]
    _, others = renumbered(holes, chance)
    if found.shape == PatternShape.CIRCLE:
        assert shape_of(places, (0, 0)) == pytest.approx(shape_of(others, (0, 0)), abs=0.01)
    else:
        assert places == others


@given(
    st.lists(st.tuples(COORDINATE, COORDINATE), min_size=1, max_size=16, unique=True),
    st.randoms(use_true_random=False),
)
def test_another_numbering_leaves_the_pattern_of_a_plate(
    holes: list[tuple[float, float]], chance: random.Random
) -> None:
    found = general_pattern(holes)
    if found.shape == PatternShape.PLATE:
        _, others = renumbered(holes, chance)
        assert [holes[number - 1] for number in found.order] == others
