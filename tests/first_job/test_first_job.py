"""The first own job: from an empty folder to a pick list and labels of the brakes of both axles.

The catalogue beside this is all that is typed, as a YAML file or as rows of a workbook, with two
variants and every pair of sides. Invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import Run, runner
from workbooks import filled

HERE = Path(__file__).parent
CATALOGUE, ROWS = HERE / "brakes.yaml", HERE / "brakes.txt"
MOST_LINES, MOST_ROWS = 120, 60
PAGE = Path(__file__).parents[2] / "kitting" / "guide" / "catalogue.md"
NOW = ("--now", "2026-04-02 14:20")
JOBS = ("FRONT", "REAR", "--on", "2026-04-15")


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    return runner(monkeypatch, capsys)


def typed() -> int:
    """How many lines of the catalogue somebody has to type."""
    return sum(1 for line in CATALOGUE.read_text("utf-8").splitlines() if line.strip())


def sheets() -> Iterator[tuple[str, list[dict[str, str]]]]:
    """The rows that somebody has to type into a workbook, by sheet."""
    for page in ROWS.read_text("utf-8").split("[")[1:]:
        name, _, rest = page.partition("]\n")
        heading, *rows = ([cell.strip() for cell in line.split(" |")] for line in rest.splitlines())
        yield (
            name,
            [
                {head: cell for head, cell in zip(heading, row, strict=False) if cell}
                for row in rows
            ],
        )


def test_what_is_typed_for_both_axles_is_short_and_the_guide_tells_how_much(
    capsys: pytest.CaptureFixture[str],
) -> None:
    rows = sum(len(rows) for _, rows in sheets())
    with capsys.disabled():
        print(f"\nthe brakes of both axles: {typed()} lines or {rows} rows typed")
    assert typed() <= MOST_LINES
    assert rows <= MOST_ROWS
    told = " ".join(PAGE.read_text("utf-8").split())
    assert f"{typed()} lines" in told
    assert f"{rows} rows" in told


@pytest.mark.parametrize("name", ["brakes.yaml", "brakes.xlsx"])
def test_from_an_empty_folder_to_the_pick_list_and_the_labels(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, run: Run, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    if name.endswith(".yaml"):
        (tmp_path / name).write_bytes(CATALOGUE.read_bytes())
    else:
        filled(tmp_path / name, dict(sheets()))
    assert run("setup").code == 0
    checked = run("check", name)
    assert checked.code == 0
    assert "still unknown: axles/motor-left: the fluids that it holds back" in checked.err
    assert run("load", name).code == 0
    assert (
        run("car", "add", "KITE 1", "--model", "kite", "--equipment", "motor-brake", *NOW).code == 0
    )
    asked = run("plan", "KITE 1", *JOBS)
    assert asked.code == 3
    assert "Which front discs?" in asked.out
    assert "Which parking brake?" not in asked.out
    assert run("settle", "KITE 1", "front-disc", "300").code == 0
    plan = run("plan", "KITE 1", *JOBS, "--json").data
    renewed = {line["item"]: line["quantity"] for line in plan["lines"] if line["rule"] == "renew"}
    assert renewed == {
        "PAD-F": 4, "PAD-R": 4, "DISC-F-300": 2, "DISC-R": 2, "FIT-F": 2, "FIT-R": 2,
        "BOLT-M12": 8, "BOLT-M10": 4, "RING-MOTOR": 2,
    }  # fmt: skip
    assert len(plan["tightenings"]) == 6
    assert [split["split"] for split in plan["unresolved"]] == []
    for sheet, out in (("pick", "pick.pdf"), ("labels", "labels.pdf"), ("tighten", "t.pdf")):
        run("sheet", sheet, "KITE 1", *JOBS, "--out", out)
        assert (tmp_path / out).read_bytes().startswith(b"%PDF")
