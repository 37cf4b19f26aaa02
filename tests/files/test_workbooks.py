"""Workbooks made to fill the memory or to fetch other files are refused before they are parsed."""

from __future__ import annotations

import struct
import tracemalloc
import zipfile
import zlib
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from examples import examples
from hypothesis import HealthCheck, given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from kitting.errors import Problem
from kitting.files.lists.reader import ListRow, iter_list, read_list
from kitting.files.workbooks import check_workbook

KNOWN = ("code", "name")
STEP = "Give a CSV file in UTF-8, or an XLSX workbook"
DOCTYPE = "the workbook holds a document type, which none may"
TOO_LARGE = "the workbook unpacks to more than is sensible"
MIB = 1024 * 1024


def workbook(folder: Path, **parts: bytes) -> Path:
    """A sound workbook, with some of its parts replaced."""
    book = Workbook()
    book.active.append(["code", "name"])
    book.active.append(["A", "a"])
    path = folder / "list.xlsx"
    book.save(path)
    with zipfile.ZipFile(path) as archive:
        content = {name: archive.read(name) for name in archive.namelist()}
    for part, replacement in parts.items():
        folders = ("xl/worksheets" if part == "sheet1" else "xl", part)
        content["/".join(folders) + ".xml"] = replacement
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in content.items():
            archive.writestr(name, text)
    return path


def fault(path: Path) -> str:
    rows, (problem,) = read_list(path, KNOWN)
    assert rows == []
    assert list(iter_list(path, KNOWN)) == [problem]
    return str(problem).removeprefix(f"{path.parent}/").removesuffix(f". {STEP}")


def page(prologue: str, value: str) -> str:
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    cell = '<c r="A{}" t="inlineStr"><is><t>{}</t></is></c>'
    rows = "".join(
        f'<row r="{no}">{cell.format(no, text)}</row>' for no, text in ((1, "code"), (2, value))
    )
    return f'{prologue}<worksheet xmlns="{space}"><sheetData>{rows}</sheetData></worksheet>'


def laughs(levels: int) -> str:
    """Entities that name the one before ten times each: 10 ** levels texts in the end."""
    entities = ['<!ENTITY e0 "ha">']
    entities += [f'<!ENTITY e{no} "{f"&e{no - 1};" * 10}">' for no in range(1, levels + 1)]
    return f"<!DOCTYPE worksheet [{''.join(entities)}]>"


def test_a_page_of_plain_xml_is_read_by_the_same_builder_as_the_attacks(tmp_path: Path) -> None:
    path = workbook(tmp_path, sheet1=page("", "B").encode())
    assert read_list(path, KNOWN) == ([ListRow(2, {"code": "B"})], [])


@pytest.mark.parametrize("levels", [1, 9])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize("part", ["sheet1", "sharedStrings", "styles", "workbook"])
def test_entities_that_multiply_are_refused(
    tmp_path: Path, part: str, encoding: str, levels: int
) -> None:
    text = f'<?xml version="1.0" encoding="{encoding}"?>' + page(laughs(levels), f"&e{levels};")
    path = workbook(tmp_path, **{part: text.encode(encoding)})
    assert fault(path) == f"list.xlsx: file: {DOCTYPE}"


def test_the_parser_alone_would_not_let_a_billion_through_either(tmp_path: Path) -> None:
    text = page(laughs(9), "&e9;").encode()
    path = workbook(tmp_path, sheet1=text)
    with pytest.raises(Exception) as caught:  # noqa: PT011 - whose parser it is decides which
        list(
            load_workbook(BytesIO(path.read_bytes()), read_only=True)
            .worksheets[0]
            .iter_rows(values_only=True)
        )
    # Expat since 2.4.0 and lxml stop what grows a hundredfold (an older one has only our check);
    # where defusedxml is installed, openpyxl takes it, and it lets no entity be declared at all.
    assert any(
        "amplification" in text or "EntitiesForbidden" in text for text in told(caught.value)
    )


def told(error: BaseException | None) -> Iterator[str]:
    """What an error says, and what it came from."""
    while error is not None:
        yield repr(error)
        error = error.__cause__ or error.__context__


def test_entities_that_fetch_a_file_are_refused_and_the_parser_alone_does_not_fetch(
    tmp_path: Path,
) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("a secret of the garage", encoding="utf-8")
    doctype = f'<!DOCTYPE worksheet [<!ENTITY x SYSTEM "{secret.as_uri()}">]>'
    path = workbook(tmp_path, sheet1=page(doctype, "&x;").encode())
    assert fault(path) == f"list.xlsx: file: {DOCTYPE}"
    told = ""
    try:
        rows = (
            load_workbook(BytesIO(path.read_bytes()), read_only=True)
            .worksheets[0]
            .iter_rows(values_only=True)
        )
        told = str(list(rows))
    except Exception as error:
        told = str(error)
    assert told
    assert "secret of the garage" not in told


def test_a_document_type_is_seen_where_two_chunks_meet(tmp_path: Path) -> None:
    for before in range(256 * 1024 - 12, 256 * 1024 + 2):
        comment = f"<!--{'x' * (before - 7)}-->"
        path = workbook(tmp_path, sheet1=page(comment + laughs(1), "&e1;").encode())
        with pytest.raises(ValueError, match=DOCTYPE):
            check_workbook(path)


def test_a_cell_that_speaks_of_document_types_is_text(tmp_path: Path) -> None:
    path = workbook(tmp_path, sheet1=page("", "&lt;!DOCTYPE html&gt;").encode())
    assert read_list(path, KNOWN) == ([ListRow(2, {"code": "<!DOCTYPE html>"})], [])


def test_a_part_that_unpacks_to_too_much_is_refused_before_it_is_unpacked(
    tmp_path: Path,
) -> None:
    path = workbook(tmp_path, styles=b" " * (17 * MIB))
    assert path.stat().st_size < MIB
    assert fault(path) == f"list.xlsx: file: {TOO_LARGE}"


def test_parts_that_are_too_much_together_are_refused(tmp_path: Path) -> None:
    path = workbook(tmp_path, sheet1=page("", "<!---->".join(["B" * 256_000] * 12)).encode())
    check_workbook(path)
    with pytest.raises(ValueError, match=TOO_LARGE):
        check_workbook(path, most=2 * MIB)


def _lying(path: Path, part: str, stated: int, crc: int | None = None) -> None:
    """State another unpacked size (and check sum) of a part, in both places that a ZIP has."""
    content = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as archive:
        (info,) = [info for info in archive.infolist() if info.filename.endswith(part)]
    sum_ = info.CRC if crc is None else crc
    place = content.rindex(b"PK\x01\x02", 0, content.rindex(info.filename.encode()))
    # Offsets of check sum and unpacked size: PKWARE's APPNOTE, 4.3.12 and 4.3.7 (from memory).
    struct.pack_into("<I", content, place + 16, sum_)
    struct.pack_into("<I", content, place + 24, stated)
    struct.pack_into("<I", content, info.header_offset + 14, sum_)
    struct.pack_into("<I", content, info.header_offset + 22, stated)
    path.write_bytes(content)


@pytest.mark.parametrize("summed", [None, 1000, 1001])
def test_a_part_that_is_larger_than_it_states_is_refused_without_filling_the_memory(
    tmp_path: Path, summed: int | None
) -> None:
    path = workbook(tmp_path, styles=b" " * (64 * MIB))
    crc = None if summed is None else zlib.crc32(b" " * summed)  # forged over so many bytes
    _lying(path, "styles.xml", 1000, crc)
    tracemalloc.start()
    try:
        found = fault(path)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert found == "list.xlsx: file: the workbook is damaged"
    assert peak < 8 * MIB


def test_a_wrong_check_sum_and_another_packing_are_refused(tmp_path: Path) -> None:
    path = workbook(tmp_path)
    with zipfile.ZipFile(path) as archive:
        (info,) = [info for info in archive.infolist() if info.filename.endswith("styles.xml")]
    _lying(path, "styles.xml", info.file_size, 1)
    assert fault(path) == "list.xlsx: file: the workbook is damaged"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_BZIP2) as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
    assert fault(path) == "list.xlsx: file: it is no XLSX workbook"


def test_rows_numbered_beyond_any_page_end_the_reading(tmp_path: Path) -> None:
    text = page("", "B").replace('r="2"', 'r="99999999999"')
    path = workbook(tmp_path, sheet1=text.encode())
    found = list(iter_list(path, KNOWN))
    assert [str(problem).removeprefix(f"{tmp_path}/") for problem in found] == [
        f"list.xlsx: file: the workbook is damaged, or one of its pages is no table. {STEP}"
    ]


def test_rows_beyond_the_size_that_a_page_states_are_read(tmp_path: Path) -> None:
    text = page("", "B").replace("<sheetData>", '<dimension ref="A1:B1"/><sheetData>')
    path = workbook(tmp_path, sheet1=text.encode())
    assert read_list(path, KNOWN) == ([ListRow(2, {"code": "B"})], [])


# Streaming


HANDLED = [HealthCheck.function_scoped_fixture]


@given(text=st.text(alphabet='ab,;"\n\r\t codename', max_size=60), headed=st.booleans())
@examples(100, 600, suppress_health_check=HANDLED)
def test_a_streamed_list_is_the_list_read_whole(tmp_path: Path, text: str, headed: bool) -> None:
    path = tmp_path / "list.csv"
    path.write_text("code,name\n" + text if headed else text, encoding="utf-8", newline="")
    rows, problems = read_list(path, KNOWN)
    found = list(iter_list(path, KNOWN))
    streamed = [entry for entry in found if isinstance(entry, Problem)]
    if any(problem.line == 0 for problem in problems):
        assert streamed  # what is met first ends a streamed list: its heading, or the broken row
    else:
        assert streamed == problems
        assert [entry for entry in found if isinstance(entry, ListRow)] == rows


def test_a_line_without_end_is_refused_before_it_fills_the_memory(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    with path.open("w", encoding="utf-8") as file:
        file.write("code,name\nA,a\n")
        for _ in range(32):
            file.write("x," * (MIB // 2))
    tracemalloc.start()
    try:
        found = list(iter_list(path, KNOWN))
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert found[0] == ListRow(2, {"code": "A", "name": "a"})
    assert [str(problem).removeprefix(f"{tmp_path}/") for problem in found[1:]] == [
        f"list.csv: file: line 3 is longer than 1,048,576 characters. {STEP}"
    ]
    assert peak < 16 * MIB
