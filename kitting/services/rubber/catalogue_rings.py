"""Rings of the catalogue: by size, elastomer and hardness, with what is free in each branch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session

from kitting.errors import FigureError
from kitting.facts.elastomers import require_elastomer
from kitting.facts.names import natural_key
from kitting.facts.ring_standards import SAME_INSIDE, SAME_SECTION, Ring, borrowed
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.stock import OURS, Lot
from kitting.tables.supply import Branch
from kitting.views.rubber import FreeView, RingItemView

# As in a catalogue file.
_SOFTEST, _HARDEST = 20, 100


@dataclass(frozen=True, slots=True)
class RingQuery:
    """Which rings of the catalogue are asked for; lengths in thousandths of a mm, all may be open.

    Raises FigureError for an unknown elastomer, and for a hardness that no ring has.
    """

    inside: int | None = None
    section: int | None = None
    elastomer: str | None = None
    hardness: int | None = None

    def __post_init__(self) -> None:
        """Raise FigureError for an unknown elastomer, and for a hardness that no ring has."""
        if self.hardness is not None and not _SOFTEST <= self.hardness <= _HARDEST:
            raise FigureError(
                f"no ring has a hardness of {self.hardness}: give one from {_SOFTEST} to {_HARDEST}"
                " (IRHD or Shore A)"
            )
        if self.elastomer is not None:
            object.__setattr__(self, "elastomer", require_elastomer(self.elastomer))


@dataclass(frozen=True, slots=True)
class RingRow:
    """A ring of the catalogue as it is kept: lengths in thousandths of a mm."""

    id: int
    code: str
    name: str
    inside: int
    section: int
    elastomer: str | None
    hardness: int | None
    colour: str | None

    @property
    def ring(self) -> Ring:
        """The item as a ring; its tolerances are borrowed, the catalogue has none."""
        return borrowed(self.code, self.inside / 1000, self.section / 1000)


def ring_rows(session: Session, asked: RingQuery) -> list[RingRow]:
    """Items of rubber that have a ring's size, in order of their codes; narrowed as asked."""
    found = session.execute(
        select(
            Item.id, Item.code, ITEM_NAME, Item.ring_inside.label("inside"),
            Item.ring_section.label("section"), Item.elastomer, Item.hardness, Item.colour,
        ).where(Item.ring_inside.is_not(None), Item.rubber, *_narrowed(asked))
    )  # fmt: skip
    rows = [RingRow(**row._mapping) for row in found]
    return sorted(rows, key=lambda row: natural_key(row.code))


def _narrowed(asked: RingQuery) -> Iterator[ColumnElement[bool]]:
    if asked.inside is not None:
        yield Item.ring_inside.between(asked.inside - SAME_INSIDE, asked.inside + SAME_INSIDE)
    if asked.section is not None:
        yield Item.ring_section.between(asked.section - SAME_SECTION, asked.section + SAME_SECTION)
    if asked.elastomer is not None:
        yield Item.elastomer == asked.elastomer
    if asked.hardness is not None:
        # One that nobody states may be it: it is listed, and shown as not stated.
        yield or_(Item.hardness == asked.hardness, Item.hardness.is_(None))


def item_views(session: Session, rows: Sequence[RingRow]) -> tuple[RingItemView, ...]:
    """Items as given, each with what is free per branch: not on hold, not promised."""
    free: dict[int, list[FreeView]] = {}
    for item_id, branch, amount in session.execute(
        select(Lot.item_id, Branch.code, func.sum(Lot.on_hand - Lot.promised))
        .join(Branch, Lot.branch_id == Branch.id)
        .where(
            Lot.item_id.in_([row.id for row in rows]),
            Lot.held.is_(None),
            Lot.on_hand > Lot.promised,
            OURS,
        )
        .group_by(Lot.item_id, Branch.code)
        .order_by(Branch.code)
    ):
        free.setdefault(item_id, []).append(FreeView(branch, int(amount)))
    return tuple(
        RingItemView(
            item=row.code,
            name=row.name,
            inside=row.inside / 1000,
            section=row.section / 1000,
            elastomer=row.elastomer,
            hardness=row.hardness,
            colour=row.colour,
            stock=tuple(free.get(row.id, ())),
        )
        for row in rows
    )
