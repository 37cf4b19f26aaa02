"""Plausibility: a figure that would break the bolt stops the load and names the likely unit."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from helpers import preload
from kitting.calc.tightening.bolting import HIGHEST_FRICTION, torque_at_yield
from kitting.calc.tightening.torque_plausibility import Held, doubt, odd, remarks
from kitting.facts.reasons import Reason
from kitting.facts.stages import parse_stage
from kitting.facts.threads import parse_thread, proof_load
from kitting.facts.units import Torque, parse_torque
from kitting.facts.words import ThreadedInto, ThreadState
from kitting.wording.reasons import say


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


BOLT = Held("M8", None, "8.8", "12.9")
PLUG = Held("M14×1.5", None, "4.6", "8.8", ordinary=False)
STRETCH = Held("M10", None, "8.8", "12.9", ordinary=False)


def found(held: Held, *stages: str, state: ThreadState = ThreadState.DRY) -> tuple[Reason, ...]:
    """What is remarked on of some stages."""
    return remarks(tuple(map(parse_stage, stages)), held, state)


def codes(held: Held, *stages: str, state: ThreadState = ThreadState.DRY) -> list[str]:
    """The codes of what is remarked on."""
    return [reason.code.value for reason in found(held, *stages, state=state)]


@pytest.mark.parametrize(
    ("held", "figure"),
    [
        # 96 lbf·in typed as N·m; a drain plug, a hollow bolt and a stretch bolt far too tight.
        (BOLT, "96 N·m"),
        (PLUG, "250 N·m"),
        (Held("M10×1", None, "4.6", "8.8", ordinary=False), "100 N·m"),
        (STRETCH, "150 N·m"),
        # M24 is larger than the table of bearing surfaces.
        (Held("M24", None, "8.8", "10.9", ordinary=False), "2500 N·m"),
        # A kind that states no classes may be of any.
        (Held("M8", None), "60 N·m"),
    ],
)
def test_a_torque_beyond_the_strongest_class_of_its_kind_is_odd_without_a_stated_class(
    held: Held, figure: str
) -> None:
    assert codes(held, figure) == ["beyond the strongest class"]
    assert codes(held, figure, "+90°") == ["beyond the strongest class"]


@pytest.mark.parametrize(
    ("held", "figure"),
    [
        (BOLT, "25 N·m"),
        (PLUG, "30 N·m"),
        (STRETCH, "60 N·m"),
        (Held("M24×1.5", None, "8.8", "10.9", ordinary=False), "230 N·m"),
        (Held("M14×1.5", None, "8.8", "10.9", ordinary=False), "120 N·m"),
        (Held("M8", None, "5.6", "10.9", ordinary=False), "25 N·m"),
    ],
)
def test_usual_figures_of_fasteners_without_a_class_pass(held: Held, figure: str) -> None:
    # Usual figures: common practice, no source.
    for state in ThreadState:
        assert codes(held, figure, state=state) == []


def test_a_wheel_bolt_at_inch_pounds_is_very_little() -> None:
    (reason,) = found(Held("M14×1.5", None, "8.8", "12.9"), "120 lbf·in")
    assert say(reason).startswith("120 lbf·in is very little for M14×1.5")
    assert "120 lbf·ft" in say(reason)


@pytest.mark.parametrize("figure", ["0.05 N·m", "0.5 N·m", "1 N·m", "2.4 N·m", "2.6 N·m", "15 N·m"])
def test_however_little_a_torque_is_it_is_odd(figure: str) -> None:
    # A bolt of M12 in class 10.9 is usually tightened with more than 100 N·m (VDI 2230, friction
    # 0.12): the further a figure is from that, the odder it is.
    (code,) = codes(Held("M12", "10.9"), figure, state=ThreadState.DRY)
    assert code in ("very little", "hardly any")
    assert odd(found(Held("M12", "10.9"), figure))


def test_a_low_torque_before_an_angle_is_no_ground_for_a_remark() -> None:
    assert codes(Held("M12", "10.9", ordinary=False), "25 lbf·in", "+90°") == []


def test_without_a_thread_it_is_said_that_nothing_can_be_told() -> None:
    reasons = found(Held(None, None), "20 N·m", "960 N·m")
    assert [say(reason) for reason in reasons] == ["960 N·m cannot be checked: no thread is stated"]
    assert odd(reasons) == ()
    assert codes(Held(None, None), "+90°") == ["no snug torque"]


def test_in_an_unknown_state_only_what_yields_whatever_the_state_is_odd() -> None:
    # M8 8.8 yields at about 34 N·m with a friction of 0.16 (VDI 2230, see `bolting`).
    most = torque_at_yield(parse_thread("M8"), "8.8", HIGHEST_FRICTION)
    below, above = f"{most - 1:.0f} N·m", f"{most + 1:.0f} N·m"
    held = Held("M8", "8.8", "8.8", "12.9")
    for state in (ThreadState.UNKNOWN, ThreadState.LOCKED):
        assert codes(held, below, state=state) == []
        assert codes(held, above, state=state) == ["beyond yield, whatever its state"]
    assert codes(held, below, state=ThreadState.DRY) == ["beyond yield"]


def test_stages_that_fall_are_odd() -> None:
    (reason,) = found(STRETCH, "60 N·m", "20 N·m")
    assert say(reason) == (
        "stage 2 (20 N·m) is less than stage 1 (60 N·m): is the order right, or is it loosened in"
        " between?"
    )
    assert codes(STRETCH, "20 N·m", "20 N·m", "30 lbf·ft", "+90°") == []


def test_more_than_a_whole_turn_is_odd() -> None:
    assert codes(STRETCH, "20 N·m", "+900°") == ["turns far"]
    assert codes(STRETCH, "20 N·m", "+180°", "+180.5°") == ["turns far"]
    assert codes(STRETCH, "20 N·m", "+180°", "+180°") == []
    (reason,) = found(STRETCH, "20 N·m", "+900°")
    assert say(reason) == "900° in all is more than a whole turn"


def test_a_band_of_more_than_half_its_figure_is_odd() -> None:
    (reason,) = found(BOLT, "20 ± 11 N·m")
    assert say(reason) == "± 11 N·m is more than half of 20 N·m"
    assert codes(BOLT, "20 ± 10 N·m") == []


@pytest.mark.parametrize("state", [ThreadState.DRY, ThreadState.OILED])
@pytest.mark.parametrize(
    "held", [Held("M8", "8.8"), Held("M14×1.5", "10.9"), Held("M24", "8.8", ordinary=False)]
)
def test_what_a_message_calls_usual_is_no_odd_figure(held: Held, state: ThreadState) -> None:
    assert held.thread is not None
    refused = doubt(parse_torque("9000 N·m"), held.thread, held.property_class, state)
    assert refused is not None
    usual = refused[0].partition("(about ")[2].partition(" is usual")[0]
    assert codes(held, usual, state=state) == []
    low = f"{float(usual.split()[0]) / 8:.2f} N·m"
    for reason in found(held, low, state=state):
        assert f"about {usual} is usual" in say(reason)


def test_an_angle_without_a_torque_before_it_is_odd() -> None:
    (reason,) = found(STRETCH, "+90°", "+90°")
    assert say(reason) == (
        "stage 1 (90°) turns on from no torque: the snug torque before it is not stated"
    )
    assert codes(STRETCH, "20 N·m", "+90°", "+90°") == []


def test_a_torque_after_an_angle_is_odd_and_told_once() -> None:
    assert codes(STRETCH, "+90°", "10 N·m") == ["no snug torque", "torque after an angle"]
    reason = found(STRETCH, "+90°", "10 N·m")[1]
    assert say(reason).startswith("stage 2 (10 N·m) comes after a turn by an angle")
    assert codes(STRETCH, "20 N·m", "+90°", "20 N·m") == ["torque after an angle"]
    assert codes(STRETCH, "20 N·m", "+90°", "40 N·m") == ["torque after an angle"]
    # What is less than the torque before it falls anyhow.
    assert codes(STRETCH, "20 N·m", "+90°", "10 N·m") == ["falling"]


def test_in_plastic_only_what_is_too_much_for_the_bolt_is_odd() -> None:
    steel = replace(PLUG, into=ThreadedInto.STEEL)
    plastic = replace(PLUG, into=ThreadedInto.PLASTIC)
    assert codes(steel, "22 lbf·in") == ["very little"]
    assert codes(plastic, "22 lbf·in") == ["thread in plastic"]
    assert odd(found(plastic, "22 lbf·in")) == ()
    assert codes(plastic, "250 N·m") == ["thread in plastic", "beyond the strongest class"]
    assert codes(Held(None, None, into=ThreadedInto.PLASTIC), "3 N·m") == ["thread in plastic"]
    assert codes(plastic, "+90°") == ["no snug torque"]
