"""Large data: a catalogue loaded, lists over all the stock, findings and levels; time and memory.

Nothing to compare with but a tenth of the size: what grows more than the data is a fault.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from .harness import SMALLER, Measured, Name, Row, apart, figure, growth
from .setting import Setting
from .synthetic import BRANCHES, NOW, ON, Shape, jobs_of, registration

# Ten times the data may take this much longer.
GOAL = 15.0
UNITS = 20  # of the catalogue file, which is loaded into the whole


def plan_one(url: str) -> None:
    """A plan, from a program that has only just begun."""
    from kitting.services.planning.plan import plan
    from kitting.services.planning.request import PlanRequest
    from kitting.store import make_engine, reading

    with reading(make_engine(url)) as session:
        assert plan(session, PlanRequest(registration(1), tuple(jobs_of(1)), ON)).lines


def list_all(url: str) -> None:
    """Every lot of one branch."""
    from kitting.services.stock.shelves import list_stock
    from kitting.store import make_engine, reading

    with reading(make_engine(url)) as session:
        assert list_stock(session, BRANCHES[0], [], ON)


def list_few(url: str) -> None:
    """The lots of two items, in every branch."""
    from kitting.services.stock.shelves import list_stock
    from kitting.store import make_engine, reading

    from .synthetic import item_code

    with reading(make_engine(url)) as session:
        assert list_stock(session, None, [item_code(21), item_code(25)], ON)


def learn(url: str) -> None:
    """What was learned of every item that was looked at."""
    from kitting.services.advice.learned_rates import learned
    from kitting.store import make_engine, reading

    with reading(make_engine(url)) as session:
        assert learned(session)


def levels(url: str) -> None:
    """Levels of one branch from its use of a year."""
    from kitting.services.advice.base_stock import stock_levels
    from kitting.store import make_engine, reading

    with reading(make_engine(url)) as session:
        assert stock_levels(session, BRANCHES[0], NOW).lines


def load_units(url: str, path: str) -> None:
    """A catalogue file of units, checked and written into what is there."""
    from kitting.services.catalogue.load import load_sources, read_files
    from kitting.store import make_engine

    load_sources(make_engine(url), read_files([Path(path)]))


def write_units(path: Path, units: int) -> None:
    """A catalogue file whose units take items that are there."""
    from .synthetic import item_code

    text = ["units:"]
    for unit in range(units):
        text += [f"  - code: new-{unit}", f"    name: New {unit}", "    joints:"]
        for joint in range(20):
            text += [
                f"      - code: j{joint}", f"        name: Joint {joint}", "        system: engine",
                "        fits:",
            ]  # fmt: skip
            text += [
                f"          - {{item: {item_code(21 + (joint * 5 + place) % 100)},"
                f" position: place {place}}}"
                for place in range(5)
            ]
        text.append("    steps:")
        text += [
            f"      - {{code: N{unit}-{s}, name: Step {s}, hours: 1 h, opens: [j{s}, j{s + 10}]}}"
            for s in range(10)
        ]
        text.append("    jobs:")
        text += [f"      - {{code: NJ{s}, name: Job {s}, needs: [N{unit}-{s}]}}" for s in range(10)]
    path.write_text("\n".join(text) + "\n", encoding="utf-8")


WORK: tuple[tuple[str, Callable[..., None], float], ...] = (
    ("plan, whole process", plan_one, 1.5),
    ("stock of two items", list_few, 1.5),
    ("stock of a branch", list_all, GOAL),
    ("what findings say", learn, GOAL),
    ("levels of a branch", levels, GOAL),
)


FILE = "units.yaml"


def _sizes(setting: Setting) -> tuple[int, int]:
    if setting.large:
        return 100_000, 1_000_000
    return (500, 1_000) if setting.quick else (10_000, 100_000)


def _engines(setting: Setting) -> tuple[str, ...]:
    return setting.engines[-1:] if setting.quick else setting.engines


def _at(what: str, engine: str, fits: int) -> Name:
    shape = Shape(fits)
    told = f"{shape.items:,} items, {shape.movements:,} moves"
    return what, f"{engine}, {fits:,} fits", told


def _growth(what: str, engine: str, sizes: tuple[int, int]) -> tuple[str, str]:
    return f"{what}, growth", f"{engine}, {sizes[0]:,} to {sizes[1]:,} fits"


def _load(engine: str, fits: int) -> Name:
    return "catalogue load", f"{engine}, into {fits:,} fits", FILE


def names(setting: Setting) -> Iterator[Name]:
    """What the rows are called."""
    sizes = _sizes(setting)
    for engine in _engines(setting):
        for fits in sizes:
            for what, _, _ in WORK:
                yield _at(what, engine, fits)
        for what, _, _ in WORK:
            yield *_growth(what, engine, sizes), SMALLER
        for fits in sizes:
            yield _load(engine, fits)


def run(setting: Setting) -> Iterator[Row]:
    """A tenth of the size, then the whole; only with --large beyond a tenth of a million fits."""
    sizes = _sizes(setting)
    path = setting.folder / FILE
    write_units(path, 1 if setting.quick else UNITS)
    for engine in _engines(setting):
        took: dict[str, list[Measured]] = {}
        for fits in sizes:
            url = setting.garage(engine, fits)
            for what, work, _ in WORK:
                used = apart(work, url)
                took.setdefault(what, []).append(used)
                yield figure(*_at(what, engine, fits), used.took, used.megabytes)
        for what, _, goal in WORK:
            small, large = (used.took.wall for used in took[what])
            yield growth(*_growth(what, engine, sizes), small, large, goal)
        # Last, since it changes what is there.
        for fits in sizes:
            used = apart(load_units, setting.garage(engine, fits), str(path))
            yield figure(*_load(engine, fits), used.took, used.megabytes)
