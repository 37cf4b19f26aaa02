"""The shared column vocabulary and the naming convention of every constraint."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import BigInteger, CheckConstraint, ForeignKey, Integer, MetaData, String, Text
from sqlalchemy.orm import DeclarativeBase, mapped_column

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}

RULES = ("renew", "inspect", "keep")
STATED_SOURCES = ("maker", "leaflet", "workshop")


class Base(DeclarativeBase):
    """Root of all tables."""

    metadata = MetaData(naming_convention=NAMING)


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
Code = Annotated[str, mapped_column(String(40))]
Name = Annotated[str, mapped_column(String(200))]
LongText = Annotated[str, mapped_column(Text)]
# A class of fluids or lubricants, by the codes of `kitting.facts.rubber_media`.
Medium = Annotated[str, mapped_column(String(40))]
Word = Annotated[str, mapped_column(String(20))]
# Amounts are exact: whole thousandths of the unit that the column or the row names.
Thousandths = Annotated[int, mapped_column(BigInteger)]
# Money: whole minor units (pence, cents) of the currency that the row or its owner names.
Minor = Annotated[int, mapped_column(BigInteger)]
Position = Annotated[int, mapped_column(Integer)]


def one_of(column: str, words: tuple[str, ...]) -> CheckConstraint:
    """A CHECK that a text column holds one of a few words (portable where ENUM is not)."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


def positive(column: str) -> CheckConstraint:
    """A CHECK that an amount is more than nothing."""
    return CheckConstraint(f"{column} > 0", name=f"{column}_positive")


def not_negative(column: str) -> CheckConstraint:
    """A CHECK that an amount is not less than nothing."""
    return CheckConstraint(f"{column} >= 0", name=f"{column}_not_negative")


def owned_by(table: str) -> ForeignKey:
    """A reference to the row that owns this one: they go together."""
    return ForeignKey(f"{table}.id", ondelete="CASCADE")


def refers_to(table: str) -> ForeignKey:
    """A reference to a row that stands on its own: it cannot be removed while referred to."""
    return ForeignKey(f"{table}.id", ondelete="RESTRICT")
