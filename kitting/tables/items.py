"""Items: parts and consumables, what packets bring, what replaces what."""

from __future__ import annotations

import operator
from datetime import date
from functools import reduce
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    FromClause,
    Index,
    Label,
    ScalarSelect,
    String,
    UniqueConstraint,
    and_,
    bindparam,
    case,
    cast,
    func,
    literal,
    or_,
    select,
)
from sqlalchemy.orm import Mapped, column_property, mapped_column

from kitting.facts.ageing import AGEING_PARTS, AGELESS_CONSUMABLES
from kitting.facts.language import language_of, told_in
from kitting.facts.words import (
    RATINGS,
    STATED_SOURCES,
    ItemFamily,
    KindRubber,
    OldStock,
    Rating,
    Rule,
    Source,
    StockUnit,
)
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Medium,
    Name,
    Position,
    Thousandths,
    Word,
    one_of,
    owned_by,
    positive,
    refers_to,
)
from kitting.tables.vocabulary import Kind


def _made_of_rubber(kind: Any) -> ColumnElement[bool]:
    """Whether material and age of a kind have to be known, for its columns."""
    return func.coalesce(kind.rubber == KindRubber.MADE_OF, kind.family == ItemFamily.RING)


def _ages(kind: Any) -> ColumnElement[bool]:
    """Whether a kind ages by its nature, for its columns: see `kitting.facts.ageing`."""
    consumable = and_(
        kind.family == ItemFamily.CONSUMABLE, kind.code.not_in(sorted(AGELESS_CONSUMABLES))
    )
    return or_(consumable, kind.code.in_(sorted(AGEING_PARTS)))


class Item(Base):
    """A catalogue part or consumable. Lengths are thousandths of a millimetre."""

    __tablename__ = "item"
    __table_args__ = (
        UniqueConstraint("code"),
        one_of("unit", StockUnit),
        positive("pack"),
        positive("ring_inside"),
        positive("ring_section"),
        positive("shelf_life_months"),
        positive("opened_life_days"),
        # A ring is found by inside diameter and section together; half a size finds the wrong one.
        CheckConstraint(
            "(ring_inside IS NULL) = (ring_section IS NULL)", name="ring_size_complete"
        ),
        # A head without its size cannot be matched to a tool.
        CheckConstraint("(head IS NULL) = (head_size IS NULL)", name="head_complete"),
        CheckConstraint("hardness BETWEEN 20 AND 100", name="hardness_plausible"),
        positive("open_minutes"),
        positive("cure_minutes"),
        positive("laying_speed"),
        # Times to work and to wait are the product's own, or they are not known.
        CheckConstraint(
            "times_source IS NOT NULL OR (open_minutes IS NULL AND cure_minutes IS NULL)",
            name="times_have_source",
        ),
        Index(None, "kind_id"),
        Index(None, "ring_inside", "ring_section"),
    )

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]
    kind_id: Mapped[int] = mapped_column(refers_to("kind"))
    unit: Mapped[StockUnit]
    pack: Mapped[Thousandths | None]
    sold_singly: Mapped[bool]
    colour: Mapped[Name | None]
    elastomer: Mapped[Word | None]
    hardness: Mapped[int | None]
    ring_inside: Mapped[Thousandths | None]
    ring_section: Mapped[Thousandths | None]
    head: Mapped[Word | None]
    head_size: Mapped[Word | None]
    thread: Mapped[Word | None]
    length: Mapped[Thousandths | None]
    property_class: Mapped[Word | None]
    shelf_life_months: Mapped[int | None]
    opened_life_days: Mapped[int | None]
    nozzle_waste: Mapped[Thousandths | None]
    medium: Mapped[Medium | None]
    open_minutes: Mapped[int | None]
    cure_minutes: Mapped[int | None]
    laying_speed: Mapped[int | None]
    times_source: Mapped[LongText | None]
    times_celsius: Mapped[int | None]
    bin: Mapped[Name | None]
    # As its kind says: whether its material and age have to be known.
    rubber: Mapped[bool] = column_property(
        select(_made_of_rubber(Kind)).where(Kind.id == kind_id).scalar_subquery()
    )
    # As its kind says: whether silence about its shelf life leaves its age unknown.
    ages: Mapped[bool] = column_property(
        select(_ages(Kind)).where(Kind.id == kind_id).scalar_subquery()
    )
    if TYPE_CHECKING:
        contents_age: Mapped[str]  # see below, where packets are known
        shown_name: Mapped[str]  # likewise, names in other languages


class ItemGtin(Base):
    """A number of 14 digits by which packets of an item are scanned; no two items have one."""

    __tablename__ = "item_gtin"
    __table_args__ = (Index(None, "item_id"),)

    gtin: Mapped[str] = mapped_column(String(14), primary_key=True)
    item_id: Mapped[int] = mapped_column(owned_by("item"))


class ItemName(Base):
    """What an item is called in another language than that of the catalogue (ISO 639)."""

    __tablename__ = "item_name"

    item_id: Mapped[int] = mapped_column(owned_by("item"), primary_key=True)
    language: Mapped[str] = mapped_column(String(3), primary_key=True)
    name: Mapped[Name]


_told_in = bindparam("told_in", type_=String, callable_=lambda: language_of(told_in()))
# The name in the language that is told now, else the one that the catalogue gives.
Item.shown_name = column_property(
    func.coalesce(
        select(ItemName.name)
        .where(ItemName.item_id == Item.__table__.c.id, ItemName.language == _told_in)
        .correlate(Item.__table__)
        .scalar_subquery(),
        Item.__table__.c.name,
    )
)


ITEM_NAME: Label[str] = Item.shown_name.label("name")


class ItemContent(Base):
    """What a packet brings."""

    __tablename__ = "item_content"
    __table_args__ = (
        positive("quantity"),
        # A packet that holds itself would never be counted out.
        CheckConstraint("packet_id <> item_id", name="not_itself"),
        Index(None, "item_id"),
    )

    packet_id: Mapped[int] = mapped_column(owned_by("item"), primary_key=True)
    item_id: Mapped[int] = mapped_column(refers_to("item"), primary_key=True)
    quantity: Mapped[Thousandths]


_LEVELS = 3  # packets in packets that are looked into


def _held(level: int) -> ScalarSelect[str]:
    """By what the things in a packet age, so many packets deep: a line of text for each.

    Elastomer, months of storage life, whether it is rubber and whether it ages; deeper than that
    nobody looks, and it is taken for rubber of which nothing is known.
    """
    held = [ItemContent.__table__.alias(f"held_{deep}") for deep in range(level)]
    joined: FromClause = held[0]
    for outer, inner in pairwise(held):
        joined = joined.join(inner, inner.c.packet_id == outer.c.item_id)
    inside, kind = Item.__table__.alias("inside"), Kind.__table__.alias("kind_inside")
    joined = joined.join(inside, inside.c.id == held[-1].c.item_id)
    joined = joined.join(kind, kind.c.id == inside.c.kind_id)
    words: ColumnElement[str] = literal("||1|0")
    if level <= _LEVELS:
        words = (
            func.coalesce(inside.c.elastomer, "")
            + "|"
            + func.coalesce(cast(inside.c.shelf_life_months, String), "")
            + "|"
            + case((_made_of_rubber(kind.c), "1"), else_="0")
            + "|"
            + case((_ages(kind.c), "1"), else_="0")
        )
    lines = func.aggregate_strings(words, "\n")
    found = select(lines).select_from(joined).where(held[0].c.packet_id == Item.__table__.c.id)
    return found.correlate(Item.__table__).scalar_subquery()


# By what the things that a packet brings age, one of them on each line; empty for what brings none.
Item.contents_age = column_property(
    reduce(
        operator.add,
        (func.coalesce(_held(level) + "\n", "") for level in range(1, _LEVELS + 2)),
    )
)


class ItemRule(Base):
    """What the leaflet of an item, or workshop policy for it, says about going back."""

    __tablename__ = "item_rule"
    __table_args__ = (
        # One statement per source: two would contradict each other.
        UniqueConstraint("item_id", "source"),
        one_of("rule", Rule),
        one_of("source", STATED_SOURCES),
    )

    id: Mapped[Identity]
    item_id: Mapped[int] = mapped_column(owned_by("item"))
    source: Mapped[Source]
    rule: Mapped[Rule]
    criterion: Mapped[LongText | None]
    reference: Mapped[LongText]


class ItemMedium(Base):
    """How one item stands a medium, by a source that speaks of this very compound."""

    __tablename__ = "item_medium"
    __table_args__ = (one_of("source", STATED_SOURCES), one_of("rating", RATINGS))

    item_id: Mapped[int] = mapped_column(owned_by("item"), primary_key=True)
    medium: Mapped[Medium] = mapped_column(primary_key=True)
    source: Mapped[Source] = mapped_column(primary_key=True)
    rating: Mapped[Rating]
    reference: Mapped[LongText]


class Succession(Base):
    """That an item is replaced, since when, and what becomes of the old stock."""

    __tablename__ = "succession"
    __table_args__ = (one_of("old_stock", OldStock),)

    item_id: Mapped[int] = mapped_column(owned_by("item"), primary_key=True)
    old_stock: Mapped[OldStock]
    since: Mapped[date | None]
    note: Mapped[LongText | None]


class Successor(Base):
    """One of the items that replace another; several make a set."""

    __tablename__ = "successor"
    __table_args__ = (
        positive("quantity"),
        CheckConstraint("item_id <> by_item_id", name="not_itself"),
        Index(None, "by_item_id"),
    )

    item_id: Mapped[int] = mapped_column(owned_by("item"), primary_key=True)
    by_item_id: Mapped[int] = mapped_column(refers_to("item"), primary_key=True)
    quantity: Mapped[Thousandths]


class Alternative(Base):
    """An item that may stand in, in order of preference."""

    __tablename__ = "alternative"
    __table_args__ = (
        UniqueConstraint("item_id", "seq"),
        CheckConstraint("item_id <> other_id", name="not_itself"),
        Index(None, "other_id"),
    )

    item_id: Mapped[int] = mapped_column(owned_by("item"), primary_key=True)
    other_id: Mapped[int] = mapped_column(refers_to("item"), primary_key=True)
    seq: Mapped[Position]
    note: Mapped[LongText | None]


class ItemCaution(Base):
    """A caution that comes with one item."""

    __tablename__ = "item_caution"

    item_id: Mapped[int] = mapped_column(owned_by("item"), primary_key=True)
    caution_id: Mapped[int] = mapped_column(refers_to("caution"), primary_key=True)
