"""Catalogue workbooks with the words that are known here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.elastomers import ELASTOMERS
from kitting.files.catalogue.patterns import known_patterns
from kitting.files.catalogue.sheets.writing import workbook
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.tables.vocabulary import Fluid, Kind, Licence, System

_TABLES: Mapping[str, Any] = {
    "kinds": Kind,
    "fluids": Fluid,
    "systems": System,
    "licences": Licence,
}


def catalogue_workbook(
    session: Session | None,
    sections: Mapping[str, Any],
    how_to: Sequence[str],
) -> bytes:
    """A workbook (XLSX) of some sections; empty ones are there to be filled in, as `how_to` says.

    Its drop-down lists hold the words of the database, or where there is none the general ones.
    Raises FigureError for a text that no cell takes.
    """
    (general,) = seeds(GENERAL)
    words: dict[str, list[str]] = {"rubbers": list(ELASTOMERS), "patterns": list(known_patterns())}
    for section, table in _TABLES.items():
        if session is None:
            words[section] = sorted(one.code for one in getattr(general.catalogue, section))
        else:
            words[section] = list(session.scalars(select(table.code).order_by(table.code)))
    return workbook(sections, words, how_to)
