"""Rings of the catalogue: found by size, elastomer and hardness; never by colour."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import load
from kitting.calc.rubber.glands import Gland
from kitting.calc.rubber.ring_sizes import Measured
from kitting.errors import FigureError, UnknownNameError
from kitting.services.rubber.catalogue_rings import RingQuery, item_views, ring_rows
from kitting.services.rubber.find import find_for_gland, find_measured, find_same
from kitting.store import reading
from kitting.views.rubber import FreeView
from kitting.wording.reasons import say


def codes(engine: Engine, inside: int, section: int, elastomer: str | None = None) -> list[str]:
    with reading(engine) as session:
        return [one.code for one in ring_rows(session, RingQuery(inside, section, elastomer))]


def test_17_0_by_2_5_in_fkm_is_found_and_17_12_by_2_62_is_another_ring(garage: Engine) -> None:
    """Common practice, no source: same inside with another section is the classic swap."""
    assert codes(garage, 17_000, 2_500, "FKM") == ["RING-FKM-17X2.5"]
    assert codes(garage, 17_120, 2_620, "FKM") == ["RING-FKM-17.12X2.62"]
    assert codes(garage, 17_000, 2_000, "EPDM") == ["RING-EPDM-17X2"]
    assert codes(garage, 17_000, 2_500, "EPDM") == []


def test_stock_is_told_per_branch(garage: Engine) -> None:
    with reading(garage) as session:
        (ring,) = item_views(session, ring_rows(session, RingQuery(17_000, 2_500)))
    assert ring.stock == (FreeView("canal", 2000),)


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


def test_the_same_ring_as_an_item_is_of_its_size_rubber_and_hardness_in_every_branch(
    lite: Engine,
) -> None:
    size = "ring_inside: 10.8 mm, ring_section: 1.8 mm"
    load(
        lite,
        f"""
items:
  - {{code: ASKED, name: Ring, kind: o-ring, elastomer: FKM, hardness: 75, {size}, colour: green}}
  - {{code: OTHER-NAME, name: Ring, kind: o-ring, elastomer: FKM, hardness: 75, {size}, colour: black}}
  - {{code: RUBBER, name: Ring, kind: o-ring, elastomer: NBR, hardness: 70, {size}, colour: green}}
  - {{code: HARDER, name: Ring, kind: o-ring, elastomer: FKM, hardness: 90, {size}, colour: green}}
  - {{code: UNSTATED, name: Ring, kind: o-ring, elastomer: FKM, {size}, colour: green}}
  - {{code: ANOTHER-SIZE, name: Ring, kind: o-ring, elastomer: FKM, hardness: 75, ring_inside: 10.8 mm, ring_section: 2 mm}}
  - {{code: NO-RING, name: Bolt, kind: o-ring}}
""",
    )
    with reading(lite) as session:
        view = find_same(session, "ASKED")
        assert [one.item for one in view.items] == ["ASKED", "OTHER-NAME"]
        assert {one.item: say(one.differs) for one in view.not_the_same if one.differs} == {
            "RUBBER": "same size, NOT the same ring: NBR 70 instead of FKM 75",
            "HARDER": "same size, NOT the same ring: FKM 90 instead of FKM 75",
            "UNSTATED": "same size, NOT KNOWN to be the same ring: UNSTATED states no hardness",
        }
        unstated = find_same(session, "UNSTATED")
        assert [one.item for one in unstated.items] == ["UNSTATED"]
        with pytest.raises(FigureError, match="NO-RING has no inside diameter"):
            find_same(session, "NO-RING")
        with pytest.raises(UnknownNameError, match="ASKED"):
            find_same(session, "ASKD")


def test_items_that_suit_a_gland_are_found_whatever_their_series(garage: Engine) -> None:
    gland = Gland(17.2, 21.3, 3.4)
    with reading(garage) as session:
        view = find_for_gland(session, gland)
        assert [one.item for one in view.items] == ["RING-FKM-17X2.5", "RING-FKM-17.12X2.62"]
        assert [one.size for one in view.sizes] == [
            "17 × 2.5 mm of the catalogue", "AS568-115, 17.12 × 2.62 mm",
        ]  # fmt: skip
        assert len(view.near_misses) == 3
        assert find_for_gland(session, gland, asked=RingQuery(elastomer="EPDM")).items == ()
        assert find_for_gland(session, gland, "reciprocating").items == ()
        deeper = find_for_gland(session, Gland(17.2, 20.3, 3.0))
        assert [one.item for one in deeper.items] == ["RING-EPDM-17X2"]


def test_a_metric_ring_of_the_catalogue_is_not_taken_for_the_inch_one_beside_it(
    garage: Engine,
) -> None:
    """Common practice, no source: 17.0 × 2.5 mm is not 17.12 × 2.62 mm, and a calliper cannot
    tell them apart.
    """
    with reading(garage) as session:
        view = find_measured(session, Measured(17.0, 2.5))
    assert [one.size for one in view.sizes[:2]] == [
        "17 × 2.5 mm of the catalogue", "AS568-115, 17.12 × 2.62 mm",
    ]  # fmt: skip
    assert view.decider is not None
    assert (view.decider.what, view.decider.settled) == ("groove and bore", False)
