"""Plausibility: a figure that would break the bolt stops the load and names the likely unit."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import preload
from kitting.calc.tightening.bolting import (
    FRICTION,
    ROUGH_FRICTION,
    breaking_torque,
    torque_at_yield,
    usual_torque,
)
from kitting.calc.tightening.held import Held
from kitting.calc.tightening.torque_plausibility import doubt as doubt_of
from kitting.calc.tightening.torque_plausibility import not_proven, odd, remarks
from kitting.facts.fastener_kinds import BORES, NO_BOLTS
from kitting.facts.reasons import Reason
from kitting.facts.stages import TorqueStage, parse_stage
from kitting.facts.threads import GRADES, PROPERTY_CLASSES, STAINLESS, parse_thread, proof_load
from kitting.facts.units import Torque
from kitting.facts.words import ThreadedInto, ThreadState
from kitting.wording.reasons import say


def doubt(
    figure: str,
    thread: str,
    property_class: str | None,
    state: ThreadState = ThreadState.UNKNOWN,
    kind: str | None = None,
    into: ThreadedInto | None = None,
) -> tuple[str, str] | None:
    """Why a stage is refused for a thread, and what to do."""
    return doubt_of(parse_stage(figure), Held(thread, property_class, into=into, kind=kind), state)


def test_96_newton_metres_on_an_m6_stop_and_ask_for_pound_force_inches() -> None:
    # Common practice, no source: 96 typed as N·m was lbf·in, 10.85 N·m.
    found = doubt("96 N·m", "M6", "8.8")
    assert found is not None
    reason, step = found
    assert reason.startswith("96 N·m would break a M6 bolt of class 8.8")
    assert step == "Was it 96 lbf·in (10.85 N·m) or 96 kgf·cm (9.414 N·m)?"


@pytest.mark.parametrize("figure", ["10 N·m", "75 lbf·in", "14 N·m"])
def test_usual_figures_on_an_m6_pass(figure: str) -> None:
    assert doubt(figure, "M6", "8.8") is None


def test_a_stretch_bolt_beyond_its_proof_load_passes() -> None:
    # 1.3 × the torque at proof load: above proof, below breaking.
    thread = parse_thread("M10")
    assert preload(100, 10, 0.20) < 1.3 * proof_load(thread, "10.9")
    assert doubt("100 N·m", "M10", "10.9") is None


def test_without_a_class_the_strongest_is_assumed() -> None:
    assert doubt("30 N·m", "M6", None) is None
    assert doubt("50 N·m", "M6", None) is not None


def test_the_load_of_an_m8_at_25_newton_metres_is_15_6_kn_dry_and_20_8_oiled() -> None:
    # T = K·F·d, nut factors from memory: 0.20 dry, 0.15 oiled; proof of an M8 8.8 is 21.2 kN
    # (ISO 898-1:2013).
    assert round(preload(25, 8, 0.20) / 1000, 1) == 15.6
    assert round(preload(25, 8, 0.15) / 1000, 1) == 20.8
    assert round(proof_load(parse_thread("M8"), "8.8") / 1000, 1) == 21.2


BOLT = Held("M8", None, "8.8", "12.9")
PLUG = Held("M14×1.5", None, "4.6", "8.8", ordinary=False)
STRETCH = Held(
    "M10", None, "8.8", "12.9", ordinary=False, into=ThreadedInto.STEEL, kind="stretch-bolt"
)


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
        (Held("M8", None, "5.6", "10.9", ordinary=False), "12 N·m"),
    ],
)
def test_usual_figures_of_fasteners_without_a_class_pass(held: Held, figure: str) -> None:
    # Usual figures: common practice, no source.
    for state in (ThreadState.DRY, ThreadState.LOCKED, ThreadState.UNKNOWN):
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


@pytest.mark.parametrize(
    ("held", "enough", "little"),
    [
        # Usual: common practice, no source. Small plugs are held against what is usual of theirs.
        (Held("M18×1.5", None, "4.6", "8.8", ordinary=False, kind="drain-plug"), "12 N·m", "3 N·m"),
        (Held("M24×1.5", None, "4.6", "8.8", ordinary=False, kind="drain-plug"), "25 N·m", "3 N·m"),
        (
            Held("M38×1.5", "8.8", "4.6", "8.8", ordinary=False, kind="captive-washer-plug"),
            "20 N·m",
            "2 N·m",
        ),
        (replace(PLUG, kind="drain-plug"), "25 N·m", "22 lbf·in"),
        (Held("M20×1.5", None, "8.8", "10.9", ordinary=False, kind="hub-nut"), "180 N·m", "9 N·m"),
    ],
)
def test_a_large_plug_is_held_by_its_seal(held: Held, enough: str, little: str) -> None:
    assert codes(held, enough) == []
    (reason,) = found(held, little)
    assert reason.code.value == "hardly any"
    assert "kind: bearing-adjuster, of the item)" in say(reason)


def test_what_sets_the_play_of_a_bearing_is_never_too_loose() -> None:
    held = Held("M20×1.5", None, "5.8", "10.9", ordinary=False, kind="bearing-adjuster")
    assert codes(held, "50 N·m") == codes(held, "2 N·m") == codes(held, "0.5 N·m") == []
    assert codes(held, "900 N·m") == ["beyond the strongest class"]


def test_a_low_torque_before_an_angle_is_no_ground_for_a_remark() -> None:
    assert codes(Held("M12", "10.9", ordinary=False), "25 lbf·in", "+90°") == []


def test_without_a_thread_it_is_said_that_nothing_can_be_told() -> None:
    reasons = found(Held(None, None), "20 N·m", "960 N·m")
    assert [say(reason) for reason in reasons] == [
        "960 N·m cannot be checked: no thread is stated (thread: of the item)"
    ]
    assert odd(reasons) == ()
    assert not_proven(reasons) == reasons
    assert codes(Held(None, None), "+90°") == ["no snug torque"]


def test_in_an_unknown_state_only_what_yields_whatever_the_state_is_odd() -> None:
    # An upper bound is reckoned with the highest friction of the model: 0.24 (see `bolting`).
    most = torque_at_yield(parse_thread("M8"), "8.8", ROUGH_FRICTION)
    below, above = f"{most - 1:.0f} N·m", f"{most + 1:.0f} N·m"
    held = Held("M8", "8.8", "8.8", "12.9")
    assert codes(held, below, state=ThreadState.UNKNOWN) == []
    (reason,) = found(held, above, state=ThreadState.UNKNOWN)
    assert reason.code.value == "beyond yield, whatever its state"
    assert f"(reached at {most:.3g} N·m at the latest)" in say(reason)
    without = replace(held, property_class=None, strongest="8.8")
    (reason,) = found(without, above, state=ThreadState.UNKNOWN)
    assert f"(reached at {most:.3g} N·m at the latest)" in say(reason)
    for state in (ThreadState.DRY, ThreadState.OILED, ThreadState.LOCKED):
        (reason,) = found(held, below, state=state)
        assert f"of class 8.8, {state}, beyond its yield point (reached at about" in say(reason)


def test_stages_that_fall_are_odd() -> None:
    (reason,) = found(STRETCH, "60 N·m", "20 N·m")
    assert say(reason) == (
        "stage 2 (20 N·m) is less than stage 1 (60 N·m): is the order right, or is it loosened in"
        " between (a stage such as '-90°')?"
    )
    assert codes(STRETCH, "20 N·m", "20 N·m", "30 lbf·ft", "+90°") == []


def test_more_than_a_whole_turn_is_odd() -> None:
    assert codes(STRETCH, "20 N·m", "+900°") == ["turns far"]
    assert codes(STRETCH, "20 N·m", "+180°", "+180.5°") == ["turns far"]
    assert codes(STRETCH, "20 N·m", "+180°", "+180°") == []
    (reason,) = found(STRETCH, "20 N·m", "+900°")
    assert say(reason) == "900° in all is more than a whole turn"


def test_a_band_of_more_than_half_its_figure_is_odd() -> None:
    (reason,) = found(BOLT, "12 ± 7 N·m")
    assert say(reason) == "± 7 N·m is more than half of 12 N·m"
    assert codes(BOLT, "12 ± 6 N·m") == []


@pytest.mark.parametrize("state", [ThreadState.DRY, ThreadState.OILED])
@pytest.mark.parametrize(
    "held",
    [
        Held("M8", "8.8"),
        Held("M14×1.5", "10.9", into=ThreadedInto.STEEL),
        Held("M24", "8.8", ordinary=False),
    ],
)
def test_what_a_message_calls_usual_is_no_odd_figure(held: Held, state: ThreadState) -> None:
    assert held.thread is not None
    refused = doubt("9000 N·m", held.thread, held.property_class, state)
    assert refused is not None
    usual = refused[0].partition("(about ")[2].partition(" is usual")[0]
    assert codes(held, usual, state=state) == []
    low = f"{float(usual.split()[0]) / 8:.2f} N·m"
    for reason in found(held, low, state=state):
        assert f"about {usual} is usual" in say(reason)


def test_small_figures_are_told_finely_enough_to_compare() -> None:
    # M3 of class 4.6, dry (VDI 2230, from memory): 0.5 N·m or so, not "about 1 N·m".
    (reason,) = found(Held("M3", "4.6"), "0.8 N·m")
    (told,) = re.findall(r"reached at about ([0-9.]+) N·m", say(reason))
    assert 0.4 < float(told) < 0.8
    (reason,) = found(Held("M3", "8.8"), "0.05 N·m")
    (told,) = re.findall(r"about ([0-9.]+) N·m is usual", say(reason))
    assert 0.5 < float(told) < 2


@pytest.mark.parametrize(
    "kind", ["restraint-bolt", "caliper-bolt", "suspension-bolt", "wheel-bolt"]
)
def test_only_what_is_meant_to_be_stretched_may_be_taken_beyond_its_yield_point(kind: str) -> None:
    """M6 of class 8.8, dry, yields at about 11 N·m, whatever it holds."""
    held = Held("M6", "8.8", "8.8", "12.9", ordinary=False, kind=kind)
    assert codes(held, "12 N·m") == ["beyond yield"]
    assert codes(replace(held, kind="stretch-bolt"), "12 N·m") == []


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


def test_turning_back_loosens_what_comes_before_it() -> None:
    assert codes(STRETCH, "60 N·m", "-360°", "20 N·m", "+90°") == []
    assert codes(STRETCH, "20 N·m", "+90°", "-90°", "30 N·m") == []
    assert codes(STRETCH, "20 N·m", "+270°", "-180°", "+270°") == []
    # A step that holds its own against the one before it is judged as before.
    assert codes(STRETCH, "20 N·m", "-90°", "60 N·m", "30 N·m") == ["falling"]
    assert codes(STRETCH, "20 N·m", "-90°", "+30°", "10 N·m") == ["torque after an angle"]
    (reason,) = found(STRETCH, "-90°", "20 N·m")
    assert say(reason) == (
        "stage 1 turns back by 90° before anything is tightened: is the order right?"
    )


def test_only_what_sets_the_play_of_a_bearing_may_end_turned_back() -> None:
    (reason,) = found(STRETCH, "50 N·m", "-90°")
    assert say(reason).startswith("it ends with turning back by 90°, and what it holds then is not")
    assert odd([reason]) == (reason,)
    adjuster = Held("M20×1.5", None, "5.8", "10.9", ordinary=False, kind="bearing-adjuster")
    assert codes(adjuster, "50 N·m", "-90°") == []
    assert codes(adjuster, "50 N·m", "-90°", "5 N·m", "-30°") == []


def test_in_plastic_only_what_is_too_much_for_the_bolt_is_odd() -> None:
    steel = replace(PLUG, into=ThreadedInto.STEEL)
    plastic = replace(PLUG, into=ThreadedInto.PLASTIC)
    assert codes(steel, "22 lbf·in") == ["hardly any"]
    assert codes(plastic, "22 lbf·in") == ["thread in plastic"]
    assert odd(found(plastic, "22 lbf·in")) == ()
    assert codes(plastic, "250 N·m") == [
        "thread in plastic", "beyond the strongest class", "strips even metal, and it is plastic",
    ]  # fmt: skip
    assert codes(Held(None, None, into=ThreadedInto.PLASTIC), "3 N·m") == [
        "thread in plastic", "no thread",
    ]  # fmt: skip
    assert codes(plastic, "+90°") == ["no snug torque"]


def test_plastic_bears_no_more_than_the_weakest_metal() -> None:
    """What may strip magnesium is not fine because it goes into plastic."""
    metal = Held("M8", "12.9")
    assert codes(metal, "44 N·m") == ["perhaps strips, material not stated"]
    (_, reason) = found(replace(metal, into=ThreadedInto.PLASTIC), "44 N·m")
    assert odd([reason]) == (reason,)
    assert say(reason) == (
        "44 N·m strips a thread of M8 even in magnesium, engaged by 8 mm (it gives way at about"
        " 30.2 N·m there, reckoned with a shear strength of 130 MPa, from memory), and it goes into"
        " plastic, which bears less"
    )
    assert codes(replace(metal, into=ThreadedInto.PLASTIC), "12 N·m") == ["thread in plastic"]


def test_steel_is_held_against_what_strips_it_where_the_engagement_is_stated() -> None:
    """M8 in mild steel (240 MPa, from memory) engaged by 3 mm: 3/8 of 8 mm strip at 20.9 N·m."""
    held = Held("M8", "10.9", into=ThreadedInto.STEEL, engagement=3000)
    (reason,) = found(held, "34 N·m")
    assert reason.code == "strips"
    assert "engaged by 3 mm it gives way at about 20.9 N·m" in say(reason)
    assert codes(replace(held, engagement=8000), "34 N·m") == []
    assert codes(replace(held, engagement=None), "34 N·m") == []


def test_a_turn_by_an_angle_is_held_against_the_soft_metal_too() -> None:
    """M8 10.9 at its yield point against 6 mm of aluminium (140 MPa, from memory)."""
    held = Held("M8", "10.9", into=ThreadedInto.ALUMINIUM, engagement=6000, kind="stretch-bolt")
    (reason,) = found(held, "15 N·m", "+180°")
    assert not_proven([reason]) == (reason,)
    assert "(about 30 kN), and aluminium, engaged by 6 mm, strips at about 18 kN" in say(reason)
    assert codes(replace(held, engagement=16000), "15 N·m", "+180°") == []
    assert codes(replace(held, into=ThreadedInto.STEEL, engagement=None), "15 N·m", "+180°") == []


@pytest.mark.parametrize(
    ("thread", "much", "may_be"),
    [("G 1/4", "2500 N·m", "40 N·m"), ("5/16 BSW", "300 N·m", "20 N·m")],
)
def test_no_screw_bears_more_than_a_solid_one_of_its_diameter(
    thread: str, much: str, may_be: str
) -> None:
    held = Held(thread, None, into=ThreadedInto.STEEL)
    assert codes(held, much) == ["thread not reckoned", "beyond what any of its diameter bears"]
    assert odd(found(held, much))
    assert codes(held, may_be) == ["thread not reckoned"]


def test_a_thread_in_a_soft_metal_is_held_against_what_strips_it() -> None:
    """M8 in aluminium, dry, engaged by 8 mm: strips at 32.5 N·m (strength from memory)."""
    held = Held("M8", "12.9", into=ThreadedInto.ALUMINIUM)
    (reason,) = found(held, "45 N·m")
    assert say(reason) == (
        "45 N·m cannot be proven: how far its thread is engaged is not stated, and engaged by 8"
        " mm, M8 in aluminium strips at about 32.5 N·m (reckoned with a shear strength of 140 MPa,"
        " from memory) (engagement: of the position)"
    )
    assert not_proven([reason]) == (reason,)
    assert codes(held, "30 N·m") == []
    assert codes(replace(held, into=ThreadedInto.STEEL), "45 N·m") == []
    assert codes(replace(held, engagement=16_000), "45 N·m") == []
    (reason,) = found(replace(held, engagement=10_000), "45 N·m")
    assert reason.code.value == "strips"
    assert say(reason).startswith("45 N·m strips a thread of M8 in aluminium: engaged by 10 mm it")
    assert odd([reason]) == (reason,)
    # Magnesium is weaker, and what is not stated may be either; a nut is of steel itself.
    assert codes(replace(held, into=ThreadedInto.MAGNESIUM), "32 N·m") == [
        "perhaps strips, engagement not stated"
    ]
    assert codes(replace(held, into=None), "32 N·m") == ["perhaps strips, material not stated"]
    assert codes(replace(held, into=None, kind="nut"), "32 N·m") == []
    # The upper end of a band counts.
    assert codes(held, "32 ± 2 N·m") == ["perhaps strips, engagement not stated"]


@pytest.mark.parametrize("thread", ["M5", "M6", "M8", "M10", "M12", "M14×1.5", "M16"])
@pytest.mark.parametrize("into", [ThreadedInto.ALUMINIUM, ThreadedInto.MAGNESIUM, None])
def test_what_is_usual_of_class_8_8_is_not_told_in_a_soft_metal(
    thread: str, into: ThreadedInto | None
) -> None:
    usual = usual_torque(parse_thread(thread), "8.8")
    assert codes(Held(thread, "8.8", into=into), f"{usual:.1f} N·m") == []


def test_the_upper_end_of_a_band_is_held_against_what_yields_and_what_breaks() -> None:
    held = Held("M8", "8.8")
    yields = torque_at_yield(parse_thread("M8"), "8.8", FRICTION[ThreadState.DRY])
    middle = int(yields) - 2
    assert codes(held, f"{middle} N·m") == codes(held, f"{middle} ± 2 N·m") == []
    (reason,) = found(held, f"{middle} ± 3 N·m")
    assert say(reason).startswith(
        f"{middle + 3} N·m, the upper end of {middle} N·m ± 3 N·m, takes a M8 bolt of class 8.8"
    )
    # As the figure by itself is, so is the band that ends at it, in any stage.
    assert codes(held, f"{middle + 3} N·m") == ["beyond yield"]
    assert codes(held, f"{middle} ± 3 N·m", "+90°") == ["beyond yield"]
    breaks = breaking_torque(parse_thread("M8"), "8.8", ROUGH_FRICTION)
    whole = int(breaks)
    assert doubt(f"{whole} N·m", "M8", "8.8") is None
    refused = doubt(f"{whole} ± 1 N·m", "M8", "8.8")
    assert refused is not None
    assert refused[0].startswith(f"{whole + 1} N·m, the upper end of {whole} N·m ± 1, would break")


def test_a_refusal_says_what_is_usual_only_of_a_bolt_in_metal() -> None:
    """What is usual for the class of a bolt is neither of plastic nor of a hollow screw."""
    for kind, into, told in (
        (None, ThreadedInto.PLASTIC, "and the plastic that it goes into long before"),
        ("bleed-screw", None, "if it were solid"),
    ):
        refused = doubt("96 N·m", "M6", "8.8", kind=kind, into=into)
        assert refused is not None
        assert told in refused[0]
        assert "is usual" not in refused[0]
        assert refused[1] == "Look the figure up again"


def test_the_property_class_is_the_range_of_its_kind_where_it_is_not_stated() -> None:
    # M8 dry, friction 0.12 (VDI 2230): yields at about 27 N·m in class 8.8, at 46 in 12.9.
    (reason,) = found(BOLT, "35 N·m")
    assert reason.code.value == "no class"
    assert say(reason) == (
        "35 N·m cannot be proven: no property class is stated, and of class 8.8, which it may be,"
        " M8 is beyond its yield point (reached at 27.3 N·m) (property_class: of the item)"
    )
    assert not_proven([reason]) == (reason,)
    steel = replace(BOLT, property_class="10.9", into=ThreadedInto.STEEL)
    assert codes(steel, "35 N·m") == []
    assert codes(BOLT, "5 N·m") == ["no class, perhaps very little"]
    # What has figures of its own is tightened for its seal.
    assert codes(replace(BOLT, ordinary=False), "5 N·m") == []
    # By their yield points, 5.6 is weaker than 4.8 (ISO 898-1).
    assert Held("M8", None, "4.8", "8.8").classes == ("5.6", "8.8")


BLEEDER = Held("M10×1", None, "5.8", "8.8", ordinary=False, kind="bleed-screw")


def test_a_hollow_screw_bears_less_than_a_solid_one() -> None:
    (reason,) = found(BLEEDER, "48 N·m")
    assert say(reason) == (
        "48 N·m takes a hollow M10×1 screw in class 8.8 beyond its yield point (reckoned with a"
        " bore of 5 mm it is reached at 42.3 N·m: common practice, no source)"
    )
    assert codes(replace(BLEEDER, kind="drain-plug"), "48 N·m") == ["no class"]
    assert codes(replace(BLEEDER, property_class="8.8"), "48 N·m") == [
        "beyond what a hollow one bears"
    ]
    # Inch pounds for newton metres: 3.16 N·m.
    assert codes(replace(BLEEDER, kind="banjo-bolt", property_class="8.8"), "28 lbf·in") == [
        "hardly any"
    ]
    # Usual: common practice, no source.
    for held, figure in (
        (BLEEDER, "10 N·m"),
        (replace(BLEEDER, thread="M6"), "4 N·m"),
        (replace(BLEEDER, kind="union"), "16 N·m"),
        (replace(BLEEDER, kind="banjo-bolt"), "20 N·m"),
        (replace(BLEEDER, kind="spark-plug", thread="M14×1.25"), "25 N·m"),
        (replace(BLEEDER, kind="spark-plug", thread="M12×1.25"), "18 N·m"),
    ):
        assert codes(held, figure) == [], held.kind


@pytest.mark.parametrize("kind", sorted(NO_BOLTS))
def test_what_is_no_bolt_is_checked_by_no_bolt(kind: str) -> None:
    for held in (replace(PLUG, kind=kind), replace(PLUG, thread=None, kind=kind)):
        reasons = found(held, "1 N·m")
        assert [reason.code.value for reason in reasons] == ["no bolt"]
        assert odd(reasons) == not_proven(reasons) == ()
        assert codes(held, "600 N·m", "300 N·m") == ["no bolt", "falling"]
        assert doubt_of(parse_stage("9000 N·m"), held, ThreadState.DRY) is None


def test_stainless_steel_is_checked_by_its_own_strength() -> None:
    # ISO 3506-1, from memory: A2-70 has a 0.2 % proof stress of 450 MPa, 8.8 one of 640.
    stainless = replace(BOLT, property_class="A2-70")
    assert codes(stainless, "18 N·m") == codes(replace(BOLT, property_class="8.8"), "25 N·m") == []
    assert codes(stainless, "25 N·m") == ["beyond yield"]
    assert doubt("900 N·m", "M8", "A2-70") is None


def test_a_unified_thread_is_checked_by_its_grade() -> None:
    """5/16-24 UNF, dry: SAE J429 from memory; its class is not among those of its kind."""
    held = Held("5/16-24 UNF", "SAE 5", "8.8", "12.9", into=ThreadedInto.STEEL)
    assert codes(held, "25 N·m") == []
    assert codes(held, "35 N·m") == ["beyond yield"]
    assert codes(replace(held, property_class="SAE 8"), "35 N·m") == []
    (reason,) = found(replace(held, property_class=None), "25 N·m")
    assert "of class SAE 2, which it may be, 5/16-24 UNF is beyond" in say(reason)
    assert doubt("900 N·m", "5/16-24 UNF", "SAE 5") is not None


@pytest.mark.parametrize("thread", ["G 1/4", "1/8-27 NPT LH", "5/16-22 BSF"])
def test_what_a_thread_bears_that_is_not_reckoned_its_maker_says(thread: str) -> None:
    (reason,) = found(Held(thread, None), "15 N·m")
    assert say(reason) == (
        f"15 N·m cannot be checked: what a thread of {thread} bears is not reckoned here, and its"
        " maker's figure decides"
    )
    assert odd([reason]) == not_proven([reason]) == ()
    assert doubt("900 N·m", thread, None) is None


THREADS = ("M6", "M8", "M10×1", "M14×1.5", "M20", "5/16-24 UNF", "G 1/4")
KINDS = (None, "bolt", *sorted(BORES), "drain-plug")


@st.composite
def stated(draw: st.DrawFn) -> Held:
    """A fastener of which everything is stated, its class any that is known."""
    first = draw(st.integers(0, len(PROPERTY_CLASSES) - 1))
    last = draw(st.integers(first, len(PROPERTY_CLASSES) - 1))
    classes = tuple(PROPERTY_CLASSES)
    ranged = draw(st.booleans())
    weakest, strongest = (classes[first], classes[last]) if ranged else (None, None)
    return Held(
        thread=draw(st.sampled_from(THREADS)),
        property_class=draw(st.sampled_from((*PROPERTY_CLASSES, *STAINLESS, *GRADES))),
        weakest=weakest,
        strongest=strongest,
        ordinary=draw(st.booleans()),
        into=draw(st.sampled_from([None, *ThreadedInto])),
        kind=draw(st.sampled_from(KINDS)),
        # Engaged by less than its diameter it is taken for more where that is left out.
        engagement=draw(st.none() | st.integers(20_000, 60_000)),
    )


FIGURES = st.builds(
    TorqueStage,
    st.decimals("0.1", "400", places=1).map(lambda figure: Torque(figure, "N·m")),
    st.none() | st.decimals("0.1", "30", places=1),
)


@given(stated(), st.lists(FIGURES, min_size=1, max_size=2), st.sampled_from(ThreadState))
def test_leaving_out_a_fact_of_a_fastener_never_proves_its_figure(
    held: Held, stages: list[TorqueStage], state: ThreadState
) -> None:
    def doubtful(one: Held, given_for: ThreadState = state) -> bool:
        reasons = remarks(stages, one, given_for)
        # That the state is not stated is a doubt by itself.
        return given_for is ThreadState.UNKNOWN or bool(odd(reasons) or not_proven(reasons))

    # A class that its kind is not made in is refused when a catalogue is loaded.
    if not doubtful(held) or not held.of_its_kind:
        return
    for without in (
        replace(held, thread=None),
        replace(held, property_class=None),
        replace(held, thread=None, property_class=None),
        replace(held, into=None),
        replace(held, engagement=None),
        replace(held, into=None, engagement=None),
    ):
        assert doubtful(without), without
    assert doubtful(held, ThreadState.UNKNOWN)


def test_a_class_is_of_its_kind_by_its_yield_point() -> None:
    kind = replace(BOLT, weakest="8.8", strongest="10.9")
    every = (*PROPERTY_CLASSES, *STAINLESS, *GRADES)
    made = {one for one in every if replace(kind, property_class=one).of_its_kind}
    # ISO 898-1:2013; SAE J429 from memory: SAE 8 yields at 896 MPa, SAE 5 at 634.
    assert made == {"8.8", "9.8", "10.9", "SAE 8"}
    unified = replace(kind, thread="5/16-24 UNF")
    made = {one for one in every if replace(unified, property_class=one).of_its_kind}
    assert {"SAE 2", "SAE 5", "SAE 8", "8.8", "10.9", "A2-70"} <= made
    assert not {"12.9", "4.6"} & made
    plug = replace(BOLT, weakest="4.6", strongest="8.8")
    assert replace(plug, property_class="A2-70").of_its_kind
    assert all(Held("M8", one).of_its_kind for one in every)


@given(stated(), FIGURES, st.decimals("0.1", "400", places=1))
def test_more_torque_is_never_less_of_a_load(held: Held, stage: TorqueStage, more: Decimal) -> None:
    """What is odd for being too much stays so if the figure or its band grows."""
    high = {"beyond yield", "beyond the strongest class", "beyond what a hollow one bears"}
    larger = TorqueStage(Torque(stage.torque.figure + more, "N·m"), stage.tolerance)
    for state in (ThreadState.DRY, ThreadState.OILED, ThreadState.LOCKED):
        if high & {reason.code.value for reason in remarks([stage], held, state)}:
            assert high & {reason.code.value for reason in remarks([larger], held, state)}
