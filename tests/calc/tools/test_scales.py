"""Marks of a scale: what a wrench is set to for a figure, and where that is not good enough.

All figures are invented; that a setting stands at a mark follows from the arithmetic alone.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.toolkit import Requirement, Tool, prepare
from kitting.calc.tools.wrenches import nearest_mark
from kitting.facts.heads import Head
from kitting.facts.scale_reasons import ScaleReason
from kitting.facts.tool_reasons import ToolReason, TrainNote
from kitting.facts.tool_words import ToolSort, ToolTask
from kitting.facts.units import parse_torque
from kitting.facts.verdicts import Verdict
from kitting.wording.reasons import say

HEAD = Head("hexagon", "10 mm")
SOCKET = Tool(2, "S-10", "socket", ToolSort.SOCKET, HEAD, takes="1/4", points=6)


def wrench(resolution: str | None, unit: str = "N·m", deviation: str = "0.04") -> Tool:
    """A wrench of 5 to 25 of a unit."""
    low, high = (parse_torque(f"{end} {unit}").newton_metres for end in (5, 25))
    step = None if resolution is None else Decimal(resolution)
    return Tool(
        1, "W", "wrench", ToolSort.TORQUE_WRENCH, gives="1/4", grip=200_000, low=low, high=high,
        unit=unit, resolution=step, deviation=Decimal(deviation),
    )  # fmt: skip


def asked(torque: str, tolerance: str | None = None) -> Requirement:
    """A torque on the head, with its tolerance in N·m."""
    return Requirement(
        ToolTask.TORQUE, HEAD, parse_torque(torque).newton_metres,
        None if tolerance is None else Decimal(tolerance),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("resolution", "setting", "mark"),
    [
        ("0.5", "8.47", "8.5"),
        ("0.2", "8.47", "8.4"),
        ("2", "8.47", "9"),
        ("1", "8.5", "8"),  # of two that are equally near the lower one
        ("0.5", "5.1", "5"),
        ("3", "25", "23"),  # 5, 8 … 23: there is no mark at 26
        (None, "8.47", "8.47"),
    ],
)
def test_a_wrench_is_set_to_the_nearest_mark_counted_from_its_lowest(
    resolution: str | None, setting: str, mark: str
) -> None:
    assert nearest_mark(wrench(resolution), Decimal(setting)) == Decimal(mark)


@given(
    st.decimals(5, 25, places=3),
    st.sampled_from(["0.05", "0.1", "0.25", "0.3", "0.5", "1", "2", "7"]),
)
def test_no_mark_of_a_scale_is_nearer_than_the_one_that_is_taken(
    setting: Decimal, resolution: str
) -> None:
    step = Decimal(resolution)
    marks = [5 + n * step for n in range(int(20 / step) + 1)]
    taken = nearest_mark(wrench(resolution), setting)
    assert taken in marks
    assert abs(taken - setting) == min(abs(mark - setting) for mark in marks)


def test_a_figure_at_a_mark_is_fine_whatever_its_unit() -> None:
    for unit in ("N·m", "lbf·in", "lbf·ft"):
        answer = search(asked(f"10.5 {unit}"), prepare([wrench("0.5", unit), SOCKET]))
        assert answer.verdict is Verdict.FINE


def test_rounding_inside_the_tolerance_is_fine() -> None:
    answer = search(asked("8.47 N·m", "0.5"), prepare([wrench("0.5"), SOCKET]))
    assert answer.verdict is Verdict.FINE


def test_rounding_that_leaves_the_tolerance_cannot_be_done_and_names_the_mark() -> None:
    answer = search(asked("8.4 N·m", "0.5"), prepare([wrench("2"), SOCKET]))
    assert answer.verdict is Verdict.NO
    (reason,) = answer.near_misses
    assert reason.code is ToolReason.OF_TOOL
    assert say(reason) == (
        "W: CANNOT BE SET on its scale: 8.4 N·m lies between two marks, the nearest is 9 N·m, and"
        " at the fastener that is off by 0.6 N·m, more than the ±0.5 N·m allowed"
    )


def test_rounding_and_what_the_wrench_may_be_off_together_have_to_stay_inside() -> None:
    # 0.34 (4 % of 8.4) alone is inside 0.5, and so is 0.4; together they may not be.
    answer = search(asked("8.4 N·m", "0.5"), prepare([wrench("1"), SOCKET]))
    assert answer.verdict is Verdict.UNKNOWN
    assert say(answer.near_misses[0]).startswith("W: 8.4 N·m lies between two marks of its scale")


def test_a_figure_without_a_tolerance_between_two_marks_is_never_fine() -> None:
    answer = search(asked("75 lbf·in"), prepare([wrench("0.5"), SOCKET]))
    assert answer.verdict is Verdict.UNKNOWN
    (reason,) = answer.near_misses
    assert reason["reason"].code is ScaleReason.NO_TOLERANCE
    assert "8.474 N·m lies between two marks of its scale, the nearest is 8.5 N·m" in say(reason)


@pytest.mark.parametrize("tolerance", [None, "0.5", "5"])
def test_a_wrench_whose_steps_nobody_states_proves_no_figure_and_is_told_to_be_looked_at(
    tolerance: str | None,
) -> None:
    answer = search(asked("10 N·m", tolerance), prepare([wrench(None), SOCKET]))
    assert (answer.verdict, answer.trains) == (Verdict.UNKNOWN, ())
    assert [say(reason) for reason in answer.near_misses] == [
        "W: the steps of its scale are not stated: state its 'resolution', how far two marks of it"
        " are apart"
    ]
    assert [train.setting for train in answer.to_check] == [Decimal(10)]


def test_a_wrench_of_which_more_is_not_stated_is_not_to_be_set_at_all() -> None:
    unsure = replace(wrench(None), deviation=None)
    answer = search(asked("10 N·m"), prepare([unsure, SOCKET]))
    assert (answer.verdict, answer.to_check) == (Verdict.UNKNOWN, ())


def test_what_is_wrong_with_a_wrench_is_told_before_that_its_steps_are_not_stated() -> None:
    answer = search(asked("30 N·m"), prepare([wrench(None), SOCKET]))
    assert (answer.verdict, answer.doubtful) == (Verdict.NO, ())


def test_a_wrench_with_stated_steps_goes_before_one_without() -> None:
    stated = replace(wrench("1"), key=3, code="Z")
    found = search(asked("10 N·m"), prepare([wrench(None), stated, SOCKET]))
    assert [train.tools[0].code for train in found.trains] == ["Z"]
    # Also where neither is proven, for another reason each.
    doubtful = replace(stated, deviation=None)
    found = search(asked("10 N·m"), prepare([wrench(None), doubtful, SOCKET]))
    assert [train.tools[0].code for train in found.doubtful] == ["Z", "W"]


def test_a_wrench_whose_scale_has_a_mark_there_is_taken_before_one_that_has_not() -> None:
    exact = wrench("0.1")
    other, coarse = replace(exact, key=3, code="V"), replace(exact, resolution=Decimal(1))
    answer = search(asked("15.3 N·m"), prepare([coarse, other, SOCKET]))
    assert [train.tools[0].code for train in answer.trains] == ["V"]


def test_what_a_crowfoot_corrects_is_judged_at_the_fastener() -> None:
    crow = Tool(2, "CF", "crowfoot", ToolSort.CROWFOOT, HEAD, takes="1/4", offset=50_000, points=12)
    # 20 N·m with 200 mm and 50 mm is 16 N·m; 15.9 would be 16 as well: 0.125 off, not 0.1.
    straight = search(asked("20 N·m", "1"), prepare([wrench("1"), crow]))
    assert {train.note.code for train in straight.trains if train.note} == {
        TrainNote.CROWFOOT_STRAIGHT,
        TrainNote.CROWFOOT_SQUARE,
    }
    # Each mark is 0.125 off at the fastener; 4 % of 19.875 is 0.795 more.
    near = search(asked("19.875 N·m", "0.9"), prepare([wrench("1"), crow]))
    assert near.verdict is Verdict.UNKNOWN
    assert [(str(r["reason"]["setting"]), str(r["reason"]["off"])) for r in near.near_misses] == [
        ("15.9 N·m", "0.13 N·m"),
        ("19.88 N·m", "0.13 N·m"),
    ]
    assert search(asked("19.875 N·m", "1"), prepare([wrench("1"), crow])).verdict is Verdict.FINE
