"""What a plan asks the toolbox for: heads, figures, squares, gauges, general tools."""

from __future__ import annotations

import pytest

from kitting.calc.tools.loads import Bolt
from kitting.calc.tools.requirements import Ask, Fastener, asks
from kitting.facts.heads import parse_head
from kitting.facts.stages import parse_stage
from kitting.facts.tool_words import ToolAskSort
from kitting.facts.words import ThreadState

TEN = parse_head("hexagon 10 mm")


def stages(*texts: str) -> tuple[object, ...]:
    return tuple(map(parse_stage, texts))


@pytest.mark.parametrize(
    ("texts", "bolt", "drive"),
    [
        # Torque wrenches (ISO 6789): 30, 135 and 340 N·m. Driving parts (ISO 3315): 62, 202 and
        # 512 N·m; undoing takes twice the torque (common practice, no source). From memory.
        (("30 N·m",), Bolt(), "1/4 in or larger"),
        (("31 N·m",), Bolt(), "3/8 in or larger"),
        (("101 N·m",), Bolt(), "3/8 in or larger"),
        (("102 N·m",), Bolt(), "1/2 in or larger"),
        (("5000 N·m",), Bolt(), "1 in or larger"),
        # 219 N·m strains M12 10.9 to its breaking load (friction 0.16), 438 N·m undoes it.
        (("20 N·m", "+90°"), Bolt("M12", "10.9", ThreadState.OILED), "1/2 in or larger"),
        (("20 N·m", "+90°"), Bolt(), "1/4 in or larger, as far as it is known"),
    ],
)
def test_the_square_is_the_smallest_that_bears_undoing_and_every_stage(
    texts: tuple[str, ...], bolt: Bolt, drive: str
) -> None:
    found = asks([Fastener("cover", TEN, stages=stages(*texts), bolt=bolt, old=bolt)], [])
    assert [one.tool for one in found if one.sort == ToolAskSort.DRIVE] == [f"square drive {drive}"]


def test_all_that_a_position_asks_for_is_listed_in_order() -> None:
    found = asks([Fastener("cover", TEN, stages=stages("20 N·m", "60 N·m", "+90°"))], [])
    assert found == [
        Ask(ToolAskSort.TURN, "socket 10 mm", ("cover",)),
        Ask(ToolAskSort.DRIVE, "square drive 3/8 in or larger, as far as it is known", ("cover",)),
        Ask(ToolAskSort.TORQUE, "20 N·m", ("cover",)),
        Ask(ToolAskSort.TORQUE, "60 N·m", ("cover",)),
        Ask(ToolAskSort.ANGLE, "angle gauge", ("cover",)),
    ]


def test_what_is_in_the_way_of_a_socket_asks_for_a_crowfoot() -> None:
    (ask,) = asks([Fastener("line", TEN, side=True)], [])
    assert ask == Ask(ToolAskSort.TURN, "crowfoot 10 mm", ("line",))


def test_the_same_is_asked_once_and_general_tools_come_last() -> None:
    found = asks([Fastener("a", TEN), Fastener("b", TEN), Fastener("a", TEN)], [("puller", "a")])
    assert found == [
        Ask(ToolAskSort.TURN, "socket 10 mm", ("a", "b")),
        Ask(ToolAskSort.GENERAL, "puller", ("a",)),
    ]


def test_sockets_come_by_their_size_and_not_by_their_letters() -> None:
    eight, thirteen = parse_head("hexagon 8 mm"), parse_head("hexagon 13 mm")
    found = asks([Fastener("a", thirteen), Fastener("b", eight), Fastener("c", TEN)], [])
    assert [ask.tool for ask in found] == ["socket 8 mm", "socket 10 mm", "socket 13 mm"]
