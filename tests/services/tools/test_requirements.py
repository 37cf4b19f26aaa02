"""What fasteners ask of the tools: what is the same is asked once, what differs is not merged."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from kitting.calc.planning.needs import Reach
from kitting.facts.heads import parse_head
from kitting.facts.reasons import because
from kitting.facts.stages import parse_stage
from kitting.facts.tool_reasons import LoadReason, ToolReason
from kitting.facts.tool_words import ToolTask
from kitting.facts.words import Rule, ThreadState
from kitting.services.tools.fasteners import Fastener, FastenerKind, Undone
from kitting.services.tools.requirements import asked_of, requirements
from kitting.wording.reasons import say

BOLT = Fastener(
    fit=1,
    joint_key=1,
    joint="cover",
    system="engine",
    position="bolts 1 to 4",
    item="BOLT",
    name="bolt",
    kind=FastenerKind("bolt", threaded=True, general_torque=True),
    rule=Rule.KEEP,
    count=4,
    jobs=("J1",),
    head=parse_head("hexagon 10 mm"),
    undone=Undone(parse_head("hexagon 10 mm"), "M6", "8.8"),
    thread="M6",
    length=None,
    property_class="8.8",
    reach=Reach(),
    tightening=True,
    thread_state=ThreadState.DRY,
    stages=(parse_stage("4 ± 0.3 N·m"),),
    pattern=None,
    source="test",
)
HEADLESS = replace(BOLT.undone, head=None)
OTHER = replace(BOLT, fit=2, joint="sump", position="plug", jobs=("J2",))


def asked(*fasteners: Fastener) -> list[tuple[ToolTask, Decimal | None, tuple[str, ...]]]:
    """Task, torque that is borne for certain in N·m, and places of every requirement."""
    return [
        (one.requirement.task, one.requirement.bears.most, one.places)
        for one in requirements(fasteners)
    ]


def test_the_same_is_asked_once_with_all_places_and_jobs() -> None:
    both = ("cover: bolts 1 to 4", "sump: plug")
    assert asked(BOLT, OTHER) == [
        (ToolTask.UNDO, Decimal("8.6"), both),
        (ToolTask.TORQUE, Decimal(4), both),
    ]
    assert {one.jobs for one in requirements([OTHER, BOLT])} == {("J1", "J2")}


@pytest.mark.parametrize(
    "change",
    [
        {"stages": (parse_stage("4 ± 0.1 N·m"),)},
        {"stages": (parse_stage("4 N·m"),)},
        {"stages": (parse_stage("4.1 ± 0.3 N·m"),)},
        {"head": parse_head("hexagon 11 mm")},
        {"thread": "M6 LH"},
        {"reach": Reach(access="side")},
        {"reach": Reach(access="angled")},
        {"reach": Reach(recess=1)},
        {"reach": Reach(protrusion=1)},
    ],
    ids=str,
)
def test_what_differs_in_anything_is_asked_for_itself(change: dict[str, Any]) -> None:
    torques = [
        one
        for one in requirements([BOLT, replace(OTHER, **change)])
        if one.requirement.task == ToolTask.TORQUE
    ]
    assert [one.places for one in torques] == [("cover: bolts 1 to 4",), ("sump: plug",)]


def test_the_same_torque_in_two_units_is_one_requirement_as_first_published() -> None:
    # NIST SP 811 (2008), appendix B: kilogram-force metre = 9.806 65 N·m (exact).
    metre, centimetre = (
        replace(BOLT, position=text, stages=(parse_stage(text),))
        for text in ("2.5 kgf·m", "250 kgf·cm")
    )
    _, torque = requirements([metre, centimetre])
    assert torque.places == ("cover: 2.5 kgf·m", "cover: 250 kgf·cm")
    assert str(torque.view.torque) == "2.5 kgf·m"


def test_fasteners_without_a_stated_head_are_never_taken_for_the_same() -> None:
    headless = [replace(one, head=None, undone=HEADLESS) for one in (BOLT, OTHER)]
    found = requirements(headless)
    assert [one.places for one in found] == [
        ("cover: bolts 1 to 4",), ("cover: bolts 1 to 4",), ("sump: plug",), ("sump: plug",),
    ]  # fmt: skip
    assert {one.unknown for one in found} == {because(ToolReason.NO_HEAD)}


def test_a_part_without_head_or_thread_asks_for_nothing() -> None:
    clip = replace(
        BOLT, head=None, undone=HEADLESS, kind=replace(BOLT.kind, threaded=False), stages=()
    )
    assert requirements([clip]) == []


def loads(fastener: Fastener) -> list[tuple[ToolTask, Decimal, Decimal | None]]:
    """Task, what is certain, and what the parts must bear for certain, of every requirement."""
    found = [one.requirement for one in asked_of(fastener)]
    return [(one.task, one.bears.least, one.bears.most) for one in found]


def test_undoing_and_an_angle_are_reckoned_up_to_what_strains_the_bolt() -> None:
    """ISO 898-1:2013: M12 has 84.3 mm², class 10.9 breaks at 1040 MPa: 87.7 kN.

    Friction 0.24 (VDI 2230 part 1, table A5, from memory), d2 10.863, mean bearing 15.07 mm: a lever
    of 0.16·1.75 + 0.24·(0.58·10.863 + 15.07/2) = 3.60 mm, 315 N·m; twice that to undo (common
    practice, no source).
    """
    stages = tuple(map(parse_stage, ("20 N·m", "60 N·m", "+270°", "80 N·m")))
    undone = replace(BOLT.undone, thread="M12", property_class="10.9")
    bolt = replace(BOLT, stages=stages, thread="M12", property_class="10.9", undone=undone)
    assert loads(bolt) == [
        (ToolTask.UNDO, Decimal(160), Decimal(630)),
        (ToolTask.TORQUE, Decimal(20), Decimal(20)),
        (ToolTask.TORQUE, Decimal(60), Decimal(60)),
        (ToolTask.ANGLE, Decimal(60), Decimal(315)),
        (ToolTask.TORQUE, Decimal(80), Decimal(80)),
    ]
    basis = asked_of(bolt).__next__().requirement.load.basis
    assert basis is not None
    assert say(basis) == (
        "reckoned with 630 N·m at most to undo: twice what strains M12 10.9 to its breaking load,"
        " friction 0.24 at most (common practice, no source)"
    )


def test_what_is_undone_without_a_figure_is_reckoned_from_thread_and_class_or_not_at_all() -> None:
    """ISO 898-1:2013: M8 has 36.6 mm², class 8.8 breaks at 800 MPa: 29.3 kN.

    Friction 0.24, d2 7.188, mean bearing 10.3 mm (see above): 71.4 N·m.
    """
    bare = replace(BOLT, stages=())
    for thread, grade, most, why in (
        ("M8", "8.8", Decimal("142.8"), None),
        ("M8", "A2-70", None, LoadReason.FRICTION_NOT_KNOWN),
        ("M24x1.5", None, None, LoadReason.CLASS_NOT_STATED),
        ("G 1/4", "8.8", None, LoadReason.THREAD_NOT_RECKONED),
        (None, "8.8", None, LoadReason.THREAD_NOT_STATED),
    ):
        undone = replace(BOLT.undone, thread=thread, property_class=grade)
        load = next(asked_of(replace(bare, undone=undone))).requirement.load
        assert (load.least, load.most) == (0, most)
        assert load.basis is not None
        assert load.basis.code == (why or LoadReason.UNDOING_ESTIMATED)


def test_an_angle_whose_bolt_is_not_described_is_not_reckoned() -> None:
    stages = (parse_stage("60 N·m"), parse_stage("+90°"))
    bolt = replace(BOLT, stages=stages, property_class=None)
    assert loads(bolt)[-1] == (ToolTask.ANGLE, Decimal(60), None)


def test_no_figure_is_unknown_even_where_the_head_is_not_stated_either() -> None:
    undo, tighten = asked_of(replace(BOLT, stages=(), head=None, undone=HEADLESS))
    assert undo.unknown == because(ToolReason.NO_HEAD)
    assert (tighten.unknown, tighten.requirement.torque) == (because(ToolReason.NO_FIGURE), None)


def test_turning_back_takes_what_undoing_does() -> None:
    """Common practice, no source: breaking loose takes up to twice the tightening torque."""
    stages = tuple(map(parse_stage, ("50 N·m", "-90°", "20 N·m")))
    assert loads(replace(BOLT, stages=stages)) == [
        (ToolTask.UNDO, Decimal(100), Decimal(100)),
        (ToolTask.TORQUE, Decimal(50), Decimal(50)),
        (ToolTask.ANGLE, Decimal(100), Decimal(100)),
        (ToolTask.TORQUE, Decimal(20), Decimal(20)),
    ]
