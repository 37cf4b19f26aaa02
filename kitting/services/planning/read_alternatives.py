"""Reading what might do instead of an item that clashes: listed alternatives, rings of its size."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from sqlalchemy import literal_column, select, union_all
from sqlalchemy.orm import Session

from kitting.facts.names import natural_key
from kitting.facts.ring_standards import SAME_INSIDE, SAME_SECTION
from kitting.facts.words import OldStock
from kitting.services.planning.facts import Contents, ItemFacts, PlanFacts
from kitting.services.planning.read_items import read_items, read_stated
from kitting.services.planning.rows import among, read_rows
from kitting.tables.items import Alternative, Item

_alternative = Alternative.__table__.c
_own, _other = Item.__table__.alias("own"), Item.__table__.alias("other")
_CANDIDATES = union_all(
    select(
        _alternative.item_id.label("own"), _alternative.other_id.label("other"), _alternative.seq
    ).where(among(_alternative.item_id, "items")),
    select(_own.c.id, _other.c.id, literal_column("NULL"))
    .select_from(
        _own.join(
            _other,
            _other.c.ring_inside.between(
                _own.c.ring_inside - SAME_INSIDE, _own.c.ring_inside + SAME_INSIDE
            )
            & _other.c.ring_section.between(
                _own.c.ring_section - SAME_SECTION, _own.c.ring_section + SAME_SECTION
            ),
        )
    )
    .where(among(_own.c.id, "items")),
)


@dataclass(frozen=True, slots=True)
class Alternatives:
    """What might do instead of items, and what a plan needs to know to judge it.

    `listed` are alternatives in their order of preference, `sized` rings of the same size, by the
    key of the item; `contents` are those of the plan with all of them.
    """

    listed: Mapping[int, tuple[ItemFacts, ...]]
    sized: Mapping[int, tuple[ItemFacts, ...]]
    contents: Contents


def read_alternatives(
    session: Session, facts: PlanFacts, items: Collection[int]
) -> Alternatives | None:
    """Candidates by the item that they might replace; None where there are none.

    What is replaced at the date of the plan and goes to scrap is no candidate.
    """
    connection, contents = session.connection(), facts.contents
    rows = [row for row in read_rows(connection, _CANDIDATES, items=items) if row.own != row.other]
    if not rows:
        return None
    found, packets = read_items(connection, {row.other for row in rows})
    kinds = {item.kind.key for item in found.values()}
    stated = read_stated(connection, (), found, kinds)
    there = replace(
        contents,
        items={**found, **contents.items},
        packets={**packets, **contents.packets},
        media={**stated.media, **contents.media},
        goes_dry=contents.goes_dry | stated.goes_dry,
    )
    listed: dict[int, list[tuple[int, ItemFacts]]] = {}
    sized: dict[int, list[ItemFacts]] = {}
    for row in rows:
        item = there.items[row.other]
        if _scrapped(item, facts):
            continue
        if row.seq is None:
            if item.kind.family is not there.items[row.own].kind.family:
                continue  # a washer of that hole and thickness is no ring
            sized.setdefault(row.own, []).append(item)
        else:
            listed.setdefault(row.own, []).append((row.seq, item))
    return Alternatives(
        {
            own: tuple(item for _, item in sorted(those, key=lambda one: one[0]))
            for own, those in listed.items()
        },
        {
            own: tuple(sorted(those, key=lambda one: natural_key(one.code)))
            for own, those in sized.items()
        },
        there,
    )


def _scrapped(item: ItemFacts, facts: PlanFacts) -> bool:
    replaced = item.succession
    if replaced is None or replaced.old_stock is not OldStock.SCRAP:
        return False
    return replaced.in_force(facts.on)
