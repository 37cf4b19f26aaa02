"""`export` at the command line."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands import Run


def test_a_unit_is_written_and_loads_again(garage_folder: Path, run: Run) -> None:
    made = run("export", "linnet-axles", "--out", "linnet.yaml")
    assert (made.code, made.out) == (0, "wrote linnet.yaml\n")
    text = (garage_folder / "linnet.yaml").read_text(encoding="utf-8")
    assert text.startswith("# Written from a database: comments, pairs and patterns")
    assert "LINN 230" not in text
    assert "GREBE" not in text
    assert run("check", "linnet.yaml").code == 0
    loaded = run("load", "linnet.yaml", "--json")
    counts = loaded.data["counts"].values()
    assert {(one["added"], one["changed"], one["removed"]) for one in counts} == {(0, 0, 0)}
    assert run("export", "linnet-axles").out == text


def test_what_goes_along_and_what_is_left_out_is_said(garage_folder: Path, run: Run) -> None:
    made = run("export", "grebe-4t", "--out", "grebe.yaml")
    assert "also written, since steps of it are needed: pell-body" in made.err
    assert "model pell is not written: it also carries" in made.err
    assert run("workbook", "grebe.xlsx", "grebe-4t").err == made.err


def test_cars_are_named_only_where_they_are_asked_for(garage_folder: Path, run: Run) -> None:
    run("owner", "set", "LINN 230", "--name", "A. Sample", "--telephone", "01632 960001")
    made = run("export", "linnet-axles", "--cars", "--out", "linnet.yaml")
    assert "it names cars by registration" in made.err
    text = (garage_folder / "linnet.yaml").read_text(encoding="utf-8")
    assert "LINN 230" in text
    assert "Sample" not in text


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        ((), 2, "name units, or say --all"),
        (("linnet-axles", "--all"), 2, "name units, or say --all"),
        (("linet-axles",), 1, "Did you mean linnet-axles?"),
    ],
)
def test_what_cannot_be_written_is_told(
    garage_folder: Path, run: Run, words: tuple[str, ...], code: int, message: str
) -> None:
    ended = run("export", *words)
    assert ended.code == code
    assert message in " ".join(ended.err.replace("│", " ").split())


def test_a_workbook_is_written_and_loads_again(garage_folder: Path, run: Run) -> None:
    for words in (
        ("workbook", "a.xlsx", "--all", "--cars"),
        ("export", "--all", "--out", "b.xlsx"),
    ):
        made = run(*words)
        name = next(word for word in words if word.endswith(".xlsx"))
        assert (made.code, made.out) == (0, f"wrote {name}\n")
        assert ("it names cars" in made.err) == ("--cars" in words)
        assert run("check", name).code == 0
        counts = run("load", name, "--json").data["counts"].values()
        assert {(one["added"], one["changed"], one["removed"]) for one in counts} == {(0, 0, 0)}
    text = run("export", "--all", "--cars").out
    assert run("load", "a.xlsx").code == 0
    assert run("export", "--all", "--cars").out == text


def test_an_empty_workbook_needs_no_database(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, run: Run
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("workbook", "mine.xlsx").code == 0
    assert [path.name for path in tmp_path.iterdir()] == ["mine.xlsx"]
    again = run("workbook", "mine.xlsx")
    assert again.code == 1
    assert "mine.xlsx is there already, and what was typed into it would be lost" in again.err


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (("mine.yaml",), 2, "it ends in .xlsx"),
        (("mine.xlsx", "linnet-axles", "--all"), 2, "name units, or say --all"),
        (("mine.xlsx", "linet-axles"), 1, "Did you mean linnet-axles?"),
        (("mine.xlsx", "--database", "sqlite:///none.db"), 1, "there is no database at none.db"),
    ],
)
def test_a_workbook_that_cannot_be_written_is_told(
    garage_folder: Path, run: Run, words: tuple[str, ...], code: int, message: str
) -> None:
    ended = run("workbook", *words)
    assert ended.code == code
    assert message in " ".join(ended.err.replace("│", " ").split())
    assert not (garage_folder / "mine.xlsx").exists()


def test_only_files_of_a_kind_that_is_written_are_written(garage_folder: Path, run: Run) -> None:
    ended = run("export", "--all", "--out", "all.ods")
    assert ended.code == 2
    assert ".ods is not written: end it in .yaml or .xlsx" in " ".join(ended.err.split())
    assert run("note", "KITE 9", "--joint", "hub", "--position", "bolt").code == 0
    ended = run("note", "KITE 9", "--draft", "hub.xlsx", "--unit", "hub")
    assert ended.code == 2
    assert "a draft is YAML: end it in .yaml" in " ".join(ended.err.split())
    assert not (garage_folder / "hub.xlsx").exists()
