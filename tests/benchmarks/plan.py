"""A plan of two jobs on one car, against scripts that make the same list of items."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any

from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.store import make_engine, reading

from .bulk import connect, connected
from .frames import Frames, read_frames, with_frames, with_graph
from .hand import Answer, least, same
from .harness import SMALLER, Name, Row, by_turns, growth
from .setting import Setting, lacks
from .synthetic import CARS, ON, Shape, jobs_of, registration

GOAL, FLAT = 2.0, 1.5
ONE_AFTER_ANOTHER = 3  # cars of one run, each of another model
Planner = Callable[[str, list[str]], Answer]
SAME, LEAST = "SQL by hand, the same rows", "SQL by hand, only what the list needs"
GRAPH = "networkx, all units as one graph"
IN_MEMORY, READ_FOR_IT = "pandas, tables already in memory", "pandas, tables read for it"


def ours(engine: Any, car: str, jobs: list[str]) -> Answer:
    """Our plan in a fresh session, as a command makes it, reduced to what the others tell."""
    with reading(engine) as session:
        view = plan(session, PlanRequest(car, tuple(jobs), ON))
    lines: dict[tuple[str, str], int] = {}
    for line in view.lines:
        key = (line.item, line.rule)
        lines[key] = lines.get(key, 0) + line.quantity
    return Answer(lines, {use.item: use.quantity for use in view.uses}, view.hours.total)


def _sizes(setting: Setting) -> tuple[int, ...]:
    return setting.sizes(1_000, 1_000, 100_000, large=1_000_000)


def _size(engine: str, fits: int) -> str:
    return f"{engine}, {fits:,} fits"


def _growth(engine: str, sizes: Sequence[int]) -> tuple[str, str]:
    return "plan, growth", f"{engine}, {min(sizes):,} to {max(sizes):,} fits"


def names(setting: Setting) -> Iterator[Name]:
    """What the rows are called."""
    for engine in setting.engines:
        sizes = _sizes(setting)
        for fits in sizes:
            yield "plan", _size(engine, fits), SAME
            yield "plan", _size(engine, fits), LEAST
            yield "plan, first of a process", _size(engine, fits), SAME
            for against in (GRAPH, IN_MEMORY, READ_FOR_IT):
                yield "plan", _size(engine, fits), against
        if len(sizes) > 1:
            yield *_growth(engine, sizes), SMALLER


def run(setting: Setting) -> Iterator[Row]:
    """Every engine and size: by hand, with data frames, with a graph library; then growth."""
    for engine in setting.engines:
        took: dict[int, float] = {}
        for fits in _sizes(setting):
            for row, seconds in _at(setting, engine, fits):
                took.setdefault(fits, seconds)
                yield row
        small, large = min(took), max(took)
        if small < large:
            yield growth(*_growth(engine, tuple(took)), took[small], took[large], FLAT)


def _cars(fits: int) -> list[int]:
    units = Shape(fits).units
    return [n * units // ONE_AFTER_ANOTHER * CARS + 1 for n in range(ONE_AFTER_ANOTHER)]


def _at(setting: Setting, name: str, fits: int) -> Iterator[tuple[Row, float]]:
    url = setting.garage(name, fits)
    engine, size = make_engine(url), _size(name, fits)
    cars = [(registration(car), jobs_of(car)) for car in _cars(fits)]
    expected = [ours(engine, *car) for car in cars]

    def all_of(planner: Planner) -> Callable[[], object]:
        def work() -> None:
            if [planner(*car) for car in cars] != expected:
                raise AssertionError(f"{size}: the answers differ")

        return work

    mine = all_of(lambda *car: ours(engine, *car))
    with connected(url) as connection:

        def by(peer: Callable[..., Answer]) -> Callable[[], object]:
            def planner(*car: Any) -> Answer:
                answer = peer(connection, *car, ON)
                connection.rollback()  # a fresh look each time, as a fresh session has
                return answer

            return all_of(planner)

        for peer, against, goal in (
            (same, SAME, GOAL),
            (least, LEAST, None),
        ):
            pairs = by_turns(mine, by(peer), setting.runs)
            yield pairs.row("plan", size, against, goal), pairs.seconds[0]
        yield _first(setting, url, cars, size)
        seldom = min(3, setting.runs)
        if (missing := lacks("networkx")) is not None:
            yield Row("plan", size, GRAPH, skipped=missing), 0.0
        else:
            pairs = by_turns(mine, by(with_graph), seldom)
            yield pairs.row("plan", size, GRAPH), 0.0
    if (missing := lacks("pandas")) is not None:
        engine.dispose()
        for against in (IN_MEMORY, READ_FOR_IT):
            yield Row("plan", size, against, skipped=missing), 0.0
        return
    in_memory = all_of(partial(_with_frames, read_frames(engine)))
    pairs = by_turns(mine, in_memory, seldom)
    yield pairs.row("plan", size, IN_MEMORY), 0.0
    del in_memory
    one = cars[0]
    pairs = by_turns(
        lambda: ours(engine, *one),
        lambda: with_frames(read_frames(engine), *one, ON),
        seldom,
        warm=False,
    )
    yield pairs.row("plan", size, READ_FOR_IT), 0.0
    engine.dispose()


def _with_frames(frames: Frames, car: str, jobs: list[str]) -> Answer:
    return with_frames(frames, car, jobs, ON)


def _first(setting: Setting, url: str, cars: list[Any], size: str) -> tuple[Row, float]:
    """The first plan of an engine, its statements not compiled yet, against a new connection."""

    def mine() -> None:
        engine = make_engine(url)
        ours(engine, *cars[0])
        engine.dispose()

    def other() -> None:
        connection = connect(url)
        same(connection, *cars[0], ON)
        connection.close()

    pairs = by_turns(mine, other, setting.runs)
    return pairs.row("plan, first of a process", size, SAME), 0.0
