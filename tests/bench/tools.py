"""Benchmark of the toolbox, run by hand: `python tests/bench/tools.py`.

Prints seconds (median of three) and ratios against importing what any command line of this kind
imports, measured in the same run. Everything is made up from a fixed seed.
"""

from __future__ import annotations

import random
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from decimal import Decimal

from kitting.calc.drivetrain import check
from kitting.calc.tool_buying import ToolOffer, cheapest
from kitting.calc.toolkit import Requirement, Tool, prepare
from kitting.facts.heads import Head

RUNS = 3


def median(work: Callable[[], object]) -> float:
    """Median seconds of some runs."""
    seconds = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return statistics.median(seconds)


def toolbox(count: int, rng: random.Random) -> list[Tool]:
    """Sockets, handles, adaptors, extensions and wrenches, `count` in all."""
    squares = ("1/4", "3/8", "1/2")
    tools = [
        Tool(n, f"W{n}", "wrench", "torque wrench", gives=rng.choice(squares), grip=300_000,
             low=Decimal(low), high=Decimal(low * 5))
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
    for n in range(count):
        head = Head("hexagon", f"{rng.randint(8, 24)} mm")
        torque = Decimal(rng.randint(4, 180))
        recess = rng.choice((0, 0, 60_000))
        asked += [
            Requirement(n, f"p{n}", task, head, torque, recess=recess)
            for task in ("undo", "torque")
        ]
    return asked


def main() -> None:
    """Print the table."""
    rng = random.Random(1)
    bare = median(
        lambda: subprocess.run([sys.executable, "-c", "import typer, rich, sqlalchemy"], check=True)
    )
    tools, asked = toolbox(500, rng), plan(60, rng)
    checking = median(lambda: check(asked, prepare(tools)))
    offers = [
        ToolOffer(f"o{n}", rng.randint(500, 9_000), frozenset(f"t{rng.randrange(120)}" for _ in range(rng.randint(1, 6))))
        for n in range(300)
    ]  # fmt: skip
    gaps = {
        f"g{n}": [
            frozenset(f"t{rng.randrange(120)}" for _ in range(rng.randint(1, 3))) for _ in range(6)
        ]
        for n in range(60)
    }
    buying = median(lambda: cheapest(offers, gaps))
    print(f"{'what':58} {'seconds':>8} {'× bare imports':>15}")
    for what, seconds in (
        ("import typer, rich, sqlalchemy in a new process", bare),
        ("check of 60 fasteners (120 requirements) against 500 tools", checking),
        ("purchase among 300 offers for 60 requirements, proven", buying),
    ):
        print(f"{what:58} {seconds:8.3f} {seconds / bare:15.2f}")


if __name__ == "__main__":
    main()
