"""`note` at the command line: asked part by part, nothing lost when it is broken off."""

from __future__ import annotations

import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import Run
from PIL import Image

from conftest import Templates

NOW = ("--now", "2026-04-02 14:20")
HUB = (
    "--joint", "rear hub left", "--position", "hub nut", "--kind", "hub-nut", "--count", "1",
    "--thread", "M22 x 1.5", "--head", "hexagon 30 mm", "--figure", "180 N·m", "--source", "page 12",
)  # fmt: skip
LINE = "1  rear hub left, hub nut: 1, hub-nut, M22×1.5, hexagon 30 mm, 180 N·m (page 12)"


@pytest.fixture
def folder(empty_folder: Path, templates: Templates) -> Path:
    """A folder with a database of the general rules alone: no car is known."""
    shutil.copy(templates.file("empty"), empty_folder / "kitting.db")
    return empty_folder


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A terminal at which these answers are typed, one after the other."""
    answers: list[str] = []
    left: Iterator[str] = iter(answers)

    def typed(_prompt: object = "") -> str:
        answer = next(left, None)
        if answer is None:
            raise EOFError
        if answer == "^C":
            raise KeyboardInterrupt
        return answer

    monkeypatch.setattr("kitting.cli.commands.found_parts.at_a_terminal", lambda: True)
    monkeypatch.setattr("builtins.input", typed)
    return answers


def listed(run: Run) -> list[str]:
    out: str = run("note", "AB 123", "--no-input").out
    return out.splitlines()


def test_a_part_is_noted_by_options_and_shown(folder: Path, run: Run) -> None:
    noted = run("note", "AB 123", *HUB, *NOW)
    assert (noted.code, noted.out.strip()) == (0, LINE)
    assert listed(run) == [LINE]
    (part,) = run("note", "AB 123", "--json").data["found"]
    assert (part["joint"], part["count"], part["figure"]) == ("rear hub left", 1, "180 N·m")


def test_parts_are_asked_for_one_by_one_with_near_names(
    folder: Path, run: Run, terminal: list[str]
) -> None:
    terminal += [
        "rear hub left", "hub nut", "hub nuts", "hub-nut", "1", "M22x1.5", "", "180", "180 N·m",
        "page 12", "", "", "ring", "o-ring", "", "70 x 3", "black", "", "", "",
    ]  # fmt: skip
    ended = run("note", "AB 123", *NOW)
    assert ended.code == 0, ended.said
    assert "Did you mean hub-nut" in ended.err
    assert "is a figure without unit" in ended.err
    assert listed(run) == [
        LINE.replace(" hexagon 30 mm,", ""),
        "2  rear hub left, ring: o-ring, 70 x 3, seen: black",
    ]


@pytest.mark.parametrize("end", ["^C", None])
def test_what_was_answered_is_kept_when_it_is_broken_off(
    folder: Path, run: Run, terminal: list[str], end: str | None
) -> None:
    typed = ["rear hub left", "hub nut", "hub-nut", "1", "", "", "180 N·m"]
    terminal += [*typed, *([end] if end else [])]
    ended = run("note", "AB 123", *NOW)
    assert ended.code == 130
    assert listed(run) == [
        "1  rear hub left, hub nut: 1, hub-nut, seen: figure without a source: 180 N·m"
    ]


@pytest.mark.parametrize("bad", ["none.jpg", "notes.txt"])
def test_a_photo_is_asked_for_last_and_again_where_it_cannot_be_read(
    folder: Path, run: Run, terminal: list[str], bad: str
) -> None:
    (folder / "notes.txt").write_text("no picture", encoding="utf-8")
    Image.new("RGB", (40, 30), "orange").save(folder / "my nut.png")
    terminal += [
        "rear hub left", "ring", "o-ring", "1", "70 x 3", "", bad, "'my nut.png'", "", "",
    ]  # fmt: skip
    ended = run("note", "AB 123", *NOW)
    assert (ended.code, f"{bad}: " in ended.err) == (0, True), ended.said
    assert listed(run) == ["1  rear hub left, ring: 1, o-ring, 70 x 3, photo 1"]


def test_a_part_whose_photo_is_broken_off_is_kept_without_it(
    folder: Path, run: Run, terminal: list[str]
) -> None:
    terminal += ["rear hub left", "ring", "o-ring", "1", "", "black", "^C"]
    assert run("note", "AB 123", *NOW).code == 130
    assert listed(run) == ["1  rear hub left, ring: 1, o-ring, seen: black"]


def test_nothing_is_noted_where_the_named_photo_is_bad(folder: Path, run: Run) -> None:
    ended = run("note", "AB 123", *HUB, "--photo", "none.jpg", *NOW)
    assert (ended.code, "none.jpg: cannot be read" in ended.err) == (1, True)
    assert "nothing is noted of 'AB 123'" in run("note", "AB 123").err


def test_a_photo_of_a_note_is_listed_saved_and_taken_over_by_the_unit_made_of_it(
    folder: Path, run: Run
) -> None:
    Image.new("RGB", (40, 30), "orange").save(folder / "nut.png")
    noted = run("note", "AB 123", *HUB, "--photo", "nut.png", "--by", "Ann", *NOW)
    assert noted.out.strip() == f"{LINE}, photo 1"
    assert run("photo", "list").out.startswith("1  note 1 of AB 123; 40 × 30 pixels")
    assert run("photo", "save", "1", "--out", "kept.jpg").code == 0
    with Image.open(folder / "kept.jpg") as kept:
        assert (kept.format, kept.size) == ("JPEG", (40, 30))
    made = run("note", "AB 123", "--draft", "axle.yaml", "--unit", "axle")
    text = (folder / "axle.yaml").read_text(encoding="utf-8")
    assert "position: hub nut\n            # photo 1 shows it\n" in text
    (then,) = (line for line in made.err.splitlines() if "photo copy" in line)
    copy = shlex.split(then.partition("kitting ")[2])
    assert copy == ["photo", "copy", "1", "--joint", "axle/rear-hub-left", "--position", "hub nut"]
    assert "unknown name" in run(*copy, *NOW).err
    answers = {"system": "suspension", "hours": "1 h", "code": "kite", "name": "Kite"}
    for key, answer in {**answers, "model": "kite"}.items():
        text = text.replace(f"{key}:  # still unknown", f"{key}: {answer}  # was unknown")
    (folder / "axle.yaml").write_text(text, encoding="utf-8")
    loaded = run("load", "axle.yaml")
    assert loaded.code == 0, loaded.said
    assert run(*copy, *NOW).out.startswith("2  axle/rear-hub-left, hub nut; 40 × 30 pixels")
    assert "by Ann" in run("photo", "list", "--joint", "axle/rear-hub-left").out
    run("note", "AB 123", "--take-back", "1", *NOW)
    assert "(NOTE TAKEN BACK)" in run("photo", "list").out


def test_a_draft_is_written_once_and_says_what_it_lacks(folder: Path, run: Run) -> None:
    run("note", "AB 123", *HUB, *NOW)
    draft = ("note", "AB 123", "--draft", "axle.yaml", "--unit", "rear-axle")
    made = run(*draft)
    assert made.code == 0
    assert "still unknown: step rear-hub-left-off: hours" in made.err
    assert "Fill it in, then: kitting check axle.yaml" in made.err
    before = (folder / "axle.yaml").read_text(encoding="utf-8")
    again = run(*draft)
    assert again.code == 2
    assert "may have been filled in" in " ".join(again.err.replace("│", " ").split())
    assert (folder / "axle.yaml").read_text(encoding="utf-8") == before
    checked = run("check", "axle.yaml")
    assert checked.code == 1
    assert "axle.yaml:" in checked.err
    assert "nothing is written here, so it is unknown. Write what it is" in checked.err


def test_a_draft_needs_its_file_and_its_unit(folder: Path, run: Run) -> None:
    for given in (("--draft", "axle.yaml"), ("--unit", "rear-axle")):
        ended = run("note", "AB 123", *given)
        assert ended.code == 2
        assert "a draft needs its file and the code of its unit" in " ".join(
            ended.err.replace("│", " ").split()
        )


def test_a_ring_thicker_than_its_hole_is_asked_again(
    folder: Path, run: Run, terminal: list[str]
) -> None:
    terminal += ["drain", "ring", "o-ring", "1", "2.5 x 17 mm", "17 x 2.5 mm", "", "", "", ""]
    ended = run("note", "AB 123", *NOW)
    assert ended.code == 0
    assert "the section comes after the inside diameter" in ended.err
    assert listed(run) == ["1  drain, ring: 1, o-ring, 17 x 2.5 mm"]


def test_a_note_that_contradicts_an_earlier_one_of_its_place_says_so(
    folder: Path, run: Run
) -> None:
    ring = ("note", "AB 123", "--joint", "drain", "--position", "ring", "--kind", "o-ring")
    assert run(*ring, "--size", "17.0x2,5", *NOW).err == ""
    assert run(*ring, "--size", "17 x 2.5 mm", *NOW).err == ""
    other = run(*ring, "--size", "20 x 2.5 mm", *NOW)
    assert other.code == 0
    assert "note 2 has size 17 x 2.5 mm there: a draft takes them as two parts" in other.err


def test_a_mistake_is_taken_back(folder: Path, run: Run) -> None:
    run("note", "AB 123", *HUB, *NOW)
    back = run("note", "AB 123", "--take-back", "1", *NOW)
    assert back.out.startswith("taken back: rear hub left, hub nut")
    assert "nothing is noted of 'AB 123'" in run("note", "AB 123").err


@pytest.mark.parametrize("figure", ["20 N·m; +90°", "20 N·m, +90°", "[20 N·m, +90°]"])
def test_a_figure_of_several_stages_is_noted_as_it_is_written(
    folder: Path, run: Run, figure: str
) -> None:
    noted = run("note", "AB 123", *HUB, "--figure", figure, "--source", "page 1", "--json", *NOW)
    assert noted.data["figure"] == "20 N·m; 90°"
