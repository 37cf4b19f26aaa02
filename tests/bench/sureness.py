"""Benchmark of spares and levels, run by hand: `python tests/bench/sureness.py`.

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

from kitting.calc.spares import Line, cheapest
from kitting.calc.stock_levels import ItemDemand, levels_for_target


def median(work: Callable[[], object], runs: int = 3) -> float:
    """Median seconds of some runs."""
    seconds = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return statistics.median(seconds)


def main() -> None:
    """Print the table."""
    rng = random.Random(1)
    bare = median(
        lambda: subprocess.run([sys.executable, "-c", "import typer, rich, sqlalchemy"], check=True)
    )
    lines = [
        Line(n, rng.randint(1, 6), rng.uniform(0.01, 0.3), cost=rng.randint(20, 4000), weight=10.0)
        for n in range(500)
    ]
    branches = [
        [
            ItemDemand(f"i{n}", rng.choice((0.05, 0.1, 0.3, 1.2, 4.0)), rng.randint(10, 9000))
            for n in range(20_000)
        ]
        for _ in range(50)
    ]
    spares = median(lambda: cheapest(lines, 0.99))
    levels = median(lambda: [levels_for_target(items, 0.95) for items in branches], runs=1)
    print(f"{'what':58} {'seconds':>8} {'× bare imports':>15}")
    for what, seconds in (
        ("import typer, rich, sqlalchemy in a new process", bare),
        ("500 inspect lines, cheapest spares for 99 %, exact", spares),
        ("levels of 20,000 items in 50 branches for 95 %", levels),
    ):
        print(f"{what:58} {seconds:8.3f} {seconds / bare:15.2f}")


if __name__ == "__main__":
    main()
