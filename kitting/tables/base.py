"""The shared column vocabulary and the naming convention of every constraint."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, ClassVar

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Dialect,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Text,
    TypeDecorator,
)
from sqlalchemy.orm import DeclarativeBase, mapped_column

from kitting.facts import car_facts, tool_words, verdicts, weights, words
from kitting.facts.bounds import CODE_SIGNS, NAME_SIGNS, WORD_SIGNS

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class WordOf(TypeDecorator[StrEnum]):
    """A text column of a few words, read as the enum that lists them."""

    impl = String
    cache_ok = True

    def __init__(self, words: type[StrEnum], length: int = 20) -> None:
        super().__init__(length)
        self.words = words

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        """The word as plain text."""
        return None if value is None else str(value)

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        """The member of the enum; None stays None."""
        members: dict[str | None, StrEnum | None] = {word.value: word for word in self.words}
        return members.get


class Base(DeclarativeBase):
    """Root of all tables."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map: ClassVar = {
        enum: WordOf(enum, length)
        for enum, length in (
            (words.Rule, 20), (words.NeedRule, 20), (words.Source, 20), (words.RelaxedBy, 20),
            (words.KindRubber, 20),
            (words.ItemFamily, 20), (words.StockUnit, 20), (words.OldStock, 20),
            (words.BookingState, 20), (words.FindingResult, 200), (words.RefitOutcome, 20),
            (words.MovementKind, 20), (words.KitEventKind, 20), (words.KitWhy, 20),
            (words.ShelfPolicy, 20), (words.Rating, 20), (words.ClaimKind, 20),
            (words.SettledBy, 20), (words.ThreadState, 20), (words.Heat, 20),
            (words.FastenerAccess, 20),
            (verdicts.Verdict, 20), (verdicts.Aspect, 20), (car_facts.CarFact, 20),
            (weights.WeightIs, 20),
            (words.ThreadedInto, 20), (tool_words.ToolSort, 20), (tool_words.ToolState, 20),
            (tool_words.ToolOfferWay, 20), (tool_words.WrenchClass, 20),
            (tool_words.WrenchDirection, 20),
        )
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class UniqueWhere:
    """Columns that are unique among the rows of a condition: a partial index.

    Queries need no index object, and making one loads every driver of both engines; so a class
    states its own in `__unique_where__`, and `kitting.tables.all` makes them for migrations.
    """

    name: str
    columns: tuple[str, ...]
    where: str


Identity = Annotated[int, mapped_column(Integer, primary_key=True)]
Code = Annotated[str, mapped_column(String(CODE_SIGNS))]
Name = Annotated[str, mapped_column(String(NAME_SIGNS))]
LongText = Annotated[str, mapped_column(Text)]
# A class of fluids or lubricants, by the codes of `kitting.facts.rubber_media`.
Medium = Annotated[str, mapped_column(String(40))]
Word = Annotated[str, mapped_column(String(WORD_SIGNS))]
# Amounts are exact: whole thousandths of the unit that the column or the row names.
Thousandths = Annotated[int, mapped_column(BigInteger)]
# Money: whole minor units (pence, cents) of the currency that the row or its owner names.
Minor = Annotated[int, mapped_column(BigInteger)]
Position = Annotated[int, mapped_column(Integer)]


def one_of(column: str, allowed: Iterable[str]) -> CheckConstraint:
    """A CHECK that a text column holds one of a few words (portable where ENUM is not)."""
    listed = ", ".join(f"'{word}'" for word in allowed)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


def positive(column: str) -> CheckConstraint:
    """A CHECK that an amount is more than nothing."""
    return CheckConstraint(f"{column} > 0", name=f"{column}_positive")


def not_negative(column: str) -> CheckConstraint:
    """A CHECK that an amount is not less than nothing."""
    return CheckConstraint(f"{column} >= 0", name=f"{column}_not_negative")


def one_given(columns: Iterable[str], name: str) -> CheckConstraint:
    """A CHECK that exactly one of some columns is given."""
    given = (f"(CASE WHEN {column} IS NULL THEN 0 ELSE 1 END)" for column in columns)
    return CheckConstraint(f"{' + '.join(given)} = 1", name=name)


def owned_by(table: str) -> ForeignKey:
    """A reference to the row that owns this one: they go together."""
    return ForeignKey(f"{table}.id", ondelete="CASCADE")


def refers_to(table: str) -> ForeignKey:
    """A reference to a row that stands on its own: it cannot be removed while referred to."""
    return ForeignKey(f"{table}.id", ondelete="RESTRICT")
