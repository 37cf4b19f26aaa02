"""Who wrote what stands in the catalogue: kept at a load, told where another wrote it before."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass

from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from kitting.facts.reasons import Reason, because
from kitting.files.catalogue.source import Source
from kitting.services.catalogue.check_faults import one_of_section
from kitting.services.catalogue.differences import parts_of
from kitting.services.catalogue.exporting.entries import Entry
from kitting.services.catalogue.exporting.named import entries_of
from kitting.services.catalogue.things import Thing, described
from kitting.services.db.sync import Count, Sync, chunks
from kitting.tables.editions import CatalogueOrigin, OriginOf
from kitting.views.catalogue import LoadRemark, OriginReason, OriginView, PartView

_HEAD = (
    CatalogueOrigin.author, CatalogueOrigin.source, CatalogueOrigin.version,
    CatalogueOrigin.licence,
)  # fmt: skip
_OF = select(OriginOf.section, OriginOf.code, *_HEAD).join(
    CatalogueOrigin, OriginOf.origin_id == CatalogueOrigin.id
)
_SHOWN = 5  # so many things, and so many of their fields, are named in remarks


@dataclass(frozen=True, slots=True)
class Before:
    """What files describe with their heads, who wrote it before, and what was said then."""

    states: Mapping[Thing, OriginView | None]
    was: Mapping[Thing, OriginView]
    said: Mapping[Thing, Entry]


def read_origins(session: Session, things: Collection[Thing]) -> dict[Thing, OriginView]:
    """Who wrote some things, of those of which it is known."""
    found: dict[Thing, OriginView] = {}
    for section, codes in _by_section(things).items():
        for some in chunks(codes):
            asked = _OF.where(OriginOf.section == section, OriginOf.code.in_(some))
            for row in session.execute(asked):
                found[Thing(row.section, row.code)] = OriginView(*row[2:])
    return found


def look_before(session: Session, sources: Sequence[Source]) -> Before:
    """What there is to compare a load with: nothing where nobody says who wrote what."""
    states = described(sources)
    was = read_origins(session, states)
    asked = [thing for thing, head in states.items() if head is not None or thing in was]
    return Before(states, was, entries_of(session, asked) if asked else {})


def keep_origins(session: Session, before: Before, sync: Sync) -> tuple[Reason, ...]:
    """Keep who wrote what the files describe; returns what is otherwise now than another wrote it.

    A file without a head leaves who wrote what it does not change.
    """
    changed = _changed(session, before) if sync.differs and before.said else {}
    now = {
        thing: head if head is not None or thing in changed else before.was.get(thing)
        for thing, head in before.states.items()
    }
    _write(session, before.was, now, sync)
    return tuple(_remarks(before, now, changed))


def _changed(session: Session, before: Before) -> dict[Thing, Entry]:
    """What is said now of that of which something else was said before."""
    session.expire_all()
    said = entries_of(session, before.said.keys())
    return {thing: entry for thing, entry in said.items() if entry != before.said[thing]}


def _write(
    session: Session,
    was: Mapping[Thing, OriginView],
    now: Mapping[Thing, OriginView | None],
    sync: Sync,
) -> None:
    stated = {thing: head for thing, head in now.items() if head is not None}
    if not was and not stated:
        return
    new = {thing: head for thing, head in stated.items() if was.get(thing) != head}
    gone = [thing for thing in was if now[thing] is None]
    for section, codes in _by_section([*gone, *(thing for thing in new if thing in was)]).items():
        for some in chunks(codes):
            here = (OriginOf.section == section, OriginOf.code.in_(some))
            session.execute(delete(OriginOf).where(*here))
    if new:
        keys = _kept_heads(session, new.values())
        rows = [
            {"section": thing.section, "code": thing.code, "origin_id": keys[head]}
            for thing, head in new.items()
        ]
        session.execute(insert(OriginOf), rows)
    named = select(OriginOf.origin_id)
    session.execute(delete(CatalogueOrigin).where(CatalogueOrigin.id.not_in(named)))
    added = sum(thing not in was for thing in new)
    changed = len(new) - added
    sync.counts["origins"] = Count(added, changed, len(stated) - len(new), len(gone))


def _kept_heads(session: Session, heads: Iterable[OriginView]) -> dict[OriginView, int]:
    """The key of each head, which is added where it is new."""
    kept = session.execute(select(CatalogueOrigin.id, *_HEAD))
    keys = {OriginView(*row[1:]): row.id for row in kept}
    for head in dict.fromkeys(heads):
        if head not in keys:
            made = insert(CatalogueOrigin).values(asdict(head)).returning(CatalogueOrigin.id)
            keys[head] = session.scalars(made).one()
    return keys


def _by_section(things: Iterable[Thing]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for thing in things:
        found.setdefault(thing.section, []).append(thing.code)
    return found


def _remarks(
    before: Before, now: Mapping[Thing, OriginView | None], changed: Mapping[Thing, Entry]
) -> Iterator[Reason]:
    """What was changed of what another author wrote, the first of each pair of authors by name."""
    told: dict[tuple[OriginView | None, OriginView | None], list[Reason]] = {}
    for thing, entry in changed.items():
        was, by = before.was.get(thing), now[thing]
        if (was and was.author) == (by and by.author):
            continue
        fields = [name for part in parts_of(before.said[thing], entry) for name in _in_short(part)]
        more = (f"and {len(fields) - _SHOWN} more",) if len(fields) > _SHOWN else ()
        told.setdefault((was, by), []).append(
            because(
                LoadRemark.WRITTEN_BY_ANOTHER,
                thing=f"{one_of_section(thing.section)} {thing.code}",
                was=origin_reason(was),
                now=origin_reason(by),
                fields=(*fields[:_SHOWN], *more),
            )
        )
    for (was, by), reasons in told.items():
        yield from reasons[:_SHOWN]
        if len(reasons) > _SHOWN:
            yield because(
                LoadRemark.MORE_BY_ANOTHER,
                count=len(reasons) - _SHOWN,
                was=origin_reason(was),
                now=origin_reason(by),
            )


def _in_short(part: PartView) -> Iterator[str]:
    """What differs in a part: its fields by name, or that it is added or removed."""
    place = " ".join(part.place)
    for what in [field.field for field in part.fields] or [str(part.change)]:
        yield f"{place} {what}".strip()


def origin_reason(origin: OriginView | None) -> Reason:
    """Who wrote something, as a reason: its author with the version, or that none is stated."""
    if origin is None:
        return because(OriginReason.NOBODY)
    if origin.version is None:
        return because(OriginReason.AUTHOR, author=origin.author)
    return because(OriginReason.VERSION, author=origin.author, version=origin.version)
