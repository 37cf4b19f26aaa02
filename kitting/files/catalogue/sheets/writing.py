"""Writing a catalogue workbook: empty sheets to fill in, or with what entries state."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from io import BytesIO
from typing import Any

from kitting.errors import FigureError
from kitting.files.catalogue.sheets.cells import cell_text
from kitting.files.catalogue.sheets.layout import (
    Column,
    Path,
    Sheet,
    Sort,
    names_of,
    sheets,
)
from kitting.files.catalogue.sheets.reading import HOW_TO, WORDS

Sections = Mapping[str, Any]  # lists of entries by section, and the entry that heads them
Words = Mapping[str, Sequence[str]]  # the codes that are known, by section

_ROWS = 1000  # that drop-down lists and formats reach to
_LONGEST = 32_767  # signs of a cell (from memory); more would be cut off
_NO_XML = re.compile("[\ufffe\uffff]")  # no characters of XML 1.0 (from memory)
_NARROW, _WIDE = 12, 44  # in digits of the font
_TWO_LINES = 32  # points
_SENTENCES = ("name", "text", "question", "check")
_HEAD, _NEEDED, _OWNER = "FFE7E6E6", "FFFCE4B2", "FFD9E8F6"
_TEXT = "@"  # what is typed stays as it is typed: 1/2 is no date, 0450 keeps its 0
_FORMATS = {Sort.NUMBER: "General", Sort.DAY: "yyyy-mm-dd"}


def workbook(sections: Sections, words: Words, how_to: Sequence[str] = ()) -> bytes:
    """A workbook of the entries of a catalogue, with drop-down lists of the words known.

    Its first sheet says `how_to` fill it in.

    Raises FigureError for a text that no cell takes.
    """
    from openpyxl import Workbook

    book = Workbook()
    _how_to(book.active, how_to)
    known = _words_page(book.create_sheet(WORDS), words)
    for sheet in sheets():
        page = book.create_sheet(sheet.name)
        longest = {column: len(column.heading) for column in sheet.headings}
        for row, values in enumerate(_rows(sheet, sections), 2):
            for at, column in enumerate(sheet.headings, 1):
                if column in values:
                    text = cell_text(column, values[column])
                    _write(page.cell(row, at), text)
                    longest[column] = max(longest[column], len(str(text)))
        _head(page, sheet, longest)
        _lists(page, sheet, known)
    book.move_sheet(WORDS, len(book.worksheets))
    book[WORDS].sheet_state = "hidden"
    target = BytesIO()
    book.save(target)
    return target.getvalue()


def _how_to(page: Any, how_to: Sequence[str]) -> None:
    from openpyxl.styles import Alignment

    page.title = HOW_TO
    page.column_dimensions["A"].width = 100
    for row, text in enumerate(how_to, 1):
        page.cell(row, 1, text).alignment = Alignment(wrap_text=True, vertical="top")
        page.row_dimensions[row].height = _TWO_LINES


def _words_page(page: Any, words: Words) -> Mapping[str, str]:
    """Lists of words on a sheet of their own; the range of each."""
    ranges: dict[str, str] = {}
    for number, (section, codes) in enumerate(sorted(words.items()), 1):
        letter = page.cell(1, number, section).column_letter
        for row, code in enumerate(codes, 2):
            _write(page.cell(row, number), code)
        if codes:
            ranges[section] = f"{WORDS}!${letter}$2:${letter}${len(codes) + 1}"
    return ranges


def _head(page: Any, sheet: Sheet, longest: Mapping[Column, int]) -> None:
    """The headings, what each asks for, and columns as wide as what stands in them."""
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Font, PatternFill

    owned = {column for owner in sheet.owners for column in owner.columns}
    for at, column in enumerate(sheet.headings, 1):
        cell = page.cell(1, at, column.heading)
        colour = _OWNER if column in owned else _NEEDED if column.required else _HEAD
        cell.fill, cell.font = PatternFill("solid", colour), Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        cell.comment = Comment(_about(column), "kitting", height=110, width=280)
        side = page.column_dimensions[cell.column_letter]
        least = _WIDE if column.heading in _SENTENCES else _NARROW
        side.width = max(least, min(_WIDE, longest[column] + 3))
        side.number_format = _FORMATS.get(column.sort, _TEXT)
    page.freeze_panes = page.cell(2, 1 + len(owned) + bool(sheet.keyed) + 1)
    page.sheet_properties.tabColor = None if len(sheet.path) > 2 else _OWNER[2:]


def _about(column: Column) -> str:
    told = [f"{column.about}." if column.about else "", "Has to be filled in." * column.required]
    if column.sort is Sort.LIST:
        told.append("Several with commas.")
    if column.words:
        told.append(f"One of: {', '.join(column.words)}.")
    if column.example:
        told.append(f"For example: {column.example}")
    return " ".join(filter(None, told)) or column.heading


def _lists(page: Any, sheet: Sheet, known: Mapping[str, str]) -> None:
    """Drop-down lists: of fixed words, of words known, of what other sheets name."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    for at, column in enumerate(sheet.headings, 1):
        words = ("yes", "no") if column.sort is Sort.YES_NO else column.words
        listed = f'"{",".join(words)}"'
        source = _range_of(column, known)
        if words and len(listed) <= 255 and not any("," in word for word in words):
            rule = DataValidation("list", formula1=listed, allow_blank=True)
            rule.error = "One of the words of the list is expected."
        elif source:
            rule = DataValidation("list", formula1=source, allow_blank=True)
            rule.errorStyle = "information"  # one of one's own is right as well
            rule.error = "Not among the words known: one of your own?"
        else:
            continue
        letter = get_column_letter(at)
        rule.add(f"{letter}2:{letter}{_ROWS}")
        page.add_data_validation(rule)


def _range_of(column: Column, known: Mapping[str, str]) -> str | None:
    """Where the words of a column stand: on a sheet of this workbook, or among those known."""
    from openpyxl.utils import get_column_letter

    for sheet in sheets():
        if sheet.name == column.names and column.names not in known:
            key = next(iter(names_of(sheet.path)), "code")
            at = next(
                n
                for n, one in enumerate(sheet.headings, 1)
                if one.keys == (key,) and one in sheet.columns
            )
            letter = get_column_letter(at)
            return f"'{sheet.name}'!${letter}$2:${letter}${_ROWS}"
    return known.get(column.names)


def _write(cell: Any, value: Any) -> None:
    if isinstance(value, str) and len(value) > _LONGEST:
        raise FigureError(
            "{value!r}… is longer than a cell may be ({most:,} signs). Write YAML instead",
            value=value[:40],
            most=_LONGEST,
        )
    if isinstance(value, str) and (sign := _NO_XML.search(value)):
        raise FigureError(
            "{value!r} holds U+{sign:04X}, a sign that no workbook may. Take it out",
            value=value[:40],
            sign=ord(sign[0]),
        )
    cell.value = value
    if isinstance(value, str):  # also what begins with '=': no formula is ever written
        cell.data_type, cell.number_format = "s", _TEXT
        cell.quotePrefix = value[:1] in ("=", "+", "-", "@")


def _rows(sheet: Sheet, sections: Sections) -> Iterator[dict[Column, Any]]:
    """The rows of a sheet, by column. Patterns are written out before: their sheets stay empty."""
    for owners, entry in _entries(sheet, sheet.path, sections, ()):
        row: dict[Column, Any] = {}
        for owner, one in zip(sheet.owners, owners, strict=True):
            row |= {column: one.get(column.keys[0]) for column in owner.columns}
        row |= {column: _stated(entry, column) for column in sheet.columns}
        yield {column: value for column, value in row.items() if value is not None}


def _stated(entry: Any, column: Column) -> Any:
    """What an entry states for a column; None where it does not, or other columns say it."""
    for key in column.keys:
        entry = entry.get(key) if isinstance(entry, Mapping) else None
    return None if isinstance(entry, Mapping) and column.sort is not Sort.MAP else entry


def _entries(
    sheet: Sheet, ahead: Path, node: Any, owners: tuple[Any, ...]
) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Every entry of a sheet with those it belongs to, outermost first."""
    found = node.get(ahead[0], ())
    if isinstance(found, Mapping) and sheet.single:
        yield owners, found
        return
    if isinstance(found, Mapping):  # on the way, such as 'replaced' of an item
        yield from _entries(sheet, ahead[1:], found, owners)
        return
    for one in found:
        if len(ahead) == 1:
            yield owners, one
        else:
            yield from _entries(sheet, ahead[1:], one, (*owners, one))
