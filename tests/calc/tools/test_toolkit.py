"""A box prepared for searching: what is an end, what stands for its likes, what is away."""

from __future__ import annotations

from kitting.calc.tools.toolkit import Tool, likeness, prepare
from kitting.facts.heads import Head
from kitting.facts.tool_words import ToolSort

TEN, TWELVE_POINTS = Head("hexagon", "10 mm"), Head("twelve-point", "10 mm")


def test_an_end_is_of_a_sort_that_turns_and_has_a_head_that_it_turns() -> None:
    socket = Tool(1, "S10", "socket", ToolSort.SOCKET, turns=TEN, takes="3/8")
    unknown = Tool(2, "S?", "socket without a size", ToolSort.SOCKET, takes="3/8")
    handle = Tool(3, "R", "ratchet with a hexagon in its end", ToolSort.RATCHET, turns=TEN)
    box = prepare([socket, unknown, handle])
    assert box.ends == {str(TEN): (socket,), str(TWELVE_POINTS): (socket,)}
    assert box.handles == (handle,)


def test_of_tools_alike_the_first_by_code_stands_for_all() -> None:
    one = Tool(7, "B", "socket", ToolSort.SOCKET, turns=TEN, takes="3/8")
    other = Tool(9, "A", "another name", ToolSort.SOCKET, turns=TEN, takes="3/8")
    assert likeness(one) == likeness(other)
    assert prepare([one, other]).ends[str(TEN)] == (other,)
