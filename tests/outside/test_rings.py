"""Ring sizes against SAE AS568 / ISO 3601-1 (data/README.md); glands and set by their formulas."""

from __future__ import annotations

import random

import pytest
from published import rows

from kitting.calc.rings import (
    USED_STRETCH,
    USED_SWELL,
    compression_set,
    fill,
    match_sizes,
    squeeze,
    stretch,
)
from kitting.errors import FigureError
from kitting.facts.rings import RingSize, standard_sizes

SIZES = standard_sizes()


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
            found = match_sizes(SIZES, size.inside + inside, size.section + section)
            assert size in [match.size for match in found[:3]]


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.dash)
def test_a_stretched_and_swollen_ring_is_among_the_first_five(size: RingSize) -> None:
    """Stretch up to 3 %, swell up to 5 % of the volume, measured a tenth off (our model)."""
    luck = random.Random(size.dash)
    for share in (0.0, 1.0, luck.random(), luck.random()):
        pulled, swollen = share * USED_STRETCH, luck.random() * USED_SWELL
        inside = size.inside * (1 + pulled) * (1 + swollen / 3) + luck.uniform(-0.1, 0.1)
        section = size.section * (1 - pulled / 2) * (1 + swollen / 3) + luck.uniform(-0.1, 0.1)
        found = match_sizes(SIZES, inside, section, used=True)
        assert size in [match.size for match in found], (inside, section)


def test_the_squeeze_of_as568_214_in_a_gland_of_2_79_to_2_95_mm_is_14_0_to_23_1_percent() -> None:
    (size,) = (size for size in SIZES if size.dash == "214")
    band = squeeze(size.section, size.section_tolerance, 2.79, 2.95)
    assert (round(band.least, 1), round(band.most, 1)) == (14.0, 23.1)


def test_a_section_that_has_set_from_2_50_to_2_24_in_a_gland_of_1_95_has_set_by_47_percent() -> (
    None
):
    """ISO 815, ASTM D395: (new − used)/(new − gland depth)."""
    assert round(compression_set(2.50, 2.24, 1.95)) == 47


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
        lambda: match_sizes(SIZES, 0, 2),
        lambda: match_sizes(SIZES, float("nan"), 2),
        lambda: squeeze(3.5, 0.1, 2.9, 2.8),
        lambda: fill(3.5, 0.1, 2.8, 2.9, 0),
        lambda: compression_set(2.5, 2.2, 2.6),
    ],
)
def test_lengths_that_make_no_sense_are_refused(call: object) -> None:
    with pytest.raises(FigureError):
        call()  # type: ignore[operator]
