"""The check of a toolbox against bare imports: nobody else answers that question."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from decimal import Decimal

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.loads import UNDOING, stated
from kitting.calc.tools.toolkit import Box, Requirement, Tool, prepare
from kitting.facts.heads import Head
from kitting.facts.tool_words import ToolTask

from .harness import Name, Row, by_turns
from .setting import Setting
from .startup import BARE, bare


def toolbox(count: int, rng: random.Random) -> list[Tool]:
    """Sockets, handles, adaptors, extensions and wrenches, `count` in all."""
    squares = ("1/4", "3/8", "1/2")
    tools = [
        Tool(n, f"W{n}", "wrench", "torque wrench", gives=rng.choice(squares), grip=300_000,
             low=Decimal(low), high=Decimal(low * 5), deviation=Decimal("0.04"),
             resolution=Decimal("0.1"))
        for n, low in enumerate((1, 2, 4, 5, 8, 10, 20, 25, 40, 60))
    ]  # fmt: skip
    for n in range(len(tools), count):
        sort = rng.choice(("socket", "socket", "socket", "adaptor", "extension", "ratchet", "bar"))
        takes, gives = rng.sample(squares, 2)
        if sort == "socket":
            head = Head("hexagon", f"{rng.randint(8, 24)} mm")
            tools.append(Tool(n, f"T{n}", sort, sort, turns=head, takes=takes, length=28_000))
        elif sort == "extension":
            length = rng.randint(50, 250) * 1000
            tools.append(Tool(n, f"T{n}", sort, sort, takes=takes, gives=takes, length=length))
        elif sort == "adaptor":
            tools.append(Tool(n, f"T{n}", sort, sort, takes=takes, gives=gives))
        else:
            tools.append(Tool(n, f"T{n}", sort, sort, gives=gives))
    return tools


def plan(count: int, rng: random.Random) -> list[Requirement]:
    """Undoing and tightening of `count` fasteners."""
    asked = []
    for _ in range(count):
        head = Head("hexagon", f"{rng.randint(8, 24)} mm")
        torque = Decimal(rng.randint(4, 180))
        recess = rng.choice((0, 0, 60_000))
        asked += [
            Requirement(ToolTask.UNDO, head, load=stated(UNDOING * torque), recess=recess),
            Requirement(ToolTask.TORQUE, head, torque, recess=recess),
        ]
    return asked


def _asked(setting: Setting) -> tuple[int, int, Name]:
    fasteners, owned = (5, 40) if setting.quick else (60, 500)
    return fasteners, owned, ("toolbox check", f"{fasteners} fasteners, {owned} tools", BARE)


def names(setting: Setting) -> Iterator[Name]:
    """What the rows are called."""
    yield _asked(setting)[-1]


def check(asked: Sequence[Requirement], box: Box) -> None:
    """Search a train for every requirement."""
    for requirement in asked:
        search(requirement, box)


def run(setting: Setting) -> Iterator[Row]:
    """Fasteners against tools."""
    rng = random.Random(1)
    fasteners, owned, name = _asked(setting)
    tools, asked = toolbox(owned, rng), plan(fasteners, rng)
    pairs = by_turns(lambda: check(asked, prepare(tools)), bare(setting.folder), setting.runs)
    yield pairs.row(*name)
