"""Editions of the catalogue: every change of it is a new one, so that plans know theirs."""

from __future__ import annotations

from sqlalchemy.orm import Mapped

from kitting.tables.base import Base, Identity, LongText


class CatalogueEdition(Base):
    """A change of the catalogue or of what is known of a car; `what` says which files or car."""

    __tablename__ = "catalogue_edition"

    id: Mapped[Identity]
    what: Mapped[LongText]
