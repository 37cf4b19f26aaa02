"""Column maps: YAML or CSV, every fault with its line."""

from __future__ import annotations

from pathlib import Path

import pytest
from examples import examples
from hypothesis import HealthCheck, given
from hypothesis import strategies as st
from openpyxl import Workbook

from kitting.errors import FileProblemsError
from kitting.files.lists.column_maps import read_map
from kitting.files.lists.reader import ColumnMap

KNOWN = ("part", "price", "note")


def written(folder: Path, text: str | bytes, name: str = "map.yaml") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def faults(path: Path) -> list[str]:
    with pytest.raises(FileProblemsError) as caught:
        read_map(path, KNOWN)
    return [str(problem).replace(f"{path.parent}/", "") for problem in caught.value.problems]


def test_a_map_knows_its_headings_and_their_lines(tmp_path: Path) -> None:
    path = written(
        tmp_path, "# ours\nOrder  No.: part\n12: Note\nignore: [EAN, Size]\nothers: ignore"
    )
    assert read_map(path, KNOWN) == ColumnMap(
        str(path),
        {"order no.": "part", "12": "note"},
        {"order no.": 2, "12": 3, "ean": 4, "size": 4},
        frozenset({"ean", "size"}),
        True,
    )


def test_a_csv_file_and_a_workbook_say_the_same_as_yaml(tmp_path: Path) -> None:
    text = "theirs,ours\nOrder No.,part\nNet,price\nEAN,ignore\nothers,ignore\n"
    ours = {"order no.": "part", "net": "price"}
    lines = {"order no.": 2, "net": 3, "ean": 4}
    path = written(tmp_path, text, "map.csv")
    assert read_map(path, KNOWN) == ColumnMap(str(path), ours, lines, frozenset({"ean"}), True)
    book = Workbook()
    for line in text.splitlines():
        book.active.append(line.split(","))
    path = tmp_path / "map.xlsx"
    book.save(path)
    assert read_map(path, KNOWN) == ColumnMap(str(path), ours, lines, frozenset({"ean"}), True)


def test_headings_called_ignore_or_others_can_be_mapped(tmp_path: Path) -> None:
    path = written(tmp_path, "ignore: part\nothers: note\n")
    assert read_map(path, KNOWN).ours == {"ignore": "part", "others": "note"}


def test_a_map_says_how_the_figures_of_a_list_are_meant(tmp_path: Path) -> None:
    for word, sign in (("comma", ","), ("point", "."), ("','", ","), ("Comma", ",")):
        found = read_map(written(tmp_path, f"decimal: {word}\nPack Unit: each\n"), KNOWN)
        assert (found.decimal, found.pack_unit, found.lines) == (sign, "each", {})
    found = read_map(written(tmp_path, "theirs,ours\ndecimal,comma\n", "map.csv"), KNOWN)
    assert (found.decimal, found.pack_unit) == (",", None)
    found = read_map(written(tmp_path, "Decimal: note\npack unit: ignore\n"), KNOWN)
    assert (found.decimal, found.ours, found.ignored) == (
        None, {"decimal": "note"}, {"pack unit"},
    )  # fmt: skip


def test_what_a_map_says_of_figures_is_one_of_the_known_words(tmp_path: Path) -> None:
    text = "theirs,ours\ndecimal,dot\npack unit,boxes\ndecimal,comma\ndecimal,point\n"
    assert faults(written(tmp_path, text, "map.csv")) == [
        "map.csv:2: decimal: unknown word 'dot'. Write one of comma, point",
        "map.csv:3: pack unit: unknown word 'boxes'."
        " Write one of each, ml, cl, l, g, kg, mm, cm, m",
        "map.csv:5: decimal: it is said a second time. Keep one of the two",
    ]


def test_every_fault_of_a_map_is_told_with_its_line(tmp_path: Path) -> None:
    text = (
        "Number: part\nNet: prise\nGross: weight in stone\nOther number: part\nnumber: note\n"
        "Lost:\nTwo: [part, price]\nignore: [Net, [x]]\nEAN: ignore\nignore : [EAN]\n"
    ).replace("ignore :", "IGNORE:")
    assert faults(written(tmp_path, text)) == [
        "map.yaml:2: heading 'Net': unknown column 'prise'. Did you mean price?",
        "map.yaml:3: heading 'Gross': unknown column 'weight in stone'. Columns: part, price, note",
        "map.yaml:4: heading 'Other number': 'part' is mapped on line 1 already."
        " Keep one of the two",
        "map.yaml:5: heading 'number': it is mapped on line 1 already. Keep one of the two",
        "map.yaml:6: heading 'Lost': it names no column."
        " Write 'Lost: part', with a column of ours or 'ignore'",
        "map.yaml:7: heading 'Two': it is mapped to several columns."
        " Map a heading to one column; only 'ignore' takes several headings",
        "map.yaml:8: ignore: it is a list of headings only. Quote the heading",
        "map.yaml:10: heading 'EAN': it is mapped on line 9 already. Keep one of the two",
    ]


def test_faults_of_a_csv_map_have_their_lines(tmp_path: Path) -> None:
    text = "theirs,ours\nNumber,part\n,price\nNet,\nNo.,part\n"
    assert faults(written(tmp_path, text, "map.csv")) == [
        "map.csv:3: heading: it is empty. Write the heading as the list does",
        "map.csv:4: column 'ours': it is empty. Name a column, or 'ignore'",
        "map.csv:5: heading 'No.': 'part' is mapped on line 2 already. Keep one of the two",
    ]
    assert faults(written(tmp_path, "a,b\n", "map.csv")) == [
        "map.csv:1: column 'a': nothing reads this column. Columns: theirs, ours",
        "map.csv:1: column 'b': nothing reads this column. Columns: theirs, ours",
    ]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (b"", "map.yaml:1: file: it maps nothing. Begin with a line 'their heading: part'"),
        (b"- a\n", "map.yaml:1: file: it maps nothing. Begin with a line 'their heading: part'"),
        (b"a: part\na: note\n", "map.yaml:2: YAML: found duplicate key"),
        (b"a: [\n", "map.yaml:2: YAML: "),
        (b"\xff: part\n", "map.yaml:1: file: this line is no text in UTF-8: its accents"),
        (b"a: part\n" + b"#" * 1024 * 1024, "map.yaml: file: larger than 1 MiB."),
    ],
)
def test_what_is_no_map_is_refused(tmp_path: Path, text: bytes, fault: str) -> None:
    (found,) = faults(written(tmp_path, text))
    assert found.startswith(fault)


def test_a_map_that_is_not_there_is_refused(tmp_path: Path) -> None:
    assert faults(tmp_path / "none.yaml") == [
        "none.yaml: file: No such file or directory. Check the path and that it is UTF-8 text"
    ]


YAML_BITS = st.lists(
    st.sampled_from(
        [*"abc:-[]{}&*!|>\n\n  '\"#?~,", "part", "price", ": ", "ignore", "others", "\n- "]
    )
)


@given(text=st.text(max_size=80) | YAML_BITS.map("".join), ending=st.sampled_from(["yaml", "csv"]))
@examples(100, 600, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_text_is_a_map_or_refused_with_its_faults(
    tmp_path: Path, text: str, ending: str
) -> None:
    path = written(tmp_path, text.encode("utf-8", "replace"), f"map.{ending}")
    try:
        found = read_map(path, KNOWN)
    except FileProblemsError as error:
        problems = error.problems
    else:
        assert set(found.ours.values()) <= set(KNOWN)
        assert set(found.lines) == set(found.ours) | found.ignored
        return
    assert problems
    assert all(problem.reason and problem.next_step for problem in problems)
