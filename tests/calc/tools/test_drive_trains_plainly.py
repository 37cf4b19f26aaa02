"""Drive trains of small boxes, against a search that tries every row of tools one by one."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from typing import Any

from plain_trains import purchases, verdict

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.loads import Load, stated
from kitting.calc.tools.toolkit import Requirement, Tool, likeness, prepare
from kitting.facts.heads import parse_head
from kitting.facts.reasons import because
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.tool_words import ToolSort, ToolTask, WrenchClass, WrenchDirection
from kitting.facts.words import FastenerAccess

CASES = 1000
SQUARES = ("1/4", "3/8", "1/2")
SORTS = (
    "socket", "socket", "socket", "key", "crowfoot", "ratchet", "bar", "adaptor", "adaptor",
    "extension", "extension", "torque wrench", "torque wrench", "angle gauge", "universal joint",
)  # fmt: skip
ON_HEXAGON = tuple(map(parse_head, ("hexagon 19 mm", "hexagon 3/4 in", "twelve-point 19 mm")))
SIDES = {
    "socket": ("takes",), "crowfoot": ("takes",), "universal joint": ("takes", "gives"),
    "ratchet": ("gives",), "bar": ("gives",), "torque wrench": ("gives",),
}  # fmt: skip
IN_HEXAGON = parse_head("hexagon socket 8 mm")
LENGTHS = (None, 20_000, 50_000, 90_000, 400_000)
SCALES = (
    (None, None), (Decimal(2), Decimal(10)), (Decimal(5), Decimal(25)), (Decimal(20), Decimal(100)),
    (Decimal(40), Decimal(200)), (Decimal(60), Decimal(340)),
    (Decimal(0), Decimal(200)),
)  # fmt: skip
LOADS = (
    stated(Decimal(40)), stated(Decimal(150)), stated(Decimal(460)), Load(),
    Load(Decimal(20), Decimal(150)), Load(Decimal(100), Decimal(400)),
)  # fmt: skip
UNCERTIFIED, BROKEN = because(ToolReason.CALIBRATION_NOT_STATED), because(ToolReason.BROKEN)


def gauge_squares(luck: random.Random) -> dict[str, Any]:
    return {"takes": luck.choice((None, *SQUARES)), "gives": luck.choice((None, None, "1/2"))}


def tool(luck: random.Random, number: int) -> Tool:
    sort = ToolSort(luck.choice(SORTS))
    pick = luck.choice
    facts: dict[str, Any] = {"offered": luck.random() < 0.4}
    if sort in ("socket", "key", "crowfoot"):
        facts |= {"turns": pick((*ON_HEXAGON, ON_HEXAGON[0])), "length": pick(LENGTHS)}
        facts |= {"points": pick((None, 6, 12)), "offset": pick((None, 15_000, 60_000))}
    if sort == "key" and luck.random() < 0.5:
        facts["turns"] = IN_HEXAGON
    if sort == "socket":
        facts["depth"] = pick((None, 14_000, 45_000))
    facts |= {side: pick(SQUARES) for side in SIDES.get(sort, ())}
    if sort == "adaptor":
        facts["takes"], facts["gives"] = luck.sample(SQUARES, 2)
    if sort == "extension":
        facts["takes"] = facts["gives"] = pick(SQUARES)
        facts["length"] = pick(LENGTHS)
    if sort == "torque wrench":
        facts["low"], facts["high"] = pick(SCALES)
        facts |= {"grip": pick((None, 280_000)), "away": pick((None, None, UNCERTIFIED))}
        facts["resolution"] = pick((None, *map(Decimal, ("0.5", "1", "1", "2", "20"))))
        facts["direction"] = pick((None, *WrenchDirection))
        facts["wrench_class"] = pick((None, WrenchClass.I_A, WrenchClass.II_A))
        facts["deviation"] = pick((None, Decimal("0.03"), Decimal("0.05")))
    facts |= gauge_squares(luck) if sort == "angle gauge" else {}
    if luck.random() < 0.05:
        facts["away"] = BROKEN
    return Tool(number, f"T{number}", sort.value, sort, **facts)


def box(luck: random.Random) -> list[Tool]:
    """Up to fourteen tools; of those that are alike one, as offers are read, but two extensions."""
    found, seen = list[Tool](), Counter[Tool]()
    for number in range(luck.randint(7, 14)):
        one = tool(luck, number)
        like = replace(likeness(one), offered=False)
        if seen[like] < (2 if one.sort == "extension" else 1):
            seen[like] += 1
            found.append(one)
    return found


def requirement(luck: random.Random) -> Requirement:
    pick = luck.choice
    task = pick([ToolTask.UNDO, ToolTask.UNDO, ToolTask.TORQUE, ToolTask.TORQUE, ToolTask.ANGLE])
    torque = Decimal(pick((4, 22, 45, 150, 210)))
    return Requirement(
        task=task,
        head=pick((*ON_HEXAGON, ON_HEXAGON[0], IN_HEXAGON)),
        torque=torque if task == ToolTask.TORQUE else None,
        tolerance=pick((None, torque * Decimal("0.05"), torque * Decimal("0.07"))),
        load=pick(LOADS),
        access=pick((FastenerAccess.OPEN, FastenerAccess.OPEN, *FastenerAccess)),
        recess=pick((0, 0, 40_000, 90_000)),
        protrusion=pick((0, 0, 20_000)),
        left_hand=pick((False, False, True, None)),
    )


def test_a_thousand_small_boxes_do_what_trying_every_row_of_tools_says() -> None:
    luck = random.Random(20260415)
    told = Counter[str]()
    for case in range(CASES):
        tools, wanted = box(luck), requirement(luck)
        found = search(wanted, prepare(tools))
        assert found.verdict is verdict(wanted, tools), (case, wanted, tools, found)
        ways = {frozenset(t.code for t in train.tools if t.offered) for train in found.trains}
        least = {way for way in ways if not any(other < way for other in ways)}
        assert least == purchases(wanted, tools), (case, wanted, tools, found)
        told[found.verdict] += 1
    assert min(told.values()) > CASES // 30, told
