"""Rings and glands: properties, the ranking by a second route, and which measurement decides."""

from __future__ import annotations

import itertools
import math

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.rubber.glands import (
    GAUGES,
    Band,
    Gland,
    fill,
    judge,
    squeeze,
    stretch,
    suit,
    suits,
)
from kitting.calc.rubber.ring_sizes import (
    Difference,
    Measured,
    decider,
    difference,
    gland_decider,
    match,
    match_sizes,
    place,
)
from kitting.errors import FigureError
from kitting.facts.reasons import Reason
from kitting.facts.ring_reasons import GlandShare
from kitting.facts.ring_standards import Ring, borrowed, guidance, require_size, standard_sizes
from kitting.wording.reasons import say
from kitting.wording.rubber import limits_text


def said(reasons: tuple[Reason, ...]) -> tuple[str, ...]:
    return tuple(say(reason) for reason in reasons)


RINGS = [size.ring for size in standard_sizes()]
STATIC = guidance("static")
sections = st.floats(1.0, 7.0)
grooves = st.floats(3.0, 300.0)


@given(sections, st.floats(0.3, 0.99), st.floats(0.001, 0.1))
def test_a_deeper_gland_squeezes_less(section: float, share: float, deeper: float) -> None:
    depth = section * share
    one, other = squeeze(section, 0.05, depth, depth), squeeze(section, 0.05, depth, depth + deeper)
    assert other.least < one.least <= one.nominal <= one.most == other.most


@given(sections, st.floats(0.3, 1.2), st.floats(0.001, 0.1))
def test_a_thicker_section_is_squeezed_more_and_fills_more(
    section: float, depth: float, more: float
) -> None:
    one, other = (squeeze(s, 0.05, depth, depth) for s in (section, section + more))
    assert (one.least, one.nominal, one.most) < (other.least, other.nominal, other.most)
    one, other = (fill(s, 0.05, depth, depth, 4.0) for s in (section, section + more))
    assert one.least < other.least
    assert one.most < other.most


@given(st.floats(0, 100))
def test_swelling_raises_the_most_fill_in_proportion_and_nothing_else(swell: float) -> None:
    dry, swollen = (fill(3.53, 0.1, 2.79, 2.95, 4.57, swell=s) for s in (0, swell))
    assert (swollen.least, swollen.nominal) == (dry.least, dry.nominal)
    assert math.isclose(swollen.most, dry.most * (1 + swell / 100))


def test_the_stretch_takes_the_tolerance_of_the_inside_not_of_the_section() -> None:
    """AS568-214: 24.99 ± 0.25 mm; (25.5 − 25.24)/25.24 and (25.5 − 24.74)/24.74."""
    ring = require_size("214").ring
    assert (ring.inside_tolerance, ring.section_tolerance) == (0.25, 0.10)
    band = stretch(ring.inside, ring.inside_tolerance, 25.5)
    assert (round(band.least, 2), round(band.most, 2)) == (1.03, 3.07)


def test_a_stretched_ring_is_thinner_and_squeezed_less() -> None:
    """Volume kept: 3.53/√1.04 = 3.46 mm; (3.46 − 2.8)/3.46 = 19.1 % instead of 20.7 %."""
    exact = Ring("exact", 100.0, 0.0, 3.53, 0.0)
    loose, pulled = (suit(exact, Gland(g, g + 5.6), STATIC).squeeze for g in (99.0, 104.0))
    assert (round(loose.nominal, 1), round(pulled.nominal, 1)) == (20.7, 19.1)


def brute(ring: Ring, gland: Gland, band: tuple[float, float]) -> bool:
    """Whether every corner of the tolerances keeps squeeze, stretch and fill; limits written out."""
    depth = gland.bore / 2 - gland.groove / 2
    for one, two in itertools.product((-1, 0, 1), repeat=2):
        inside = ring.inside + one * ring.inside_tolerance
        section = ring.section + two * ring.section_tolerance
        pull = gland.groove / inside - 1
        thin = section * (1 + max(pull, 0)) ** -0.5
        if not band[0] <= 100 * (1 - depth / thin) <= band[1] or pull > 0.05:
            return False
        if gland.width is not None:
            area = math.pi * (section / 2) ** 2
            if area / (depth * gland.width) > 0.85:
                return False
    return gland.groove >= ring.inside


@examples(12, 120)
@given(grooves, st.floats(0.7, 6.5), st.none() | st.floats(1.2, 10.0), st.booleans())
def test_what_suits_a_gland_is_what_checking_every_corner_finds(
    groove: float, depth: float, width: float | None, moving: bool
) -> None:
    gland = Gland(groove, groove + 2 * depth, width)
    band = (8.0, 20.0) if moving else (10.0, 40.0)
    found = suits(RINGS, gland, guidance("reciprocating" if moving else "static"))
    fitting = {one.ring.name for one in found if one.fits}
    assert fitting == {ring.name for ring in RINGS if brute(ring, gland, band)}
    assert [one.fits for one in found] == [True] * len(fitting) + [False] * (369 - len(fitting))


@pytest.mark.parametrize("groove", [9.5, 17.2, 25.4, 60.0, 120.5])
def test_those_that_suit_are_in_order_of_their_distance_from_what_is_advised(groove: float) -> None:
    """Static: 15 to 25 % squeeze (chart, radial), 1 to 3 % stretch (handbook practice, memory)."""
    found = [one for one in suits(RINGS, Gland(groove, groove + 4.4), STATIC) if one.fits]
    assert found
    off = [
        abs(one.squeeze.nominal - 20) / 5 + abs(100 * (groove / one.ring.inside - 1) - 2)
        for one in found
    ]
    assert off == sorted(off)


def test_214_is_the_best_for_a_published_gland_of_its_section_stretched_by_2_percent() -> None:
    """Depth 2.79 to 2.95 mm and width 4.57 mm for 3.53 mm: tests/outside/data."""
    groove = 24.99 * 1.02
    found = suits(RINGS, Gland(groove, groove + 2 * 2.87, 4.57), STATIC)
    assert found[0].ring.name == "AS568-214, 24.99 × 3.53 mm"
    assert found[0].fits


def test_a_near_miss_says_what_rules_it_out() -> None:
    ring = require_size("115").ring
    moving = suit(ring, Gland(17.2, 21.3, 3.4), guidance("reciprocating"))
    assert said(moving.ruled_out) == (
        "squeeze 24.1 % (the thickest section in the shallowest gland) is above 20 %",
    )
    loose = suit(ring, Gland(16.9, 21.0), STATIC)
    assert said(loose.ruled_out) == ("stretch -1.3 % (the nominal sizes) is below 0 %",)
    tight = suit(ring, Gland(17.2, 21.3, 2.9), STATIC)
    assert said(tight.ruled_out) == (
        "fill 96.3 % (the thickest section in the shallowest gland) is above 85 %",
    )


@examples(12, 120)
@given(grooves, st.floats(0.7, 6.5))
def test_an_answer_said_to_hold_for_a_gauge_is_the_same_within_its_error(
    groove: float, depth: float
) -> None:
    first = suits(RINGS, Gland(groove, groove + 2 * depth), STATIC)[0]
    if first.gauge is None:
        return
    assert first.gauge in GAUGES
    for one, two in itertools.product((-1, 1), repeat=2):
        moved = Gland(groove + one * first.gauge, groove + 2 * depth + two * first.gauge)
        assert suit(first.ring, moved, STATIC).fits == first.fits


def test_limits_that_decide_nothing_are_told_but_rule_nothing_out() -> None:
    told = judge({GlandShare.SQUEEZE: Band(12.0, 35.0, 24.0)}, STATIC)
    limits = [(one.guidance.least, one.guidance.most, one.guidance.decides) for one in told]
    assert limits == [(10, 40, True), (15, 25, False), (20, 30, False), (None, 30, False)]
    assert [bool(one.broken) for one in told] == [False, True, True, True]
    assert [limits_text(least, most) for least, most, _ in limits] == [
        "10 to 40 %", "15 to 25 %", "20 to 30 %", "at most 30 %",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("groove", "bore", "width"), [(20, 20, None), (20, 19, None), (0, 5, None), (20, 25, 0)]
)
def test_a_gland_that_makes_no_sense_is_refused(
    groove: float, bore: float, width: float | None
) -> None:
    with pytest.raises(FigureError):
        Gland(groove, bore, width)


@given(st.sampled_from(RINGS), st.floats(0, 0.3), st.floats(0, 0.3), st.booleans())
def test_a_new_ring_is_as_far_off_measured_too_large_as_too_small(
    ring: Ring, inside: float, section: float, lower: bool
) -> None:
    sign = -1 if lower else 1
    one = match(ring, Measured(ring.inside + inside, ring.section + section))
    other = match(ring, Measured(ring.inside - inside, ring.section + sign * section))
    assert math.isclose(one.distance, other.distance, abs_tol=1e-6)


@given(st.sampled_from(RINGS), st.sampled_from(RINGS))
def test_what_tells_two_rings_apart_is_the_same_both_ways(one: Ring, other: Ring) -> None:
    found = difference(one, other)
    assert difference(other, one) == Difference(found.what, found.second, found.first, found.within)
    # So measured, no length can be both.
    assert found.within <= 0 or abs(found.first - found.second) / 2 >= found.within


def exact(name: str, inside: float, section: float, tolerance: float = 0.05) -> Ring:
    return Ring(name, inside, tolerance, section, tolerance)


def test_a_section_decides_where_it_differs_and_was_measured_too_coarsely() -> None:
    """2.62 and 2.40, each ±0.05: 0.12 lies between them, half of it is ±0.06."""
    rings = (exact("A", 17.0, 2.62), exact("B", 17.0, 2.40))
    measured = Measured(17.0, 2.52, error=0.1)
    found = decider(match_sizes(rings, measured), measured)
    assert (found.what, found.first, found.second, found.settled) == ("section", 2.62, 2.40, False)
    assert found.within == pytest.approx(0.06)
    assert say(found.reason) == (
        "A or B: section decides, 2.62 or 2.40 mm; measure it to ±0.06 mm (±0.10 mm was taken,"
        " which cannot decide: a finer gauge, or groove and bore)"
    )


def test_a_length_that_excludes_the_second_has_decided() -> None:
    rings = (exact("A", 17.0, 2.5), exact("B", 18.0, 2.5))
    measured = Measured(17.05, 2.5)
    found = decider(match_sizes(rings, measured), measured)
    assert (found.what, found.settled) == ("inside", True)
    assert (
        say(found.reason)
        == "A or B: inside decides, 17.00 or 18.00 mm; measured to ±0.10 mm it does"
    )


def test_rings_within_each_others_tolerances_are_told_apart_by_groove_and_bore_only() -> None:
    rings = (exact("A", 17.0, 2.5, 0.1), exact("B", 17.12, 2.62, 0.1))
    measured = Measured(17.0, 2.5)
    found = decider(match_sizes(rings, measured), measured)
    assert (found.what, found.settled) == ("groove and bore", False)
    assert "measuring the ring cannot decide" in say(found.reason)


def test_nothing_within_reach_is_said_to_be_so() -> None:
    measured = Measured(17.0, 9.0)
    found = decider(match_sizes(RINGS, measured), measured)
    assert (found.what, found.settled) == ("groove and bore", False)
    assert say(found.reason).startswith("no size known here is within reach")


def test_what_is_within_reach_goes_before_a_nearer_size_that_is_not() -> None:
    """A used 82.22 × 2.62 mm: 78.97 × 3.53 mm is nearer in sum, its section cannot be."""
    found = match_sizes(RINGS, Measured(81.58, 2.58, used=True))
    assert found[0].size.name == "AS568-152, 82.22 × 2.62 mm"
    assert [match.within for match in found] == sorted(
        (match.within for match in found), reverse=True
    )


@examples(12, 120)
@given(st.sampled_from(RINGS), st.floats(0.98, 1.05), st.floats(0.95, 1.02))
def test_for_a_used_ring_groove_and_bore_decide_whatever_was_measured(
    ring: Ring, wider: float, thinner: float
) -> None:
    measured = Measured(ring.inside * wider, ring.section * thinner, used=True)
    matches = match_sizes(RINGS, measured)
    found = decider(matches, measured)
    assert (found.what, found.settled) == ("groove and bore", False)
    reached = any(match.within for match in matches)
    told = "groove and bore decide, not the ring" if reached else "no size known here is within"
    assert say(found.reason).startswith(told)
    gland = Gland(ring.inside * 1.02, ring.inside * 1.02 + 1.6 * ring.section)
    by_gland = gland_decider(place(RINGS, gland, STATIC, measured), used=True)
    assert by_gland.what == "groove and bore"


def test_the_gland_goes_before_the_measured_ring_and_the_ring_before_the_order() -> None:
    """A used ring of 25.6 × 3.45 mm: 214 where the groove suits it; elsewhere it is ruled out."""
    measured = Measured(25.6, 3.45, used=True)
    placed = place(RINGS, Gland(25.5, 31.2), STATIC, measured)
    assert placed[0].suit.ring.name == "AS568-214, 24.99 × 3.53 mm"
    assert placed[0].match is not None
    assert placed[0].match.within
    assert [one.suit.fits for one in placed] == sorted(
        (one.suit.fits for one in placed), reverse=True
    )
    elsewhere = place(RINGS, Gland(25.5, 29.7), STATIC, measured)
    assert elsewhere[0].suit.fits
    assert elsewhere[0].match is not None
    assert not elsewhere[0].match.within
    ruled_out = next(one for one in elsewhere if not one.suit.fits)
    assert ruled_out.suit.ring.name == "AS568-214, 24.99 × 3.53 mm"


def test_a_gland_on_the_edge_asks_for_a_finer_gauge() -> None:
    """2.5 mm exactly, 40 % at a depth of 1.5 mm: 0.01 mm deeper the calliper cannot decide."""
    ring = Ring("edge", 50.0, 0.0, 2.5, 0.0)
    groove = 50.0 * 1.0000001 + 0.05
    for deeper, gauge in ((0.2, 0.05), (0.03, 0.02), (0.004, None)):
        gland = Gland(groove, groove + 2 * (1.5 + deeper))
        assert suit(ring, gland, STATIC).gauge == gauge, deeper
    found = gland_decider(place([ring], Gland(groove, groove + 3.06), STATIC))
    assert say(found.reason) == (
        "groove and bore decide: only the first suits; ±0.05 mm does not decide: measure groove and"
        " bore to ±0.02 mm"
    )


def test_nothing_that_suits_is_said_to_be_so() -> None:
    found = gland_decider(place(RINGS, Gland(20.0, 60.0), STATIC))
    assert (found.what, found.settled) == ("groove and bore", False)
    assert say(found.reason).startswith("nothing in this list suits")


def test_tolerances_are_borrowed_from_a_standard_ring_at_least_as_large() -> None:
    """2.5 mm from the 2.62 series (17.12 ± 0.23), 66 × 3 mm from 3.53 (66.27 ± 0.51); AS568."""
    ring = borrowed("x", 17.0, 2.5)
    assert (ring.inside_tolerance, ring.section_tolerance) == (0.23, 0.08)
    larger = borrowed("x", 66.0, 3.0)
    assert larger.section_tolerance == 0.10
    assert borrowed("x", 0.5, 0.5).inside_tolerance == pytest.approx(0.05)


@pytest.mark.parametrize("written", ["214", "AS568-214", "as568 214", " 214 ", "AS568A-214"])
def test_a_dash_number_is_read_however_it_is_written(written: str) -> None:
    assert require_size(written).dash == "214"


def test_an_unknown_dash_number_is_refused_with_what_is_near() -> None:
    with pytest.raises(FigureError, match="no dash number"):
        require_size("999")
