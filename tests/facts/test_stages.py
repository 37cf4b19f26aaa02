"""Stages of a tightening: read, kept, asked; what a new kind would touch."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import kitting
import kitting.reports
from kitting.calc.tools.requirements import Fastener, asks
from kitting.errors import FigureError
from kitting.facts.stages import (
    COLUMNS,
    KINDS,
    AngleStage,
    BackStage,
    Stage,
    TorqueStage,
    parse_stage,
    stage_of_row,
)
from kitting.facts.tool_words import ToolAskSort, ToolSort, ToolTask
from kitting.facts.units import (
    TORQUE_UNITS,
    Quantity,
    Torque,
    format_quantity,
    parse_quantity,
    parse_torque,
    show_quantity,
)
from kitting.facts.words import StageKind
from kitting.wording.tightening import second_text, stage_text

# One of every kind: a new kind fails here until it has an example.
EXAMPLES: dict[str, Stage] = {
    "20 N·m": TorqueStage(Torque(Decimal(20), "N·m")),
    "4 N·m ± 0.3": TorqueStage(Torque(Decimal(4), "N·m"), Decimal("0.3")),
    "75 lbf·in": TorqueStage(Torque(Decimal(75), "lbf·in")),
    "+90°": AngleStage(90_000),
    "+22.5°": AngleStage(22_500),
    "turn back 90°": BackStage(90_000),
}
THOUSANDTHS = st.decimals("0.001", "99999", places=3)
STAGES = st.one_of(
    st.builds(
        TorqueStage,
        st.builds(Torque, THOUSANDTHS, st.sampled_from(list(TORQUE_UNITS))),
        st.none() | THOUSANDTHS,
    ),
    st.builds(AngleStage, st.integers(1, 1_080_000)),
    st.builds(BackStage, st.integers(1, 1_080_000)),
)


def test_every_kind_has_a_class_a_word_and_an_example() -> None:
    assert set(get_args(Stage)) == set(KINDS) == {type(stage) for stage in EXAMPLES.values()}
    assert {stage.kind for stage in EXAMPLES.values()} == set(StageKind)


@pytest.mark.parametrize("text", EXAMPLES)
def test_a_stage_reads_back_from_its_words(text: str) -> None:
    stage = EXAMPLES[text]
    assert stage_text(stage) == text
    assert parse_stage(text) == stage
    # The tolerance may stand before the unit too: "4 ± 0.3 N·m".
    written = re.sub(r"(\S+) (\S+) ± (\S+)", r"\1 ± \3 \2", text)
    assert parse_stage(written) == stage


@given(STAGES)
def test_whatever_a_stage_is_told_as_is_read(stage: Stage) -> None:
    assume(stage.torque is None or (stage.tolerance or 0) < stage.torque.figure)
    assert parse_stage(stage_text(stage)) == parse_stage(str(stage)) == stage
    if stage.torque is not None:
        assert parse_stage(str(stage.torque)).torque == stage.torque
        second = second_text(stage)
        assert second is None or str(parse_torque(second)) == second


@given(st.integers(1, 10**9), st.sampled_from(["ml", "g", "mm"]))
def test_whatever_an_amount_or_a_length_is_told_as_is_read(thousandths: int, unit: str) -> None:
    told = format_quantity(thousandths, unit)
    assert parse_quantity(told) == Quantity(thousandths, unit)
    shown = show_quantity(thousandths, unit)
    assert format_quantity(parse_quantity(shown).thousandths, unit) == shown


@given(STAGES)
def test_a_stage_comes_back_from_its_row_as_it_was(stage: Stage) -> None:
    row = stage.columns
    assert tuple(row) == COLUMNS
    assert stage_of_row(row) == stage


def test_a_row_of_no_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="a stage without a figure"):
        stage_of_row(dict.fromkeys(COLUMNS))


@pytest.mark.parametrize(
    "text",
    [
        "-90°",
        "−90°",
        "- 90 deg",
        "turn back 90°",
        "then loosen 90°",
        "Loosen by 90°",
        "back off 90°",
    ],
)
def test_turning_back_is_read_however_it_is_written(text: str) -> None:
    assert parse_stage(text) == BackStage(90_000)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "10",
            "'10' is a figure without unit; write as published, for example '10 N·m' or '10 lbf·in'"
            " for a torque, '10°' for an angle",
        ),
        ("+90", "'90°' for an angle"),
        (
            "1/4 turn",
            "is no angle in degrees; write the turn in degrees, such as '90°' for a quarter",
        ),
        ("snug", "give the figure as published, or leave the stages out if it is unknown"),
        ("40 N·m + 90°", "is two stages; write them one after the other: [40 N·m, +90°]"),
        (
            "28 +5 N·m",
            "'28 +5 N·m' has a tolerance that is not the same on both sides; if it is 28 to 33 N·m,"
            " write it round its middle: '30.5 ± 2.5 N·m'",
        ),
        ("28 N·m +5", "if it is 28 to 33 N·m, write it round its middle: '30.5 ± 2.5 N·m'"),
        ("28 (+5) N·m", "if it is 28 to 33 N·m, write it round its middle: '30.5 ± 2.5 N·m'"),
        ("28 -0/+5 N·m", "if it is 28 to 33 N·m, write it round its middle: '30.5 ± 2.5 N·m'"),
        (
            "28 +5/-2 lbf ft",
            "if it is 26 to 33 lbf ft, write it round its middle: '29.5 ± 3.5 lbf ft'",
        ),
        ("28 +5 −2 N·m", "if it is 26 to 33 N·m, write it round its middle: '29.5 ± 3.5 N·m'"),
        ("28 N·m -5", "if it is 23 to 28 N·m, write it round its middle: '25.5 ± 2.5 N·m'"),
        ("40 N·m -90°", "is two stages; write them one after the other: [40 N·m, -90°]"),
        (
            "then loosen",
            "'then loosen' does not say how far; write by how much it is turned back, such as"
            " '-90°', or '-360°' for what is undone",
        ),
        ("back 2000°", "is no angle to tighten by"),
        ("-0°", "is no angle to tighten by"),
        (
            "20-25 N·m",
            "'20-25 N·m' is a range; write the figure that the maker says to set, with its"
            " tolerance; where only the range is published, '22.5 ± 2.5 N·m' says the same",
        ),
        ("20 N·m - 25 N·m", "where only the range is published, '22.5 ± 2.5 N·m' says the same"),
        ("20 N·m to 25 N·m", "where only the range is published, '22.5 ± 2.5 N·m' says the same"),
        ("20 N·m - 25 lbf·ft", "'20 N·m - 25 lbf·ft' is a range, and one figure is needed"),
        ("40 N·m ± 10 %", "in percent; write it in the unit of the figure: '40 ± 4 N·m'"),
        ("40 ± 5", "is a figure without unit; write for example '40 ± 5 N·m' or '40 ± 5 lbf·in'"),
        ("0 N·m", "is no tightening figure; leave the stages out if the figure is unknown"),
        ("1.2345 N·m", "is finer than a thousandth; give the figure as published"),
        ("4 ± 5 N·m", "has a tolerance as large as its figure"),
        ("4 ± 4 N·m", "has a tolerance as large as its figure"),
        ("4 ± 0.0005 N·m", "is finer than a thousandth; give the figure as published"),
        ("+2000°", "is no angle to tighten by"),
        ("30-40 N·m", "where only the range is published, '35 ± 5 N·m' says the same"),
        ("30 to 45 lbf ft", "where only the range is published, '37.5 ± 7.5 lbf ft' says the same"),
        ("4 N·m ± 0.3 kgf·m", "mixes two units"),
        (
            "+5 N·m",
            "'+5 N·m': is that a torque, or so much more than the stage before? Write the torque"
            " that the wrench is set to, without a sign",
        ),
    ],
)
def test_what_is_no_stage_is_refused_with_what_to_write(text: str, message: str) -> None:
    with pytest.raises(FigureError) as refused:
        parse_stage(text)
    assert message in str(refused.value)


def test_a_torque_asks_for_a_wrench_and_an_angle_for_a_gauge() -> None:
    torque, angle = EXAMPLES["4 N·m ± 0.3"], EXAMPLES["+90°"]
    assert (torque.task, torque.instrument) == (ToolTask.TORQUE, ToolSort.TORQUE_WRENCH)
    assert (angle.task, angle.instrument) == (ToolTask.ANGLE, ToolSort.ANGLE_GAUGE)
    assert (torque.torque, torque.allowed) == (Torque(Decimal(4), "N·m"), Decimal("0.3"))
    assert (angle.torque, angle.allowed) == (None, None)
    found = asks([Fastener("here", None, stages=(torque, angle))], [])
    assert [(ask.sort, ask.tool) for ask in found] == [
        (ToolAskSort.DRIVE, "square drive 1/4 in or larger, as far as it is known"),
        (ToolAskSort.TORQUE, "4 N·m"),
        (ToolAskSort.ANGLE, "angle gauge"),
    ]


def test_turning_back_asks_for_a_gauge_and_turns_nothing_on() -> None:
    back = EXAMPLES["turn back 90°"]
    assert (back.task, back.instrument) == (ToolTask.ANGLE, ToolSort.ANGLE_GAUGE)
    assert (back.torque, back.tolerance, back.allowed) == (None, None, None)
    assert (back.turn, back.back, str(back)) == (0, 90_000, "-90°")


def test_a_tolerance_is_allowed_in_newton_metres() -> None:
    # NIST SP 811 (2008), appendix B: kilogram-force metre = 9.806 65 N·m (exact).
    stage = parse_stage("2 ± 0.1 kgf·m")
    assert stage.allowed == Decimal("0.980665")


def test_the_other_unit_is_given_for_a_torque_only() -> None:
    assert second_text(EXAMPLES["75 lbf·in"]) == "8.47 N·m"
    assert second_text(EXAMPLES["+90°"]) is None


def test_a_kind_of_stage_is_known_in_its_module_and_in_its_words_only() -> None:
    """Where would I change a kind of stage: here, and the type checker finds the words."""
    folders = [Path(next(iter(package.__path__))) for package in (kitting, kitting.reports)]
    taken_apart = re.compile(r"\b(?:TorqueStage|AngleStage|StageKind)\b|\bstage\.angle\b")
    found = {
        path.relative_to(folder).as_posix()
        for folder in folders
        for path in folder.rglob("*.py")
        if taken_apart.search(path.read_text(encoding="utf-8"))
    }
    assert found == {"facts/stages.py", "facts/words.py", "wording/tightening.py"}


# 1 lbf·ft is 1.355 817 9 N·m, 1 kgf·m is 9.806 65 N·m (NIST SP 811, appendix B.8).
@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("25 N·m (18 lbf·ft)", "25 N·m"),  # 18.4 lbf·ft, rounded
        ("24 N·m (18 lbf·ft)", "24 N·m"),  # 24.4 N·m, rounded
        ("18 lb ft (25 Nm)", "18 lbf·ft"),
        ("110 N·m (80 lbf·ft)", "110 N·m"),  # 81.1 lbf·ft, made even
        ("2.5 kgf·m (25 N·m)", "2.5 kgf·m"),
        ("25 ± 3 N·m (18 ± 2 lbf·ft)", "25 N·m ± 3"),
        ("25 N·m ± 3 (18 lbf·ft)", "25 N·m ± 3"),
    ],
)
def test_a_torque_in_two_units_that_agree_is_the_first(text: str, kept: str) -> None:
    assert str(parse_stage(text)) == kept


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            "25 N·m (81 lbf·ft)",
            "25 N·m is 18.4 lbf·ft, not 81 lbf·ft: one of the two is a misprint",
        ),
        ("120 N·m (98 lbf·ft)", "120 N·m is 88.5 lbf·ft, not 98 lbf·ft"),
        ("25 ± 3 N·m (18 ± 5 lbf·ft)", "3 N·m is 2.21 lbf·ft, not 5 lbf·ft"),
        ("25 N·m (18 N·m)", "has two figures in N·m"),
        ("25 N·m (18)", "no unit of torque"),
        ("25 N·m (90 deg)", "is no angle"),
    ],
)
def test_a_torque_in_two_units_that_disagree_is_a_misprint(text: str, why: str) -> None:
    with pytest.raises(FigureError, match=re.escape(why)):
        parse_stage(text)


@given(st.integers(5, 400), st.sampled_from(sorted(TORQUE_UNITS)), st.integers(1, 3), st.booleans())
def test_a_figure_that_was_converted_and_rounded_agrees_and_twice_it_never_does(
    figure: int, unit: str, places: int, swapped: bool
) -> None:
    torque = Torque(Decimal(figure), "N·m")
    rounded = round(torque.to(unit), places)
    assume(unit != "N·m" and rounded > 0)
    texts = [f"{torque}", f"{rounded} {unit}"]
    one, other = reversed(texts) if swapped else texts
    assert isinstance(parse_stage(f"{one} ({other})"), TorqueStage)
    with pytest.raises(FigureError, match="misprint"):
        parse_stage(f"{torque} ({2 * rounded} {unit})")
