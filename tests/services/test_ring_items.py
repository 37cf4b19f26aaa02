"""Rings of the catalogue: found by size, elastomer and hardness; never by colour."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import load
from kitting.errors import FigureError
from kitting.services.ring_items import ring_items
from kitting.store import reading


def codes(engine: Engine, inside: int, section: int, *more: object) -> list[str]:
    with reading(engine) as session:
        return [item.item for item in ring_items(session, inside, section, *more)]  # type: ignore[arg-type]


def test_17_0_by_2_5_in_fkm_is_found_and_17_12_by_2_62_is_another_ring(garage: Engine) -> None:
    """Common practice, no source: same inside with another section is the classic swap."""
    assert codes(garage, 17_000, 2_500, "FKM") == ["RING-FKM-17X2.5"]
    assert codes(garage, 17_120, 2_620, "FKM") == ["RING-FKM-17.12X2.62"]
    assert codes(garage, 17_000, 2_000, "EPDM") == ["RING-EPDM-17X2"]
    assert codes(garage, 17_000, 2_500, "EPDM") == []


def test_stock_is_told_per_branch(garage: Engine) -> None:
    with reading(garage) as session:
        (ring,) = ring_items(session, 17_000, 2_500)
    assert ring.stock == ("2 in canal",)


def test_a_colour_is_no_elastomer(garage: Engine) -> None:
    with pytest.raises(FigureError, match="green"):
        codes(garage, 17_000, 2_500, "green")


def test_case_13_two_green_rings_of_one_size_are_told_apart_by_their_rubber(lite: Engine) -> None:
    """Common practice, no source."""
    load(
        lite,
        """
items:
  - {code: G-HNBR, name: Ring, kind: o-ring, elastomer: HNBR, ring_inside: 10.8 mm, ring_section: 1.8 mm, colour: green}
  - {code: G-FKM, name: Ring, kind: o-ring, elastomer: FKM, ring_inside: 10.8 mm, ring_section: 1.8 mm, colour: green}
""",
    )
    assert codes(lite, 10_800, 1_800) == ["G-FKM", "G-HNBR"]
    assert codes(lite, 10_800, 1_800, "HNBR") == ["G-HNBR"]
