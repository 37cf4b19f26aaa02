"""Openings: which tool of the other measuring system undoes a head (ISO 691, from memory)."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise, product

import pytest

from kitting.facts.heads import _HEXAGONS as SIZES
from kitting.facts.wrench_openings import LARGEST_OPENING, across_flats, near_enough_to_undo


@pytest.mark.parametrize(
    ("size", "millimetres"),
    [
        ("19 mm", "19"),
        ("5.5 mm", "5.5"),
        ("3/4 in", "19.05"),
        ("5/16 in", "7.9375"),
        ("1 in", "25.4"),
    ],
)
def test_a_size_has_its_width_in_millimetres(size: str, millimetres: str) -> None:
    assert across_flats(size) == Decimal(millimetres)


@pytest.mark.parametrize("size", ["T45", "E10", "M10", "PH2", ""])
def test_other_sizes_have_no_width_and_no_near_tool(size: str) -> None:
    assert across_flats(size) is None
    assert not near_enough_to_undo(size, "19 mm")
    assert not near_enough_to_undo("19 mm", size)


def test_the_pairs_that_undo_are_these_and_no_others() -> None:
    # 19 mm and 3/4 in, 8 mm and 5/16 in are common practice, no source. The others follow from the
    # openings, each worked by hand: 9/16 in is 14.29 mm, too wide for a 14 mm head (14.27 mm).
    pairs = {
        (head, tool) for head, tool in product(SIZES, SIZES) if near_enough_to_undo(head, tool)
    }
    assert pairs == {
        ("5/16 in", "8 mm"),  # 7.94 mm, up to 8.09 mm
        ("11 mm", "7/16 in"),  # 11.11 mm, up to 11.19 mm
        ("5/8 in", "16 mm"),  # 15.88 mm, up to 16.15 mm
        ("19 mm", "3/4 in"),  # 19.05 mm, up to 19.36 mm
        ("22 mm", "7/8 in"),  # 22.23 mm, up to 22.36 mm
        ("15/16 in", "24 mm"),  # 23.81 mm, up to 24.17 mm
        ("1 1/16 in", "27 mm"),  # 26.99 mm, up to 27.47 mm
        ("1 1/8 in", "29 mm"),  # 28.58 mm, up to 29.06 mm
        ("30 mm", "1 3/16 in"),  # 30.16 mm, up to 30.48 mm
        ("1 1/4 in", "32 mm"),  # 31.75 mm, up to 32.23 mm
        # Wider than the table goes: with the play of 32 mm, 0.48 mm.
        ("33 mm", "1 5/16 in"),  # 33.34 mm, up to 33.48 mm
        ("1 3/8 in", "35 mm"),  # 34.93 mm, up to 35.41 mm
        ("38 mm", "1 1/2 in"),  # 38.10 mm, up to 38.48 mm
        ("41 mm", "1 5/8 in"),  # 41.28 mm, up to 41.48 mm
        ("1 11/16 in", "43 mm"),  # 42.86 mm, up to 43.34 mm
        ("46 mm", "1 13/16 in"),  # 46.04 mm, up to 46.48 mm
    }


@pytest.mark.parametrize("size", SIZES)
def test_a_tool_of_the_very_size_is_no_near_equivalent(size: str) -> None:
    assert not near_enough_to_undo(size, size)


def test_a_near_tool_is_never_smaller_than_the_head() -> None:
    for head, tool in product(SIZES, SIZES):
        if near_enough_to_undo(head, tool):
            assert (across_flats(tool) or 0) > (across_flats(head) or 0)


def test_an_opening_is_wider_than_its_size_and_narrower_than_the_next() -> None:
    for size, following in pairwise(LARGEST_OPENING):
        assert size < LARGEST_OPENING[size] < following
