"""Small files made to fill the memory or never to end: refused in words, in little of either.

The bounds on memory are generous; what they rule out is the tens of times more that each of these
files took before it was refused.
"""

from __future__ import annotations

import time
import tracemalloc
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from openpyxl import Workbook

from kitting.errors import Problem
from kitting.files import workbooks
from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.source import parse_catalogue, read_catalogue
from kitting.files.lists.reader import ListRow, iter_list, read_list
from kitting.files.workbooks import check_workbook

MIB = 1024 * 1024
KNOWN = ("code", "name")
SPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
SHEET = "xl/worksheets/sheet1.xml"
HEADING = '<row r="1"><c r="A1" t="inlineStr"><is><t>code</t></is></c></row>'
TOO_LARGE = "the workbook unpacks to more than is sensible"
TOO_LONG = "the workbook holds a text that is longer than any cell may be"
DAMAGED = "the workbook is damaged, or one of its pages is no table"


@contextmanager
def within(mib: int, seconds: float) -> Iterator[None]:
    """Fail where what is inside takes more memory or (with much to spare) more time."""
    start = time.monotonic()
    tracemalloc.start()
    try:
        yield
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < mib * MIB
    assert time.monotonic() - start < seconds


# Catalogues

WIDTH = 10


def laughs(levels: int) -> str:
    """Anchors that name the one before ten times each, ending where the shape lets lists nest."""
    lines = ["x0: &x0 {rule: renew, source: maker, reference: r}"]
    lines += [f"x{n}: &x{n} [{', '.join([f'*x{n - 1}'] * WIDTH)}]" for n in range(1, levels + 1)]
    return "\n".join([*lines, f"items: *x{levels}", ""])


def broad(times: int) -> str:
    """The same in the shape of a catalogue: many joints, each with the same many fits."""
    fits = ", ".join(["*f"] * times)
    joints = ", ".join(["*j"] * times)
    return (
        "units:\n- code: a\n  name: a\n  joints:\n"
        "  - &j {code: j, name: j, system: s, fits: [&f {item: A, position: p}, "
        f"{fits}]}}\n"
        f"- {{code: b, name: b, joints: [{joints}]}}\n"
    )


@pytest.mark.parametrize("text", [laughs(9), laughs(60), broad(2000)])
def test_anchors_that_multiply_are_refused_before_anything_is_built(text: str) -> None:
    assert len(text) < 100_000
    with within(mib=40, seconds=20):
        found, (problem,) = parse_catalogue("x.yaml", text)
    assert found is None
    assert problem.reason == "anchors repeat more than 200,000 entries"
    assert problem.line > 1


def test_anchors_that_repeat_a_little_are_what_they_are_for() -> None:
    text = (
        "items:\n"
        "  - &ring {code: A, name: a, kind: o-ring, rules: &r [{rule: renew, source: maker,"
        " reference: r}]}\n"
        "  - {<<: *ring, code: B}\n"
        "  - {code: C, name: c, kind: o-ring, rules: *r}\n"
    )
    found, problems = parse_catalogue("x.yaml", text)
    assert found is not None, problems
    assert [(item.code, item.name, len(item.rules)) for item in found.catalogue.items] == [
        ("A", "a", 1), ("B", "a", 1), ("C", "c", 1),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["items: &a [*a]\n", "&a\nitems: *a\n", "items: &a\n  <<: *a\n"])
def test_an_entry_that_holds_itself_is_refused_with_its_line(text: str) -> None:
    _, (problem,) = parse_catalogue("x.yaml", text)
    assert str(problem) == "x.yaml:1: anchor 'a': the entry holds itself. Write it out"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("items: " + "[" * 2000, 1),
        ("items: " + "{a: " * 3000 + "}" * 3000, 1),
        ("".join(f"{' ' * n}a:\n" for n in range(1000)), 64),
        ("- " * 3000 + "a\n", 1),
    ],
)
def test_entries_that_nest_without_end_are_refused(text: str, line: int) -> None:
    _, (problem,) = parse_catalogue("x.yaml", text)
    assert problem.line == line
    assert problem.reason == "entries within entries, more than 64 deep"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("items: !!bool x\n", "a tag, which no such file needs: leave out '!' and its word"),
        ("items: !!python/name:os.system\n", "a tag, which no such file needs: leave out '!' and its word"),
        ("items: !mine [a]\n", "a tag, which no such file needs: leave out '!' and its word"),
        (f"items: {'9' * 5000}\n", "a figure of more than 40 signs"),
        (f"items: 0x{'f' * 5000}\n", "a figure of more than 40 signs"),
        (f"items: {'x' * 10_001}\n", "longer than 10,000 characters"),
        ("items: 2026-02-30T10:00:00\n", "no such time"),
        ("items: 2026-01-01T01:01:01+99:99\n", "no such time"),
        ('items: "\\U00110000"\n', "chr() arg not in range(0x110000)"),
        ("items: \x1b[31m\n", "the sign U+001B may not stand in YAML"),
    ],
)  # fmt: skip
def test_what_the_reader_of_yaml_stumbles_over_is_a_fault_with_its_line(
    text: str, told: str
) -> None:
    _, (problem,) = parse_catalogue("x.yaml", f"cautions: []\n{text}")
    assert (problem.line, problem.reason) == (2, told)


def test_an_anchor_may_be_used_anew() -> None:
    text = "items:\n- {code: A, name: &a b, kind: k}\n- {code: C, name: &a d, kind: *a}\n"
    found, problems = parse_catalogue("x.yaml", text)
    assert found is not None, problems
    assert [(item.code, item.kind) for item in found.catalogue.items] == [("A", "k"), ("C", "d")]


def test_a_comment_within_a_list_prints_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    text = "items: [ # one\n  # two\n] # three\nunits: [ # four\n] # five\n"
    found, problems = parse_catalogue("x.yaml", text)
    assert found is not None, problems
    assert capsys.readouterr() == ("", "")


def test_a_device_that_never_ends_is_not_read_to_its_end() -> None:
    with within(mib=200, seconds=20):
        found, (problem,) = read_catalogue(Path("/dev/zero"))
    assert found is None
    assert str(problem) == "/dev/zero: file: larger than 64 MiB. Split it"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (
            "cautions: []\n".encode("utf-16-le"),
            "x.yaml:1: file: it seems to be UTF-16 without the mark at its start that says so."
            " Save the file as UTF-8 (a spreadsheet may call it CSV UTF-8), and read it again",
        ),
        (b"cautions: []\n# \xe9\n", "x.yaml:2: file: this line is no text in UTF-8"),
    ],
)
def test_another_encoding_that_is_not_named_is_told_with_its_line(
    tmp_path: Path, content: bytes, told: str
) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(content)
    found, (problem,) = read_catalogue(path)
    assert found is None
    assert str(problem).removeprefix(f"{tmp_path}/").startswith(told)


def test_utf_16_is_read_where_the_file_says_so(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes("fluids:\n- {code: a, name: é}\n".encode("utf-16"))
    found, problems = read_catalogue(path)
    assert found is not None, problems
    assert [fluid.name for fluid in found.catalogue.fluids] == ["é"]


def test_a_byte_order_mark_and_other_ends_of_lines_are_read(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    for ending in ("\n", "\r\n", "\r"):
        text = f"fluids:{ending}- {{code: a, name: a}}{ending}"
        path.write_bytes(text.encode("utf-8-sig"))
        found, problems = read_catalogue(path)
        assert found is not None, problems
        assert found.catalogue == Catalogue.model_validate({"fluids": [{"code": "a", "name": "a"}]})


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (
            'name: "a\\0b"',
            "it holds the sign U+0000, which a name of one line may not; take it out",
        ),
        (
            'name: "a\\eb"',
            "it holds the sign U+001B, which a name of one line may not; take it out",
        ),
        (
            'name: "a\\nb"',
            "it holds the sign U+000A, which a name of one line may not; take it out",
        ),
        (
            'name: "a\\Lb"',
            "it holds the sign U+2028, which a name of one line may not; take it out",
        ),
        ('name: a, medium: "\\ud800"', "is no medium that rubbers are rated for"),
    ],
)
def test_signs_that_steer_a_screen_or_that_no_database_takes_are_refused(
    entry: str, told: str
) -> None:
    _, problems = parse_catalogue("x.yaml", f"fluids:\n- {{code: a, {entry}}}\n")
    assert [problem.line for problem in problems] == [2]
    assert told in problems[0].reason


def test_a_text_may_have_several_lines_but_no_signs_that_steer() -> None:
    entry = 'cautions:\n- {{code: a, title: t, text: "one\\ntwo\\t{}"}}\n'
    found, problems = parse_catalogue("x.yaml", entry.format("three"))
    assert found is not None, problems
    _, (problem,) = parse_catalogue("x.yaml", entry.format("\\a"))
    assert "it holds the sign U+0007, which text may not" in problem.reason


# Workbooks


TYPES = "[Content_Types].xml"
TEXTS = (
    b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/'
    b'vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/>'
)


def sound() -> dict[str, bytes]:
    """The parts of a workbook of one page, with the texts of its cells in a part of their own."""
    from io import BytesIO

    book = Workbook()
    page = book.active
    assert page is not None
    page.append(["code", "name"])
    page.append(["A", "a"])
    target = BytesIO()
    book.save(target)
    with zipfile.ZipFile(target) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/sharedStrings.xml"] = f'<sst xmlns="{SPACE}"/>'.encode()
    return parts | {TYPES: parts[TYPES].replace(b"</Types>", TEXTS + b"</Types>")}


SOUND = sound()


def packed(folder: Path, parts: dict[str, Iterator[bytes] | bytes]) -> Path:
    """The sound workbook with some parts replaced or added, none of which need be held whole."""
    path = folder / "list.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in {**SOUND, **parts}.items():
            with archive.open(name, "w", force_zip64=True) as part:
                for piece in [content] if isinstance(content, bytes) else content:
                    part.write(piece)
    return path


def repeated(before: str, unit: str, size: int, after: str) -> Iterator[bytes]:
    """A part that repeats something up to a size in bytes."""
    yield before.encode()
    block = unit * max(1, 65536 // len(unit))
    for _ in range(size // len(block)):
        yield block.encode()
    yield after.encode()


def page_of(unit: str, size: int, before: str = "", after: str = "") -> Iterator[bytes]:
    begin = f'<worksheet xmlns="{SPACE}"><sheetData>{HEADING}{before}'
    return repeated(begin, unit, size, f"{after}</sheetData></worksheet>")


def fault(path: Path) -> str:
    (*rows, problem) = list(iter_list(path, KNOWN))
    assert isinstance(problem, Problem), rows
    return problem.reason


# A megabyte of file and more than a gigabyte of memory, or many minutes, were none of them checked.
BOMBS = {
    "a row of endless cells": ({SHEET: lambda: page_of("<c/>", 64 * MIB, "<row>", "</row>")}, TOO_LARGE),
    "a cell of endless text": (
        {SHEET: lambda: page_of("x", 64 * MIB, '<row><c t="inlineStr"><is><t>', "</t></is></c></row>")},
        TOO_LONG,
    ),
    "an endless attribute": ({SHEET: lambda: page_of("x", 64 * MIB, '<row x="', '"/>')}, TOO_LONG),
    "endless empty rows": ({SHEET: lambda: page_of("<row/>", 2 * MIB)}, TOO_LARGE),
    "endless merged cells": (
        {SHEET: lambda: repeated(f'<worksheet xmlns="{SPACE}"><mergeCells>', '<mergeCell ref="A1:B2"/>',
                                 32 * MIB, "</mergeCells></worksheet>")},
        TOO_LARGE,
    ),
    "endless styles": (
        {"xl/styles.xml": lambda: repeated(f'<styleSheet xmlns="{SPACE}"><cellXfs>', "<xf/>", 15 * MIB,
                                           "</cellXfs></styleSheet>")},
        TOO_LARGE,
    ),
    "styles that pretend to be rows": (
        {"xl/styles.xml": lambda: repeated(f'<styleSheet xmlns="{SPACE}"><cellXfs>', "<xf/><row/>", 15 * MIB,
                                           "</cellXfs></styleSheet>")},
        TOO_LARGE,
    ),
    "endless texts": (
        {"xl/sharedStrings.xml": lambda: repeated(f'<sst xmlns="{SPACE}">', "<si/>", 2 * MIB, "</sst>")},
        TOO_LARGE,
    ),
    "one text of endless runs": (
        {"xl/sharedStrings.xml": lambda: repeated(f'<sst xmlns="{SPACE}"><si>', "<r/>", 32 * MIB,
                                                  "</si></sst>")},
        TOO_LARGE,
    ),
    "a part that nobody asks for": ({"xl/other.xml": lambda: repeated("<a>", "<b></b> ", 17 * MIB, "</a>")}, TOO_LARGE),
}  # fmt: skip


@pytest.mark.parametrize("bomb", BOMBS)
def test_what_would_fill_the_memory_is_refused_before_it_is_parsed(
    tmp_path: Path, bomb: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workbooks, "_MOST_UNITS", 200_000)  # smaller files go faster
    parts, told = BOMBS[bomb]
    path = packed(tmp_path, {name: made() for name, made in parts.items()})
    assert path.stat().st_size < MIB
    with within(mib=24, seconds=30):
        assert fault(path) == told


def test_a_page_that_is_the_workbook_besides_has_to_be_small(tmp_path: Path) -> None:
    # openpyxl takes whatever bears this type for the workbook, and reads that as a whole.
    types = SOUND[TYPES].replace(b'"/xl/workbook.xml"', f'"/{SHEET}"'.encode())
    assert types != SOUND[TYPES]
    large = {SHEET: page_of("<row/>", 17 * MIB), TYPES: types}
    with within(mib=24, seconds=30):
        assert fault(packed(tmp_path, large)) == TOO_LARGE


def test_cells_far_to_the_right_end_before_they_have_filled_a_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kitting.files.lists import sheet_rows

    monkeypatch.setattr(sheet_rows, "_MOST_CELLS", 200 * 16_384)
    row = '<row><c r="XFD1"/></row>'
    begin = f'<worksheet xmlns="{SPACE}"><sheetData>{HEADING}'
    end = "</sheetData></worksheet>"
    path = packed(tmp_path, {SHEET: f"{begin}{row * 199}{end}".encode()})
    assert list(iter_list(path, KNOWN)) == []  # nothing stands in them
    path = packed(tmp_path, {SHEET: f"{begin}{row * 201}{end}".encode()})
    assert fault(path) == DAMAGED


def test_a_page_of_many_rows_and_texts_is_no_bomb(tmp_path: Path) -> None:
    row = '<row><c t="s"><v>0</v></c><c t="inlineStr"><is><t>a &amp; b</t></is></c></row>'
    heading = '<row><c t="s"><v>1</v></c><c t="inlineStr"><is><t>name</t></is></c></row>'
    begin = f'<worksheet xmlns="{SPACE}"><sheetData>{heading}'
    rows, texts = 30_000, 80_000
    page = [begin.encode(), (row * rows).encode(), b"</sheetData></worksheet>"]
    table = [f'<sst xmlns="{SPACE}"><si><t>A</t></si><si><t>code</t></si>'.encode()]
    table += [b"<si><t>B</t></si>" * texts, b"</sst>"]
    path = packed(tmp_path, {SHEET: iter(page), "xl/sharedStrings.xml": iter(table)})
    check_workbook(path)
    found = list(iter_list(path, KNOWN))
    assert len(found) == rows
    assert found[-1] == ListRow(rows + 1, {"code": "A", "name": "a & b"})


def test_the_size_that_a_page_states_is_not_believed(tmp_path: Path) -> None:
    begin = f'<worksheet xmlns="{SPACE}"><dimension ref="A1:XFD1048576"/><sheetData>{HEADING}'
    path = packed(tmp_path, {SHEET: f"{begin}</sheetData></worksheet>".encode()})
    with within(mib=24, seconds=20):
        assert read_list(path, KNOWN) == ([], [])


@pytest.mark.parametrize(
    "name", ["../../evil.xml", "/etc/evil", "C:\\evil", "xl/../../evil", "CON"]
)
def test_parts_with_names_that_lead_elsewhere_are_never_unpacked(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "inner"
    folder.mkdir()
    path = packed(folder, {name: b"<evil/>"})
    assert read_list(path, KNOWN) == ([ListRow(2, {"code": "A", "name": "a"})], [])
    assert sorted(tmp_path.rglob("*")) == [folder, path]


def test_a_workbook_within_a_workbook_is_left_alone(tmp_path: Path) -> None:
    inner = packed(tmp_path, {}).read_bytes()
    path = packed(tmp_path, {"xl/embeddings/inner.xlsx": inner})
    assert read_list(path, KNOWN) == ([ListRow(2, {"code": "A", "name": "a"})], [])


def test_a_page_elsewhere_in_the_file_system_is_not_fetched(tmp_path: Path) -> None:
    secret = tmp_path / "secret.xml"
    secret.write_bytes(SOUND[SHEET])
    rels = SOUND["xl/_rels/workbook.xml.rels"].replace(
        b"/xl/worksheets/sheet1.xml", f"../../../..{secret}".encode()
    )
    assert rels != SOUND["xl/_rels/workbook.xml.rels"]
    assert fault(packed(tmp_path, {"xl/_rels/workbook.xml.rels": rels})) == DAMAGED


def test_what_a_workbook_holds_beside_its_cells_brings_no_warning(tmp_path: Path) -> None:
    extension = b'<extLst><ext uri="{CCE6A557-97BC-4b89-ADB6-D9C93CAAB3DF}"/></extLst></worksheet>'
    page = SOUND[SHEET].replace(b"</worksheet>", extension)
    path = packed(tmp_path, {SHEET: page})
    assert read_list(path, KNOWN) == ([ListRow(2, {"code": "A", "name": "a"})], [])


def test_a_pipe_that_never_ends_is_not_read_to_its_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kitting.files.lists import csv_text

    monkeypatch.setattr(csv_text, "LARGEST", 4096)
    monkeypatch.setattr(Path, "stat", lambda self, **_: type("Stat", (), {"st_size": 0})())
    path = tmp_path / "list.csv"
    path.write_text("code,name\n" + "A,a\n" * 2000, encoding="utf-8")
    assert fault(path) == "larger than 256 MiB"
