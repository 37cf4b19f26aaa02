"""Which table the entries of each section of a catalogue file go to."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import Table

from kitting.services.catalogue.check import SECTIONS
from kitting.tables.all import Base

TABLES: Mapping[str, Table] = Base.metadata.tables
# The singular of a section names its table.
TABLE_OF = {section: section[:-1] for section in SECTIONS} | {"tools": "general_tool"}
