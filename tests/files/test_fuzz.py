"""Whatever a file holds, it is loaded or refused in words; a refusal changes no row.

`KITTING_FUZZ=deep` tries each property much longer.
"""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hostile import CATALOGUE, TOKENS, runs
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook
from ruamel.yaml import YAML
from sqlalchemy import Engine, select
from sqlalchemy import func as sql

from conftest import Templates
from helpers import NOW
from kitting.errors import FileProblemsError, KittingError
from kitting.files.lists.prices import read_column_map
from kitting.services.advice.learned_rates import load_findings
from kitting.services.bookings.findings import load_ramp_findings
from kitting.services.catalogue.load import load_sources, read_files
from kitting.services.catalogue.sections import TABLES
from kitting.services.catalogue.setup import seed_paths
from kitting.services.demo import (
    STOCK,
    SUPPLIERS,
    TOOL_OFFERS,
    TOOLS,
)
from kitting.services.purchasing.price_lists import load_prices
from kitting.services.stock.stock_lists import load_stock
from kitting.services.tools.toolboxes import load_offers, load_tools
from kitting.store import make_engine

BOOKING = "B0001"


@dataclass
class Garage:
    """The demo garage on SQLite, with what every table holds; set back after a load."""

    template: Path
    file: Path
    engine: Engine
    rows: dict[str, int]

    def counted(self) -> dict[str, int]:
        counts = [
            select(sql.count()).select_from(table).scalar_subquery() for table in TABLES.values()
        ]
        with self.engine.connect() as connection:
            return dict(zip(TABLES, connection.execute(select(*counts)).one(), strict=True))

    def set_back(self) -> None:
        self.engine.dispose()
        shutil.copy(self.template, self.file)


@pytest.fixture(scope="module")
def stand(templates: Templates, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Garage]:
    """One garage for all tests here: each leaves it as it was."""
    template = templates.file("garage")
    file = tmp_path_factory.mktemp("fuzz") / "kitting.db"
    shutil.copy(template, file)
    garage = Garage(template, file, make_engine(f"sqlite:///{file}"), {})
    garage.rows = garage.counted()
    assert garage.rows["item"] > 30
    yield garage
    garage.engine.dispose()


def well_told(error: KittingError, path: Path) -> None:
    """Every fault names the file, the line where there is one, the thing, a reason and a step."""
    if not isinstance(error, FileProblemsError):
        assert str(error).strip()
        return
    assert error.problems
    for problem in error.problems:
        assert problem.file == str(path)
        assert problem.thing
        assert problem.reason
        assert problem.next_step
        whole = problem.thing == "file" or problem.thing.startswith("heading ")
        assert problem.line > 0 or whole, problem
        assert len(str(problem)) < 1500, problem


def tried(stand: Garage, path: Path, load: Callable[[Engine, Path], object]) -> bool:
    """Load a file; whether it was taken. A refusal is told well and changes nothing."""
    try:
        load(stand.engine, path)
    except KittingError as error:
        well_told(error, path)
        assert stand.counted() == stand.rows
        return False
    stand.set_back()
    return True


@dataclass(frozen=True)
class Sort:
    """A sort of list: how it is loaded, and one that is good."""

    load: Callable[[Engine, Path], object]
    rows: tuple[tuple[str, ...], ...]


def seed(name: str) -> tuple[tuple[str, ...], ...]:
    with seed_paths([name]) as (path,):
        return tuple(map(tuple, csv.reader(io.StringIO(path.read_text(encoding="utf-8")))))


SORTS = {
    "stock": Sort(lambda engine, path: load_stock(engine, [path], NOW), seed(STOCK[0])),
    "tools": Sort(lambda engine, path: load_tools(engine, [path]), seed(TOOLS[0])),
    "offers": Sort(lambda engine, path: load_offers(engine, [path]), seed(TOOL_OFFERS[0])),
    "findings": Sort(lambda engine, path: load_findings(engine, [path]), seed("demo_findings.csv")),
    "ramp": Sort(
        lambda engine, path: load_ramp_findings(engine, BOOKING, [path], NOW),
        (
            ("joint", "position", "found", "reason"),
            ("coolant-drain", "drain plug", "passed", ""),
        ),
    ),
    **{
        f"prices of {supplier}": Sort(
            lambda engine, path, supplier=supplier: load_prices(engine, supplier, path),
            seed(f"demo_prices_{supplier}.csv"),
        )
        for supplier in SUPPLIERS[:2]
    },
}
EVERY_SORT = pytest.mark.parametrize("sort", SORTS.values(), ids=SORTS)


def as_csv(rows: list[list[str]], between: str, ending: str) -> str:
    target = io.StringIO()
    csv.writer(target, delimiter=between, lineterminator=ending).writerows(rows)
    return target.getvalue()


CELL = st.sampled_from(TOKENS) | st.text(max_size=30)


@st.composite
def spoilt_rows(draw: st.DrawFn, rows: tuple[tuple[str, ...], ...]) -> list[list[str]]:
    """The heading and a few rows of a good list, with some cells, columns or rows spoilt."""
    first = draw(st.integers(1, max(1, len(rows) - 4)))
    made = [list(row) for row in (rows[0], *rows[first : first + 4])]
    for _ in range(draw(st.integers(1, 3))):
        row = draw(st.integers(0, len(made) - 1) | st.integers(1, len(made) - 1))
        place = draw(st.integers(0, len(made[row]) - 1))
        how = draw(st.sampled_from(["cell", "cell", "cell", "cell", "gone", "more", "twice"]))
        if how == "cell":
            made[row][place] = draw(CELL)
        elif how == "gone" and len(made[row]) > 1:
            del made[row][place]
        elif how == "more":
            made[row].insert(place, draw(CELL))
        elif how == "twice":
            made.insert(row, made[row])
    return made


@EVERY_SORT
def test_a_good_list_is_taken(sort: Sort, stand: Garage, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text(as_csv([list(row) for row in sort.rows], ",", "\n"), encoding="utf-8")
    assert tried(stand, path, sort.load)


@EVERY_SORT
def test_a_list_with_spoilt_cells_is_taken_or_refused(
    sort: Sort, stand: Garage, tmp_path: Path
) -> None:
    @runs(25, 1500)
    @given(
        rows=spoilt_rows(sort.rows),
        between=st.sampled_from(",;\t"),
        ending=st.sampled_from(["\n", "\r\n", "\r"]),
        coding=st.sampled_from(["utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252"]),
    )
    def check(rows: list[list[str]], between: str, ending: str, coding: str) -> None:
        path = tmp_path / "list.csv"
        path.write_bytes(as_csv(rows, between, ending).encode(coding, "replace"))
        tried(stand, path, sort.load)

    check()


@st.composite
def spoilt_bytes(draw: st.DrawFn, content: bytes) -> bytes:
    """A good file with a few stretches taken out, put in or doubled."""
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(content)))
        end = min(len(content), start + draw(st.integers(0, 12)))
        put = draw(
            st.binary(max_size=6)
            | st.sampled_from(TOKENS).map(lambda token: token[:400].encode())
            | st.just(content[start:end] * 2)
        )
        content = content[:start] + put + content[end:]
    return content


@EVERY_SORT
def test_a_list_with_spoilt_bytes_is_taken_or_refused(
    sort: Sort, stand: Garage, tmp_path: Path
) -> None:
    good = as_csv([list(row) for row in sort.rows[:4]], ",", "\n").encode()

    @runs(20, 1500)
    @given(content=spoilt_bytes(good) | st.binary(max_size=200))
    def check(content: bytes) -> None:
        path = tmp_path / "list.csv"
        path.write_bytes(content)
        tried(stand, path, sort.load)

    check()


CELLS = st.one_of(
    CELL.map(lambda text: "".join(char for char in text if char.isprintable())),
    st.none(),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.dates(),
    st.datetimes(),
    st.times(),
    st.timedeltas(),
)


@EVERY_SORT
def test_a_workbook_with_cells_of_any_type_is_taken_or_refused(
    sort: Sort, stand: Garage, tmp_path: Path
) -> None:
    width = len(sort.rows[0])

    @runs(6, 200)
    @given(
        spoilt=st.lists(
            st.tuples(st.integers(0, 3), st.integers(1, width + 1), CELLS), min_size=1, max_size=4
        )
    )
    def check(spoilt: list[tuple[int, int, Any]]) -> None:
        path = tmp_path / "list.xlsx"
        made = Workbook()
        page = made.active
        assert page is not None
        for row in sort.rows[:4]:
            page.append(list(row))
        for row, column, value in spoilt:
            try:
                page.cell(row + 1, column, value)
            except ValueError:  # openpyxl itself cannot write it
                page.cell(row + 1, column, "?")
        try:
            made.save(path)
        except (ValueError, OverflowError):
            return
        tried(stand, path, sort.load)

    check()


# Catalogues


def load_catalogue(engine: Engine, path: Path) -> object:
    return load_sources(engine, read_files([path]))


def test_the_good_catalogue_is_taken(stand: Garage, tmp_path: Path) -> None:
    path = tmp_path / "some.yaml"
    path.write_text(CATALOGUE, encoding="utf-8")
    assert tried(stand, path, load_catalogue)


def paths_of(node: Any, here: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield here
    inner = (
        node.items()
        if isinstance(node, dict)
        else enumerate(node)
        if isinstance(node, list)
        else ()
    )
    for key, value in inner:
        yield from paths_of(value, (*here, key))


DATA = json.loads(json.dumps(YAML(typ="safe").load(CATALOGUE), default=str))
PLACES = [place for place in paths_of(DATA) if place]
SCALAR = (
    st.sampled_from(TOKENS)
    | st.none()
    | st.booleans()
    | st.integers(-(10**25), 10**25)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.sampled_from(
        ["RING", "BOLT", "PASTE", "NEWER", "OLD", "KIT", "top", "S1", "hot", "lid/flat"]
    )
)
VALUE = st.recursive(
    SCALAR,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["code", "item", "name", "x"]), inner, max_size=3)
    ),
    max_leaves=5,
)


@st.composite
def spoilt_data(draw: st.DrawFn) -> Any:
    """The good catalogue with a few values put in, taken out or doubled."""
    made = json.loads(json.dumps(DATA))
    for place in draw(st.lists(st.sampled_from(PLACES), min_size=1, max_size=3)):
        node = made
        for key in place[:-1]:
            node = node[key] if isinstance(node, dict | list) and _has(node, key) else None
        if not isinstance(node, dict | list) or not _has(node, place[-1]):
            continue
        how = draw(st.sampled_from(["put", "put", "put", "gone", "twice"]))
        if how == "put":
            node[place[-1]] = draw(VALUE)
        elif how == "gone":
            del node[place[-1]]
        elif isinstance(node, list):
            node.append(node[place[-1]])
        else:
            node[draw(st.sampled_from(["code", "item", "options", "x", "a/b"]))] = node[place[-1]]
    return made


def _has(node: Any, key: Any) -> bool:
    if isinstance(node, list):
        return isinstance(key, int) and key < len(node)
    return key in node


def test_a_catalogue_with_spoilt_values_is_taken_or_refused(stand: Garage, tmp_path: Path) -> None:
    @runs(50, 1500)
    @given(data=spoilt_data())
    def check(data: Any) -> None:
        path = tmp_path / "some.yaml"
        path.write_text(json.dumps(data, indent=1), encoding="utf-8")
        tried(stand, path, load_catalogue)

    check()


def test_a_catalogue_with_spoilt_bytes_is_taken_or_refused(stand: Garage, tmp_path: Path) -> None:
    @runs(40, 3000)
    @given(content=spoilt_bytes(CATALOGUE.encode()))
    def check(content: bytes) -> None:
        path = tmp_path / "some.yaml"
        path.write_bytes(content)
        tried(stand, path, load_catalogue)

    check()


def test_a_column_map_with_spoilt_bytes_is_taken_or_refused(tmp_path: Path) -> None:
    good = b"their part: part\ntheir price: price\nignore: [weight, colour]\nothers: ignore\n"

    @runs(60, 5000)
    @given(content=spoilt_bytes(good), ending=st.sampled_from(["yaml", "csv"]))
    def check(content: bytes, ending: str) -> None:
        path = tmp_path / f"map.{ending}"
        path.write_bytes(content)
        try:
            read_column_map(path)
        except FileProblemsError as error:
            well_told(error, path)

    check()
