"""Price lists: what a row says, every fault with its line, and a long list in little memory."""

from __future__ import annotations

import tracemalloc
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from kitting.errors import Problem
from kitting.files.lists.prices import (
    PRICE_FIELDS,
    Faults,
    PriceRow,
    iter_prices,
    read_column_map,
)

PLAIN = PriceRow(
    line=2,
    part="AB-1",
    item=None,
    description=None,
    prices=((1, 420),),
    currency="GBP",
    pack=1000,
    unit="each",
    minimum=1,
    multiple=1,
    available=None,
    lead=None,
    late=None,
    returnable=False,
    core=None,
    replaced_by=(),
    note=None,
)
LEAST = {"part": "AB-1", "price": "4.20 GBP"}
FULL = {
    "part": "AB-1",
    "item": "RING-7",
    "description": "ring, green",
    "price": "4.20",
    "currency": "GBP",
    "pack": "10 each",
    "minimum": "2",
    "multiple": "4",
    "break 1 from": "10",
    "break 1 price": "3.90",
    "break 2 from": "25",
    "break 2 price": "£3.90",
    "break 3 from": "50",
    "break 3 price": "3.10",
    "break 4 from": "100",
    "break 4 price": "3",
    "break 5 from": "1000",
    "break 5 price": "2.99 GBP",
    "available": "0",
    "lead days": "0",
    "late days": "3",
    "returns": "Yes",
    "core": "15",
    "replaced by": "AB-2 + AB-3",
    "note": "while stocks last",
}
FULL_ROW = PriceRow(
    line=2,
    part="AB-1",
    item="RING-7",
    description="ring, green",
    prices=((1, 420), (10, 390), (25, 390), (50, 310), (100, 300), (1000, 299)),
    currency="GBP",
    pack=10_000,
    unit="each",
    minimum=2,
    multiple=4,
    available=0,
    lead=0,
    late=3,
    returnable=True,
    core=1500,
    replaced_by=("AB-2", "AB-3"),
    note="while stocks last",
)


def listed(folder: Path, *offers: Mapping[str, str], between: str = "\t") -> Path:
    columns = list(dict.fromkeys(column for offer in offers for column in offer))
    lines = [columns, *([offer.get(column, "") for column in columns] for offer in offers)]
    return written(folder, "\n".join(between.join(cells) for cells in lines))


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "prices.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def shown(folder: Path, problems: list[Problem]) -> list[str]:
    return [str(problem).replace(f"{folder}/", "") for problem in problems]


def read(path: Path, map_text: str | None = None) -> tuple[list[PriceRow], list[str]]:
    """Rows and faults of a list, the faults without the folder."""
    columns = None
    if map_text is not None:
        (path.parent / "map.yaml").write_text(map_text, encoding="utf-8")
        columns = read_column_map(path.parent / "map.yaml")
    found = list(iter_prices(path, columns))
    rows = [entry for entry in found if isinstance(entry, PriceRow)]
    problems = [entry for entry in found if isinstance(entry, Problem)]
    return rows, shown(path.parent, problems)


# Good rows


def test_a_row_of_two_cells_is_one_each_of_an_unknown_item(tmp_path: Path) -> None:
    assert read(listed(tmp_path, LEAST)) == ([PLAIN], [])


def test_a_row_may_fill_every_column(tmp_path: Path) -> None:
    assert set(FULL) == set(PRICE_FIELDS)
    assert read(listed(tmp_path, FULL)) == ([FULL_ROW], [])


@pytest.mark.parametrize("between", [",", ";", "\t"])
def test_a_list_is_read_however_it_is_separated(tmp_path: Path, between: str) -> None:
    offer = {**FULL, "description": '"ring, green"'}
    assert read(listed(tmp_path, offer, between=between)) == ([FULL_ROW], [])


@pytest.mark.parametrize(
    ("text", "thousandths", "unit"),
    [
        ("10 each", 10_000, "each"),
        ("70 ml", 70_000, "ml"),
        ("1 L", 1_000_000, "ml"),
        ("0.5 kg", 500_000, "g"),
        ("1.5 m", 1_500_000, "mm"),
    ],
)
def test_a_pack_is_read_in_thousandths_of_its_unit(
    tmp_path: Path, text: str, thousandths: int, unit: str
) -> None:
    expected = PLAIN._replace(pack=thousandths, unit=unit)
    assert read(listed(tmp_path, LEAST | {"pack": text})) == ([expected], [])


@pytest.mark.parametrize(
    ("price", "stated", "minor", "currency"),
    [
        ("4.20", "GBP", 420, "GBP"),
        ("4.2", "gbp", 420, "GBP"),
        ("4", "€", 400, "EUR"),
        ("€ 4.20", "EUR", 420, "EUR"),
        ("EUR 4.20", "", 420, "EUR"),
        ("420", "JPY", 420, "JPY"),  # no minor digits (ISO 4217, from memory)
    ],
)
def test_a_price_names_its_currency_or_the_row_does(
    tmp_path: Path, price: str, stated: str, minor: int, currency: str
) -> None:
    path = listed(tmp_path, {"part": "AB-1", "price": price, "currency": stated})
    assert read(path) == ([PLAIN._replace(prices=((1, minor),), currency=currency)], [])


def test_the_currency_of_bare_figures_may_come_from_the_caller(tmp_path: Path) -> None:
    offers = [{"part": "A", "price": "1"}, {"part": "B", "price": "2 EUR"}]
    found = list(iter_prices(listed(tmp_path, *offers), currency="GBP"))
    assert found == [
        PLAIN._replace(line=2, part="A", prices=((1, 100),), currency="GBP"),
        PLAIN._replace(line=3, part="B", prices=((1, 200),), currency="EUR"),
    ]


def test_breaks_may_leave_a_place_empty_and_a_core_of_nothing_is_none(tmp_path: Path) -> None:
    offer = LEAST | {"break 1 from": "", "break 1 price": "", "core": "0.00"}
    offer |= {"break 2 from": "5", "break 2 price": "4"}
    assert read(listed(tmp_path, offer)) == ([PLAIN._replace(prices=((1, 420), (5, 400)))], [])


def test_lines_within_a_description_become_spaces(tmp_path: Path) -> None:
    path = written(tmp_path, 'part,price,description\nAB-1,4.20 GBP,"ring,\ngreen"\n')
    assert read(path) == ([PLAIN._replace(description="ring, green")], [])


def test_a_workbook_is_read_as_the_same_list(tmp_path: Path) -> None:
    book = Workbook()
    book.active.append(list(FULL))
    book.active.append(
        [float(text) if text.replace(".", "", 1).isdecimal() else text for text in FULL.values()]
    )
    book.active.append([None, "RING-8"])
    path = tmp_path / "prices.xlsx"
    book.save(path)
    assert read(path) == (
        [FULL_ROW],
        [
            "prices.xlsx:3: column 'part': it is empty. Fill it in",
            "prices.xlsx:3: column 'price': it is empty. Fill it in",
        ],
    )


def test_reading_twice_gives_the_same(tmp_path: Path) -> None:
    path = listed(tmp_path, FULL, LEAST, {"part": "AB-2", "price": "x"})
    assert list(iter_prices(path)) == list(iter_prices(path))
    assert len(list(iter_prices(path))) == 3


# Faults of rows


@pytest.mark.parametrize(
    ("column", "text", "reason"),
    [
        ("part", "", "it is empty. Fill it in"),
        ("part", "x" * 41, f"{'x' * 40!r} is no part number; 40 plain signs at most. Correct this cell"),
        ("part", "A\x00B", "'A\\x00B' is no part number; 40 plain signs at most. Correct this cell"),
        ("item", "RING 7", "'RING 7' is no code; use letters, digits and hyphens, 40 at most. Correct this cell"),
        ("description", "x" * 201, "the text is longer than 200 characters; shorten it. Correct this cell"),
        ("description", "a\x00b", "'a\\x00b' holds signs that cannot be printed. Correct this cell"),
        ("note", "x" * 2001, "the text is longer than 2000 characters; shorten it. Correct this cell"),
        ("price", "", "it is empty. Fill it in"),
        ("price", "4,2,0 GBP", "'4,2,0 GBP' has a comma in its figure; write a point, and nothing between thousands, as in '£1234.50' or '1234.50 EUR'. Correct this cell"),
        ("price", "-4 GBP", "'-4 GBP' is no price; write for example '£7.50' or '7.50 EUR'. Correct this cell"),
        ("price", "4.2055 GBP", "'4.2055 GBP' is finer than GBP is counted; round it. Correct this cell"),
        ("price", "0.00 GBP", "the price must be more than 0. Give the price, or take the row out"),
        ("price", "4.20", "'4.20' has no currency; write '4.20 GBP' or fill in 'currency'. Correct this cell"),
        ("currency", "pounds", "'pounds' is no currency; write for example 'GBP'. Correct this cell"),
        ("pack", "10", "'10' is a figure without unit; write for example '10 each' or '10 L', or say 'pack unit: each' in a column map if all are pieces. Correct this cell"),
        ("pack", "0 ml", "'0 ml' is an empty pack; write for example '10 each'. Correct this cell"),
        ("pack", "-1 L", "'-1 L' is negative; an amount is a positive figure. Correct this cell"),
        ("minimum", "0", "'0' is not one pack or more; leave it empty if unknown. Correct this cell"),
        ("minimum", "1.5", "'1.5' is no whole number; write for example '12'. Correct this cell"),
        ("multiple", "-2", "'-2' is no whole number; write for example '12'. Correct this cell"),
        ("multiple", "1" * 10, "'1111111111' is no whole number; write for example '12'. Correct this cell"),
        ("available", "plenty", "'plenty' is no whole number; write for example '12'. Correct this cell"),
        ("available", "٣", "'٣' is no whole number; write for example '12'. Correct this cell"),
        ("returns", "perhaps", "'perhaps' is neither yes nor no. Correct this cell"),
        ("core", "15 EUR", "'15 EUR' is in another currency than the row, GBP. Correct this cell"),
        ("replaced by", "AB-2 +", "'AB-2 +' names an empty part; write for example 'AB-1 + AB-2'. Correct this cell"),
        ("replaced by", "AB-2+AB-2", "'AB-2+AB-2' names a part twice. Correct this cell"),
        ("replaced by", "AB-2 + AB-1", "the part replaces itself. Name the part that follows it"),
    ],
)  # fmt: skip
def test_a_cell_that_cannot_be_read_says_why(
    tmp_path: Path, column: str, text: str, reason: str
) -> None:
    rows, faults = read(listed(tmp_path, {**LEAST, column: text}, {"part": "Z", "price": "1 GBP"}))
    assert [row.line for row in rows] == [3]
    assert faults == [f"prices.csv:2: column {column!r}: {reason}"]


def test_a_price_in_another_currency_than_the_row_is_a_fault(tmp_path: Path) -> None:
    reason = "'4.20 GBP' is in another currency than the row, EUR. Correct this cell"
    path = listed(tmp_path, LEAST | {"currency": "EUR"})
    assert read(path) == ([], [f"prices.csv:2: column 'price': {reason}"])


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (
            {"break 1 from": "10", "break 1 price": ""},
            "part AB-1: 'break 1 from' and 'break 1 price' go together. Give both or neither",
        ),
        (
            {"break 1 from": "", "break 1 price": "4"},
            "part AB-1: 'break 1 from' and 'break 1 price' go together. Give both or neither",
        ),
        (
            {"break 1 from": "1", "break 1 price": "4"},
            "column 'break 1 from': 1 is not above the 1 before it."
            " Give the breaks in rising order, from 2 packs on",
        ),
        (
            {"break 1 from": "9", "break 1 price": "4", "break 2 from": "9", "break 2 price": "3"},
            "column 'break 2 from': 9 is not above the 9 before it."
            " Give the breaks in rising order, from 2 packs on",
        ),
        (
            {"break 1 from": "9", "break 1 price": "4.21"},
            "column 'break 1 price': it is dearer than the price before it."
            " More packs may not cost more apiece; check both prices",
        ),
        (
            {"break 1 from": "9", "break 1 price": "3", "break 2 from": "20", "break 2 price": "4"},
            "column 'break 2 price': it is dearer than the price before it."
            " More packs may not cost more apiece; check both prices",
        ),
        (
            {"break 1 from": "9", "break 1 price": "0"},
            "column 'break 1 price': the price must be more than 0. Give the price, or take the row out",
        ),
        (
            {"break 1 from": "9", "break 1 price": "3 EUR"},
            "column 'break 1 price': '3 EUR' is in another currency than the row, GBP."
            " Correct this cell",
        ),
        (
            {"lead days": "2", "late days": ""},
            "part AB-1: 'lead days' and 'late days' go together. Give both or neither",
        ),
        (
            {"lead days": "5", "late days": "4"},
            "column 'late days': 4 is before the 5 of 'lead days'. Swap the two",
        ),
    ],
)
def test_a_row_that_contradicts_itself_says_how(
    tmp_path: Path, change: Mapping[str, str], fault: str
) -> None:
    rows, faults = read(listed(tmp_path, {**LEAST, **change}))
    assert (rows, faults) == ([], [f"prices.csv:2: {fault}"])


def test_a_part_given_twice_names_the_first_line_even_where_that_row_is_bad(
    tmp_path: Path,
) -> None:
    bad = {**LEAST, "price": "x"}
    other = {**LEAST, "part": "ab-1"}
    rows, faults = read(listed(tmp_path, bad, other, LEAST, LEAST))
    assert [row.line for row in rows] == [3]
    assert faults == [
        "prices.csv:2: column 'price': 'x' is no price; write for example '£7.50' or '7.50 EUR'."
        " Correct this cell",
        "prices.csv:4: part AB-1: it stands on line 2 already. Keep one of the two",
        "prices.csv:5: part AB-1: it stands on line 2 already. Keep one of the two",
    ]


def test_every_fault_of_a_row_is_told_at_once_and_good_rows_go_on(tmp_path: Path) -> None:
    bad = {"item": "a b", "price": "4.20 GBP", "pack": "10", "core": "x"}
    rows, faults = read(listed(tmp_path, bad, LEAST))
    assert rows == [PLAIN._replace(line=3)]
    assert faults == [
        "prices.csv:2: column 'item': 'a b' is no code; use letters, digits and hyphens,"
        " 40 at most. Correct this cell",
        "prices.csv:2: column 'pack': '10' is a figure without unit; write for example '10 each' or '10 L',"
        " or say 'pack unit: each' in a column map if all are pieces. Correct this cell",
        "prices.csv:2: column 'part': it is empty. Fill it in",
        "prices.csv:2: column 'core': 'x' is no price; write for example '£7.50' or '7.50 EUR'."
        " Correct this cell",
    ]


# Faults of the list as a whole


def test_columns_that_are_missing_are_told_once_not_once_a_row(tmp_path: Path) -> None:
    path = written(tmp_path, "item,break 2 from,late days\nA,2,3\nB,2,3\n")
    assert read(path) == (
        [],
        [
            "prices.csv:1: column 'part': the list has no such column."
            " Add a column 'part', or map a heading to it",
            "prices.csv:1: column 'price': the list has no such column."
            " Add a column 'price', or map a heading to it",
            "prices.csv:1: column 'break 2 from': it says nothing without 'break 2 price'."
            " Give or ignore both",
            "prices.csv:1: column 'late days': it says nothing without 'lead days'."
            " Give or ignore both",
        ],
    )


def test_a_list_that_breaks_half_way_says_where_after_its_good_rows(tmp_path: Path) -> None:
    step = "Give a CSV file in UTF-8, or an XLSX workbook"
    text = b"part,price\n" + b"".join(b"P%d,1 GBP\n" % no for no in range(9000))
    rows, faults = read(written(tmp_path, text + b"\xff,1 GBP\n"))
    assert 0 < len(rows) <= 9000
    assert faults == [
        "prices.csv:9002: file: this line is no text in UTF-8: its accents or money signs are of"
        " another coding, such as Windows-1252. Save the file as UTF-8 (a spreadsheet may call it"
        " CSV UTF-8), and read it again"
    ]
    rows, faults = read(written(tmp_path, text + b'"never closed,1 GBP\n'))
    assert len(rows) == 9000
    assert faults == [
        "prices.csv: file: unexpected end of data, in the row that begins on line 9002. " + step
    ]
    assert read(tmp_path / "none.csv") == (
        [],
        [f"none.csv: file: No such file or directory. {step}"],
    )


def test_faults_beyond_the_first_thousand_are_counted(tmp_path: Path) -> None:
    offers = [LEAST, *({"part": f"X-{no}", "price": "x"} for no in range(1203))]
    path = listed(tmp_path, *offers)
    faults = Faults()
    assert list(faults.rows(iter_prices(path))) == [PLAIN]
    assert (len(faults.kept), faults.more) == (1000, 203)
    told = faults.shown()
    assert told[:-1] == tuple(faults.kept)
    assert shown(tmp_path, [told[-1]]) == [
        "prices.csv: file: 203 more faults are not shown. Correct these first, then read again"
    ]
    few = Faults()
    assert list(few.rows(iter_prices(listed(tmp_path, LEAST, LEAST)))) == [PLAIN]
    assert shown(tmp_path, list(few.shown())) == [
        "prices.csv:3: part AB-1: it stands on line 2 already. Keep one of the two"
    ]


# Column maps


THEIRS = "Order  No.;Net;Cur;Weight;EAN\nAB-1;4.20;GBP;3 g;0123\n"


def test_a_map_reads_their_headings_as_ours(tmp_path: Path) -> None:
    path = written(tmp_path, THEIRS)
    ignoring = "order no.: part\nNET: Price\nCur: currency\n"
    assert read(path, ignoring + "ignore: [Weight, ean]\n") == ([PLAIN], [])
    assert read(path, ignoring + "others: ignore\n") == ([PLAIN], [])
    assert read(path, ignoring + "Weight: ignore\nEAN: ignore\n") == ([PLAIN], [])


def test_columns_that_the_map_does_not_speak_of_are_faults(tmp_path: Path) -> None:
    rows, faults = read(
        written(tmp_path, THEIRS), "order no.: part\nnet: price\ncur: currency\nignore: [EAN]\n"
    )
    assert rows == []
    (fault,) = faults
    assert fault.startswith("prices.csv:1: column 'weight': nothing reads this column. Columns: ")


def test_headings_of_the_map_that_the_list_lacks_are_told_with_the_line_of_the_map(
    tmp_path: Path,
) -> None:
    text = "Order no.: part\nNet: price\nCur: currency\nStock: available\nignore:\n- EAN\n- Size\n"
    rows, faults = read(written(tmp_path, THEIRS), text + "others: ignore\n")
    step = "Spell it as the list does, or take it out of the map"
    assert rows == []
    assert faults == [
        f"map.yaml:4: heading 'stock': prices.csv has no such column. {step}",
        f"map.yaml:7: heading 'size': prices.csv has no such column. {step}",
    ]


def test_a_heading_spelt_as_ours_needs_no_entry_unless_another_is_read_so(
    tmp_path: Path,
) -> None:
    path = written(tmp_path, "Number,price\nAB-1,4.20 GBP\n")
    assert read(path, "number: part\n") == ([PLAIN], [])
    path = written(tmp_path, "part,net,price\nAB-1,4.20 GBP,9 GBP\n")
    assert read(path, "net: price\nothers: ignore\n") == ([PLAIN], [])
    assert read(path, "net: price\nignore: [price]\n") == ([PLAIN], [])
    assert read(path, "net: price\n") == (
        [],
        ["prices.csv:1: column 'price': it is given twice. Keep one of the two"],
    )


# Anything at all


CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from([*FULL.values(), "0", "-1", "1e9", "1 each", "999999999999 GBP", "+", "\x00"]),
)
HANDLED = [HealthCheck.function_scoped_fixture]


@given(text=st.text(max_size=200) | st.binary(max_size=200))
@settings(suppress_health_check=HANDLED, deadline=None)
def test_any_text_at_all_is_read_or_refused(tmp_path: Path, text: str | bytes) -> None:
    content = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    _check(list(iter_prices(written(tmp_path, content))))


@given(
    columns=st.lists(st.sampled_from(list(PRICE_FIELDS)), min_size=1, unique=True),
    rows=st.lists(st.lists(CELLS, min_size=1, max_size=len(FULL)), max_size=6),
)
@settings(suppress_health_check=HANDLED, deadline=None)
def test_any_cells_under_our_headings_are_read_or_refused(
    tmp_path: Path, columns: list[str], rows: list[list[str]]
) -> None:
    heading = list(dict.fromkeys(["part", "price", *columns]))
    for start, price in [
        *((f"break {no} from", f"break {no} price") for no in range(1, 6)),
        ("lead days", "late days"),
    ]:
        if (start in heading) != (price in heading):
            heading.append(price if start in heading else start)
    lines = [heading, *rows]
    quoted = ("\t".join('"' + cell.replace('"', '""') + '"' for cell in line) for line in lines)
    content = "\n".join(quoted).encode("utf-8", "replace")
    found = list(iter_prices(written(tmp_path, content)))
    _check(found)
    told = {entry.line for entry in found}
    # Every row with a cell of a column appears: as an offer or as a fault, never in silence.
    begins = 2
    for cells in rows:
        if any(cell.strip() for cell in cells):
            assert begins in told
        begins += 1 + _breaks(cells)


def _breaks(cells: list[str]) -> int:
    """How many ends of lines stand in the quoted cells, as a text file counts them."""
    text = "\t".join(cells).replace("\r\n", "\n").replace("\r", "\n")
    return text.count("\n")


def _check(found: list[PriceRow | Problem]) -> None:
    parts = [entry.part for entry in found if isinstance(entry, PriceRow)]
    assert len(parts) == len(set(parts))
    for entry in found:
        if isinstance(entry, Problem):
            assert entry.file
            assert entry.reason
            assert entry.next_step
        else:
            starts, prices = zip(*entry.prices, strict=True)
            assert starts[0] == 1
            assert all(low < high for low, high in pairwise(starts))
            assert sorted(prices, reverse=True) == list(prices)
            assert min(prices) > 0
            assert entry.pack > 0
            assert min(entry.minimum, entry.multiple) > 0


# Memory


def test_fifty_thousand_rows_pass_through_in_bounded_memory(tmp_path: Path) -> None:
    path = tmp_path / "prices.csv"
    with path.open("w", encoding="utf-8") as file:
        file.write("part,price,description,break 1 from,break 1 price\n")
        for no in range(50_000):
            file.write(f"PN-{no:06},{no + 5}.20 GBP,an invented ring no. {no},10,{no + 4}.10\n")
    assert path.stat().st_size > 2_000_000
    faults = Faults()
    tracemalloc.start()
    try:
        rows = sum(1 for _ in faults.rows(iter_prices(path)))
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    # 50,000 part numbers with their lines (some 150 bytes each) and what is remembered of texts
    # that repeat: at most 16,384 prices, which these rows, all of different prices, fill.
    assert (rows, faults.shown()) == (50_000, ())
    assert peak < 20 * 1024 * 1024


# Figures as suppliers write them


@pytest.mark.parametrize(
    ("price", "currency", "minor", "of"),
    [
        ("38,50", "EUR", 3850, "EUR"),
        ("38,5", "EUR", 3850, "EUR"),
        ("38,5000", "EUR", 3850, "EUR"),
        ("1.234,50", "EUR", 123_450, "EUR"),
        ("1,234.50", "GBP", 123_450, "GBP"),
        ("1 234,50", "EUR", 123_450, "EUR"),
        ("1\u202f234,50 €", "", 123_450, "EUR"),
        ("1'234.50", "CHF", 123_450, "CHF"),
        ("1.234.567,00", "EUR", 123_456_700, "EUR"),
        ("£38,50", "", 3850, "GBP"),
        ("EUR38,50", "", 3850, "EUR"),
        ("12,-", "EUR", 1200, "EUR"),
        ("$38.50", "USD", 3850, "USD"),
        ("38.50 US$", "", 3850, "USD"),
        ("kr 38,50", "SEK", 3850, "SEK"),
        ("38,50 kr.", "DKK", 3850, "DKK"),
        ("0,250", "KWD", 250, "KWD"),  # three minor digits (ISO 4217, from memory)
        ("38,50 zł", "", 3850, "PLN"),
    ],
)
def test_a_price_of_one_meaning_is_read_however_it_is_written(
    tmp_path: Path, price: str, currency: str, minor: int, of: str
) -> None:
    path = listed(tmp_path, {"part": "AB-1", "price": price, "currency": currency})
    assert read(path) == ([PLAIN._replace(prices=((1, minor),), currency=of)], [])


@pytest.mark.parametrize(
    ("cells", "fault"),
    [
        (
            {"price": "1,234", "currency": "EUR"},
            "column 'price': '1,234' may be 1.234 or 1234: nothing says whether its comma is the"
            " decimal one. Say 'decimal: comma' or 'decimal: point' in a column map, or write"
            " nothing between thousands",
        ),
        (
            {"price": "1.234 GBP"},
            "column 'price': '1.234 GBP' may be 1.234 or 1234: nothing says whether its point is"
            " the decimal one. Say 'decimal: comma' or 'decimal: point' in a column map, or write"
            " nothing between thousands",
        ),
        (
            {"price": "4 GBP", "pack": "1.000 each"},
            "column 'pack': '1.000 each' may be 1.000 or 1000: nothing says whether its point is"
            " the decimal one. Say 'decimal: comma' or 'decimal: point' in a column map, or write"
            " nothing between thousands",
        ),
        (
            {"price": "$38.50"},
            "column 'price': '$38.50': '$' may be USD, CAD, AUD, NZD, SGD, HKD, MXN; write the code"
            " of the currency. Correct this cell",
        ),
        (
            {"price": "38.50", "currency": "$"},
            "column 'currency': '$' may be USD, CAD, AUD, NZD, SGD, HKD, MXN; write the code of the"
            " currency. Correct this cell",
        ),
        (
            {"price": "$38.50", "currency": "GBP"},
            "column 'price': '$38.50' is in another currency than the row, GBP. Correct this cell",
        ),
        (
            {"price": "38,505", "currency": "EUR", "core": "9,50"},
            "column 'price': '38.505 EUR' is finer than EUR is counted; round it. Correct this"
            " cell",
        ),
    ],
)
def test_a_figure_in_doubt_is_refused_with_its_cause(
    tmp_path: Path, cells: Mapping[str, str], fault: str
) -> None:
    assert read(listed(tmp_path, {"part": "AB-1", **cells})) == ([], [f"prices.csv:2: {fault}"])


@pytest.mark.parametrize(
    ("doubtful", "other", "minor"),
    [
        ("1.234", "38,50", 123_400),
        ("1.234", "1.000,00", 123_400),
        ("1,234", "38.50", 123_400),
        ("1,234", "1,000,000", 123_400),
        ("1,230", "38,50", 123),
        ("1.230", "38.50", 123),
    ],
)
def test_the_other_figures_of_a_list_say_which_sign_is_the_decimal_one(
    tmp_path: Path, doubtful: str, other: str, minor: int
) -> None:
    offers = [{"part": "AB-1", "price": doubtful}, {"part": "Z", "price": other}]
    found = list(iter_prices(listed(tmp_path, *offers), currency="EUR"))
    assert isinstance(found[0], PriceRow)
    assert found[0].prices == ((1, minor),)


def test_a_list_that_writes_both_signs_settles_nothing(tmp_path: Path) -> None:
    prices = ("1,234", "38,50", "38.50")
    offers = [{"part": f"P{no}", "price": f"{price} EUR"} for no, price in enumerate(prices)]
    rows, (fault,) = read(listed(tmp_path, *offers))
    assert [row.prices for row in rows] == [((1, 3850),), ((1, 3850),)]
    assert fault.startswith("prices.csv:2: column 'price': '1,234 EUR' may be 1.234 or 1234")


@pytest.mark.parametrize(("said", "packs"), [("comma", 1), ("point", 1000), (",", 1)])
def test_a_map_says_which_sign_is_the_decimal_one_and_what_bare_packs_hold(
    tmp_path: Path, said: str, packs: int
) -> None:
    offer = {"part": "AB-1", "price": "4 GBP", "minimum": "1,000", "pack": "1,000"}
    rows, faults = read(listed(tmp_path, offer), f'decimal: "{said}"\npack unit: each\n')
    assert faults == []
    assert rows == [PLAIN._replace(prices=((1, 400),), minimum=packs, pack=packs * 1000)]


def test_a_pack_may_be_bare_or_in_words_for_pieces(tmp_path: Path) -> None:
    packs = ("1", "1.0", "1,00", "10 pcs", "10pc.", "10 Pieces", "2 EA", "1,5 ltr")
    offers = [{"part": f"P{no}", "price": "4 GBP", "pack": pack} for no, pack in enumerate(packs)]
    rows, faults = read(listed(tmp_path, *offers))
    assert faults == []
    assert [(row.pack, row.unit) for row in rows] == [
        *[(1000, "each")] * 3, *[(10_000, "each")] * 3, (2000, "each"), (1_500_000, "ml"),
    ]  # fmt: skip


def test_bare_packs_are_of_the_unit_that_a_map_says(tmp_path: Path) -> None:
    offers = [{"part": "A", "price": "4 GBP", "pack": "1"},
              {"part": "B", "price": "4 GBP", "pack": "310"},
              {"part": "C", "price": "4 GBP", "pack": "2 each"}]  # fmt: skip
    rows, faults = read(listed(tmp_path, *offers), "pack unit: ml\n")
    assert faults == []
    assert [(row.pack, row.unit) for row in rows] == [
        (1000, "ml"), (310_000, "ml"), (2000, "each"),
    ]  # fmt: skip


def test_a_sign_of_several_currencies_is_that_of_the_supplier(tmp_path: Path) -> None:
    path = listed(tmp_path, {"part": "AB-1", "price": "$1,234.50"})
    assert list(iter_prices(path, currency="CAD")) == [
        PLAIN._replace(prices=((1, 123_450),), currency="CAD")
    ]


def test_numbers_of_a_workbook_have_a_point_whatever_its_map_says_of_texts(tmp_path: Path) -> None:
    book = Workbook()
    for row in (["part", "price", "currency"], ["A", 38.505, "KWD"], ["B", "1,234", "KWD"]):
        book.active.append(row)
    path = tmp_path / "prices.xlsx"
    book.save(path)
    rows, faults = read(path, "decimal: comma\n")
    assert faults == []
    assert [row.prices for row in rows] == [((1, 38_505),), ((1, 1234),)]
    _, (fault,) = read(path)
    assert fault.startswith("prices.xlsx:3: column 'price': '1,234' may be 1.234 or 1234")


@pytest.mark.parametrize("coding", ["utf-16", "utf-8-sig"])
@pytest.mark.parametrize("between", [";", "\t"])
def test_a_whole_list_of_a_supplier_is_read_as_it_was_sent(
    tmp_path: Path, coding: str, between: str
) -> None:
    lines = ["Artikel;Preis;Menge", "AB-1;1.234,50;1", "AB-2;38,50;1", "AB-3;1.250;1"]
    text = "\r\n".join(line.replace(";", between) for line in lines)
    path = written(tmp_path, text.encode(coding))
    rows, faults = read(path, "Artikel: part\nPreis: price\nMenge: pack\n")
    assert (rows, len(faults)) == ([], 3)  # nobody says which currency
    columns = read_column_map(tmp_path / "map.yaml")
    found = list(iter_prices(path, columns, "EUR"))
    assert [row.prices for row in found if isinstance(row, PriceRow)] == [
        ((1, 123_450),), ((1, 3850),), ((1, 125_000),),
    ]  # fmt: skip
