"""Lists of stock: what lies where, counted or carried over."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from kitting.errors import FigureError, Problem
from kitting.facts.shelf_life import parse_made
from kitting.facts.units import parse_quantity
from kitting.files.lists.reader import Field, ListRow, read_cells, read_list


def _code(text: str) -> str:
    if len(text) > 40 or any(char.isspace() or not char.isprintable() for char in text):
        raise FigureError(f"{text[:40]!r} is no code; use letters, digits and hyphens, 40 at most")
    return text


def _word(text: str) -> str:
    if len(text) > 20 or not text.isprintable():
        raise FigureError(f"{text[:40]!r} is longer than 20 characters; shorten it")
    return text


def _name(text: str) -> str:
    if len(text) > 200 or not text.isprintable():
        raise FigureError("the text is longer than 200 characters; shorten it")
    return text


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise FigureError(f"{text[:40]!r} is no date; write for example 2026-04-15") from error


STOCK_FIELDS: dict[str, Field] = {
    "branch": Field(_code, required=True),
    "item": Field(_code, required=True),
    "lot": Field(_code, required=True),
    "quantity": Field(parse_quantity, required=True),
    "bin": Field(_word),
    "made": Field(parse_made),
    "expires": Field(_date),
    "opened": Field(_date),
    "received": Field(_date),
    "on hold": Field(_name),
}


# Headings of earlier versions, and what to write instead.
_FORMER = {"held": "on hold"}


def read_stock(path: Path) -> tuple[list[tuple[ListRow, Mapping[str, Any]]], list[Problem]]:
    """Every row of a stock list with its values, and every fault."""
    rows, problems = read_list(path, tuple(STOCK_FIELDS), _FORMER)
    found: list[tuple[ListRow, Mapping[str, Any]]] = []
    for row in rows:
        values, faults = read_cells(str(path), row, STOCK_FIELDS)
        problems += faults
        if not faults:
            found.append((row, values))
    return found, problems
