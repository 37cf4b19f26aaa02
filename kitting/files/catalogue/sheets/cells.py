"""One cell of a catalogue workbook: what is read from it, what is written into it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from kitting.errors import FigureError
from kitting.facts.figure_signs import InDoubtError, with_point
from kitting.files.catalogue.flow import list_text, map_text, plain_codes, quoted
from kitting.files.catalogue.sheets.layout import Column, Sort
from kitting.files.catalogue.yaml_text import parse_yaml
from kitting.files.shown_cells import AS_TEXT, day_as_shown, is_time, number_as_shown

_THREE_DECIMALS = re.compile(r"\.[0-9]{3}")
_YES = {"yes": True, "true": True, "no": False, "false": False}


def read_cell(
    column: Column, value: Any, shown_as: str | None = None, *, commas: bool = False
) -> Any:
    """The value of a cell as a catalogue file would have it; None where it is empty.

    `shown_as` is the format of the cell, `commas` as of `with_sign_read`. Raises FigureError with
    reason and next step.
    """
    if isinstance(value, str):
        return _read_text(column, value.strip(), commas=commas)
    if value is None:
        return None
    if is_time(value):
        return _read_day(column, value, shown_as)
    if isinstance(value, bool):
        if column.sort is not Sort.YES_NO:
            raise FigureError(f"the cell is {str(value).upper()}, not text. {AS_TEXT}")
        return value
    return _read_number(column, value, shown_as)


def _read_text(column: Column, text: str, *, commas: bool) -> Any:
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
    return with_sign_read(text, commas=commas) if column.figure else _unquoted(text)


def with_sign_read(text: str, *, commas: bool) -> str:
    """A figure with its decimal comma as a point, where the comma can be nothing else.

    `commas` says that other figures of the workbook have decimal commas: then a point may part
    thousands. Raises FigureError for one that may be either.
    """
    try:
        pointed = with_point(text)
    except InDoubtError as doubt:
        if doubt.sign == "," or not commas:
            return text  # the shape says what may be written for a comma
        thousands, decimals = doubt.meant
        if decimals == text:  # three decimals: with a fourth no thousands can be meant
            decimals = _THREE_DECIMALS.sub(r"\g<0>0", text, count=1)
        raise FigureError(
            "{text!r} may have a point between thousands: other cells of the workbook have a"
            " decimal comma. Write '{thousands}' or '{decimals}'",
            text=text,
            thousands=thousands,
            decimals=decimals,
        ) from doubt
    return pointed if "," in text else text


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
    found = plain_codes(text) if column.of_texts else None
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
        raise FigureError(
            "{reason}. Write entries as 'one, two' or 'key: value'", reason=problems[0].reason
        )
    return found


def _read_day(column: Column, value: Any, shown_as: str | None) -> date:
    if column.sort is not Sort.DAY or not isinstance(value, date):
        what = "a date" if isinstance(value, date) else "a time"
        shown = value.date() if isinstance(value, datetime) else value
        raise FigureError(f"the spreadsheet made {what} of what was typed ({shown}). {AS_TEXT}")
    return day_as_shown(value, shown_as)


def _read_number(column: Column, value: Any, shown_as: str | None) -> Any:
    whole = isinstance(value, float) and value.is_integer()
    if column.sort is Sort.YES_NO:
        raise FigureError("{value} is neither yes nor no. Write yes or no", value=value)
    if column.sort is Sort.DAY:
        raise FigureError("{value} is no date. Write for example 2026-04-15", value=value)
    text = number_as_shown(value, shown_as)
    if column.sort is Sort.NUMBER:
        return int(value) if whole else value
    if column.sort is Sort.LIST:
        if isinstance(value, float) and not whole:
            reason = f"the spreadsheet made the number {value} of what was typed"
            raise FigureError(f"{reason}. {AS_TEXT}")
        return [text] if column.of_texts else [int(value)]
    return text


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
