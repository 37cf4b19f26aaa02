"""Databases for tests: migrated to head once per run, then copied for every test.

Every process of a run keeps a PostgreSQL server of its own warm, which starts from a copy of one
prepared folder: what a test does to a server (its roles too) reaches no other process.
"""

from __future__ import annotations

import fcntl
import gc
import os
import shutil
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import racing
from hypothesis import settings
from servers import Server, cheap_server, stop_all
from sqlalchemy import ClauseElement, Connection, Engine, Table, event
from sqlalchemy import text as sql
from sqlalchemy.sql import visitors

from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.demo import FILES, load_demo_lists
from kitting.store import make_engine, migrate
from kitting.tables.base import Base

ENGINES = ("sqlite", "postgresql")
# Each with the seed files in it; the garage has its flat lists too.
TEMPLATES = {"empty": GENERAL, "garage": (*GENERAL, *FILES)}
# Folders of tests that all run on both engines: schema, migrations, locks, roles, backups.
ABOUT_THE_SERVER = {"schema", "db", "group", "upkeep"}
# Child processes take the installed program, not the folder that happens to be the current one.
os.environ["PYTHONSAFEPATH"] = "1"

# A folder in memory, where there is room for all that a run writes.
MEMORY, ROOM = Path("/dev/shm"), 3 * 2**30
RUN = "KITTING_TEST_RUN"
# No test is timed: a busy machine is no fault of the program.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


def pytest_configure(config: pytest.Config) -> None:
    """Say once per run where temporary files go, and make the folder that its processes share."""
    # Nearly all that is made while tests are collected stays: it is not looked through meanwhile.
    gc.set_threshold(200_000, 50, 100)
    if RUN in os.environ:
        return
    if "TMPDIR" not in os.environ and _has_room(MEMORY):
        os.environ["TMPDIR"] = tempfile.tempdir = str(MEMORY)
    os.environ[RUN] = folder = tempfile.mkdtemp(prefix="kitting-run-")
    config.add_cleanup(lambda: _clear(Path(folder)))


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The longest tests begin first: at the end they would keep one process busy, the rest idle.

    Of what is not about the server itself, one in three runs on PostgreSQL too, and one of each
    file at least; with KITTING_ENGINES=both everything does, as in `.ci/run`.
    """
    items.sort(key=lambda item: item.path.name != "test_benchmarks.py")
    if os.environ.get("KITTING_ENGINES") == "both":
        return
    left_out = {*_two_in_three(items)}
    config.hook.pytest_deselected(items=[item for item in items if item in left_out])
    items[:] = [item for item in items if item not in left_out]


def _two_in_three(items: list[pytest.Item]) -> Iterator[pytest.Item]:
    seen: Counter[Path] = Counter()
    for item in items:
        if "[postgresql" not in item.name or ABOUT_THE_SERVER & {*item.path.parts}:
            continue
        if seen[item.path] % 3:
            yield item
        seen[item.path] += 1


def pytest_collection_finish() -> None:
    """What was collected stays: nobody looks through it again for something to give back."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 50)


def _has_room(folder: Path) -> bool:
    if not os.access(folder, os.W_OK | os.X_OK):
        return False
    return shutil.disk_usage(folder).free >= ROOM


def _clear(run: Path) -> None:
    stop_all(run)
    shutil.rmtree(run, ignore_errors=True)
    del os.environ[RUN]


class Compiled(dict[Any, Any]):
    """Statements compiled once for all engines of a kind: a program makes one, tests thousands.

    Only what is over the program's own tables: a key holds its tables, and those that a database
    describes itself are made anew each time, with everything they refer to.
    """

    @staticmethod
    def _of_kind(key: tuple[Any, ...]) -> tuple[Any, ...]:
        dialect, *rest = key
        return (type(dialect), *rest)

    def get(self, key: Any, default: Any = None) -> Any:
        return super().get(self._of_kind(key), default)

    def __setitem__(self, key: Any, value: Any) -> None:
        if _over_own_tables(value.statement):
            super().__setitem__(self._of_kind(key), value)


def _over_own_tables(statement: ClauseElement | None) -> bool:
    if statement is None:
        return False
    tables = (part for part in visitors.iterate(statement) if isinstance(part, Table))
    return all(table.metadata is Base.metadata for table in tables)


COMPILED = Compiled()


@event.listens_for(Engine, "engine_connect")
def share_compiled(connection: Connection) -> None:
    """Every connection looks there before it compiles a statement."""
    connection.execution_options(compiled_cache=COMPILED)


def once(name: str, make: Callable[[Path], None]) -> Path:
    """A file or folder of this run that whoever comes first makes and the others find made."""
    run = Path(os.environ[RUN])
    target = run / name
    with (run / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not target.exists():
            part = run / f"{name}.part"
            make(part)
            part.rename(target)
    return target


def fill(url: str, template: str) -> None:
    """Migrate a database to head and load the seed files of a template into it."""
    engine = make_engine(url)
    migrate(engine)
    load_sources(engine, seeds(TEMPLATES[template]))
    if template == "garage":
        load_demo_lists(engine)
    engine.dispose()


def _fill_server(folder: Path) -> None:
    server = cheap_server(folder)
    server.start()
    for template in TEMPLATES:
        run_on_server(server.uri, f"CREATE DATABASE {template}")
        fill(database_of(server.uri, template), template)
    server.stop("fast")


# A prepared database: one of `TEMPLATES`, or one of them and what is done to it once per process.
Recipe = str | tuple[str, Callable[[Engine, Path], object]]


class Templates:
    """Prepared databases on both engines, copies of them, and new ones."""

    def __init__(self, worker: str) -> None:
        self.worker = worker
        self.count = 0
        self._server: Server | None = None
        self._cooked: dict[tuple[str, Recipe], str] = {}

    @property
    def server_uri(self) -> str:
        """This process's own server, started when it is first asked for."""
        if self._server is None:
            prepared = once("server", _fill_server)
            self._server = cheap_server(prepared.parent / f"server-{self.worker}", prepared)
            self._server.start()
        return self._server.uri

    def file(self, template: str) -> Path:
        """The prepared SQLite file, to be copied."""
        return once(f"{template}.db", lambda part: fill(f"sqlite:///{part}", template))

    def copy(self, engine: str, recipe: Recipe, folder: Path) -> str:
        """A fresh copy of a prepared database; returns its URL."""
        if engine == "sqlite":
            source = self.file(recipe) if isinstance(recipe, str) else self._cook(engine, recipe)
            target = folder / "kitting.db"
            shutil.copy(source, target)
            return f"sqlite:///{target}"
        name = recipe if isinstance(recipe, str) else self._cook(engine, recipe)
        return self.new(f"TEMPLATE {name} STRATEGY FILE_COPY")

    def _cook(self, engine: str, recipe: tuple[str, Callable[[Engine, Path], object]]) -> str:
        """The file or the name of the database that a recipe makes."""
        if (engine, recipe) not in self._cooked:
            folder = Path(os.environ[RUN]) / f"cooked-{self.worker}-{len(self._cooked)}"
            folder.mkdir()
            base, cook = recipe
            url = self.copy(engine, base, folder)
            made = make_engine(url)
            cook(made, folder)
            made.dispose()
            lite = engine == "sqlite"
            self._cooked[engine, recipe] = str(folder / "kitting.db") if lite else name_in(url)
        return self._cooked[engine, recipe]

    def new(self, how: str = "") -> str:
        """A database of this process's server that is not set up; returns its URL."""
        self.count += 1
        name = f"made_{self.count}"
        run_on_server(self.server_uri, f"CREATE DATABASE {name} {how}")
        return database_of(self.server_uri, name)

    def drop(self, url: str) -> None:
        """Give the room of a server's database back; a file goes with its folder."""
        if url.startswith("postgresql"):
            run_on_server(self.server_uri, f"DROP DATABASE {name_in(url)} WITH (FORCE)")

    def stop(self) -> None:
        if self._server is not None:
            self._server.stop("fast")


def database_of(uri: str, name: str) -> str:
    """The URL of a database on the server that `uri` names."""
    return uri.replace("/postgres?", f"/{name}?")


def name_in(url: str) -> str:
    """The name of the database in the URL of a server's."""
    return url.partition("?")[0].rpartition("/")[2]


def run_on_server(uri: str, statement: str) -> None:
    """Run one statement outside a transaction."""
    engine = make_engine(uri)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(sql(statement))
    engine.dispose()


@pytest.fixture(scope="session")
def templates(worker_id: str) -> Iterator[Templates]:
    """Both engines, each with an empty database (general rules only) and the demo garage."""
    made = Templates(worker_id)
    yield made
    made.stop()


@pytest.fixture(scope="session")
def server_uri(templates: Templates) -> str:
    """A PostgreSQL server of our own, brought by a pip package, gone afterwards."""
    return templates.server_uri


def opened(templates: Templates, engine: str, recipe: Recipe, folder: Path) -> Iterator[Engine]:
    """An engine on a fresh copy, closed afterwards."""
    url = templates.copy(engine, recipe, folder)
    connected = make_engine(url)
    yield connected
    connected.dispose()
    templates.drop(url)


@pytest.fixture(params=ENGINES)
def store(request: pytest.FixtureRequest, templates: Templates, tmp_path: Path) -> Iterator[Engine]:
    """A database with the general rules only, on each engine in turn."""
    yield from opened(templates, request.param, "empty", tmp_path)


@pytest.fixture(params=ENGINES)
def garage(
    request: pytest.FixtureRequest, templates: Templates, tmp_path: Path
) -> Iterator[Engine]:
    """The demo garage, on each engine in turn."""
    yield from opened(templates, request.param, "garage", tmp_path)


@pytest.fixture
def lite(templates: Templates, tmp_path: Path) -> Iterator[Engine]:
    """A database with the general rules only, on SQLite: for rules that need no engine's word."""
    yield from opened(templates, "sqlite", "empty", tmp_path)


# Two branches with a few lots, one supplier, one car.
YARDS = ("empty", racing.furnish)


@pytest.fixture(params=ENGINES)
def yards(request: pytest.FixtureRequest, templates: Templates, tmp_path: Path) -> Iterator[Engine]:
    """Two branches with a few lots, on each engine in turn."""
    yield from opened(templates, request.param, YARDS, tmp_path)


@pytest.fixture
def lite_yards(templates: Templates, tmp_path: Path) -> Iterator[Engine]:
    """Two branches with a few lots, on SQLite."""
    yield from opened(templates, "sqlite", YARDS, tmp_path)


@pytest.fixture
def lite_garage(templates: Templates, tmp_path: Path) -> Iterator[Engine]:
    """The demo garage on SQLite."""
    yield from opened(templates, "sqlite", "garage", tmp_path)
