"""What several tests need: catalogues from text, plans in one call, statements counted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date

from sqlalchemy import Engine, event

from kitting.errors import FileProblemsError
from kitting.files.source import Source, parse_catalogue
from kitting.services.loading import LoadReport, load_sources
from kitting.services.planning import plan
from kitting.store import reading
from kitting.views import LineView, PlanView, UseView

ON = date(2026, 4, 15)


def source(text: str, name: str = "test.yaml") -> Source:
    """A catalogue from text that must be well shaped."""
    found, problems = parse_catalogue(name, text)
    if found is None:
        raise FileProblemsError(problems)
    return found


def load(engine: Engine, text: str) -> LoadReport:
    """Load a catalogue from text."""
    return load_sources(engine, [source(text)])


def planned(
    engine: Engine,
    registration: str,
    *jobs: str,
    on: date = ON,
    assumed: Mapping[str, str] | None = None,
) -> PlanView:
    """A plan in one call."""
    with reading(engine) as session:
        return plan(session, registration, jobs, on, assumed)


def lines_of(view: PlanView, item: str) -> list[LineView]:
    """Every line of an item."""
    return [line for line in view.lines if line.item == item]


def line_of(view: PlanView, item: str) -> LineView:
    """The only line of an item."""
    (line,) = lines_of(view, item)
    return line


def use_of(view: PlanView, item: str) -> UseView:
    """The only use of an item."""
    (use,) = (use for use in view.uses if use.item == item)
    return use


@contextmanager
def counted(engine: Engine) -> Iterator[list[str]]:
    """The SQL statements sent while inside."""
    sent: list[str] = []

    def note(_c: object, _cursor: object, statement: str, *_rest: object) -> None:
        sent.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(engine, "before_cursor_execute", note)


CAR = """
models:
  - {code: pell, name: Ulvander Pell, units: [grebe]}
vehicles:
  - {registration: PELL 001, model: pell, build_date: 2021-03-14}
"""


def unit(joints: str, steps: str, jobs: str, items: str = "", splits: str = "") -> str:
    """A catalogue of one unit and one car, from the parts that matter to a test."""
    return f"""
items:
  - {{code: RING, name: Ring, kind: o-ring, elastomer: FKM}}
  - {{code: BOLT, name: Bolt, kind: bolt, thread: M6, property_class: "8.8", head: hexagon 8 mm}}
{items}
units:
  - code: grebe
    name: Grebe
    splits: [{splits}]
    joints:
{joints}
    steps:
{steps}
    jobs:
{jobs}
{CAR}
"""
