"""Bolting: how preload and torque answer to friction, class and use (figures: tests/outside)."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from kitting.calc.tightening.bolting import (
    BEARING,
    FRICTION,
    ROUGH_FRICTION,
    USUAL_FRICTION,
    assembly_preload,
    breaking_torque,
    general_torque,
    has_bearing,
    tightening_torque,
    torque_at_yield,
    usual_torque,
)
from kitting.facts.reasons import because
from kitting.facts.threads import parse_thread, stress_area
from kitting.facts.tightening_reasons import GeneralTorqueReason
from kitting.facts.words import ThreadState

M8 = parse_thread("M8")


def test_more_friction_leaves_less_preload_and_asks_for_more_torque() -> None:
    slippery, rough = (assembly_preload(M8, "8.8", friction) for friction in (0.10, 0.14))
    assert slippery > rough
    assert tightening_torque(M8, slippery, 0.10) < tightening_torque(M8, rough, 0.14)


def test_preload_rises_with_the_share_of_the_yield_point() -> None:
    whole, part = (assembly_preload(M8, "8.8", 0.12, share) for share in (1.0, 0.9))
    assert part == pytest.approx(0.9 * whole)
    assert assembly_preload(M8, "8.8", 0.12) == part


def test_a_torque_is_proportional_to_its_preload() -> None:
    assert tightening_torque(M8, 20_000, 0.12) == pytest.approx(
        2 * tightening_torque(M8, 10_000, 0.12)
    )
    assert tightening_torque(M8, 0, 0.12) == 0


SIZES = ["M4", "M6", "M8 x 1", "M10", "M12 x 1.25", "M14 x 1.5", "M16", "M18 x 1.5", "M24", "M30"]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("property_class", ["4.6", "8.8", "10.9", "12.9"])
def test_what_is_usual_lies_below_what_yields_and_that_below_what_breaks(
    size: str, property_class: str
) -> None:
    thread = parse_thread(size)
    for friction in (*FRICTION.values(), USUAL_FRICTION, ROUGH_FRICTION):
        usual = usual_torque(thread, property_class, friction)
        yields = torque_at_yield(thread, property_class, friction)
        assert usual == pytest.approx(0.9 * yields)
        assert yields < breaking_torque(thread, property_class, friction)


def test_threads_beyond_the_table_of_bearing_surfaces_go_on_where_it_ends() -> None:
    # Alike bolts take torque with the cube of the diameter.
    inside, beyond = parse_thread("M16 x 1.5"), parse_thread("M18 x 1.5")
    assert not has_bearing(beyond)
    ratio = torque_at_yield(beyond, "10.9", 0.12) / torque_at_yield(inside, "10.9", 0.12)
    assert ratio == pytest.approx((18 / 16) ** 3, rel=0.06)


def test_the_general_figure_of_an_oiled_thread_is_the_smaller_one() -> None:
    # VDI 2230 part 1 (2003), table A1 (from memory): M8 8.8 at 0.12 and at 0.10.
    assert general_torque(M8, "8.8", ThreadState.DRY) == pytest.approx(24.6, rel=0.02)
    assert general_torque(M8, "8.8", ThreadState.OILED) == pytest.approx(21.6, rel=0.02)


@pytest.mark.parametrize("thread", list(BEARING))
def test_every_coarse_thread_of_the_table_has_a_general_figure(thread: str) -> None:
    found = general_torque(parse_thread(thread), "8.8", ThreadState.DRY)
    assert isinstance(found, float)
    assert found > 1


@pytest.mark.parametrize("thread", ["M8 x 1", "M3", "M20"])
def test_fine_and_other_threads_have_no_general_figure(thread: str) -> None:
    parsed = parse_thread(thread)
    assert general_torque(parsed, "8.8", ThreadState.DRY) == because(
        GeneralTorqueReason.THREAD_NOT_IN_TABLE, thread=parsed.name
    )


def test_a_thread_neither_dry_nor_oiled_has_no_general_figure() -> None:
    for state in (ThreadState.LOCKED, ThreadState.UNKNOWN):
        found = general_torque(M8, "8.8", state)
        assert found == because(GeneralTorqueReason.NEITHER_DRY_NOR_OILED)


def test_stainless_steel_has_no_general_figure() -> None:
    assert general_torque(M8, "A2-70", ThreadState.DRY) == because(
        GeneralTorqueReason.NOT_OF_BOLTS, property_class="A2-70"
    )


def _rings(outer: float, bore: float) -> Iterator[tuple[float, float]]:
    """A section cut into thin rings: the area and the radius of each, in mm."""
    count = 2000
    step = (outer - bore) / 2 / count
    for number in range(count):
        radius = bore / 2 + (number + 0.5) * step
        yield 2 * math.pi * radius * step, radius


@pytest.mark.parametrize("share", [0, 0.3, 0.5, 0.75])
@pytest.mark.parametrize("size", ["M6", "M10 x 1", "M14 x 1.25"])
def test_the_preload_of_a_hollow_bolt_is_that_of_its_rings(size: str, share: float) -> None:
    """A second route: area and moment of the section summed ring by ring, yielding all through."""
    thread, friction = parse_thread(size), 0.12
    pitch, diameter = float(thread.pitch), float(thread.diameter)
    outer = math.sqrt(4 * stress_area(thread) / math.pi)
    rings = list(_rings(outer, share * diameter))
    area = sum(part for part, _ in rings)
    moment = sum(part * radius for part, radius in rings)
    pitch_diameter = diameter - 0.649519 * pitch
    preload = assembly_preload(thread, "8.8", friction, share=1, bore=share * diameter)
    # Of the thread, without the head: F·d2/2·(P/(π·d2) + 1.155·μ).
    turning = preload * pitch_diameter / 2
    turning *= pitch / (math.pi * pitch_diameter) + 1.155 * friction
    equivalent = math.hypot(preload / area, math.sqrt(3) * turning / moment)
    # 0.2 % proof stress of class 8.8: 640 MPa (ISO 898-1).
    assert equivalent == pytest.approx(640, rel=1e-3)


def test_a_wider_bore_leaves_less() -> None:
    yields = [torque_at_yield(M8, "8.8", 0.12, bore) for bore in (0, 2, 4, 6)]
    assert yields == sorted(yields, reverse=True)
    assert len(set(yields)) == 4
