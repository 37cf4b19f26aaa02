"""How the benchmarks measure: by turns, medians of pairs, peak memory of a process of its own."""

from __future__ import annotations

import gc
import multiprocessing
import os
import resource
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from multiprocessing.context import BaseContext
from pathlib import Path

Work = Callable[[], object]
# What is measured, at what size, against what: no two rows have the same.
Name = tuple[str, str, str]

SMALLER = "itself, smaller"


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds by the clock, and of processors (this process and its ended children)."""

    wall: float
    cpu: float


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the table.

    `ours` and `other` are already in words; `ratio` is the median of the pairs, `spread` the least
    and the greatest of them, `cpu` the median ratio of processor time. A row without a goal is
    there to be known. `skipped` says why there is nothing.
    """

    what: str
    size: str
    against: str
    ours: str = ""
    other: str = ""
    ratio: float | None = None
    spread: tuple[float, float] | None = None
    cpu: float | None = None
    goal: float | None = None
    skipped: str | None = None

    @property
    def name(self) -> Name:
        """What it is called."""
        return self.what, self.size, self.against

    @property
    def verdict(self) -> str:
        """Whether the goal is met."""
        if self.skipped is not None:
            return f"skipped: {self.skipped}"
        if self.goal is None or self.ratio is None:
            return ""
        return "met" if self.ratio <= self.goal else "MISSED"


@dataclass(frozen=True, slots=True)
class Pairs:
    """What was measured by turns."""

    ours: tuple[Timing, ...]
    other: tuple[Timing, ...]

    @property
    def seconds(self) -> tuple[float, float]:
        """The median of each."""
        return (
            statistics.median(t.wall for t in self.ours),
            statistics.median(t.wall for t in self.other),
        )

    def row(self, what: str, size: str, against: str, goal: float | None = None) -> Row:
        """As a line of the table."""
        ratios = [a.wall / b.wall for a, b in zip(self.ours, self.other, strict=True)]
        # Processor time is counted in hundredths of a second where children are involved.
        cpu = [
            a.cpu / b.cpu for a, b in zip(self.ours, self.other, strict=True) if b.cpu > 0 < a.cpu
        ]
        ours, other = self.seconds
        return Row(
            what,
            size,
            against,
            seconds(ours),
            seconds(other),
            statistics.median(ratios),
            (min(ratios), max(ratios)),
            statistics.median(cpu) if cpu else None,
            goal,
        )


def seconds(value: float) -> str:
    """A duration in words, three digits."""
    for limit, unit, factor in ((1e-3, "µs", 1e6), (1.0, "ms", 1e3)):
        if value < limit:
            return f"{value * factor:.3g} {unit}"
    return f"{value:.3g} s"


def timed(work: Work) -> Timing:
    """One run, after the garbage of others is out of the way."""
    gc.collect()
    start, used = time.perf_counter(), _processor()
    work()
    return Timing(time.perf_counter() - start, _processor() - used)


def _processor() -> float:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def by_turns(ours: Work, other: Work, runs: int, warm: bool = True) -> Pairs:
    """Run both by turns, who begins changing each time; one run of each before is not counted."""
    if warm:
        ours()
        other()
    mine: list[Timing] = []
    theirs: list[Timing] = []
    for number in range(runs):
        if number % 2:
            theirs.append(timed(other))
            mine.append(timed(ours))
        else:
            mine.append(timed(ours))
            theirs.append(timed(other))
    return Pairs(tuple(mine), tuple(theirs))


def growth(what: str, size: str, small: float, large: float, goal: float | None) -> Row:
    """How much longer the same takes at the larger size."""
    return Row(what, size, SMALLER, seconds(large), seconds(small), large / small, goal=goal)


def figure(what: str, size: str, against: str, took: Timing, megabytes: float | None = None) -> Row:
    """A line with nothing to compare: seconds and, if known, the greatest memory."""
    memory = "" if megabytes is None else f", {megabytes:.0f} MB"
    return Row(what, size, against, f"{seconds(took.wall)}{memory}", f"cpu {seconds(took.cpu)}")


@dataclass(frozen=True, slots=True)
class Measured:
    """What a process of its own used: time of the work, and megabytes at most, imports included."""

    took: Timing
    megabytes: float


def fresh() -> BaseContext:
    """Where processes come from that have nothing imported yet."""
    return multiprocessing.get_context("spawn")


def apart(work: Callable[..., object], *given: object) -> Measured:
    """Run a function in a fresh process and tell what it used.

    The peak of a process is asked of the kernel where it can tell it for this program alone; the
    portable figure would count what the parent had at the fork.
    """
    context = fresh()
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_apart, args=(there, work, given))
    process.start()
    there.close()
    try:
        found = here.recv()
    except EOFError:
        found = RuntimeError("the process ended without an answer")
    process.join()
    if isinstance(found, Exception):
        raise found
    assert isinstance(found, Measured)
    return found


def _apart(answer: object, work: Callable[..., object], given: Sequence[object]) -> None:
    try:
        took = timed(lambda: work(*given))
        answer.send(Measured(took, peak_megabytes()))  # type: ignore[attr-defined]
    except Exception as error:
        answer.send(RuntimeError(f"{type(error).__name__}: {error}"))  # type: ignore[attr-defined]


def peak_megabytes() -> float:
    """The most memory that this program has had so far."""
    status = Path("/proc/self/status")
    if status.exists():
        for line in status.read_text(encoding="ascii", errors="replace").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024) if sys.platform == "darwin" else peak / 1024


def machine() -> str:
    """The processor and how many of them."""
    name = "unknown processor"
    try:
        for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                name = line.partition(":")[2].strip()
                break
    except OSError:
        pass
    return f"{name}, {os.cpu_count()} cores"
