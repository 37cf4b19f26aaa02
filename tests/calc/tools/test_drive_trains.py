"""Drive trains: what a toolbox can do, what it cannot, and why not.

Tools are invented; ranges, heads and figures of the worked cases are those of the trade guide.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.loads import Bolt, stated, undoing
from kitting.calc.tools.toolkit import Answer, Requirement, Tool, Train, prepare
from kitting.facts.heads import Head, parse_head
from kitting.facts.reasons import because
from kitting.facts.stages import parse_stage
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.tool_words import RangePolicy, ToolTask, WrenchClass, WrenchDirection
from kitting.facts.units import Torque, parse_torque
from kitting.facts.verdicts import Verdict
from kitting.facts.words import FastenerAccess, ThreadState
from kitting.wording.reasons import say

THIRTEEN = Head("hexagon", "13 mm")


# As close as a setting is reckoned.
FINEST = Decimal("0.000001")


def tool(sort: str, code: str, **facts: Any) -> Tool:
    return Tool(0, code, code, sort, **facts)


def socket(head: Head = THIRTEEN, takes: str = "3/8", code: str = "S-13", **facts: Any) -> Tool:
    return tool("socket", code, turns=head, takes=takes, **facts)


def wrench(low: str, high: str, gives: str = "3/8", **facts: Any) -> Tool:
    """A torque wrench named after its scale, such as W-20-100, within ±4 % unless told.

    Whatever it has to be set to is a mark of its scale.
    """
    if not {"deviation", "wrench_class"} & facts.keys():
        facts["deviation"] = Decimal("0.04")
    unit = facts.pop("unit", "N·m")
    facts.setdefault("resolution", FINEST)
    scale = [Torque(Decimal(figure), unit).newton_metres for figure in (low, high)]
    code = facts.pop("code", f"W-{low}-{high}")
    return tool("torque wrench", code, gives=gives, low=scale[0], high=scale[1], unit=unit, **facts)


def adaptor(takes: str, gives: str) -> Tool:
    return tool("adaptor", f"A-{takes}-{gives}".replace("/", ""), takes=takes, gives=gives)


def torque(figure: str, head: Head = THIRTEEN, **facts: Any) -> Requirement:
    tolerance = facts.pop("tolerance", None)
    return Requirement(
        ToolTask.TORQUE,
        head,
        parse_torque(figure).newton_metres,
        None if tolerance is None else Decimal(tolerance),
        **facts,
    )


def undo(figure: str | None = None, head: Head = THIRTEEN, **facts: Any) -> Requirement:
    """Undoing what was tightened to a figure, or next to nothing."""
    stages = (parse_stage(figure or "1 N·m"),)
    return Requirement(ToolTask.UNDO, head, load=undoing(stages, Bolt()), **facts)


def angle(figure: str, head: Head = THIRTEEN) -> Requirement:
    return Requirement(ToolTask.ANGLE, head, load=stated(parse_torque(figure).newton_metres))


def answer(
    requirement: Requirement, *tools: Tool, policy: RangePolicy = RangePolicy.MARKED
) -> Answer:
    return search(requirement, prepare(tools, policy))


def misses(found: Answer) -> tuple[str, ...]:
    """Why it cannot be done, in words."""
    return tuple(map(say, found.near_misses))


def note(train: Train) -> str | None:
    """The note of a train, in words."""
    return None if train.note is None else say(train.note)


def trains(found: Answer) -> list[list[str]]:
    """The codes of every train from hand to head."""
    return [[tool.code for tool in train.tools] for train in found.trains]


LENT = because(ToolReason.LENT, to="the next bay", until=date(2026, 4, 17))
SMALL, MIDDLE, LARGE = wrench("5", "25", "1/4"), wrench("20", "100"), wrench("40", "200", "1/2")
BAR, RATCHET = tool("bar", "BAR", gives="1/2"), tool("ratchet", "RATCHET", gives="3/8")
GAUGE = tool("angle gauge", "GAUGE", takes="1/2", gives="1/2")
ADAPTORS = (adaptor("1/4", "3/8"), adaptor("1/2", "3/8"))
GARAGE = (SMALL, MIDDLE, LARGE, BAR, RATCHET, *ADAPTORS, socket(), socket(takes="1/2", code="S-12"))


# The worked case


def test_the_worked_toolbox_lacks_the_smallest_figure_the_largest_and_the_angle_gauge() -> None:
    figures = ["3.5 N·m", "8 N·m", "24 N·m", "45 N·m", "20 N·m", "60 N·m", "210 N·m"]
    wanted = [torque(figure) for figure in figures] + [angle("60 N·m"), angle("60 N·m")]
    found = [search(one, prepare(GARAGE)) for one in wanted]
    gaps = [
        (one.requirement.task, one.requirement.bears.most, misses(one)) for one in found if one.gap
    ]
    no_gauge = ("angle", Decimal(60), ("no angle gauge in the box",))
    assert gaps == [
        (
            "torque",
            Decimal("3.5"),
            (
                "W-20-100: figure 3.5 N·m is off its scale (20 to 100 N·m)",
                "W-40-200: figure 3.5 N·m is off its scale (40 to 200 N·m)",
                "W-5-25: figure 3.5 N·m is off its scale (5 to 25 N·m)",
            ),
        ),
        (
            "torque",
            Decimal(210),
            (
                "W-20-100: figure 210 N·m is off its scale (20 to 100 N·m)",
                "W-40-200: figure 210 N·m is off its scale (40 to 200 N·m)",
                "W-5-25: figure 210 N·m is off its scale (5 to 25 N·m)",
            ),
        ),
        no_gauge,
        no_gauge,
    ]


def test_the_worked_gaps_are_closed_by_what_is_missing() -> None:
    more = (wrench("1", "6", "1/4"), wrench("60", "340", "1/2"), GAUGE)
    wanted = [torque("3.5 N·m"), torque("210 N·m"), angle("60 N·m")]
    assert [one.gap for one in (answer(one, *GARAGE, *more) for one in wanted)] == [False] * 3


def test_a_figure_on_two_scales_is_offered_with_both_wrenches() -> None:
    found = answer(torque("24 N·m"), *GARAGE)
    assert {train.tools[0].code for train in found.trains} == {"W-5-25", "W-20-100"}
    assert misses(found) == ()
    assert all(train.setting == 24 and train.note is None for train in found.trains)


def test_the_wrench_nearest_the_middle_of_its_scale_comes_first() -> None:
    # 45 N·m: 31 % of the way up 20 to 100, 3 % of the way up 40 to 200.
    assert trains(answer(torque("45 N·m"), *GARAGE))[0] == ["W-20-100", "S-13"]
    # 90 N·m: 88 % up 20 to 100, 31 % up 40 to 200; the fewest tools first among its trains.
    assert trains(answer(torque("90 N·m"), *GARAGE)) == [
        ["W-40-200", "S-12"],
        ["W-40-200", "A-12-38", "S-13"],
        ["W-20-100", "S-13"],
    ]


def test_what_is_there_comes_before_what_would_have_to_be_bought() -> None:
    offered = wrench("4", "44", code="OFFER", offered=True)
    assert trains(answer(torque("24 N·m"), MIDDLE, offered, socket()))[0] == ["W-20-100", "S-13"]


# Heads


def test_a_head_that_is_not_stated_and_a_figure_that_is_not_published_are_never_guessed() -> None:
    headless = Requirement(ToolTask.TORQUE, None, Decimal(24))
    assert misses(answer(headless, *GARAGE)) == ("no head is stated: nobody can say what turns it",)
    figureless = Requirement(ToolTask.TORQUE, THIRTEEN)
    assert misses(answer(figureless, *GARAGE)) == ("NO FIGURE: LOOK IT UP",)


def test_a_head_that_nothing_turns_is_named() -> None:
    e10 = parse_head("external six-lobe E10")
    assert misses(answer(torque("24 N·m", e10), *GARAGE)) == (
        "nothing in the box turns external six-lobe E10",
    )


def test_a_key_turns_by_hand_but_never_under_a_torque_wrench() -> None:
    six = parse_head("hexagon socket 6 mm")
    key = tool("key", "KEY-6", turns=six, length=100_000)
    assert trains(answer(undo("10 N·m", six), key)) == [["KEY-6"]]
    assert misses(answer(torque("10 N·m", six), key, *GARAGE)) == (
        "KEY-6: a key, no torque wrench drives it",
    )


@pytest.mark.parametrize(
    ("head", "given"), [("hexagon 19 mm", "hexagon 3/4 in"), ("hexagon 5/16 in", "hexagon 8 mm")]
)
def test_a_near_equivalent_undoes_and_says_so_but_never_tightens(head: str, given: str) -> None:
    fastener, end = parse_head(head), socket(parse_head(given), code="NEAR")
    (train,) = answer(undo(None, fastener), RATCHET, end).trains
    assert [tool.code for tool in train.tools] == ["RATCHET", "NEAR"]
    assert note(train) == (
        f"{parse_head(given).size} is near enough to undo {fastener.size}, never to tighten it"
    )
    assert misses(answer(torque("45 N·m", fastener), MIDDLE, end)) == (
        f"nothing in the box turns {head}",
    )
    assert answer(angle("10 N·m", fastener), BAR, GAUGE, end).gap


def test_a_socket_smaller_than_the_head_is_no_near_equivalent() -> None:
    # 3/4 in is 19.05 mm, 8 mm is more than 5/16 in = 7.94 mm.
    assert answer(
        undo(None, parse_head("hexagon 3/4 in")), RATCHET, socket(parse_head("hexagon 19 mm"))
    ).gap
    assert answer(
        undo(None, parse_head("hexagon 8 mm")), RATCHET, socket(parse_head("hexagon 5/16 in"))
    ).gap


def test_a_near_equivalent_goes_on_only_where_its_own_size_would() -> None:
    nineteen, near = parse_head("hexagon 19 mm"), socket(parse_head("hexagon 3/4 in"), depth=14_000)
    assert answer(undo(None, nineteen, access=FastenerAccess.SIDE), RATCHET, near).gap
    assert answer(undo(None, nineteen, protrusion=20_000), RATCHET, near).gap
    assert not answer(undo(None, nineteen, protrusion=14_000), RATCHET, near).gap


def test_the_right_size_is_preferred_and_then_nothing_near_is_mentioned() -> None:
    nineteen = parse_head("hexagon 19 mm")
    near, exact = socket(parse_head("hexagon 3/4 in"), code="NEAR"), socket(nineteen, code="EXACT")
    found = answer(undo(None, nineteen), RATCHET, near, exact)
    assert [(train.codes, note(train)) for train in found.trains] == [
        (frozenset({"RATCHET", "EXACT"}), None)
    ]


def test_a_socket_of_the_right_size_that_nothing_drives_leaves_the_near_equivalent() -> None:
    nineteen = parse_head("hexagon 19 mm")
    near = socket(parse_head("hexagon 3/4 in"), code="NEAR")
    undriven = socket(nineteen, takes="1", code="EXACT")
    assert trains(answer(undo(None, nineteen), RATCHET, near, undriven)) == [["RATCHET", "NEAR"]]


# Ranges, deviation, direction


def test_the_ends_of_a_scale_belong_to_it() -> None:
    assert not answer(torque("20 N·m"), MIDDLE, socket()).gap
    assert not answer(torque("100 N·m"), MIDDLE, socket()).gap
    assert answer(torque("19.9 N·m"), MIDDLE, socket()).gap
    assert answer(torque("100.1 N·m"), MIDDLE, socket()).gap


def test_the_older_rule_begins_at_a_fifth_of_the_scale() -> None:
    wide = wrench("10", "100")
    assert not answer(torque("12 N·m"), wide, socket(), policy=RangePolicy.MARKED).gap
    assert misses(answer(torque("12 N·m"), wide, socket(), policy=RangePolicy.FIFTH)) == (
        "W-10-100: figure 12 N·m is off its scale (20 to 100 N·m)",
    )
    assert not answer(torque("20 N·m"), wide, socket(), policy=RangePolicy.FIFTH).gap


def test_a_wrench_without_a_stated_range_is_not_trusted() -> None:
    unmarked = tool("torque wrench", "W", gives="3/8", wrench_class=WrenchClass.II_A)
    found = answer(torque("24 N·m"), unmarked, socket())
    assert found.verdict is Verdict.UNKNOWN
    assert misses(found)[0] == "W: its range is not stated"


def test_a_reading_must_be_truer_than_the_tolerance() -> None:
    # A wrench to 10 N·m: ±6 % (ISO 6789), at 4 N·m ±0.24 N·m.
    little = wrench("2", "10", "1/4", wrench_class=WrenchClass.II_A)
    end = socket(takes="1/4")
    assert answer(torque("4 N·m", tolerance="0.3"), little, end).trains
    assert answer(torque("4 N·m", tolerance="0.24"), little, end).trains
    assert misses(answer(torque("4 N·m", tolerance="0.2"), little, end)) == (
        "W-2-10: ±6 % is ±0.24 N·m, more than the ±0.2 N·m allowed",
    )


def test_a_wrench_with_a_stated_deviation_is_judged_by_it() -> None:
    fine = wrench("2", "10", "1/4", deviation=Decimal("0.04"))
    coarse = wrench("20", "100", deviation=Decimal("0.08"))
    assert not answer(torque("4 N·m", tolerance="0.2"), fine, socket(takes="1/4")).gap
    assert misses(answer(torque("50 N·m", tolerance="3"), coarse, socket())) == (
        "W-20-100: ±8 % is ±4 N·m, more than the ±3 N·m allowed",
    )


def test_a_left_hand_thread_is_not_tightened_with_a_wrench_that_measures_clockwise_only() -> None:
    one_way = wrench("20", "100", direction=WrenchDirection.CLOCKWISE)
    assert misses(answer(torque("45 N·m", left_hand=True), one_way, socket())) == (
        "W-20-100: left-hand thread, and it measures clockwise only",
    )
    assert not answer(torque("45 N·m"), one_way, socket()).gap
    both = wrench("20", "100", direction=WrenchDirection.BOTH)
    assert answer(torque("45 N·m", left_hand=True), both, socket()).trains


def test_a_left_hand_thread_is_not_proven_with_a_wrench_whose_direction_nobody_states() -> None:
    found = answer(torque("45 N·m", left_hand=True), MIDDLE, socket())
    assert (found.verdict, found.trains) == (Verdict.UNKNOWN, ())
    assert misses(found) == (
        "W-20-100: left-hand thread, and its direction is not stated: both, or clockwise?",
    )
    assert answer(torque("45 N·m", left_hand=None), MIDDLE, socket()).verdict is Verdict.UNKNOWN


def test_a_bending_beam_is_off_by_six_percent_and_of_no_class_by_perhaps_so_much() -> None:
    # ISO 6789-1:2017, from memory: class I A ±6 %, class II A above 10 N·m ±4 %. At 50 N·m that is
    # 3 N·m and 2 N·m.
    tight = torque("50 N·m", tolerance="2.5")
    beam = wrench("20", "100", wrench_class=WrenchClass.I_A)
    click = wrench("20", "100", wrench_class=WrenchClass.II_A)
    assert misses(answer(tight, beam, socket())) == (
        "W-20-100: ±6 % is ±3 N·m, more than the ±2.5 N·m allowed",
    )
    assert answer(tight, click, socket()).trains
    bare = wrench("20", "100", deviation=None)
    assert answer(tight, bare, socket()).verdict is Verdict.UNKNOWN
    # Of which class it is, if any, nobody states: it may be off by more than any class.
    neither = answer(torque("50 N·m", tolerance="3"), bare, socket())
    assert (neither.verdict, neither.trains) == (Verdict.UNKNOWN, ())
    assert misses(neither) == (
        "W-20-100: neither its deviation nor its class (ISO 6789) is stated, and ±3 N·m is allowed",
    )


@pytest.mark.parametrize("deviation", ["0.01", "0.04", "0.06", "0.08", "0.5"])
@pytest.mark.parametrize("tolerance", ["0.4", "2", "3", "4", "30"])
def test_a_wrench_is_no_truer_for_want_of_its_deviation(deviation: str, tolerance: str) -> None:
    whole = wrench("20", "100", deviation=Decimal(deviation))
    asked = torque("50 N·m", tolerance=tolerance)
    bare = wrench("20", "100", deviation=None)
    told, less = (answer(asked, one, socket()) for one in (whole, bare))
    assert told.verdict is Verdict.FINE or less.verdict is not Verdict.FINE


_STANDARD = "the figure states no tolerance, and ISO 6789 allows a hand torque tool"


@pytest.mark.parametrize(
    ("facts", "verdict", "reason"),
    [
        ({"deviation": "0.04"}, Verdict.FINE, ()),
        ({"wrench_class": WrenchClass.II_A}, Verdict.FINE, ()),
        ({"wrench_class": WrenchClass.I_A, "deviation": "0.06"}, Verdict.FINE, ()),
        (
            {"deviation": None},
            Verdict.UNKNOWN,
            "neither its deviation nor its class (ISO 6789) is stated: nobody can say how far it may"
            " be off",
        ),
        (
            {"deviation": "0.05"},
            Verdict.UNKNOWN,
            "it may be off by ±5 %, the figure states no tolerance, and its class is not stated: ISO"
            " 6789 allows some only ±4 % (from memory)",
        ),
        (
            {"deviation": "0.3"},
            Verdict.NO,
            f"it may be off by ±30 %, {_STANDARD} ±6 % (from memory)",
        ),
        (
            {"wrench_class": WrenchClass.II_A, "deviation": "0.05"},
            Verdict.NO,
            f"it may be off by ±5 %, {_STANDARD} ±4 % (from memory)",
        ),
    ],
)
def test_a_figure_without_a_tolerance_is_set_with_a_wrench_as_true_as_the_standard_permits(
    facts: dict[str, Any], verdict: Verdict, reason: str
) -> None:
    # ISO 6789-1:2017, from memory: ±4 % above 10 N·m, ±6 % for bending beams (class I A).
    if facts.get("deviation"):
        facts = facts | {"deviation": Decimal(facts["deviation"])}
    found = answer(torque("50 N·m"), wrench("20", "100", **facts), socket())
    assert found.verdict is verdict
    assert misses(found) == ((f"W-20-100: {reason}",) if reason else ())


@pytest.mark.parametrize("known", [None, WrenchClass.I_A, WrenchClass.I_B])
@pytest.mark.parametrize(("figure", "verdict"), [("29", Verdict.UNKNOWN), ("30", Verdict.FINE)])
def test_of_a_scale_from_0_only_what_begins_at_a_fifth_is_proven(
    known: WrenchClass | None, figure: str, verdict: Verdict
) -> None:
    # ISO 6789, from memory: hand torque tools are specified from 20 % of their largest value.
    dial = wrench("0", "150", wrench_class=known, deviation=Decimal("0.04"))
    assert answer(torque(f"{figure} N·m"), dial, socket()).verdict is verdict
    stated = replace(dial, low=Decimal(10))
    assert answer(torque(f"{figure} N·m"), stated, socket()).verdict is Verdict.FINE


def test_why_a_small_figure_on_a_large_scale_is_not_proven() -> None:
    found = answer(torque("1 N·m"), wrench("0", "150", wrench_class=WrenchClass.I_A), socket())
    assert misses(found) == (
        "W-0-150: its scale begins at 0, and 1 N·m is below 30 N·m, a fifth of its largest value,"
        " from where ISO 6789 says how far it may be off (from memory); its certificate may state a"
        " smaller value",
    )


def test_a_wrench_whose_calibration_nobody_states_proves_no_torque() -> None:
    doubtful = wrench("20", "100", away=because(ToolReason.CALIBRATION_NOT_STATED))
    found = answer(torque("45 N·m"), doubtful, socket())
    assert (found.verdict, found.trains) == (Verdict.UNKNOWN, ())
    assert answer(torque("120 N·m"), doubtful, socket()).gap


def test_a_scale_in_pounds_is_compared_in_one_unit() -> None:
    inches = wrench("40", "200", "1/4", unit="lbf·in")  # 4.52 to 22.6 N·m
    end = socket(takes="1/4")
    assert not answer(torque("75 lbf·in"), inches, end).gap
    assert not answer(torque("200 lbf·in"), inches, end).gap
    assert not answer(torque("8 N·m"), inches, end).gap
    assert misses(answer(torque("17 lbf·ft"), inches, end)) == (
        "W-40-200: figure 23.05 N·m is off its scale (4.519 to 22.6 N·m)",
    )


# Tools that are away


def test_a_tool_that_is_away_is_not_used_and_says_why() -> None:
    lent = wrench("20", "100", away=LENT)
    expired = wrench(
        "10", "60", away=because(ToolReason.CALIBRATION_ENDED, ended=date(2026, 2, 28))
    )
    useless = wrench("40", "200", away=because(ToolReason.BROKEN))
    assert misses(answer(torque("24 N·m"), lent, expired, useless, socket())) == (
        "W-10-60: calibration ended 28 Feb 2026",
        "W-20-100: lent to the next bay until Fri 17 Apr 2026",
    )


def test_a_socket_a_gauge_a_bar_or_a_ratchet_that_is_away_says_why() -> None:
    lent = "lent to the next bay until Fri 17 Apr 2026"
    ratchet = tool("ratchet", "RATCHET", gives="3/8", away=LENT)
    bar = tool("bar", "BAR", gives="3/8", away=because(ToolReason.BROKEN))
    gauge = tool("angle gauge", "GAUGE", away=LENT)
    assert misses(answer(undo(), RATCHET, socket(away=LENT))) == (f"S-13: {lent}",)
    assert misses(answer(undo(), ratchet, bar, socket())) == (
        "BAR: broken",
        f"RATCHET: {lent}",
    )
    assert misses(answer(angle("60 N·m"), gauge, bar, socket())) == (
        f"GAUGE: {lent}",
        "BAR: broken",
    )


def test_an_empty_box_says_what_is_missing() -> None:
    assert misses(answer(undo(), socket())) == ("no ratchet or bar in the box",)
    assert misses(answer(torque("24 N·m"), socket())) == ("no torque wrench in the box",)
    assert misses(answer(angle("24 N·m"), socket())) == (
        "no angle gauge in the box",
        "no bar in the box",
    )


# Undoing and angles


def test_undoing_asks_for_twice_the_tightening_torque() -> None:
    # Common practice, no source. A 1/4 in square bears 62 N·m (ISO 3315, from memory).
    quarter = tool("ratchet", "R-14", gives="1/4")
    end = socket(takes="1/4")
    assert answer(undo("31 N·m"), quarter, end).trains
    assert misses(answer(undo("32 N·m"), quarter, end)) == (
        "S-13: a 1/4 in square is not rated for 64 N·m",
    )


def test_an_axle_nut_of_230_newton_metres_is_undone_with_a_half_inch_bar() -> None:
    # 460 N·m; a 1/2 in square of driving parts is tested to 512 N·m (ISO 3315, from memory).
    end = socket(takes="1/2")
    assert answer(undo("230 N·m"), BAR, end).trains
    assert answer(undo("257 N·m"), BAR, end).gap


def test_a_torque_that_nobody_can_reckon_is_never_borne_for_certain() -> None:
    unknown = Requirement(ToolTask.UNDO, THIRTEEN, load=undoing((), Bolt("M24x1.5")))
    found = answer(unknown, BAR, socket(takes="1/2"))
    assert (found.verdict, found.trains) == (Verdict.UNKNOWN, ())
    assert misses(found) == (
        "nobody states the torque that it takes, and no property class is stated to reckon it from",
    )


OILED = Bolt("M12", "8.8", ThreadState.OILED)


def test_a_torque_that_is_only_reckoned_stops_parts_that_may_be_too_weak() -> None:
    # ISO 898-1:2013: M12 8.8 breaks at 67.4 kN, 168 N·m with a friction of 0.16 (VDI 2230,
    # from memory); 336 N·m to undo. ISO 3315, from memory: 3/8 in 202 N·m, 1/2 in 512 N·m.
    reckoned = Requirement(ToolTask.UNDO, THIRTEEN, load=undoing((), OILED))
    assert answer(reckoned, BAR, socket(takes="1/2")).trains
    assert answer(reckoned, RATCHET, socket()).verdict is Verdict.UNKNOWN
    stated_too = Requirement(
        ToolTask.UNDO,
        THIRTEEN,
        load=undoing((parse_stage("110 N·m"), parse_stage("+90°")), OILED),
    )
    assert answer(stated_too, RATCHET, socket()).gap


def test_a_torque_wrench_undoes_nothing() -> None:
    assert answer(undo("10 N·m"), MIDDLE, socket()).gap


def test_an_angle_needs_a_bar_and_no_ratchet() -> None:
    assert misses(answer(angle("60 N·m"), GAUGE, RATCHET, socket())) == ("no bar in the box",)
    assert trains(answer(angle("60 N·m"), GAUGE, BAR, ADAPTORS[1], socket())) == [
        ["GAUGE", "BAR", "A-12-38", "S-13"]
    ]


def test_an_angle_gauge_goes_on_a_square_of_the_train() -> None:
    small = tool("angle gauge", "SMALL", takes="1/4", gives="1/4")
    unstated = tool("angle gauge", "UNSTATED")
    joined = (BAR, ADAPTORS[1], socket())
    assert misses(answer(angle("60 N·m"), small, *joined)) == (
        "SMALL: its 1/4 in square goes nowhere between BAR and S-13",
    )
    assert answer(angle("60 N·m"), small, *joined).gap
    found = answer(angle("60 N·m"), unstated, *joined)
    assert found.verdict is Verdict.UNKNOWN
    assert misses(found) == (
        "UNSTATED: its square is not stated: nobody can say that it goes between bar and head",
    )
    # On either side of an adaptor it fits.
    three_eighths = tool("angle gauge", "MIDDLE", takes="3/8", gives="3/8")
    for gauge in (GAUGE, three_eighths):
        assert trains(answer(angle("60 N·m"), gauge, *joined)) == [
            [gauge.code, "BAR", "A-12-38", "S-13"]
        ]


@pytest.mark.parametrize(
    ("figure", "length", "reason"),
    [
        ("20 N·m", 100_000, None),
        (
            "20.5 N·m",
            100_000,
            "KEY: it may take 41 N·m, and a hand does 40 N·m with 100 mm (400 N at its end:"
            " common practice, no source)",
        ),
        ("5 N·m", None, "KEY: its length is not stated: nobody can say what a hand does"),
    ],
)
def test_a_key_undoes_what_a_hand_does_with_its_length(
    figure: str, length: int | None, reason: str | None
) -> None:
    key = tool("key", "KEY", turns=THIRTEEN, length=length)
    found = answer(undo(figure), key)
    assert found.verdict is (Verdict.UNKNOWN if reason else Verdict.FINE)
    assert misses(found) == ((reason,) if reason else ())


def test_down_a_recess_goes_no_crowfoot_and_no_open_end() -> None:
    deep = {"recess": 60_000}
    extension = tool("extension", "E", takes="3/8", gives="3/8", length=75_000)
    crowfoot = tool("crowfoot", "CF", turns=THIRTEEN, takes="3/8", offset=30_000, length=10_000)
    found = answer(replace(torque("45 N·m"), **deep), MIDDLE, extension, crowfoot)
    assert found.gap
    assert misses(found) == ("CF: a crowfoot does not go 60 mm down a recess",)
    spanner = tool("key", "K", turns=THIRTEEN, length=300_000, offset=70_000)
    found = answer(replace(undo("20 N·m"), **deep), spanner)
    assert found.verdict is Verdict.UNKNOWN
    assert misses(found) == (
        "K: its points are not stated, and the head sits 60 mm down: a ring goes there, an open end"
        " does not",
    )
    ring = replace(spanner, points=12)
    assert answer(replace(undo("20 N·m"), **deep), ring).verdict is Verdict.FINE


# Squares, adaptors, extensions, depth


def test_an_adaptor_joins_two_squares_and_without_one_they_do_not_join() -> None:
    assert trains(answer(torque("8 N·m"), SMALL, ADAPTORS[0], socket())) == [
        ["W-5-25", "A-14-38", "S-13"]
    ]
    wrong_way = adaptor("3/8", "1/4")
    assert misses(answer(torque("8 N·m"), SMALL, wrong_way, socket())) == (
        "no adaptor from 1/4 to 3/8 in rated for 8 N·m",
    )


def test_two_adaptors_join_and_three_do_not() -> None:
    steps = [adaptor("1/4", "3/8"), adaptor("3/8", "1/2"), adaptor("1/2", "3/4")]
    assert trains(answer(torque("8 N·m"), SMALL, *steps, socket(takes="1/2"))) == [
        ["W-5-25", "A-14-38", "A-38-12", "S-13"]
    ]
    assert answer(torque("8 N·m"), SMALL, *steps, socket(takes="3/4")).gap


def test_a_train_is_no_stronger_than_its_smallest_square() -> None:
    # From memory: a torque wrench with 3/8 in goes up to 135 N·m (ISO 6789); driving parts are
    # tested to 62 N·m with 1/4 in, 202 N·m with 3/8 in (ISO 3315).
    assert not answer(torque("135 N·m"), wrench("40", "200"), socket()).gap
    assert misses(answer(torque("136 N·m"), wrench("40", "200"), socket())) == (
        "S-13: a 3/8 in square is not rated for 136 N·m",
    )
    big = wrench("60", "340", "1/2")
    assert answer(torque("202 N·m"), big, adaptor("1/2", "3/8"), socket()).trains
    assert misses(answer(torque("203 N·m"), big, adaptor("1/2", "3/8"), socket())) == (
        "no adaptor from 1/2 to 3/8 in rated for 203 N·m",
    )


def test_a_square_between_two_adaptors_holds_just_its_limit() -> None:
    # 1/4 in 62 N·m (ISO 3315, from memory).
    through_a_quarter = (adaptor("3/8", "1/4"), adaptor("1/4", "1/2"))
    assert answer(torque("62 N·m"), MIDDLE, *through_a_quarter, socket(takes="1/2")).trains
    assert answer(torque("62.1 N·m"), MIDDLE, *through_a_quarter, socket(takes="1/2")).gap


def test_a_recess_takes_the_shortest_extension_that_reaches() -> None:
    # 100 mm down, 10 mm for the hand (common practice, no source), a socket of 28 mm: 82 mm.
    deep = 100_000
    end = socket(length=28_000)
    short = tool("extension", "E-75", takes="3/8", gives="3/8", length=75_000)
    just = tool("extension", "E-82", takes="3/8", gives="3/8", length=82_000)
    long = tool("extension", "E-150", takes="3/8", gives="3/8", length=150_000)
    assert trains(answer(torque("45 N·m", recess=deep), MIDDLE, end, short, just, long))[0] == [
        "W-20-100", "E-82", "S-13",
    ]  # fmt: skip
    assert misses(answer(torque("45 N·m", recess=deep), MIDDLE, end, short)) == (
        "S-13: no extension of 82 mm on a 3/8 in square",
    )
    assert answer(undo(recess=deep), RATCHET, end, short).gap
    assert trains(answer(torque("45 N·m", recess=18_000), MIDDLE, end)) == [["W-20-100", "S-13"]]


def test_a_long_bit_needs_no_extension_and_an_unknown_length_counts_as_none() -> None:
    t45 = parse_head("six-lobe T45")
    long, unknown = (
        tool("bit", code, turns=t45, takes="3/8", length=length)
        for code, length in (("LONG", 120_000), ("UNKNOWN", None))
    )
    found = answer(torque("45 N·m", t45, recess=100_000), MIDDLE, long, unknown)
    assert trains(found) == [["W-20-100", "LONG"]]


def test_an_extension_of_another_square_at_its_end_does_not_join() -> None:
    # It takes 3/8 in and gives 1/4 in: the socket of 3/8 in does not go on.
    odd = tool("extension", "ODD", takes="3/8", gives="1/4", length=150_000)
    end = socket(length=28_000)
    assert answer(torque("24 N·m", recess=100_000), MIDDLE, end, odd).gap


def test_two_extensions_reach_where_one_does_not() -> None:
    # 160 mm down, 10 mm for the hand (common practice, no source), a socket of 28 mm: 142 mm.
    end = socket(length=28_000)
    one, other = (
        tool("extension", code, takes="3/8", gives="3/8", length=75_000) for code in ("E1", "E2")
    )
    deep = torque("45 N·m", recess=160_000)
    assert [train.codes for train in answer(deep, MIDDLE, end, one, other).trains] == [
        {"W-20-100", "E1", "E2", "S-13"}
    ]
    assert answer(deep, MIDDLE, end, one).gap


def test_an_extension_on_the_square_of_the_handle_reaches_before_the_adaptor() -> None:
    end = socket(length=28_000)
    half = tool("extension", "E-12", takes="1/2", gives="1/2", length=150_000)
    found = answer(undo(recess=100_000), BAR, adaptor("1/2", "3/8"), end, half)
    assert trains(found) == [["BAR", "E-12", "A-12-38", "S-13"]]


def test_a_socket_of_which_nobody_states_the_length_proves_no_reach() -> None:
    short = tool("extension", "E-75", takes="3/8", gives="3/8", length=75_000)
    found = answer(torque("24 N·m", recess=80_000), MIDDLE, socket(), short)
    assert found.verdict is Verdict.UNKNOWN
    assert misses(found) == ("S-13: its length is not stated, and the head sits 80 mm down",)
    long = tool("extension", "E-90", takes="3/8", gives="3/8", length=90_000)
    assert answer(torque("24 N·m", recess=80_000), MIDDLE, socket(), short, long).trains


def test_a_stud_that_stands_out_needs_a_deep_socket() -> None:
    stud = 20_000
    shallow, deep = socket(depth=14_000, code="SHALLOW"), socket(depth=45_000, code="DEEP")
    just, unknown = socket(depth=20_000, code="JUST"), socket(code="UNKNOWN")
    found = answer(torque("45 N·m", protrusion=stud), MIDDLE, shallow, deep, just, unknown)
    assert trains(found) == [["W-20-100", "DEEP"], ["W-20-100", "JUST"]]
    assert misses(answer(torque("45 N·m", protrusion=stud), MIDDLE, shallow)) == (
        "SHALLOW: 14 mm deep, the stud stands out 20 mm",
    )
    perhaps = answer(torque("45 N·m", protrusion=stud), MIDDLE, shallow, unknown)
    assert perhaps.verdict is Verdict.UNKNOWN
    assert misses(perhaps) == ("UNKNOWN: its depth is not stated, and the stud stands out",)
    assert not answer(torque("45 N·m"), MIDDLE, shallow).gap


# Crowfeet

UNION = parse_head("hexagon 19 mm")
CROWFOOT = tool("crowfoot", "CF-19", turns=UNION, takes="3/8", offset=35_000)
GRIPPED = wrench("20", "100", grip=280_000)


def test_the_crowfoot_trap_is_seen_and_the_right_angle_gets_out_of_it() -> None:
    # 22 N·m, 280 mm to the hand, 35 mm to the head: straight ahead 22 · 280/315 = 19.56 N·m.
    found = answer(torque("22 N·m", UNION, access=FastenerAccess.SIDE), GRIPPED, CROWFOOT)
    (train,) = found.trains
    assert [tool.code for tool in train.tools] == ["W-20-100", "CF-19"]
    assert (train.setting, note(train)) == (Decimal(22), "crowfoot at 90° to the wrench")


def test_the_crowfoot_trap_tells_the_setting_that_is_off_the_scale() -> None:
    # With a tolerance that the wrench does not meet, the right angle is refused as well, and the
    # reasons for both are told.
    found = answer(
        torque("22 N·m", UNION, access=FastenerAccess.SIDE, tolerance="0.5"), GRIPPED, CROWFOOT
    )
    assert misses(found) == (
        "W-20-100: setting 19.56 N·m is off its scale (20 to 100 N·m)",
        "W-20-100: ±4 % is ±0.88 N·m, more than the ±0.5 N·m allowed",
    )


def test_another_wrench_gets_out_of_the_crowfoot_trap_straight_ahead() -> None:
    other = wrench("5", "50", grip=280_000)
    found = answer(torque("22 N·m", UNION, access=FastenerAccess.SIDE), GRIPPED, other, CROWFOOT)
    straight = [
        (train.tools[0].code, round(train.setting or 0, 2), note(train))
        for train in found.trains
        if note(train) != "crowfoot at 90° to the wrench"
    ]
    assert straight == [("W-5-50", Decimal("19.56"), "crowfoot straight ahead")]


def test_a_crowfoot_whose_lengths_are_not_stated_is_used_at_a_right_angle_only() -> None:
    for gripless, foot in (
        (MIDDLE, CROWFOOT),
        (GRIPPED, tool("crowfoot", "CF", turns=UNION, takes="3/8")),
    ):
        found = answer(torque("45 N·m", UNION, access=FastenerAccess.SIDE), gripless, foot)
        assert [(train.setting, note(train)) for train in found.trains] == [
            (Decimal(45), "crowfoot at 90° to the wrench")
        ]


def test_where_only_the_side_is_free_a_socket_is_refused() -> None:
    end = socket(UNION, code="S-19")
    reason = (
        "S-19: something is in the way of a socket; from the side a crowfoot goes on, and a spanner"
        " to undo it"
    )
    assert misses(answer(torque("45 N·m", UNION, access=FastenerAccess.SIDE), MIDDLE, end)) == (
        reason,
    )
    assert misses(answer(undo("45 N·m", UNION, access=FastenerAccess.SIDE), RATCHET, end)) == (
        reason,
    )
    assert trains(
        answer(undo("45 N·m", UNION, access=FastenerAccess.SIDE), RATCHET, end, CROWFOOT)
    ) == [["RATCHET", "CF-19"]]


def test_a_plain_socket_is_preferred_to_a_crowfoot() -> None:
    found = answer(torque("45 N·m", UNION), GRIPPED, CROWFOOT, socket(UNION, code="S-19"))
    assert [train.tools[-1].code for train in found.trains] == ["S-19", "CF-19", "CF-19"]


def test_a_crowfoot_without_a_square_is_no_hand_tool() -> None:
    loose = tool("crowfoot", "CF", turns=UNION)
    assert misses(answer(undo(None, UNION), RATCHET, loose)) == ("CF has no square for RATCHET",)


def test_where_there_is_no_straight_way_a_universal_joint_undoes_and_never_tightens() -> None:
    """Common practice, no source."""
    head = Head("hexagon", "13 mm")
    socket = Tool(1, "S", "S", "socket", turns=head, takes="3/8")
    tools = [
        socket,
        Tool(2, "R", "R", "ratchet", gives="3/8"),
        Tool(3, "W", "W", "torque wrench", gives="3/8", low=Decimal(5), high=Decimal(50),
                 deviation=Decimal("0.04"), resolution=FINEST),
    ]  # fmt: skip
    bend = Tool(4, "U", "U", "universal joint", takes="3/8", gives="3/8")
    crowfoot = Tool(5, "C", "C", "crowfoot", turns=head, takes="3/8")

    def answer(task: ToolTask, *more: Tool) -> Answer:
        torque = Decimal(20) if task == ToolTask.TORQUE else None
        load = stated(Decimal(20))
        asked = Requirement(task, head, torque, load=load, access=FastenerAccess.ANGLED)
        return search(asked, prepare([*tools, *more]))

    assert misses(answer(ToolTask.UNDO)) == ("S: no universal joint on a 3/8 in square",)
    assert [t.code for t in answer(ToolTask.UNDO, bend).trains[0].tools] == ["R", "U", "S"]
    assert misses(answer(ToolTask.TORQUE, bend)) == (
        "S: no straight way to the head, and a universal joint is never for the final torque",
    )
    assert [t.code for t in answer(ToolTask.TORQUE, crowfoot).trains[0].tools] == ["W", "C"]


def test_a_tool_on_offer_takes_no_part_where_one_that_is_here_does_it() -> None:
    head = Head("hexagon", "13 mm")
    here = [
        Tool(1, "S", "S", "socket", turns=head, takes="3/8", length=28_000),
        Tool(2, "R", "R", "ratchet", gives="1/2"),
        Tool(3, "A", "A", "adaptor", takes="1/2", gives="3/8"),
        Tool(4, "E", "E", "extension", takes="3/8", gives="3/8", length=150_000),
    ]
    offered = [
        Tool(5, "A2", "A2", "adaptor", takes="1/2", gives="3/8", offered=True),
        Tool(6, "E2", "E2", "extension", takes="3/8", gives="3/8", length=100_000, offered=True),
    ]
    asked = Requirement(ToolTask.UNDO, head, load=stated(Decimal(20)), recess=70_000)
    assert [t.codes for t in search(asked, prepare([*here, *offered])).trains] == [
        {"R", "A", "E", "S"}
    ]
    without = [tool for tool in here if tool.code not in ("A", "E")]
    assert [t.codes for t in search(asked, prepare([*without, *offered])).trains] == [
        {"R", "A2", "E2", "S"}
    ]
