"""Editions of the catalogue, and who wrote what stands in it.

Every change of the catalogue is a new edition, so that plans know theirs.
"""

from __future__ import annotations

from sqlalchemy import Index
from sqlalchemy.orm import Mapped, mapped_column

from kitting.tables.base import Base, Code, Identity, LongText, Name, refers_to


class CatalogueEdition(Base):
    """A change of the catalogue or of what is known of a car; `what` says which files or car."""

    __tablename__ = "catalogue_edition"

    id: Mapped[Identity]
    what: Mapped[LongText]


class CatalogueOrigin(Base):
    """What the head of a catalogue file says: its author, and what it is taken from."""

    __tablename__ = "catalogue_origin"

    id: Mapped[Identity]
    author: Mapped[Name]
    source: Mapped[LongText | None]
    version: Mapped[Name | None]
    licence: Mapped[LongText | None]


class OriginOf(Base):
    """Which head was on the file that a unit, an item or a word was last loaded from.

    A thing is named by section and code: it refers to no row of its table, like a photo.
    """

    __tablename__ = "origin_of"
    __table_args__ = (Index(None, "origin_id"),)

    section: Mapped[Code] = mapped_column(primary_key=True)
    code: Mapped[Code] = mapped_column(primary_key=True)
    origin_id: Mapped[int] = mapped_column(refers_to("catalogue_origin"))
