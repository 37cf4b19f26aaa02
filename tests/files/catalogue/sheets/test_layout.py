"""The sheets of a catalogue workbook follow the shapes: nothing that may be stated lacks a cell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from workbooks import empty

from kitting.facts.elastomers import ELASTOMERS
from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.sheets.layout import Sort, sheet_at, sheets
from kitting.files.catalogue.sheets.reading import HOW_TO, WORDS
from kitting.files.catalogue.sheets.writing import workbook

SCHEMA = Catalogue.model_json_schema(mode="validation")
# Terms of trade of one garage are no part of a workbook; the role of a fit is its row in 'parts'.
NOT_IN_A_WORKBOOK = {("branches",), ("suppliers",), ("units", "joints", "fits", "role")} | {
    ("units", part, "uses", "role") for part in ("joints", "steps")
}


def entry_of(schema: Any) -> Any:
    """The shape of the entry, or of the entries of the list, that a schema allows."""
    for one in schema.get("anyOf", [schema]):
        of = one.get("items", one)
        shape = SCHEMA["$defs"].get(of.get("$ref", "").rpartition("/")[2], {})
        if "properties" in shape:
            return shape
    return None


def fields(shape: Any, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for key, schema in shape["properties"].items():
        entry = entry_of(schema)
        if entry is None or (*before, key) in NOT_IN_A_WORKBOOK:
            yield (*before, key)
        else:
            yield from fields(entry, (*before, key))


def test_every_field_has_a_column() -> None:
    columns = {(*sheet.path, *column.keys) for sheet in sheets() for column in sheet.columns} | {
        sheet.path for sheet in sheets()
    }
    assert set(fields(SCHEMA)) - columns == NOT_IN_A_WORKBOOK


def test_no_heading_stands_twice_on_a_sheet() -> None:
    for sheet in sheets():
        headings = [column.heading for column in sheet.headings]
        assert sorted(set(headings)) == sorted(headings)


def test_cells_are_read_by_what_may_stand_there() -> None:
    sort = {column.heading: column.sort for column in sheet_at(("vehicles",)).columns}
    assert sort["build date"] is Sort.DAY
    assert sort["equipment"] is Sort.MAP
    assert sort["units"] is Sort.LIST
    assert sort["weight"] is Sort.TEXT
    fits = {column.heading: column for column in sheet_at(("units", "joints", "fits")).columns}
    assert fits["refit limit"].sort is Sort.NUMBER
    assert fits["lubricant cars own"].sort is Sort.YES_NO
    assert fits["recess"].figure
    assert not fits["end"].figure
    assert fits["holes"].of_lists


def test_an_empty_workbook_can_be_filled_in_without_a_book_beside_it() -> None:
    book = empty()
    assert book.sheetnames == [HOW_TO, *(sheet.name for sheet in sheets()), WORDS]
    assert book[WORDS].sheet_state == "hidden"
    for sheet in sheets():
        page = book[sheet.name]
        assert page.freeze_panes.endswith("2")
        assert [cell.value for cell in page[1]] == [column.heading for column in sheet.headings]
        assert all(cell.comment.text for cell in page[1])


def test_lists_offer_the_words_that_are_known() -> None:
    book = empty()

    def offered(sheet: str, heading: str) -> str:
        page = book[sheet]
        letter = next(cell.column_letter for cell in page[1] if cell.value == heading)
        return next(
            str(rule.formula1)
            for rule in page.data_validations.dataValidation
            if f"{letter}2" in str(rule.sqref)
        )

    assert offered("items", "kind") == f"{WORDS}!$A$2:$A$2"
    assert book[WORDS]["A2"].value == "o-ring"
    assert offered("fits", "item") == "'items'!$A$2:$A$1000"
    assert offered("fits", "joint") == "'joints'!$B$2:$B$1000"
    assert offered("fit rules", "rule") == '"renew,inspect,keep"'
    assert offered("items", "sold singly") == '"yes,no"'


def test_cells_keep_what_is_typed_as_text() -> None:
    book = empty()
    page = book["items"]
    formats = {
        cell.value: page.column_dimensions[cell.column_letter].number_format for cell in page[1]
    }
    assert formats["code"] == formats["head"] == "@"
    assert formats["hardness"] == "General"
    assert formats["replaced since"] == "yyyy-mm-dd"


def test_a_list_of_words_may_be_long() -> None:
    assert workbook({}, {"rubbers": list(ELASTOMERS) * 50}).startswith(b"PK")
