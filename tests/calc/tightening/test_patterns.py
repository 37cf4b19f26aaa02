"""Patterns: crosswise round a circle, outwards on a plate, every hole once."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.tightening.patterns import Pattern, general_pattern, maker_pattern, on_circle
from kitting.facts.words import PatternShape


def ring(
    count: int, radius: float = 60.0, x: float = 0.0, y: float = 0.0
) -> list[tuple[float, float]]:
    """Holes round a circle, the first at the top, clockwise (mm)."""
    return [
        (
            x + radius * math.sin(math.tau * n / count),
            y + radius * math.cos(math.tau * n / count),
        )
        for n in range(count)
    ]


# A head of an engine: two rows of seven (invented spacing, mm).
TWO_ROWS = [(60.0 * n, 0.0) for n in range(7)] + [(60.0 * n, 100.0) for n in range(7)]


def test_a_circle_of_eight_is_tightened_crosswise() -> None:
    # Common practice, no source.
    found = general_pattern(ring(8))
    assert found == Pattern((1, 5, 3, 7, 2, 6, 4, 8), PatternShape.CIRCLE)


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
    assert not on_circle([(0, 0), (100, 0), (100, 10), (0, 10)])  # two rows, far apart
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
    assert maker_pattern([2, 1, 3], 3) == Pattern((2, 1, 3), PatternShape.MAKER)


@pytest.mark.parametrize("order", [[1, 2], [1, 2, 2], [1, 2, 4], [0, 1, 2], [1, 2, 3, 4], []])
def test_a_makers_order_that_leaves_out_or_repeats_a_hole_is_refused(order: list[int]) -> None:
    with pytest.raises(ValueError, match="does not name each of the 3 holes once"):
        maker_pattern(order, 3)


COORDINATE = st.floats(-500, 500, allow_nan=False)


@given(st.lists(st.tuples(COORDINATE, COORDINATE), max_size=20))
def test_every_hole_is_tightened_once(holes: list[tuple[float, float]]) -> None:
    found = general_pattern(holes)
    assert sorted(found.order) == list(range(1, len(holes) + 1))


@given(st.integers(3, 22), st.floats(1, 500), COORDINATE, COORDINATE)
def test_every_even_ring_is_a_circle_and_begins_with_opposite_holes(
    count: int, radius: float, x: float, y: float
) -> None:
    # From 24 holes on, the neighbours of the opposite hole count as equally far (2 % apart).
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
    # Holes within a fiftieth of the largest distance count as equally far.
    assert all(later >= earlier - max(away) / 50 for earlier, later in pairwise(away))
