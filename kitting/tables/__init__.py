"""Every table of the catalogue; importing this package fills `Base.metadata`."""

from kitting.tables import items, toolbox, units, vehicles, vocabulary, work
from kitting.tables.base import Base

__all__ = ["Base", "items", "toolbox", "units", "vehicles", "vocabulary", "work"]
