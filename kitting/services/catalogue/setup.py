"""Setting up: migrations and the general rules; checking files without a database."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from importlib.resources import as_file, files
from pathlib import Path

from kitting.errors import FileProblemsError, Problem, StoreError
from kitting.facts.reasons import Reason
from kitting.files.catalogue.source import Source, parse_catalogue
from kitting.services.catalogue.load import LoadReport, check_sources, load_sources, read_files
from kitting.services.catalogue.remarks import open_questions
from kitting.store import database_url, make_engine, migrate, open_existing, reading

GENERAL = ("general.yaml",)


def set_up(url: str) -> LoadReport:
    """Create or migrate the database and load the general rules; running it again is safe.

    Raises StoreError when the database cannot be reached or is newer than this program.
    """
    engine = make_engine(url)
    try:
        migrate(engine)
        return load_sources(engine, seeds(GENERAL), general=True)
    finally:
        engine.dispose()


def seeds(names: Sequence[str]) -> list[Source]:
    """Catalogue files that come with the program, by file name."""
    sources = []
    for name in names:
        source, problems = parse_catalogue(name, (files("kitting.seeds") / name).read_text("utf-8"))
        if source is None:
            raise FileProblemsError(problems)
        sources.append(source)
    return sources


@contextmanager
def seed_paths(names: Sequence[str]) -> Iterator[list[Path]]:
    """Flat lists that come with the program, by file name, as paths while inside."""
    with ExitStack() as stack:
        yield [stack.enter_context(as_file(files("kitting.seeds") / name)) for name in names]


def check_files(paths: Sequence[Path], database: str | None) -> tuple[Reason, ...]:
    """Check catalogue files; names may come from the files, the general rules or the database.

    Returns what their patterned joints still ask. Raises FileProblemsError with every fault. A
    database that is not there is no fault; one that was named and cannot be opened is (StoreError).
    """
    sources = read_files(paths)
    catalogues = [source.catalogue for source in sources]
    url = database_url(database)
    try:
        engine = open_existing(url)
    except StoreError:
        if database is not None:
            raise
        general = seeds(GENERAL)
        problems = _without_database(general, sources)
        asked = tuple(open_questions(None, catalogues, [one.catalogue for one in general]))
    else:
        with reading(engine) as session:
            problems = check_sources(session, sources)
            asked = tuple(open_questions(session, catalogues))
    if problems:
        raise FileProblemsError(problems)
    return asked


def _without_database(general: Sequence[Source], sources: Sequence[Source]) -> list[Problem]:
    named = {source.name for source in sources}
    return [
        problem for problem in check_sources(None, [*general, *sources]) if problem.file in named
    ]
