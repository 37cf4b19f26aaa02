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
from kitting.services.catalogue.known import read_known
from kitting.services.catalogue.known_names import Known
from kitting.services.catalogue.losses import losses
from kitting.services.catalogue.remarks import bars, bars_dropped, remarks
from kitting.services.catalogue.rows.book import Book
from kitting.services.catalogue.still_used import still_used
from kitting.services.catalogue.told import contradictions, learn_told
from kitting.services.catalogue.writing import write_all
from kitting.services.db.sync import Count, Sync
from kitting.store import writing
from kitting.tables.editions import CatalogueEdition


@dataclass(frozen=True, slots=True)
class LoadReport:
    """What a load did, by sort of entry; `remarks` are worth reading but stop nothing."""

    counts: Mapping[str, Count]
    remarks: tuple[Reason, ...]
    files: tuple[str, ...]
    dry_run: bool


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
        problems = check_sources(session, sources)
        if problems:
            raise FileProblemsError(problems)
        book = Book([source.catalogue for source in sources], general)
        report = _write(session, sources, book, dry_run)
        if not dry_run:
            session.commit()
    return report


def _write(session: Session, sources: Sequence[Source], book: Book, dry_run: bool) -> LoadReport:
    sync = Sync(session)
    barred = bars(session, book)
    learn_told(session, book)
    try:
        plans_changed = write_all(sync, book)
        if problems := still_used(sync, sources):
            raise FileProblemsError(problems)
        lost = () if book.general else tuple(losses(sync))
        sync.finish()
    except IntegrityError as error:
        raise StoreError(
            f"the database refuses what the files say ({first_line(error)}); nothing was changed."
            " If something was taken out, work of another branch may refer to it: put it back"
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
        ),
        tuple(source.name for source in sources),
        dry_run,
    )
