"""Every table; importing this package fills `Base.metadata`."""

from kitting.tables import (
    bookings,
    items,
    stock,
    supply,
    toolbox,
    units,
    vehicles,
    vocabulary,
    work,
)
from kitting.tables.base import Base

__all__ = [
    "Base",
    "bookings",
    "items",
    "stock",
    "supply",
    "toolbox",
    "units",
    "vehicles",
    "vocabulary",
    "work",
]
