"""One cell of a catalogue workbook: what is read from it, what is written into it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any

from kitting.errors import FigureError
from kitting.files.catalogue.flow import list_text, map_text, plain_codes, quoted
from kitting.files.catalogue.sheets.layout import Column, Sort
from kitting.files.catalogue.yaml_text import parse_yaml

# How a number may be shown so that what is seen is what the cell keeps.
_AS_KEPT = ("General", "@", "0", "GENERAL", None)
_AS_TEXT = "Format the cell as text and type it again"
# One or two decimals are no group of thousands, and nothing is grouped behind a 0.
_DECIMAL_COMMA = re.compile(r"([0-9]+),([0-9]{1,2})(?![0-9,.])(.*)|(0),([0-9]+)(?![0-9,.])(.*)")
_YES = {"yes": True, "true": True, "no": False, "false": False}


def read_cell(column: Column, value: Any, shown_as: str | None = None) -> Any:
    """The value of a cell as a catalogue file would have it; None where it is empty.

    `shown_as` is the format of the cell. Raises FigureError with reason and next step.
    """
    if isinstance(value, str):
        return _read_text(column, value.strip())
    if value is None:
        return None
    if isinstance(value, datetime | date | time) or type(value).__name__ == "timedelta":
        return _read_day(column, value)
    if isinstance(value, bool):
        if column.sort is not Sort.YES_NO:
            raise FigureError(f"the cell is {str(value).upper()}, not text. {_AS_TEXT}")
        return value
    return _read_number(column, value, shown_as)


def _read_text(column: Column, text: str) -> Any:
    if not text:
        return None
    if column.sort is Sort.DAY:
        return text  # the shape reads it, or says how a date is written
    if column.sort is Sort.YES_NO:
        return _YES.get(text.casefold(), text)
    if column.sort is Sort.LIST:
        return _read_list(column, text)
    if column.sort is Sort.MAP:
        return _flow(text if _braced(text) else f"{{{text}}}")
    if _braced(text):
        return _flow(text)
    if column.sort is Sort.NUMBER:
        return _flow(text) if re.fullmatch(r"-?[0-9]+(?:\.[0-9]+)?", text) else text
    if column.figure and (comma := _DECIMAL_COMMA.fullmatch(text)):
        whole, part, rest = (one for one in comma.groups() if one is not None)
        return f"{whole}.{part}{rest}"
    return _unquoted(text)


def _braced(text: str) -> bool:
    return text.startswith("{") and text.endswith("}")


def _unquoted(text: str) -> str:
    if len(text) > 1 and text.startswith('"') and text.endswith('"'):
        try:
            found = json.loads(text)
        except ValueError:
            return text
        return found if isinstance(found, str) else text
    return text


def _read_list(column: Column, text: str) -> Any:
    found = None if column.of_lists else plain_codes(text)
    if found is not None:
        return found
    listed = _flow(f"[{text}]")
    whole = len(listed) == 1 and isinstance(listed[0], list)
    if whole and (not column.of_lists or all(isinstance(one, list) for one in listed[0])):
        return listed[0]
    return listed


def _flow(text: str) -> Any:
    """A text as YAML of one line; its faults are those of the cell."""
    found, problems = parse_yaml("cell", text)
    if problems:
        raise FigureError(f"{problems[0].reason}. Write entries as 'one, two' or 'key: value'")
    return found


def _read_day(column: Column, value: Any) -> Any:
    if column.sort is not Sort.DAY or not isinstance(value, date):
        what = "a date" if isinstance(value, date) else "a time"
        shown = f" ({value.date() if isinstance(value, datetime) else value})"
        raise FigureError(f"the spreadsheet made {what} of what was typed{shown}. {_AS_TEXT}")
    if isinstance(value, datetime):
        if value.time() != time():
            raise FigureError(f"{value} is a time of day, and a day was expected. {_AS_TEXT}")
        value = value.date()
    return value


def _read_number(column: Column, value: Any, shown_as: str | None) -> Any:
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if column.sort is Sort.YES_NO:
        raise FigureError(f"{value} is neither yes nor no. Write yes or no")
    if column.sort is Sort.DAY:
        raise FigureError(f"{value} is no date. Write for example 2026-04-15")
    if column.sort is Sort.NUMBER:
        return value
    if shown_as not in _AS_KEPT:
        reason = f"the cell keeps the number {value} and shows it otherwise ({shown_as})"
        raise FigureError(f"{reason}. {_AS_TEXT}")
    if column.sort is Sort.LIST:
        if isinstance(value, float):
            reason = f"the spreadsheet made the number {value} of what was typed"
            raise FigureError(f"{reason}. {_AS_TEXT}")
        return [value]
    return str(value)


def cell_text(column: Column, value: Any) -> str | int | float | bool | date | None:
    """A value of a catalogue file as it is written into a cell."""
    if column.sort is Sort.LIST and isinstance(value, list | tuple):
        return list_text(value)
    if isinstance(value, Mapping):
        return map_text(value)
    if column.sort is Sort.YES_NO and isinstance(value, bool):
        return "yes" if value else "no"
    if column.sort in (Sort.NUMBER, Sort.DAY):
        return value  # type: ignore[no-any-return]
    text = str(value)
    return (
        quoted(text) if _unquoted(text) != text or _braced(text) or text != text.strip() else text
    )
