"""In which language commands answer, and the names of items in it. All data is invented."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commands import Run

ON = ("--on", "2026-04-15")
PLACES = """
items:
  - {code: O-RING-X, name: Sealing ring, names: {de: Dichtring, fr: Joint torique}, kind: o-ring}
branches:
  - {code: nord, name: Nord, language: de-AT}
"""


@pytest.fixture
def told(run: Run, empty_folder: Path, tmp_path: Path) -> Run:
    """A database with an item that has names, and one branch that is told in German."""
    (tmp_path / "places.yaml").write_text(PLACES)
    assert run("setup").code == 0
    assert run("load", str(tmp_path / "places.yaml")).code == 0
    (tmp_path / "stock.csv").write_text("item,branch,lot,quantity\nO-RING-X,nord,L1,3 each\n")
    found = run("stock", "load", str(tmp_path / "stock.csv"))
    assert found.code == 0, found.err
    return run


def name_in(run: Run, *before: str) -> str:
    listed = run(*before, "stock", "list", "--json")
    assert listed.code == 0, listed.err
    return str(json.loads(listed.out)[0]["name"])


def test_the_branch_decides_unless_a_language_is_asked_for(told: Run) -> None:
    assert name_in(told) == "Dichtring"
    assert name_in(told, "--language", "en") == "Sealing ring"
    assert name_in(told, "--language", "de") == "Dichtring"
    assert name_in(told) == "Dichtring"


def test_branches_that_differ_leave_it_to_the_language_of_the_source(
    told: Run, tmp_path: Path
) -> None:
    (tmp_path / "more.yaml").write_text("branches: [{code: south, name: South}]")
    assert told("load", str(tmp_path / "more.yaml")).code == 0
    assert name_in(told) == "Sealing ring"
    listed = told("stock", "list", "--branch", "nord", "--json")
    assert json.loads(listed.out)[0]["name"] == "Dichtring"


def test_an_unknown_language_is_refused_before_anything_is_done(told: Run) -> None:
    refused = told("--language", "xx", "stock", "list")
    assert (refused.code, refused.out) == (1, "")
    assert "no texts in language 'xx'. Known: en, de" in refused.err


@pytest.mark.parametrize(
    ("text", "said"),
    [("xx", "no texts in language 'xx'"), ("german", "Write its two letters")],
)
def test_a_branch_has_a_language_that_there_are_texts_for(
    run: Run, empty_folder: Path, tmp_path: Path, text: str, said: str
) -> None:
    (tmp_path / "b.yaml").write_text(f"branches: [{{code: a, name: A, language: {text}}}]")
    checked = run("check", str(tmp_path / "b.yaml"))
    assert checked.code != 0
    assert said in checked.out + checked.err


def test_names_go_with_an_export_and_changed_ones_are_taken_in(told: Run, tmp_path: Path) -> None:
    exported = told("export", "--all", "--out", "out.yaml")
    assert exported.code == 0, exported.err
    assert "de: Dichtring" in (tmp_path / "out.yaml").read_text()
    assert "same" in told("--language", "en", "load", "out.yaml", "--dry-run").out
    changed = PLACES.replace("Dichtring", "O-Ring").replace(", fr: Joint torique", "")
    (tmp_path / "places.yaml").write_text(changed)
    assert told("load", "places.yaml").code == 0
    assert name_in(told) == "O-Ring"
