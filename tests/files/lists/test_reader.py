"""Flat lists: CSV and XLSX read row by row, every fault with its line, nothing in silence."""

from __future__ import annotations

import gc
import zipfile
from datetime import UTC, date, datetime
from pathlib import Path

import psutil
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from kitting.errors import FigureError
from kitting.files.lists.reader import Field, ListRow, iter_list, read_cells, read_list

KNOWN = ("code", "name", "price")
ENCODING = "Give a CSV file in UTF-8, or an XLSX workbook"

DAMAGED = "the workbook is damaged, or one of its pages is no table"


def csv(folder: Path, text: str | bytes) -> Path:
    path = folder / "list.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def xlsx(folder: Path, *rows: list[object]) -> Path:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    path = folder / "list.xlsx"
    book.save(path)
    return path


def faults(path: Path) -> list[str]:
    """What is wrong with a list, without the folder."""
    _, problems = read_list(path, KNOWN)
    return [str(problem).removeprefix(f"{path.parent}/") for problem in problems]


TWO_ROWS = [
    ListRow(2, {"code": "A-1", "name": "ring, green", "price": "£1.20"}),
    ListRow(3, {"code": "B-2", "price": "£3"}),
]


# CSV


@pytest.mark.parametrize(
    "text",
    [
        'code,name,price\nA-1,"ring, green",£1.20\nB-2,,£3\n',
        "code;name;price\nA-1;ring, green;£1.20\nB-2;;£3\n",
        "code\tname\tprice\nA-1\tring, green\t£1.20\nB-2\t\t£3\n",
        '\ufeffcode,name,price\r\nA-1,"ring, green",£1.20\r\nB-2,,£3\r\n',
        ' Code , NAME,Price\n A-1 ,"ring, green",  £1.20\nB-2,  ,£3',
        'price,code,name\n£1.20,A-1,"ring, green"\n£3,B-2\n',
        'code,name,price,\nA-1,"ring, green",£1.20,\nB-2,,£3,,,\n',
    ],
    ids=["comma", "semicolon", "tab", "byte order mark", "spaces", "order", "empty columns"],
)
def test_a_list_is_read_however_it_is_separated(tmp_path: Path, text: str) -> None:
    assert read_list(csv(tmp_path, text), KNOWN) == (TWO_ROWS, [])


def test_quoted_cells_keep_quotes_and_lines_and_rows_keep_their_first_line(tmp_path: Path) -> None:
    text = 'code,name\nA,"a ""wide"" ring\nof rubber"\n\nB,b\n'
    assert read_list(csv(tmp_path, text), KNOWN)[0] == [
        ListRow(2, {"code": "A", "name": 'a "wide" ring\nof rubber'}),
        ListRow(5, {"code": "B", "name": "b"}),
    ]


def test_a_list_of_one_column_needs_no_separator(tmp_path: Path) -> None:
    assert read_list(csv(tmp_path, "code\nA\nB\n"), KNOWN)[0] == [
        ListRow(2, {"code": "A"}),
        ListRow(3, {"code": "B"}),
    ]


def test_a_heading_alone_is_a_list_of_nothing(tmp_path: Path) -> None:
    assert read_list(csv(tmp_path, "code,name\n"), KNOWN) == ([], [])


# Faults of the file


def test_an_empty_file_says_how_to_begin(tmp_path: Path) -> None:
    assert faults(csv(tmp_path, "")) == [
        "list.csv: file: it is empty. Begin with code, name, price"
    ]


def test_a_first_line_without_headings_is_a_fault(tmp_path: Path) -> None:
    assert faults(csv(tmp_path, "\ncode,name\nA,a\n")) == [
        "list.csv:1: file: its first line names no columns. Begin with code, name, price"
    ]


def test_unknown_and_double_columns_are_all_told_at_once(tmp_path: Path) -> None:
    found = read_list(csv(tmp_path, "code,colour,code,shape\nA,b,c,d\n"), KNOWN)
    assert found[0] == []
    assert faults(tmp_path / "list.csv") == [
        "list.csv:1: column 'colour': nothing reads this column. Columns: code, name, price",
        "list.csv:1: column 'shape': nothing reads this column. Columns: code, name, price",
        "list.csv:1: column 'code': it is given twice. Keep one of the two",
    ]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        (
            b'code,name\nA,"never closed\n',
            "unexpected end of data, in the row that begins on line 2",
        ),
        (
            b'code,name\nA,"closed" too early\n',
            "',' expected after '\"', in the row that begins on line 2",
        ),
    ],
)
def test_what_is_no_csv_file_is_refused(tmp_path: Path, text: bytes, reason: str) -> None:
    (fault,) = faults(csv(tmp_path, text))
    assert fault.startswith(f"list.csv: file: {reason}")
    assert fault.endswith(f". {ENCODING}")


ACCENTS = "code{0}name{0}price\nA-1{0}Gehäuse{0}£1.20\n"


@pytest.mark.parametrize("between", [",", ";", "\t"])
@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_coding_that_a_file_names_is_read_however_it_is_separated(
    tmp_path: Path, coding: str, between: str
) -> None:
    path = csv(tmp_path, ACCENTS.format(between).encode(coding))
    assert read_list(path, KNOWN) == (
        [ListRow(2, {"code": "A-1", "name": "Gehäuse", "price": "£1.20"})],
        [],
    )


SAVE = "Save the file as UTF-8 (a spreadsheet may call it CSV UTF-8), and read it again"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (
            ACCENTS.format(",").encode("cp1252"),
            "list.csv:2: file: this line is no text in UTF-8: its accents or money signs are of"
            " another coding, such as Windows-1252. ",
        ),
        (
            ACCENTS.format(",").encode("utf-16")[:-1],
            "list.csv:2: file: this line is no text in UTF-16, which the file says it is: it is"
            " damaged or cut short. ",
        ),
        (
            ACCENTS.format(",").encode("utf-16-le"),
            "list.csv: file: it seems to be UTF-16 without the mark at its start that says so. ",
        ),
        (
            ACCENTS.format(",").encode("utf-16-be"),
            "list.csv: file: it seems to be UTF-16 without the mark at its start that says so. ",
        ),
    ],
    ids=["Windows-1252", "cut short", "little end first", "big end first"],
)
def test_another_coding_is_told_with_its_line_and_what_to_do(
    tmp_path: Path, content: bytes, told: str
) -> None:
    path = csv(tmp_path, content)
    assert faults(path) == [told + SAVE]
    found = [str(one) for one in iter_list(path, KNOWN)]
    assert [one.removeprefix(f"{tmp_path}/") for one in found] == [told + SAVE]


def test_a_file_that_is_not_there_or_is_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "folder.csv").mkdir()
    assert faults(tmp_path / "none.csv") == [
        f"none.csv: file: No such file or directory. {ENCODING}"
    ]
    assert faults(tmp_path / "folder.csv") == [f"folder.csv: file: Is a directory. {ENCODING}"]


def test_a_file_of_more_than_256_mib_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    with path.open("wb") as file:
        file.truncate(256 * 1024 * 1024 + 1)  # takes no room on the disk
    assert faults(path) == [f"list.csv: file: larger than 256 MiB. {ENCODING}"]


# Faults of rows


def test_cells_beyond_the_headings_are_faults_with_their_lines(tmp_path: Path) -> None:
    assert faults(csv(tmp_path, "code,name\nA,a,extra\nB,b\nC,c,,d\n")) == [
        "list.csv:2: row: more cells than headings. Quote text with commas",
        "list.csv:4: row: more cells than headings. Quote text with commas",
    ]


def test_a_cell_under_no_heading_is_not_passed_over(tmp_path: Path) -> None:
    assert faults(csv(tmp_path, "code,,name\nA,lost,a\nB,,b\n")) == [
        "list.csv:2: cell 'lost': no heading. Name its column"
    ]


# XLSX


def test_a_workbook_is_read_as_the_same_list(tmp_path: Path) -> None:
    path = xlsx(
        tmp_path, ["Code", "name", "price"], ["A-1", "ring, green", "£1.20"], ["B-2", None, "£3"]
    )
    assert read_list(path, KNOWN) == (TWO_ROWS, [])


def test_dates_and_numbers_of_a_workbook_become_text(tmp_path: Path) -> None:
    values: list[object] = [
        date(2026, 4, 15),
        datetime(2026, 4, 15, 9, 30, tzinfo=UTC).replace(tzinfo=None),
        12,
        12.0,
        0.65,
        True,
        "  text ",
    ]
    path = xlsx(tmp_path, ["code", "name"], *[["A", value] for value in values])
    rows, problems = read_list(path, KNOWN)
    assert problems == []
    assert [row.cells["name"] for row in rows] == [
        "2026-04-15", "2026-04-15", "12", "12", "0.65", "True", "text",
    ]  # fmt: skip


def test_rows_of_a_workbook_keep_their_lines_over_empty_ones(tmp_path: Path) -> None:
    path = xlsx(tmp_path, ["code", "name"], [], ["A", "a"], [None, " "], ["B", "b", "extra"])
    rows, _ = read_list(path, KNOWN)
    assert [(row.line, row.cells["code"]) for row in rows] == [(3, "A"), (5, "B")]
    assert faults(path) == ["list.xlsx:5: cell 'extra': no heading. Name its column"]


def test_only_the_first_page_of_a_workbook_is_read(tmp_path: Path) -> None:
    book = Workbook()
    book.active.append(["code"])
    book.active.append(["A"])
    book.create_sheet("notes").append(["anything"])
    book.save(tmp_path / "list.xlsx")
    assert read_list(tmp_path / "list.xlsx", KNOWN) == ([ListRow(2, {"code": "A"})], [])


def test_an_empty_workbook_says_how_to_begin(tmp_path: Path) -> None:
    (fault,) = faults(xlsx(tmp_path))
    assert fault.endswith("Begin with code, name, price")


def _repacked(path: Path, page: bytes) -> Path:
    """A workbook with other bytes in the place of its first page."""
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    with zipfile.ZipFile(path, "w") as book:
        for name, content in parts.items():
            book.writestr(name, page if name.endswith("sheet1.xml") else content)
    return path


def test_what_is_no_workbook_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "list.xlsx"
    path.write_bytes(b"code,name\nA,a\n")
    assert faults(path) == [f"list.xlsx: file: it is no XLSX workbook. {ENCODING}"]
    with zipfile.ZipFile(path, "w") as other:
        other.writestr("letter.txt", "Dear garage")
    assert faults(path) == [f"list.xlsx: file: it is no XLSX workbook. {ENCODING}"]


def test_a_damaged_workbook_is_refused(tmp_path: Path) -> None:
    whole = xlsx(tmp_path, ["code"], ["A"])
    for page in (b"", b"<worksheet><sheetData><row"):
        assert faults(_repacked(whole, page)) == [f"list.xlsx: file: {DAMAGED}. {ENCODING}"]


@pytest.mark.parametrize("page", [b"", b"<worksheet><sheetData><row"])
def test_a_workbook_that_is_refused_is_closed_at_once(tmp_path: Path, page: bytes) -> None:
    path = _repacked(xlsx(tmp_path, ["code"], ["A"]), page)
    opened = psutil.Process().open_files
    gc.collect()
    gc.disable()  # what nobody closed stays open until garbage is collected
    try:
        assert faults(path)
        assert path not in [Path(file.path) for file in opened()]
    finally:
        gc.enable()


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9])
def test_a_workbook_cut_short_is_refused(tmp_path: Path, share: float) -> None:
    whole = xlsx(tmp_path, ["code"], ["A"])
    content = whole.read_bytes()
    whole.write_bytes(content[: int(len(content) * share)])
    assert faults(whole) == [f"list.xlsx: file: it is no XLSX workbook. {ENCODING}"]


def test_a_workbook_with_a_page_that_is_a_chart_is_refused(tmp_path: Path) -> None:
    book = Workbook()
    book.active.append(["code"])
    book.create_chartsheet("chart")
    book.save(tmp_path / "list.xlsx")
    assert faults(tmp_path / "list.xlsx") == [f"list.xlsx: file: {DAMAGED}. {ENCODING}"]


@given(position=st.integers(0, 10**6), value=st.integers(0, 255))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_a_workbook_with_one_byte_changed_is_read_or_refused(
    tmp_path: Path, position: int, value: int
) -> None:
    path = xlsx(tmp_path, ["code"], ["A"])
    content = bytearray(path.read_bytes())
    content[position % len(content)] = value
    path.write_bytes(content)
    rows, problems = read_list(path, KNOWN)
    assert all(row.cells for row in rows)
    assert all(problem.reason and problem.next_step for problem in problems)


# Cells


def _pieces(text: str) -> int:
    if not text.isdecimal():
        raise FigureError(f"{text!r} is no number")
    return int(text)


FIELDS = {
    "code": Field(str, required=True),
    "name": Field(str),
    "price": Field(_pieces, required=True),
}


def test_cells_are_read_by_their_columns() -> None:
    row = ListRow(4, {"code": "A", "price": "12"})
    assert read_cells("list.csv", row, FIELDS) == ({"code": "A", "price": 12}, [])


def test_every_fault_of_a_row_is_told_at_once() -> None:
    values, problems = read_cells("list.csv", ListRow(4, {"name": "a", "price": "x"}), FIELDS)
    assert values == {"name": "a"}
    assert list(map(str, problems)) == [
        "list.csv:4: column 'code': it is empty. Fill it in",
        "list.csv:4: column 'price': 'x' is no number. Correct this cell",
    ]


def workbook_of(
    path: Path, value: object, shown_as: str = "General", heading: str = "price"
) -> Path:
    book = Workbook()
    book.active.append(["part", heading])
    book.active.append(["A", value])
    book.active["B2"].number_format = shown_as
    book.save(path / "list.xlsx")
    return path / "list.xlsx"


@pytest.mark.parametrize(
    ("value", "shown_as", "read"),
    [
        (1234.5, "#,##0.00", "1234.5"),
        (1234.5, "#,##0.00 [$€-407]", "1234.5 €"),
        (1234.5, '"£"#,##0.00', "1234.5 £"),
        (1234.5, '#,##0.00" €"', "1234.5 €"),
        (1234.5, "_-* #,##0.00\\ _€_-;-* #,##0.00\\ _€_-", "1234.5"),
        (1234.5, "#,##0.00_);[Red](#,##0.00)", "1234.5"),
        (-5, "#,##0_);(#,##0)", "-5"),
        (12, "0000", "0012"),
        (datetime(2026, 3, 1), "dd/mm/yyyy", "2026-03-01"),  # noqa: DTZ001 - as a spreadsheet gives it
    ],
)
def test_a_cell_is_read_as_it_is_seen(
    tmp_path: Path, value: object, shown_as: str, read: str
) -> None:
    rows, problems = read_list(workbook_of(tmp_path, value, shown_as), ("part", "price"))
    assert problems == []
    assert [row.cells["price"] for row in rows] == [read]


@pytest.mark.parametrize(
    ("value", "shown_as", "reason"),
    [
        (12_500, "0.0,", "'12500': the cell keeps the number 12500 and shows it otherwise (0.0,)"),
        (1, '0" L"', "'1': the cell keeps the number 1 and shows it otherwise (0\" L\")"),
        (12.345, "0.00", "'12.345': the cell keeps the number 12.345 and shows it otherwise (0.00)"),
        (2.5, "0", "'2.5': the cell keeps the number 2.5 and shows it otherwise (0)"),
        (0.2, "0%", "'0.2': the cell keeps the number 0.2 and shows it otherwise (0%)"),
        (datetime(2027, 3, 1), "mmm yy",  # noqa: DTZ001 - as a spreadsheet gives it
         "'2027-03-01 00:00:00': the cell shows a month or a year (mmm yy), and keeps 2027-03-01"),
        (20_260_301_000_012_349_440, "0",
         "'2.026030100001235e+19': a number of so many digits is rounded in a spreadsheet"),
    ],
)  # fmt: skip
def test_a_cell_that_is_not_what_is_seen_is_refused(
    tmp_path: Path, value: object, shown_as: str, reason: str
) -> None:
    rows, (problem,) = read_list(workbook_of(tmp_path, value, shown_as), ("part", "price"))
    assert (rows, problem.line, problem.thing, problem.reason) == ([], 2, "column 'price'", reason)


def test_merged_cells_of_a_list_are_refused(tmp_path: Path) -> None:
    path = workbook_of(tmp_path, 1)
    book = load_workbook(path)
    book.active.merge_cells("B2:B3")
    book.save(path)
    _, (problem,) = read_list(path, ("part", "price"))
    assert problem.reason.startswith(
        "cells B2:B3 are merged, and only the first keeps what is typed"
    )


def test_the_first_page_that_is_seen_is_read(tmp_path: Path) -> None:
    path = workbook_of(tmp_path, 1)
    book = load_workbook(path)
    seen = book.create_sheet("seen")
    seen.append(["part", "price"])
    seen.append(["B", 2])
    book.worksheets[0].sheet_state = "hidden"
    book.active = 1
    book.save(path)
    rows, _ = read_list(path, ("part", "price"))
    assert [row.cells for row in rows] == [{"part": "B", "price": "2"}]


def test_a_spreadsheet_of_another_kind_is_told_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "list.ods").write_bytes(b"PK")
    _, (problem,) = read_list(tmp_path / "list.ods", ("part", "price"))
    assert problem.reason == (
        "a spreadsheet of another kind than XLSX: In the spreadsheet program save it as .xlsx"
    )
