"""Faults of a workbook: each with its sheet, row and column, all at once."""

from __future__ import annotations

import re
import zipfile
from datetime import date, datetime, time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from openpyxl import load_workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.styles import Font
from workbooks import Rows, empty, filled

from kitting.errors import FigureError
from kitting.files.catalogue.source import Source, read_catalogue
from kitting.files.shown_cells import plain_text_of

ITEM = {"code": "A", "name": "a", "kind": "o-ring"}
UNIT = {"code": "u", "name": "U"}
JOINT = {"code": "j", "name": "J", "system": "brakes"}
FIT = {"joint": "j", "item": "A", "position": "p"}
HERE: Rows = {"units": [UNIT], "joints": [JOINT]}


def read(path: Path, rows: Rows) -> tuple[Source | None, list[str]]:
    found, problems = read_catalogue(filled(path / "x.xlsx", rows))
    return found, [str(one).removeprefix(f"{path}/") for one in problems]


def told(path: Path, rows: Rows) -> list[str]:
    found, problems = read(path, rows)
    assert found is None
    return problems


def item_of(path: Path, **cells: Any) -> Any:
    found, problems = read(path, {"items": [{**ITEM, **cells}]})
    assert found is not None, problems
    return found.catalogue.items[0]


def in_items(column: str, cell: str, reason: str) -> list[str]:
    return [f"x.xlsx, sheet 'items', row 2, column {column!r}: {cell}: {reason}"]


AS_TEXT = "Format the cell as text and type it again"


@pytest.mark.parametrize(
    ("heading", "value", "cell", "reason"),
    [
        ("head", datetime(2026, 2, 1),  # noqa: DTZ001 - as a spreadsheet gives it
         "cell '2026-02-01'", f"the spreadsheet made a date of what was typed (2026-02-01). {AS_TEXT}"),
        ("head", time(10, 30), "cell '10:30:00'",
         f"the spreadsheet made a time of what was typed (10:30:00). {AS_TEXT}"),
        ("code", True, "cell 'True'", f"the cell is TRUE, not text. {AS_TEXT}"),
        ("replaced since", 45_000, "cell '45000'", "45000 is no date. Write for example 2026-04-15"),
        ("sold singly", 2, "cell '2'", "2 is neither yes nor no. Write yes or no"),
        ("gtins", 1.5, "cell '1.5'", f"the spreadsheet made the number 1.5 of what was typed. {AS_TEXT}"),
        ("cautions", "a, [b", "cell 'a, [b'",
         "expected ',' or ']', but got '<stream end>'. Write entries as 'one, two' or 'key: value'"),
        ("name", "=A1", "cell without a value",
         "its formula has no value. Open and save it in the spreadsheet program, or type the value"),
        ("name", "#REF!", "cell '#REF!'", "the spreadsheet could not work it out: #REF!. Type the value"),
    ],
)  # fmt: skip
def test_a_cell_that_cannot_be_read(
    tmp_path: Path, heading: str, value: object, cell: str, reason: str
) -> None:
    assert told(tmp_path, {"items": [{**ITEM, heading: value}]}) == in_items(heading, cell, reason)


def shown(path: Path, value: object, shown_as: str, heading: str = "code") -> list[Any]:
    """An item of which one cell is shown by a format: its code, or what is told of it."""
    book = empty()
    page = book["items"]
    for column, text in enumerate(("A", "a", "o-ring"), 1):
        page.cell(2, column).value = text
    cell = next(cell for cell in page[1] if cell.value == heading)
    page.cell(2, cell.column).value = value
    page.cell(2, cell.column).number_format = shown_as
    book.save(path / "x.xlsx")
    found, problems = read_catalogue(path / "x.xlsx")
    return [found.catalogue.items[0].code] if found else [one.reason for one in problems]


def test_a_number_is_what_is_seen_or_it_is_refused(tmp_path: Path) -> None:
    assert shown(tmp_path, 450, "0000") == ["0450"]
    assert shown(tmp_path, 450, "#,##0") == ["450"]
    assert shown(tmp_path, 12_500, "0.0,") == [
        "the cell keeps the number 12500 and shows it otherwise (0.0,)"
    ]
    assert shown(tmp_path, 12_345_678_901_234_567_890, "0") == [
        "a number of so many digits is rounded in a spreadsheet"
    ]


@pytest.mark.parametrize("shown_as", ["mmm yy", "yyyy", 'mmmm" d"', "[$-409]mm/yyyy"])
def test_a_month_that_the_spreadsheet_keeps_as_a_day_is_no_day(
    tmp_path: Path, shown_as: str
) -> None:
    month = datetime(2021, 3, 1)  # noqa: DTZ001 - as a spreadsheet gives it
    assert shown(tmp_path, month, shown_as, "replaced since") == [
        f"the cell shows a month or a year ({shown_as}), and keeps 2021-03-01"
    ]


def test_merged_cells_are_refused(tmp_path: Path) -> None:
    path = filled(tmp_path / "x.xlsx", {"items": [ITEM, ITEM]})
    book = load_workbook(path)
    book["items"].merge_cells("C2:C3")
    book["units"].merge_cells("A1:B1")
    book.save(path)
    _, (problem,) = read_catalogue(path)
    assert (problem.sheet, problem.reason, problem.next_step) == (
        "items",
        "cells C2:C3 are merged: only the first keeps what is typed",
        "Part them, and fill in each",
    )


def test_what_is_struck_out_is_not_read(tmp_path: Path) -> None:
    path = filled(tmp_path / "x.xlsx", {"items": [ITEM]})
    book = load_workbook(path)
    book["items"]["B2"].font = Font(strike=True)
    book.save(path)
    _, (problem,) = read_catalogue(path)
    assert problem.reason == "the cell is struck out"


def test_raised_figures_are_not_read_as_digits() -> None:
    raised = TextBlock(InlineFont(vertAlign="superscript"), "1")
    struck = TextBlock(InlineFont(strike=True), "12")
    for part, how in ((raised, "raised or lowered"), (struck, "struck out")):
        cell = SimpleNamespace(value=CellRichText("20", part, " N·m"))
        with pytest.raises(FigureError, match=how):
            plain_text_of(cell)
    bold = CellRichText("20", TextBlock(InlineFont(b=True), " N·m"))
    assert plain_text_of(SimpleNamespace(value=bold)) == "20 N·m"


def test_two_sheets_of_one_name_are_refused(tmp_path: Path) -> None:
    path = filled(tmp_path / "x.xlsx", {"items": [ITEM]})
    book = load_workbook(path)
    book.create_sheet("Items ")["A1"] = "code"
    book.save(path)
    _, (problem,) = read_catalogue(path)
    assert (problem.sheet, problem.reason) == ("Items ", "it is the same as sheet 'items'")


def test_a_point_with_three_digits_is_in_doubt_where_others_write_a_comma(tmp_path: Path) -> None:
    assert item_of(tmp_path, length="1.250 mm").length == 1250
    rows: Rows = {
        "items": [{**ITEM, "length": "1.250 mm"}, {**ITEM, "code": "B", "length": "2,5 mm"}]
    }
    assert told(tmp_path, rows) == in_items(
        "length",
        "cell '1.250 mm'",
        "'1.250 mm' may have a point between thousands: other cells of the workbook have a decimal"
        " comma. Write '1250 mm' or '1.25 mm'",
    )


def test_what_is_written_for_a_doubtful_point_is_in_doubt_no_more(tmp_path: Path) -> None:
    comma = {**ITEM, "code": "B", "length": "2,5 mm"}
    (fault,) = told(tmp_path, {"items": [{**ITEM, "length": "1.205 mm"}, comma]})
    assert fault.endswith("Write '1205 mm' or '1.2050 mm'")
    for written, meant in (("1205 mm", 1_205_000), ("1.2050 mm", 1205)):
        found, problems = read(tmp_path, {"items": [{**ITEM, "length": written}, comma]})
        assert found is not None, problems
        assert found.catalogue.items[0].length == meant


def test_digits_of_a_list_of_texts_stay_as_they_are(tmp_path: Path) -> None:
    assert item_of(tmp_path, gtins="036000291452").gtins == ("00036000291452",)


@pytest.mark.parametrize("name", ["x.ods", "x.xls", "x.XLSM"])
def test_spreadsheets_of_another_kind_are_told_what_to_do(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"PK")
    _, (problem,) = read_catalogue(tmp_path / name)
    assert (problem.reason, problem.next_step) == (
        "a spreadsheet of another kind than XLSX",
        "In the spreadsheet program save it as .xlsx",
    )


def test_numbers_stand_for_texts_where_they_are_what_is_seen(tmp_path: Path) -> None:
    item = item_of(tmp_path, **{"code": 450, "property class": 10.9})
    assert (item.code, item.property_class) == ("450", "10.9")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2,5 mm", 2500),
        ("0,125 mm", 125),
        ("12,25 mm", 12_250),
        ("2.5 mm", 2500),
        ("1.234,5 mm", 1_234_500),
        ("1 234,5 mm", 1_234_500),
    ],
)
def test_a_decimal_comma_is_read_where_it_can_be_nothing_else(
    tmp_path: Path, typed: str, meant: int
) -> None:
    assert item_of(tmp_path, length=typed).length == meant


def test_a_comma_that_may_part_thousands_is_not_guessed(tmp_path: Path) -> None:
    assert told(tmp_path, {"items": [{**ITEM, "length": "1,250 mm"}]}) == in_items(
        "length",
        "items A › length",
        "'1,250 mm' has a comma in its figure; write '1250 mm' or '1.25 mm', whichever it is. Correct this entry",
    )


def test_days_lists_and_answers_are_read(tmp_path: Path) -> None:
    day = datetime(2026, 4, 15)  # noqa: DTZ001 - as a spreadsheet gives it
    rows: Rows = {
        "items": [
            {**ITEM, "sold singly": "no", "cautions": "hot, sharp", "replaced old stock": "use up",
             "replaced since": day},
            {"code": "B", "name": "b", "kind": "o-ring"},
        ],
        "successors": [{"for item": "A", "item": "B", "quantity": "2 each"}],
        "units": [UNIT],
        "models": [{"code": "m", "name": "M", "units": "u"}],
        "cars": [{"registration": "KITE 1", "model": "m", "equipment": "hook: true, roof: no",
                  "build date": "2021-03-14"}],
    }  # fmt: skip
    found, problems = read(tmp_path, rows)
    assert found is not None, problems
    item, (car,) = found.catalogue.items[0], found.catalogue.vehicles
    assert (item.sold_singly, item.cautions) == (False, ("hot", "sharp"))
    assert item.replaced is not None
    assert (item.replaced.since, item.replaced.by[0].item) == (day.date(), "B")
    assert (car.build_date, car.equipment) == (date(2021, 3, 14), {"hook": True, "roof": False})


def test_what_a_row_belongs_to_has_to_be_there(tmp_path: Path) -> None:
    rows: Rows = {
        **HERE,
        "fits": [FIT, {**FIT, "joint": "jj"}, {**FIT, "joint": None}, {**FIT, "unit": "v"}],
        "fit rules": [{"joint": "j", "position": "q", "rule": "renew"}],
    }
    where = "Add a row for it to sheet"
    assert told(tmp_path, rows) == [
        "x.xlsx, sheet 'fits', row 3, column 'joint': joint 'jj': sheet 'joints' has no such row. Did you mean j?",
        "x.xlsx, sheet 'fits', row 4, column 'joint': row: the cell is empty. Fill in what the row belongs to",
        f"x.xlsx, sheet 'fits', row 5, column 'unit': unit 'v': sheet 'units' has no such row. {where} 'units'",
        f"x.xlsx, sheet 'fit rules', row 2, column 'position': position 'q': sheet 'fits' has no such row. {where} 'fits'",
    ]


def test_the_unit_may_stay_empty_where_there_is_one(tmp_path: Path) -> None:
    assert read(tmp_path, {**HERE, "items": [ITEM], "fits": [FIT]})[0] is not None
    rows: Rows = {"units": [UNIT, {"code": "v", "name": "V"}], "joints": [JOINT]}
    assert told(tmp_path, rows) == [
        "x.xlsx, sheet 'joints', row 2, column 'unit': unit '': 2 rows of sheet 'units' may be"
        " meant. Fill in the unit"
    ]


def test_a_rule_names_the_option_of_its_fit_where_there_are_two(tmp_path: Path) -> None:
    rule = {
        "joint": "j",
        "position": "p",
        "rule": "renew",
        "source": "maker",
        "reference": "page 1",
    }
    rows: Rows = {**HERE, "fits": [{**FIT, "option": "s/a"}, {**FIT, "option": "s/b"}]}
    assert told(tmp_path, {**rows, "fit rules": [rule]}) == [
        "x.xlsx, sheet 'fit rules', row 2, column 'option': position 'p': 2 rows of sheet 'fits' may"
        " be meant. Fill in the option"
    ]
    found, problems = read(tmp_path, {**rows, "fit rules": [{**rule, "option": "s/b"}]})
    assert found is not None, problems
    fits = found.catalogue.units[0].joints[0].fits
    assert [len(fit.rules) for fit in fits] == [0, 1]


def test_what_is_wrong_with_the_shape_is_told_by_sheet_row_and_column(tmp_path: Path) -> None:
    rows: Rows = {
        "items": [{"code": "A", "kind": "o-ring"}, {**ITEM, "ring section": "2.5"}],
        **HERE,
        "fits": [{**FIT, "tightening stages": "20 N·m"}, {**FIT, "position": None}],
        "jobs": [{"code": "J", "name": "j"}],
    }
    assert told(tmp_path, rows) == [
        "x.xlsx, sheet 'fits', row 2, column 'tightening stages': units u › joints j › fits p ›"
        " tightening: stages without a source; say where the figures are published. Correct this entry",
        "x.xlsx, sheet 'fits', row 3: units u › joints j › fits A: give either position or"
        " positions. Correct this entry",
        "x.xlsx, sheet 'items', row 2: items A: 'name' is missing. Fill in column 'name'",
        "x.xlsx, sheet 'items', row 3, column 'ring section': items A › ring_section: '2.5' is a"
        " figure without unit; write for example '2.5 mm' or '2.5 in'. Correct this entry",
        "x.xlsx, sheet 'jobs', row 2: units u › jobs J: 'needs' is missing. Fill in column 'needs'",
    ]


def test_sides_of_a_row_need_those_of_its_joint(tmp_path: Path) -> None:
    assert told(tmp_path, {**HERE, "fits": [{**FIT, "sides": "left"}]}) == [
        "x.xlsx, sheet 'fits', row 2, column 'sides': units u › joints j › fits p › sides: its joint"
        " or step has no sides. Give the joint or step its sides, or take these out"
    ]


def test_two_ways_to_say_a_lubricant_are_not_mixed(tmp_path: Path) -> None:
    rows: Rows = {**HERE, "fits": [{**FIT, "lubricant": "dry", "lubricant item": "G"}]}
    assert told(tmp_path, rows) == [
        "x.xlsx, sheet 'fits', row 2, column 'lubricant item': row: column 'lubricant' says 'dry'"
        " already. Empty one of the two cells"
    ]


def test_parts_of_a_pattern_are_rows(tmp_path: Path) -> None:
    rows: Rows = {
        "units": [UNIT],
        "joints": [{**JOINT, "like": "plug-with-washer", "sides": "left, right"}],
        "parts": [
            {"joint": "j", "part": "plug", "item": "{left: L, right: R}", "tightening stages": "20 N·m",
             "tightening source": "page 1"},
            {"joint": "j", "part": "washer", "item": "none"},
        ],
        "part rules": [{"joint": "j", "part": "plug", "rule": "renew", "source": "maker",
                        "reference": "page 2"}],
    }  # fmt: skip
    found, problems = read(tmp_path, rows)
    assert found is not None, problems
    left, right = found.catalogue.units[0].joints
    assert [fit.item for fit in left.fits] == ["L"]
    assert [fit.item for fit in right.fits] == ["R"]
    assert [rule.reference for rule in right.fits[0].rules] == ["page 2"]
    twice = [*rows["parts"], {"joint": "j", "part": "plug", "item": "X"}]
    assert told(tmp_path, {**rows, "parts": twice}) == [
        "x.xlsx, sheet 'parts', row 4, column 'part': part 'plug': its joint has that part already."
        " Keep one of the two"
    ]


def test_sheets_and_headings_that_nothing_reads(tmp_path: Path) -> None:
    book = empty()
    book.create_sheet("itms")["A1"] = "code"
    book.create_sheet("notes of my own")
    page = book["items"]
    page["B1"] = "nmae"
    page["A2"], page["B2"] = "A", "a"
    book["units"]["J2"] = "beside"
    book["cars"]["B1"] = "registration"
    book.save(tmp_path / "x.xlsx")
    _, problems = read_catalogue(tmp_path / "x.xlsx")
    assert [(one.sheet, one.line, one.column, one.reason, one.next_step) for one in problems] == [
        (
            "itms",
            0,
            "",
            "nothing reads it",
            "If 'items' is meant, name it so. A sheet of your own goes into a workbook of its own",
        ),
        ("items", 1, "nmae", "nothing reads this column", "Did you mean name or names?"),
        ("items", 2, "", "no heading", "Name its column in the first row"),
        ("units", 2, "", "no heading", "Name its column in the first row"),
        ("cars", 1, "registration", "it is given twice", "Keep one of the two"),
    ]


def test_a_formula_counts_by_the_value_it_had(tmp_path: Path) -> None:
    path = filled(tmp_path / "x.xlsx", {"items": [{**ITEM, "hardness": "=70+5"}]})
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    valued = {
        name: re.sub(rb"(<f>70\+5</f>)<v ?(?:/>|></v>)", rb"\1<v>75</v>", text)
        for name, text in parts.items()
    }
    assert valued != parts
    with zipfile.ZipFile(path, "w") as book:
        for name, text in valued.items():
            book.writestr(name, text)
    found, problems = read_catalogue(path)
    assert found is not None, problems
    assert found.catalogue.items[0].hardness == 75


@pytest.mark.parametrize(
    ("content", "reason"),
    [(b"PK no workbook", "it is no XLSX workbook"), (b"", "it is no XLSX workbook")],
)
def test_what_is_no_workbook(tmp_path: Path, content: bytes, reason: str) -> None:
    (tmp_path / "x.xlsx").write_bytes(content)
    _, (problem,) = read_catalogue(tmp_path / "x.xlsx")
    assert (problem.reason, problem.next_step) == (
        reason,
        "Give an XLSX workbook with the sheets of a catalogue",
    )
    _, (absent,) = read_catalogue(tmp_path / "y.xlsx")
    assert absent.reason == "No such file or directory"


def test_an_empty_workbook_says_that_it_is(tmp_path: Path) -> None:
    assert told(tmp_path, {}) == [
        "x.xlsx: file: no sheet has a row. Fill in a row, of 'items' for example"
    ]


def test_a_day_has_no_time(tmp_path: Path) -> None:
    noon = datetime(2026, 4, 15, 12)  # noqa: DTZ001 - as a spreadsheet gives it
    rows: Rows = {"items": [{**ITEM, "replaced old stock": "use up", "replaced since": noon}]}
    assert told(tmp_path, rows) == in_items(
        "replaced since",
        "cell '2026-04-15 12:00:00'",
        f"2026-04-15 12:00:00 is a time of day, and a day was expected. {AS_TEXT}",
    )
