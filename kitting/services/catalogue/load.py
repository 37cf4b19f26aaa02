"""Loading catalogue files: checked together, then written in one transaction or not at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from kitting.db_errors import first_line
from kitting.errors import FileProblemsError, Problem, StoreError
from kitting.facts.reasons import Reason
from kitting.files.catalogue.source import Source, read_catalogue
from kitting.services.catalogue.check import check
from kitting.services.catalogue.comparing import all_of, compared
from kitting.services.catalogue.known import read_known
from kitting.services.catalogue.known_names import Known
from kitting.services.catalogue.losses import losses
from kitting.services.catalogue.origins import keep_origins, look_before
from kitting.services.catalogue.remarks import bars, bars_dropped, remarks
from kitting.services.catalogue.rows.book import Book
from kitting.services.catalogue.still_used import still_used
from kitting.services.catalogue.told import contradictions, learn_told
from kitting.services.catalogue.writing import write_all
from kitting.services.db.sync import Count, Sync
from kitting.store import writing
from kitting.tables.editions import CatalogueEdition
from kitting.views.catalogue import CompareView


@dataclass(frozen=True, slots=True)
class LoadReport:
    """What a load did, by sort of entry; `remarks` are worth reading but stop nothing.

    `tables` are those of which a row changed.
    """

    counts: Mapping[str, Count]
    remarks: tuple[Reason, ...]
    files: tuple[str, ...]
    dry_run: bool
    tables: frozenset[str] = frozenset()


def read_files(paths: Sequence[Path]) -> list[Source]:
    """Read catalogue files; raises FileProblemsError with every fault of their shape."""
    sources, problems = [], []
    for path in paths:
        source, faults = read_catalogue(path)
        problems += faults
        if source is not None:
            sources.append(source)
    if problems:
        raise FileProblemsError(problems)
    return sources


def check_sources(session: Session | None, sources: Sequence[Source]) -> list[Problem]:
    """Every fault of meaning, with the names of the database (if there is one) taken as known."""
    known = read_known(session, sources) if session is not None else Known()
    return check(sources, known)


def load_sources(
    engine: Engine, sources: Sequence[Source], dry_run: bool = False, *, general: bool = False
) -> LoadReport:
    """Check and load sources in one transaction; loading again changes nothing.

    What a file states of a unit, an item or a car replaces what was stated before; what the files
    do not name is left alone. `dry_run` does everything but keep it; `general` says that they are
    the general rules that come with the program.
    Raises FileProblemsError (nothing loaded), also when something would go that recorded work
    refers to; StoreError for what the database refuses beyond that.
    """
    with writing(engine) as session:
        book = _checked(session, sources, general)
        report = _write(session, sources, book, dry_run)
        if not dry_run:
            session.commit()
    return report


def compare_sources(engine: Engine, sources: Sequence[Source]) -> CompareView:
    """How sources differ from the database: they are loaded, set beside it, and not kept.

    Raises FileProblemsError, and StoreError as a load does.
    """
    with writing(engine) as session:
        book = _checked(session, sources, general=False)
        before = all_of(session, sources)
        report = _write(session, sources, book, dry_run=True)
        session.expire_all()
        return compared(before, all_of(session, sources), report.tables)


def _checked(session: Session, sources: Sequence[Source], general: bool) -> Book:
    # The general rules name nothing else: no word of a garage's own can stop them.
    problems = check_sources(None if general else session, sources)
    if problems:
        raise FileProblemsError(problems)
    return Book([source.catalogue for source in sources], general)


def _write(session: Session, sources: Sequence[Source], book: Book, dry_run: bool) -> LoadReport:
    sync = Sync(session)
    barred = bars(session, book)
    learn_told(session, book)
    before = look_before(session, sources)
    try:
        plans_changed = write_all(sync, book)
        if problems := still_used(sync, sources):
            raise FileProblemsError(problems)
        lost = () if book.general else tuple(losses(sync))
        sync.finish()
        rewritten = keep_origins(session, before, sync)
    except IntegrityError as error:
        raise StoreError(
            "the database refuses what the files say ({first_line}); nothing was changed. If"
            " something was taken out, work of another branch may refer to it: put it back",
            first_line=first_line(error),
        ) from error
    if plans_changed:
        names = ", ".join(source.name for source in sources)
        session.add(CatalogueEdition(what=names))
    return LoadReport(
        dict(sync.counts),
        (
            *lost,
            *remarks(session, book),
            *contradictions(session, book),
            *bars_dropped(session, book, barred),
            *rewritten,
        ),
        tuple(source.name for source in sources),
        dry_run,
        frozenset(sync.differing),
    )
