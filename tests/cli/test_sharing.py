"""Sharing catalogues at the command line: who wrote what, and what a file would change."""

from __future__ import annotations

from pathlib import Path

from commands import Run

HEAD = "about: {author: A. Sample, source: handbook, version: '1', licence: may be copied}\n"
ITEMS = "items: [{code: OWN, name: Own, kind: o-ring, elastomer: FKM}, {code: PIN, name: Pin, kind: bolt}]\n"
UNIT = """
units:
  - code: own
    name: Own
    joints:
      - {code: j, name: J, system: engine, fits: [{item: OWN, position: groove}]}
      - {code: k, name: K, system: engine}
    steps: [{code: OPEN, name: open, hours: 1 h, opens: [j, k]}]
"""


def written(folder: Path, name: str, text: str) -> str:
    (folder / name).write_text(text, encoding="utf-8")
    return name


def test_a_file_is_compared_with_what_is_there(garage_folder: Path, run: Run) -> None:
    ours = written(garage_folder, "ours.yaml", HEAD + ITEMS + UNIT)
    assert run("load", ours).code == 0
    same = run("load", ours, "--compare")
    assert (same.code, same.out) == (0, "no difference: what the files state is there already\n")
    text = HEAD.replace("A. Sample", "B. Other") + ITEMS.replace("name: Own", "name: Ring") + UNIT
    text = text.replace("hours: 1 h", "hours: 1.5 h").replace("[j, k]", "[j]")
    text = text.replace("      - {code: k, name: K, system: engine}\n", "")
    theirs = written(garage_folder, "theirs.yaml", text)
    for _ in range(2):  # nothing is kept
        told = run("load", theirs, "--compare")
        assert told.code == 3
        assert told.out.splitlines() == [
            "~ item OWN  (A. Sample, version 1 → B. Other, version 1)",
            "    name: Own → Ring",
            "~ unit own  (A. Sample, version 1 → B. Other, version 1)",
            "  - joint k",
            "  ~ step OPEN",
            "      hours: 1 h → 1.5 h",
            "      opens: [j, k] → [j]",
            "= the same, of another origin: item PIN",
            "    A. Sample, version 1 → B. Other, version 1",
            "2 changed, 1 of another origin; nothing was kept",
        ]
    loaded = run("load", theirs)
    assert (
        "note: item OWN: changed name. Author before: A. Sample, version 1; author now: B. Other,"
        " version 1\n"
    ) in loaded.err
    assert (
        "note: unit own: changed joint k removed, step OPEN hours, step OPEN opens. Author"
        in loaded.err
    )


def test_the_same_author_with_another_licence_is_told_at_length(
    garage_folder: Path, run: Run
) -> None:
    run("load", written(garage_folder, "ours.yaml", HEAD + ITEMS))
    text = HEAD.replace("may be copied", "ask first") + ITEMS
    told = run("load", written(garage_folder, "later.yaml", text), "--compare")
    assert "licence: may be copied → A. Sample, version 1;" in " ".join(told.out.split())
    assert told.out.splitlines()[-1] == "2 of another origin; nothing was kept"


def test_a_head_without_an_author_is_a_fault_with_its_place(garage_folder: Path, run: Run) -> None:
    name = written(garage_folder, "ours.yaml", "about:\n  version: '1'\n" + ITEMS)
    ended = run("load", name)
    assert ended.code == 1
    assert "ours.yaml:1: about: 'author' is missing" in ended.err


def test_text_of_others_is_no_markup_and_steers_no_terminal(garage_folder: Path, run: Run) -> None:
    text = HEAD.replace("A. Sample", "'[red]A[/]'") + ITEMS.replace("Pin", "'[bold]x'")
    told = run("load", written(garage_folder, "odd.yaml", text), "--compare")
    assert told.code == 3
    assert "+ item PIN  ([red]A[/], version 1)\n" in told.out
    odd = text.replace("[red]A", "\u202eA")
    turned = run("load", written(garage_folder, "odd.yaml", odd), "--compare")
    assert "+ item PIN  (\ufffdA[/], version 1)\n" in turned.out


def test_an_export_says_who_wrote_what(garage_folder: Path, run: Run) -> None:
    run("load", written(garage_folder, "ours.yaml", HEAD + ITEMS))
    run("load", written(garage_folder, "unit.yaml", UNIT))
    text = run("export", "own").out
    assert (
        "# items OWN by: A. Sample, version 1; taken from: handbook; licence: may be copied\n"
        "# units own by: no author stated\n"
    ) in text
    run("load", written(garage_folder, "unit.yaml", HEAD + UNIT))
    text = run("export", "own").out
    assert (
        '\nabout: {author: A. Sample, source: handbook, version: "1", licence: may be copied}\n'
        in text
    )
    assert " by: " not in text
