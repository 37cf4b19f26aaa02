"""Reading what might do instead of an item that clashes: listed alternatives, rings of its size."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import literal_column, select, union_all
from sqlalchemy.orm import Session

from kitting.calc.rubber.compatibility import SourceStatement
from kitting.facts.ring_standards import SAME_INSIDE, SAME_SECTION
from kitting.facts.words import OldStock
from kitting.services.planning.read_items import medium_statement
from kitting.services.planning.rows import among, read_rows
from kitting.tables.items import Alternative, Item, ItemMedium, Succession

_alternative, _medium = Alternative.__table__.c, ItemMedium.__table__.c
_succession = Succession.__table__.c
_own, _other = Item.__table__.alias("own"), Item.__table__.alias("other")
_candidates = union_all(
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
).subquery("candidate")
# A candidate once for each source that speaks of its compound, and once if none does.
_CANDIDATES = select(
    _candidates, _other.c.code, _other.c.elastomer, _other.c.medium.label("is_medium"),
    _medium.medium, _medium.source, _medium.rating, _medium.reference,
    _succession.old_stock, _succession.since,
).select_from(
    _candidates.join(_other, _candidates.c.other == _other.c.id)
    .outerjoin(ItemMedium.__table__, _medium.item_id == _other.c.id)
    .outerjoin(Succession.__table__, _succession.item_id == _other.c.id)
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Candidate:
    """An item that might do instead; `place` is its place among the listed ones (None: by size)."""

    key: int
    code: str
    elastomer: str | None
    medium: str | None
    place: int | None
    stated: tuple[SourceStatement, ...]


def read_alternatives(
    session: Session, items: Collection[int], on: date
) -> dict[int, list[Candidate]]:
    """Candidates by the item that they might replace; nothing is asked where there are no items.

    What is replaced at the date and goes to scrap is no candidate.
    """
    found: dict[tuple[int, int, int | None], list[Any]] = {}
    for row in read_rows(session.connection(), _CANDIDATES, items=items):
        if row.old_stock == OldStock.SCRAP and (row.since is None or row.since <= on):
            continue
        found.setdefault((row.own, row.other, row.seq), []).append(row)
    candidates: dict[int, list[Candidate]] = {}
    for (own, other, place), rows in found.items():
        spoken = sorted(
            (row for row in rows if row.medium is not None), key=lambda r: (r.medium, r.source)
        )
        candidates.setdefault(own, []).append(
            Candidate(
                key=other,
                code=rows[0].code,
                elastomer=rows[0].elastomer,
                medium=rows[0].is_medium,
                place=place,
                stated=tuple(
                    medium_statement(r.medium, r.source, r.rating, r.reference) for r in spoken
                ),
            )
        )
    return candidates
