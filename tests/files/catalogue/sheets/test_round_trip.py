"""A workbook holds all that a catalogue file may say, and says it again."""

from __future__ import annotations

import operator
from datetime import date
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from examples import examples
from full_catalogue import FULL
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from helpers import source
from kitting.errors import FigureError
from kitting.facts.control_characters import unwritable
from kitting.files.catalogue.sheets.layout import Column, Sheet, Sort, sheets
from kitting.files.catalogue.sheets.reading import read_workbook
from kitting.files.catalogue.sheets.writing import workbook
from kitting.files.catalogue.source import parse_catalogue, read_catalogue
from kitting.files.catalogue.yaml_text import parse_yaml

TEXTS = (
    st.text(min_size=1, max_size=12)
    | st.sampled_from(["=1+1", "+1", "-x", "@a", "{a: b}", '"quoted"', "no", "1/2", "2,5", "_x000A_",
                       "a, b", "[x]", "a: b # c", "0450", "1.10", "TRUE", "2026-01-02", "é\nline"])
).map(str.strip).filter(lambda text: bool(text) and unwritable(text, lines=True) is None)  # fmt: skip
CODES = st.text("abcAB19-./_", min_size=1, max_size=6)
# A spreadsheet keeps 15 digits of a number.
NUMBERS = st.integers(-1000, 1000) | st.integers(1, 999_999).map(
    lambda number: number / 1000
).filter(lambda number: not number.is_integer())
VALUES = {
    Sort.TEXT: TEXTS,
    Sort.NUMBER: NUMBERS,
    Sort.YES_NO: st.booleans(),
    Sort.DAY: st.dates(date(1950, 1, 1), date(2100, 1, 1)),
    Sort.MAP: st.dictionaries(CODES, st.booleans() | TEXTS, min_size=1, max_size=3),
}


@st.composite
def values(draw: st.DrawFn, column: Column) -> Any:
    if column.figure:
        return draw(st.sampled_from(["17 mm", "0.4 h", "20 N·m", "no figure"]))
    if column.sort is not Sort.LIST:
        return draw(VALUES[column.sort])
    one = TEXTS if column.of_texts else st.integers(-99, 99)
    if column.keys == ("opens",):  # a joint, or one with how often
        one = TEXTS | st.dictionaries(CODES, TEXTS, min_size=1, max_size=2)
    if column.of_lists:
        one = st.lists(NUMBERS, min_size=2, max_size=2)
    return draw(st.lists(one, min_size=1, max_size=3))


@st.composite
def entries(draw: st.DrawFn, sheet: Sheet) -> list[dict[str, Any]]:
    """Entries of a list, each with some columns filled, and with lists of their own."""
    inner = [
        one for one in sheets()
        if one.path[: len(sheet.path)] == sheet.path and one is not sheet and not one.keyed
        and _next_owner(one, sheet) and "parts" not in one.path
    ]  # fmt: skip
    made = []
    for number in range(draw(st.integers(1, 2))):
        entry: dict[str, Any] = {}
        for column in sheet.columns:
            if column.required or draw(st.integers(0, 5)) == 0:
                _put(entry, column.keys, draw(values(column)))
        for key in ("code", "registration", "position"):
            if any(column.keys == (key,) for column in sheet.columns):
                entry[key] = f"{key}-{number}"
        entry.pop("positions", None)
        entry.pop("option", None)
        for one in inner:
            if draw(st.integers(0, 3)) == 0:
                _put(entry, one.path[len(sheet.path) :], draw(entries(one)))
        made.append(entry)
    return made


def _next_owner(inner: Sheet, sheet: Sheet) -> bool:
    return bool(inner.owners) and inner.owners[-1].path == sheet.path


def _put(entry: dict[str, Any], keys: tuple[str, ...], value: Any) -> None:
    for key in keys[:-1]:
        inner = entry.setdefault(key, {})
        if not isinstance(inner, dict):
            return
        entry = inner
    entry[keys[-1]] = value


SECTIONS = st.fixed_dictionaries(
    {},
    optional={
        sheet.path[0]: entries(sheet).map(operator.itemgetter(0))
        if sheet.single
        else entries(sheet)
        for sheet in sheets()
        if not sheet.owners
    },
).filter(bool)


@examples(12, 150)
@given(SECTIONS)
def test_what_is_written_is_read_again(sections: dict[str, Any]) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "x.xlsx"
        path.write_bytes(workbook(sections, {}))
        _, raw, problems = read_workbook(path)
    assert problems == []
    assert plain(raw) == plain(sections)


def plain(node: Any) -> Any:
    if isinstance(node, dict):
        return {str(key): plain(value) for key, value in node.items()}
    if isinstance(node, list | tuple):
        return [plain(one) for one in node]
    return float(node) if isinstance(node, float) else node


def test_a_catalogue_that_states_everything_is_the_same_from_a_workbook(tmp_path: Path) -> None:
    raw, _ = parse_yaml("full.yaml", FULL)
    path = tmp_path / "full.xlsx"
    path.write_bytes(workbook(raw, {}))
    found, problems = read_catalogue(path)
    assert found is not None, problems
    assert found.catalogue == source(FULL).catalogue


def test_no_text_becomes_a_formula() -> None:
    items = [{"code": "A", "name": "=1+1", "kind": "@x", "colour": "+2"}]
    page = load_workbook(BytesIO(workbook({"items": items}, {})))["items"]
    cells = {page.cell(1, cell.column).value: cell for cell in page[2] if cell.value is not None}
    assert {name: cell.data_type for name, cell in cells.items()} == dict.fromkeys(cells, "s")
    assert cells["name"].value == "=1+1"
    assert cells["name"].quotePrefix


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("x" * 32_768, "is longer than a cell may be (32,767 signs). Write YAML instead"),
        ("a\uffff", "holds U+FFFF, a sign that no workbook may. Take it out"),
    ],
)
def test_what_no_cell_takes_is_refused(text: str, told: str) -> None:
    with pytest.raises(FigureError, match=r"no workbook may|longer than a cell") as raised:
        workbook({"units": [{"code": "u", "name": text}]}, {})
    assert str(raised.value).endswith(told)


def test_a_side_of_a_pair_is_told_by_its_row(tmp_path: Path) -> None:
    rows = {
        "units": [{"code": "u", "name": "U"}],
        "joints": [
            {"code": "j", "name": "J", "system": "brakes", "sides": ["left", "right"]},
            {"code": "j-left", "name": "K", "system": "brakes"},
        ],
    }
    sections = {"units": [{**rows["units"][0], "joints": rows["joints"]}]}
    path = tmp_path / "x.xlsx"
    path.write_bytes(workbook(sections, {}))
    _, problems = read_catalogue(path)
    assert [str(one).removeprefix(f"{path}, ") for one in problems] == [
        "sheet 'joints', row 2, column 'sides': units u › joints j: its side 'left' makes the code"
        " 'j-left', which row 3 of sheet 'joints' has already. Give one of them another code"
    ]
    _, (of_yaml,) = parse_catalogue(
        "x.yaml",
        "units:\n- code: u\n  name: U\n  joints:\n"
        "  - {code: j, name: J, system: brakes, sides: [left, right]}\n"
        "  - {code: j-left, name: K, system: brakes}\n",
    )
    assert "which line 6 has already" in of_yaml.reason
