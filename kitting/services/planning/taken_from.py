"""What the file of a unit says that it is taken from: the source of what has none of its own."""

from __future__ import annotations

from sqlalchemy import ColumnElement, Text, select, type_coerce
from sqlalchemy.orm import InstrumentedAttribute

from kitting.tables.editions import CatalogueOrigin, OriginOf


def taken_from(unit: ColumnElement[str] | InstrumentedAttribute[str]) -> ColumnElement[str | None]:
    """The source in the head of the file that a unit, by the column of its code, came from."""
    found = (
        select(CatalogueOrigin.source)
        .join(OriginOf, OriginOf.origin_id == CatalogueOrigin.id)
        .where(OriginOf.section == "units", OriginOf.code == unit)
        .scalar_subquery()
    )
    return type_coerce(found, Text)
