"""Which edition of the catalogue, and of what is known of cars, holds now."""

from __future__ import annotations

from sqlalchemy import func, select

from kitting.tables.editions import CatalogueEdition

EDITION = select(func.coalesce(func.max(CatalogueEdition.id), 0))
