"""Ring sizes, glands and guidance against published tables (data/README.md); set by its formula."""

from __future__ import annotations

import random
import re

import pytest
from published import rows

from kitting.calc.rubber.glands import fill, squeeze, stretch
from kitting.calc.rubber.ring_sizes import (
    USED_STRETCH,
    USED_SWELL,
    Measured,
    compression_set,
    match_sizes,
)
from kitting.errors import FigureError
from kitting.facts.ring_standards import USES, RingSize, guidance, standard_sizes
from kitting.wording.rubber import limits_text

SIZES = standard_sizes()
# Tolerances of the sections of AS568, mm (as568.csv).
SECTION_TOLERANCE = {float(row["cs_mm"]): float(row["cs_tol_mm"]) for row in rows("as568.csv")}
# Table, columns of its depths, columns of its least and most squeeze in percent.
GLANDS = (
    ("gland_dynamic_mm.csv", "depth", "squeeze"),
    ("gland_static_mm.csv", "depth_radial", "squeeze_radial"),
    ("gland_static_mm.csv", "depth_face", "squeeze_face"),
)


def test_the_table_is_the_published_one() -> None:
    published = rows("as568.csv")
    assert len(SIZES) == len(published) == 369
    for size, row in zip(SIZES, published, strict=True):
        assert size == RingSize(
            row["dash"], float(row["id_mm"]), float(row["id_tol_mm"]), float(row["cs_mm"]),
            float(row["cs_tol_mm"]), row["note"] or None,
        )  # fmt: skip
        # 1 in = 25.4 mm, exactly; the table rounds to hundredths.
        assert abs(float(row["id_in"]) * 25.4 - size.inside) < 0.0101
        assert abs(float(row["cs_in"]) * 25.4 - size.section) < 0.0101


def test_the_five_sizes_of_which_sources_disagree_give_both_values() -> None:
    assert [size.dash for size in SIZES if size.note] == ["239", "284", "319", "377", "386"]


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.dash)
def test_a_new_ring_measured_a_tenth_off_is_among_the_first_three(size: RingSize) -> None:
    for inside in (-0.1, 0.0, 0.1):
        for section in (-0.1, 0.0, 0.1):
            found = match_sizes(SIZES, Measured(size.inside + inside, size.section + section))
            assert size in [match.size for match in found[:3]]


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.dash)
def test_a_stretched_and_swollen_ring_is_among_the_first_five(size: RingSize) -> None:
    """Stretch up to 3 %, swell up to 5 % of the volume, measured a tenth off (our model)."""
    luck = random.Random(size.dash)
    for share in (0.0, 1.0, luck.random(), luck.random()):
        pulled, swollen = share * USED_STRETCH, luck.random() * USED_SWELL
        inside = size.inside * (1 + pulled) * (1 + swollen / 3) + luck.uniform(-0.1, 0.1)
        section = size.section * (1 - pulled / 2) * (1 + swollen / 3) + luck.uniform(-0.1, 0.1)
        found = match_sizes(SIZES, Measured(inside, section, used=True))
        assert size in [match.size for match in found], (inside, section)


def test_the_squeeze_of_as568_214_in_a_gland_of_2_79_to_2_95_mm_is_14_0_to_23_1_percent() -> None:
    (size,) = (size for size in SIZES if size.dash == "214")
    band = squeeze(size.section, size.section_tolerance, 2.79, 2.95)
    assert (round(band.least, 1), round(band.most, 1)) == (14.0, 23.1)


@pytest.mark.parametrize(("table", "depth", "percent"), GLANDS, ids=lambda value: value)
def test_the_squeeze_of_published_glands_comes_out_within_a_point(
    table: str, depth: str, percent: str
) -> None:
    published = rows(table)
    assert [row["cs_mm"] for row in published] == [
        "1.02", "1.27", "1.52", "1.78", "2.62", "3.53", "5.33", "6.99",
    ]  # fmt: skip
    for row in published:
        section = float(row["cs_mm"])
        band = squeeze(
            section,
            SECTION_TOLERANCE[section],
            float(row[f"{depth}_min"]),
            float(row[f"{depth}_max"]),
        )
        assert abs(band.least - float(row[f"{percent}_min_pct"])) <= 1, row
        assert abs(band.most - float(row[f"{percent}_max_pct"])) <= 1, row


def worst(table: str, depth: str) -> dict[float, tuple[float, float]]:
    """The most squeeze and the most fill of each section in a published gland, percent."""
    found = {}
    for row in rows(table):
        section = float(row["cs_mm"])
        depths = (float(row[f"{depth}_min"]), float(row[f"{depth}_max"]))
        body = (section, SECTION_TOLERANCE[section])
        width = float(row["groove_width_no_backup"])
        found[section] = (squeeze(*body, *depths).most, fill(*body, *depths, width).most)
    return found


def test_where_published_glands_and_guidance_disagree_the_guidance_says_so() -> None:
    """Thin sections: static ones are filled by up to 91 %, moving ones squeezed by up to 28 %.

    85 %: Parker O-Ring Handbook, from memory; 8 to 20 %: a chart of groove dimensions, secondary.
    """
    static = worst("gland_static_mm.csv", "depth_radial")
    moving = worst("gland_dynamic_mm.csv", "depth")
    assert [section for section, (_, filled) in static.items() if filled > 85] == [1.02, 1.78]
    assert round(max(filled for _, filled in static.values())) == 91
    assert all(filled < 85 for _, filled in moving.values())
    assert [section for section, (pressed, _) in moving.items() if pressed > 20] == [
        1.02, 1.27, 1.52, 1.78,
    ]  # fmt: skip
    assert round(max(pressed for pressed, _ in moving.values())) == 28
    told = {
        (row.quantity, limits_text(row.least, row.most)): row.about
        for row in guidance("reciprocating")
    }
    assert told["fill", "at most 85 %"] == "published glands of thin sections reach 91 %"
    assert told["squeeze", "8 to 20 %"] == "published glands of thin sections reach 28 %"


def test_the_limits_that_decide_are_the_published_ones_and_name_their_source() -> None:
    """Apple Rubber Seal Design Guide and Parker design article (read), a chart of groove dimensions
    (read, secondary), Parker O-Ring Handbook (from memory); not loose: common practice, no source;
    not stretched on a turning shaft: handbook practice, from memory.
    """
    deciding = {
        use: sorted(
            (row.quantity, limits_text(row.least, row.most)) for row in guidance(use) if row.decides
        )
        for use in USES
    }
    both = [("fill", "at most 85 %")]
    assert deciding == {
        "static": [
            *both,
            ("squeeze", "10 to 40 %"),
            ("stretch", "at least 0 %"),
            ("stretch", "at most 5 %"),
        ],
        "reciprocating": [
            *both,
            ("squeeze", "8 to 20 %"),
            ("squeeze", "at most 30 %"),
            ("stretch", "at least 0 %"),
            ("stretch", "at most 5 %"),
        ],
        "rotary": [
            *both,
            ("squeeze", "0 to 8 %"),
            ("squeeze", "at most 30 %"),
            ("stretch", "at most 0 %"),
            ("stretch", "at most 5 %"),
        ],
    }
    for use in USES:
        for row in guidance(use):
            assert row.source
            assert row.certainty.startswith(("read", "from memory", "common practice, no source"))


def test_a_section_that_has_set_from_2_50_to_2_24_in_a_gland_of_1_95_has_set_by_47_percent() -> (
    None
):
    """ISO 815, ASTM D395: (new − used)/(new − gland depth)."""
    assert round(compression_set(2.50, 2.24, 1.95)) == 47


def test_a_ring_that_has_not_set_and_one_that_has_set_wholly_are_the_ends() -> None:
    """By the definition: as thick as new, and as thin as the gland held it."""
    assert compression_set(2.50, 2.50, 1.95) == 0
    assert compression_set(2.50, 1.95, 1.95) == 100


@pytest.mark.parametrize(
    ("new", "used", "depth", "why"),
    [
        (2.50, 2.20, 2.60, "the gland (2.6 mm) is not shallower than the new section (2.5 mm)"),
        (2.50, 2.20, 2.50, "the gland (2.5 mm) is not shallower than the new section (2.5 mm)"),
        (2.50, 2.51, 1.95, "the used section (2.51 mm) is more than the new one (2.5 mm)"),
        (2.50, 1.94, 1.95, "the used section (1.94 mm) is less than the gland depth (1.95 mm)"),
        (0, 2.20, 1.95, "section new: 0 mm is no length"),
        (2.50, 0, 1.95, "section used: 0 mm is no length"),
        (2.50, 2.20, -1, "gland depth: -1 mm is no length"),
    ],
)
def test_sections_that_no_ring_can_have_are_refused_with_the_reason(
    new: float, used: float, depth: float, why: str
) -> None:
    with pytest.raises(FigureError, match=f"^{re.escape(why)}"):
        compression_set(new, used, depth)


def test_fill_and_stretch_lie_within_their_worst_cases() -> None:
    for section, inside in ((1.78, 9.25), (3.53, 24.99), (5.33, 100.0)):
        filled = fill(section, 0.1, section * 0.78, section * 0.84, section * 1.4)
        exact = 100 * 3.14159265 / 4 * section**2 / (section * 0.81 * section * 1.4)
        assert filled.least < exact < filled.most
        pulled = stretch(inside, 0.2, inside * 1.02)
        assert pulled.least < 2.0 < pulled.most


@pytest.mark.parametrize(
    "call",
    [
        lambda: Measured(0, 2),
        lambda: Measured(float("nan"), 2),
        lambda: squeeze(3.5, 0.1, 2.9, 2.8),
        lambda: squeeze(0.05, 0.1, 0.02, 0.03),
        lambda: squeeze(3.5, -0.1, 2.8, 2.9),
        lambda: squeeze(float("nan"), 0.1, 2.8, 2.9),
        lambda: fill(3.5, 0.1, 2.8, 2.9, 0),
        lambda: fill(3.5, 0.1, 2.8, 2.9, 4.5, swell=-1),
        lambda: stretch(20, 0.2, 0),
        lambda: guidance("turning"),
        lambda: compression_set(float("nan"), 2.2, 1.9),
        lambda: compression_set(float("inf"), 2.2, 1.9),
    ],
)
def test_lengths_that_make_no_sense_are_refused(call: object) -> None:
    with pytest.raises(FigureError):
        call()  # type: ignore[operator]
