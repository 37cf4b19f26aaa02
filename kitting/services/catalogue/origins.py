"""Who wrote what stands in the catalogue: kept at a load, told where another wrote it before."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

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
from kitting.views.catalogue import LoadRemark, OriginReason, OriginView

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
    for section in sorted({thing.section for thing in things}):
        codes = sorted(thing.code for thing in things if thing.section == section)
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
    stale = {thing for thing in was if now[thing] != was[thing]}
    for thing in sorted(stale):
        here = (OriginOf.section == thing.section, OriginOf.code == thing.code)
        session.execute(delete(OriginOf).where(*here))
    new = {
        thing: head
        for thing, head in now.items()
        if head is not None and (thing in stale or thing not in was)
    }
    heads = {
        OriginView(*row[1:]): row.id for row in session.execute(select(CatalogueOrigin.id, *_HEAD))
    }
    for head in dict.fromkeys(new.values()):
        if head not in heads:
            values = {column.key: getattr(head, column.key) for column in _HEAD}
            made = insert(CatalogueOrigin).values(values).returning(CatalogueOrigin.id)
            heads[head] = session.scalars(made).one()
    if new:
        rows = [
            {"section": thing.section, "code": thing.code, "origin_id": heads[head]}
            for thing, head in new.items()
        ]
        session.execute(insert(OriginOf), rows)
    session.execute(
        delete(CatalogueOrigin).where(CatalogueOrigin.id.not_in(select(OriginOf.origin_id)))
    )
    told = sum(head is not None for head in now.values())
    if was or told:
        added = sum(thing not in was for thing in new)
        changed = len(new) - added
        sync.counts["origins"] = Count(
            added, changed, told - added - changed, sum(now[thing] is None for thing in was)
        )


def _remarks(
    before: Before, now: Mapping[Thing, OriginView | None], changed: Mapping[Thing, Entry]
) -> Iterator[Reason]:
    """What was changed of what another author wrote, the first of each pair of authors by name."""
    told: dict[tuple[OriginView | None, OriginView | None], list[Reason]] = {}
    for thing, entry in changed.items():
        was, by = before.was.get(thing), now[thing]
        if (was and was.author) == (by and by.author):
            continue
        fields = [
            " ".join((*part.place, field.field)) if part.place else field.field
            for part in parts_of(before.said[thing], entry)
            for field in part.fields
        ] + [
            f"{' '.join(part.place)} {part.change}"
            for part in parts_of(before.said[thing], entry)
            if not part.fields
        ]
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


def origin_reason(origin: OriginView | None) -> Reason:
    """Who wrote something, as a reason: its author with the version, or that none is stated."""
    if origin is None:
        return because(OriginReason.NOBODY)
    if origin.version is None:
        return because(OriginReason.AUTHOR, author=origin.author)
    return because(OriginReason.VERSION, author=origin.author, version=origin.version)
