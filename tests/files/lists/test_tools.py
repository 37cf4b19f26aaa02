"""Lists of tools and offers: columns read, and what each sort of tool must state."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from kitting.facts.heads import Head
from kitting.facts.money import Money
from kitting.facts.tool_words import ToolSort
from kitting.facts.units import Torque
from kitting.files.lists.reader import Field
from kitting.files.lists.tools import BOX_FIELDS, OFFER_FIELDS, REQUIRED, ToolRow, read_tools

SOCKET = {"box": "bay", "code": "S-13", "sort": "socket", "turns": "hexagon 13 mm", "takes": "3/8"}
WRENCH = {
    "box": "bay",
    "code": "W-20-100",
    "sort": "torque wrench",
    "gives": "3/8",
    "from": "20 N·m",
    "to": "100 N·m",
}


def listed(
    folder: Path, *tools: Mapping[str, str], fields: Mapping[str, Field] = BOX_FIELDS
) -> tuple[list[ToolRow], list[str]]:
    """The tools of a list, and its faults without the folder."""
    columns = list(dict.fromkeys(column for tool in tools for column in tool))
    lines = [columns, *([tool.get(column, "") for column in columns] for tool in tools)]
    path = folder / "tools.csv"
    path.write_text("\n".join("\t".join(cells) for cells in lines), encoding="utf-8")
    rows, problems = read_tools(path, fields)
    return rows, [str(problem).removeprefix(f"{folder}/") for problem in problems]


def values(folder: Path, tool: Mapping[str, str]) -> Mapping[str, Any]:
    (row,), problems = listed(folder, tool)
    assert problems == []
    return row.values


def fault(folder: Path, tool: Mapping[str, str]) -> str:
    rows, (problem,) = listed(folder, tool)
    assert rows == []
    return problem


def test_a_socket_is_read(tmp_path: Path) -> None:
    more = {"length": "28 mm", "depth": "14.5 mm", "points": "6", "name": "socket 13 mm"}
    assert values(tmp_path, SOCKET | more) == {
        "box": "bay",
        "code": "S-13",
        "name": "socket 13 mm",
        "sort": "socket",
        "turns": Head("hexagon", "13 mm"),
        "takes": "3/8",
        "length": 28_000,
        "depth": 14_500,
        "points": 6,
    }


def test_a_torque_wrench_is_read_with_its_unit_and_dates(tmp_path: Path) -> None:
    more = {
        "from": "40 lbf·in",
        "to": "200 lb in",
        "grip": "210 mm",
        "deviation": "± 4 %",
        "direction": "Clockwise",
        "calibrated to": "2026-09-30",
        "cycles": "1240",
        "state": "lent",
        "lent to": "the next bay",
        "back on": "2026-10-02",
    }
    found = values(tmp_path, WRENCH | more)
    assert (found["from"], found["to"]) == (
        Torque(Decimal(40), "lbf·in"),
        Torque(Decimal(200), "lbf·in"),
    )
    assert (found["grip"], found["deviation"], found["direction"]) == (210_000, 4000, "clockwise")
    assert (found["calibrated to"], found["cycles"]) == (date(2026, 9, 30), 1240)
    assert (found["state"], found["lent to"], found["back on"]) == (
        "lent",
        "the next bay",
        date(2026, 10, 2),
    )


# ISO 6789-1:2017: II A 4 % above 10 N·m, else 6 %; the other classes from memory.
@pytest.mark.parametrize(
    ("wrench_class", "high", "fine", "beyond", "most"),
    [
        ("II A", "100 N·m", "4 %", "4.001 %", "4"),
        ("II A", "10 N·m", "6 %", "6.5 %", "6"),
        ("II A", "88 lbf·in", "6 %", "8 %", "6"),
        ("II A", "89 lbf·in", "4 %", "6 %", "4"),
        ("I A", "100 N·m", "6 %", "8 %", "6"),
    ],
)
def test_a_wrench_cannot_be_further_off_than_its_class_allows(
    tmp_path: Path, wrench_class: str, high: str, fine: str, beyond: str, most: str
) -> None:
    low = f"1 {high.partition(' ')[2]}"
    tool = WRENCH | {"from": low, "to": high, "class": wrench_class}
    assert values(tmp_path, tool | {"deviation": fine})["class"] == wrench_class
    source = "ISO 6789-1:2017" if wrench_class == "II A" else "ISO 6789-1:2017, from memory"
    assert fault(tmp_path, tool | {"deviation": beyond}) == (
        f"tools.csv:2: tool {WRENCH['code']}: a wrench of class {wrench_class} up to {high} may be"
        f" off by {most} % at most ({source}), and its deviation is stated as {beyond}. Look both up"
        " in its certificate; if both are right, leave this line out until the wrench is adjusted"
    )


def test_without_a_class_any_deviation_is_read(tmp_path: Path) -> None:
    assert values(tmp_path, WRENCH | {"deviation": "8 %"})["deviation"] == 8000


def test_an_offer_is_read_with_its_price_and_way(tmp_path: Path) -> None:
    offer = {key: text for key, text in WRENCH.items() if key != "box"} | {
        "offer": "W-HIRE",
        "supplier": "an invented dealer",
        "way": "hire",
        "price": "£14",
    }
    (row,), problems = listed(tmp_path, offer, fields=OFFER_FIELDS)
    assert problems == []
    assert (row.values["way"], row.values["price"]) == ("hire", Money(1400, "GBP"))
    _, faults = listed(tmp_path, offer | {"price": "14", "way": "steal"}, fields=OFFER_FIELDS)
    assert faults == [
        "tools.csv:2: column 'way': 'steal' is none of buy, hire, borrow. Correct this cell",
        "tools.csv:2: column 'price': '14' is no price; write for example '£7.50' or '7.50 EUR'."
        " Correct this cell",
    ]


@pytest.mark.parametrize("text", ["3/8", "3/8 in", '3/8"', "3/8″", " 3/8in "])
def test_a_square_is_read_as_it_is_written(tmp_path: Path, text: str) -> None:
    quoted = '"' + text.replace('"', '""') + '"'
    assert values(tmp_path, SOCKET | {"takes": quoted})["takes"] == "3/8"


def test_the_sorts_of_a_list_are_those_of_the_calculation() -> None:
    assert tuple(REQUIRED) == tuple(ToolSort)


@pytest.mark.parametrize("sort", list(REQUIRED))
def test_a_sort_states_what_it_needs_and_each_missing_thing_is_told(
    tmp_path: Path, sort: str
) -> None:
    _, faults = listed(tmp_path, {"box": "bay", "code": "X", "sort": sort})
    assert faults == [
        f"tools.csv:2: tool X: a {sort} needs {column!r}. Fill it in" for column in REQUIRED[sort]
    ]


def test_every_end_but_a_key_needs_a_square() -> None:
    needs = {sort: needed for sort, needed in REQUIRED.items() if "turns" in needed}
    assert needs == {
        "socket": ("turns", "takes"),
        "bit": ("turns", "takes"),
        "key": ("turns",),
        "crowfoot": ("turns", "takes"),
    }


@pytest.mark.parametrize(
    ("column", "text", "reason"),
    [
        ("sort", "hammer", f"'hammer' is none of {', '.join(REQUIRED)}"),
        ("takes", "5/8", "'5/8' is no square drive; write one of 1/4, 3/8, 1/2, 3/4, 1 in (ISO 1174-1: 6.3, 10, 12.5, 20, 25 mm)"),
        ("takes", "01. Feb", "'01. Feb' is a date, as spreadsheets make of 1/2; make the cell a text and write the square: 1/4, 3/8, 1/2, 3/4, 1 in"),
        ("takes", "Aug 03", "'Aug 03' is a date, as spreadsheets make of 3/8; make the cell a text and write the square: 1/4, 3/8, 1/2, 3/4, 1 in"),
        ("takes", "1-Apr-26", "'1-Apr-26' is a date, as spreadsheets make of 1/4; make the cell a text and write the square: 1/4, 3/8, 1/2, 3/4, 1 in"),
        ("takes", "01/02/2026", "'01/02/2026' is a date, as spreadsheets make of 1/2; make the cell a text and write the square: 1/4, 3/8, 1/2, 3/4, 1 in"),
        ("takes", "17. Okt", "'17. Okt' is a date, as spreadsheets make of 3/8; make the cell a text and write the square: 1/4, 3/8, 1/2, 3/4, 1 in"),
        ("gives", "2026-04-03 00:00:00", "'2026-04-03 00:00:00' is a date, as spreadsheets make of 3/4; make the cell a text and write the square: 1/4, 3/8, 1/2, 3/4, 1 in"),
        ("takes", "2026-03-08", "'2026-03-08' is a date, as spreadsheets make of 3/8; make the cell a text and write the square: 1/4, 3/8, 1/2, 3/4, 1 in"),
        ("turns", "hexagon 13", "'hexagon 13' is a size without unit; write for example 'hexagon 13 mm'"),
        ("length", "28", "'28' is a figure without unit; write for example '28 mm' or '28 in'"),
        ("from", "20", "'20' is a figure without unit; write for example '20 N·m' or '20 lbf·in'"),
        ("deviation", "4", "'4' is no deviation; write for example '4 %'"),
        ("deviation", "four %", "'four %' is no deviation; write for example '4 %'"),
        ("deviation", "0 %", "'0 %' is no deviation of a torque wrench; check it"),
        ("deviation", "60 %", "'60 %' is no deviation of a torque wrench; check it"),
        ("deviation", "nan %", "'nan %' is no deviation of a torque wrench; check it"),
        ("deviation", "0.0001 %", "'0.0001 %' is no deviation of a torque wrench; check it"),
        ("direction", "left", "'left' is none of both, clockwise"),
        ("calibrated to", "30.09.2026", "'30.09.2026' is no date; write year-month-day, for example 2026-04-15"),
        ("cycles", "1,240", "'1,240' is no whole number"),
        ("cycles", "-1", "'-1' is no whole number"),
        ("state", "gone", "'gone' is none of here, lent, at calibration, broken"),
        ("code", "S 13", "'S 13' is no code; use letters, digits and hyphens, 40 at most"),
        ("name", "x" * 201, "the text is longer than 200 characters; shorten it"),
        ("name", "so\x00cket", "'so\\x00cket' has characters that cannot be printed; write one plain line"),
    ],
)  # fmt: skip
def test_a_cell_that_cannot_be_read_says_why(
    tmp_path: Path, column: str, text: str, reason: str
) -> None:
    tool = {**WRENCH, "takes": "", "turns": ""} | {column: text}
    assert fault(tmp_path, tool) == f"tools.csv:2: column {column!r}: {reason}. Correct this cell"


@pytest.mark.parametrize(
    "text", ["1/2", "1/2 in", '1/2"', '1/2 "', "1/2″", "1/2 inch", "1/2 Inch", "1/2''", "12.5 mm"]
)
def test_a_square_drive_is_read_as_people_write_it(tmp_path: Path, text: str) -> None:
    assert values(tmp_path, SOCKET | {"takes": text})["takes"] == "1/2"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"to": "100 lbf·ft"}, "its scale mixes two units. Give one unit"),
        ({"from": "100 N·m"}, "its scale does not rise. Give 'from' below 'to'"),
        ({"from": "120 N·m"}, "its scale does not rise. Give 'from' below 'to'"),
        ({"state": "lent"}, "'lent' and 'lent to' go together. Give both or neither"),
        ({"lent to": "somebody"}, "'lent' and 'lent to' go together. Give both or neither"),
        (
            {"state": "broken", "lent to": "somebody"},
            "'lent' and 'lent to' go together. Give both or neither",
        ),
    ],
)
def test_a_tool_that_contradicts_itself_is_refused(
    tmp_path: Path, change: Mapping[str, str], reason: str
) -> None:
    assert fault(tmp_path, {**WRENCH, **change}) == f"tools.csv:2: tool W-20-100: {reason}"


def test_every_fault_of_every_row_is_told_at_once_and_good_rows_are_kept(tmp_path: Path) -> None:
    rows, faults = listed(
        tmp_path,
        {**SOCKET, "length": "28"} | {"takes": ""},
        {**WRENCH, "code": ""},
        WRENCH,
        {**WRENCH, "code": "W-2", "state": "lent", "from": "x", "gives": ""},
    )
    assert [row.line for row in rows] == [4]
    no_torque = "'x' is no torque; write for example '96 N·m' or '96 lbf·in'"
    assert faults == [
        "tools.csv:2: column 'length': '28' is a figure without unit; write for example '28 mm' or '28 in'."
        " Correct this cell",
        "tools.csv:2: tool S-13: a socket needs 'takes'. Fill it in",
        "tools.csv:3: column 'code': it is empty. Fill it in",
        f"tools.csv:5: column 'from': {no_torque}. Correct this cell",
        "tools.csv:5: tool W-2: a torque wrench needs 'gives'. Fill it in",
        "tools.csv:5: tool W-2: 'lent' and 'lent to' go together. Give both or neither",
    ]


def test_a_fault_found_later_is_told_with_the_row(tmp_path: Path) -> None:
    (row,), _ = listed(tmp_path, SOCKET)
    assert str(row.problem("it is there twice", "Keep one")).removeprefix(f"{tmp_path}/") == (
        "tools.csv:2: tool S-13: it is there twice. Keep one"
    )


@pytest.mark.parametrize(
    ("tool", "told"),
    [
        (
            SOCKET | {"length": "28 mm", "depth": "400 mm"},
            "tools.csv:2: tool S-13: it is 400 mm deep and only 28 mm long. Give the length over"
            " all, and the depth inside",
        ),
        (
            {**SOCKET, "sort": "crowfoot", "offset": "3 m"},
            "tools.csv:2: column 'offset': '3 m' is more than the 300 mm that a tool for the hand"
            " has. Correct this cell",
        ),
        (
            WRENCH | {"to": "100000 N·m"},
            "tools.csv:2: column 'to': '100000 N·m' is more than the 5000 N·m that a tool for the"
            " hand has. Correct this cell",
        ),
        (
            {"box": "bay", "code": "G", "sort": "angle gauge", "takes": "1/2", "gives": "3/8"},
            "tools.csv:2: tool G: an angle gauge that takes 1/2 in and gives 3/8 in is two tools."
            " Give one square, and the adaptor as a tool of its own",
        ),
    ],
)
def test_sizes_that_no_tool_has_are_refused(
    tmp_path: Path, tool: Mapping[str, str], told: str
) -> None:
    assert fault(tmp_path, tool) == told


def test_a_socket_may_be_open_right_through(tmp_path: Path) -> None:
    assert values(tmp_path, SOCKET | {"length": "28 mm", "depth": "28 mm"})["depth"] == 28_000


def test_how_close_a_scale_is_read_is_kept_in_the_unit_of_the_scale(tmp_path: Path) -> None:
    read = values(tmp_path, WRENCH | {"resolution": "0.5 N·m"})
    assert read["resolution"] == Torque(Decimal("0.5"), "N·m")
    assert "resolution" not in values(tmp_path, WRENCH)


@pytest.mark.parametrize(
    ("tool", "told"),
    [
        (WRENCH | {"resolution": "5 lbf·ft"}, "its scale is in N·m and its resolution in lbf·ft"),
        (WRENCH | {"resolution": "100 N·m"}, "its resolution (100 N·m) is more than the whole"),
        (WRENCH | {"resolution": "0 N·m"}, "'0 N·m' is no resolution of a scale; write how far"),
        (WRENCH | {"resolution": "0.0005 N·m"}, "'0.0005 N·m' is no resolution of a scale"),
        (SOCKET | {"resolution": "1 N·m"}, "it has a resolution and no scale"),
    ],
)
def test_a_resolution_that_no_such_scale_has_is_refused(
    tmp_path: Path, tool: Mapping[str, str], told: str
) -> None:
    assert told in fault(tmp_path, tool)
