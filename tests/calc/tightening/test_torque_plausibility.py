"""Plausibility: a figure that would break the bolt stops the load and names the likely unit."""

from __future__ import annotations

from decimal import Decimal

import pytest

from helpers import preload
from kitting.calc.tightening.torque_plausibility import doubt
from kitting.facts.threads import parse_thread, proof_load
from kitting.facts.units import Torque, parse_torque


def test_96_newton_metres_on_an_m6_stop_and_ask_for_pound_force_inches() -> None:
    # Common practice, no source: 96 typed as N·m was lbf·in, 10.85 N·m.
    found = doubt(parse_torque("96 N·m"), "M6", "8.8")
    assert found is not None
    reason, step = found
    assert reason.startswith("96 N·m would break a M6 bolt of class 8.8")
    assert step == "Was it 96 lbf·in (10.85 N·m) or 96 kgf·cm (9.414 N·m)?"


@pytest.mark.parametrize("figure", ["10 N·m", "75 lbf·in", "14 N·m"])
def test_usual_figures_on_an_m6_pass(figure: str) -> None:
    assert doubt(parse_torque(figure), "M6", "8.8") is None


def test_a_stretch_bolt_beyond_its_proof_load_passes() -> None:
    # 1.3 × the torque at proof load: above proof, below breaking.
    thread = parse_thread("M10")
    assert preload(100, 10, 0.20) < 1.3 * proof_load(thread, "10.9")
    assert doubt(Torque(Decimal(100), "N·m"), "M10", "10.9") is None


def test_without_a_class_the_strongest_is_assumed() -> None:
    assert doubt(parse_torque("30 N·m"), "M6", None) is None
    assert doubt(parse_torque("50 N·m"), "M6", None) is not None


def test_the_load_of_an_m8_at_25_newton_metres_is_15_6_kn_dry_and_20_8_oiled() -> None:
    # T = K·F·d, nut factors from memory: 0.20 dry, 0.15 oiled; proof of an M8 8.8 is 21.2 kN
    # (ISO 898-1:2013).
    assert round(preload(25, 8, 0.20) / 1000, 1) == 15.6
    assert round(preload(25, 8, 0.15) / 1000, 1) == 20.8
    assert round(proof_load(parse_thread("M8"), "8.8") / 1000, 1) == 21.2
