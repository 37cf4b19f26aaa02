"""All tables with all their indexes: what migrations, copies and writers need.

Importing this module fills `Base.metadata`, which Alembic compares with the database.
"""

from __future__ import annotations

from sqlalchemy import Index, text

from kitting.tables import (
    bookings,
    cars,
    editions,
    group,
    items,
    kit,
    order_history,
    photos,
    ramps,
    stock,
    supply,
    toolbox,
    units,
    vehicles,
    vocabulary,
    work,
)
from kitting.tables.base import Base

FAMILIES = (
    bookings,
    cars,
    editions,
    group,
    items,
    kit,
    order_history,
    photos,
    ramps,
    stock,
    supply,
    toolbox,
    units,
    vehicles,
    vocabulary,
    work,
)

for mapper in Base.registry.mappers:
    for unique in getattr(mapper.class_, "__unique_where__", ()):
        columns = [mapper.local_table.c[name] for name in unique.columns]
        where = text(unique.where)
        Index(unique.name, *columns, unique=True, sqlite_where=where, postgresql_where=where)

__all__ = ["FAMILIES", "Base"]
