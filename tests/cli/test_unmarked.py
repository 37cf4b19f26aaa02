"""Every text on the screen is marked: in a language full of accents no plain word is left.

What is data stays as it is: names, codes, notes, and what was typed. Pages of the guide, examples
in the help and messages of errors are English for now.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from commands import Run, runner
from pseudo import pseudo
from unmarked import data_of_seeds, unmarked

from kitting.wording import language

NOW = ("--now", "2026-04-02 14:20")
DAY = ("--on", "2026-04-15")
PELL = ("PELL 117", "J1", "J2")
SHOWING: tuple[tuple[str, ...], ...] = (
    ("audit",),
    ("book", *PELL, *DAY, "--branch", "upper", *NOW),
    ("booking", "change", "B0001", "--add", "J3", "--on", "2026-04-20", *NOW),
    ("booking", "list"),
    ("booking", "promise", "B0001"),
    ("booking", "show", "B0001"),
    ("branch", "show"),
    ("buy", "B0001", "--sure", "90%", *NOW),
    ("buy", *PELL, "--branch", "upper", *DAY, *NOW),
    ("car", "show", "PELL 117"),
    ("cure", "PELL 117", "J3", "--parked", "3 h", *DAY),
    ("dates", *PELL, "--branch", "upper", *NOW),
    ("jobs",),
    ("jobs", "PELL 117"),
    ("kit", "show", "B0001"),
    ("learned",),
    ("meanwhile", *PELL, *DAY),
    ("order", "list"),
    ("photo", "list"),
    ("pick", "B0001", *NOW),
    ("plan", *PELL, *DAY),
    ("plan", *PELL, *DAY, "--full"),
    ("plan", "PELL 117", "J1", "J2", "J3", "J4", "J5", "J6", "J7", *DAY, "--full"),
    ("plan", "LINN 230", "J11", "J15", *DAY, "--full"),
    ("plan", "PELL 042", "J1", "J2"),
    ("recall", "N11-24"),
    ("rings", "age", "NBR", "--made", "2Q18", *DAY),
    ("rings", "find", "--groove", "17.2 mm", "--bore", "21.3 mm", "--width", "3.4 mm"),
    ("rings", "gland", "--size", "214", "--shallowest", "2.79 mm", "--deepest", "2.95 mm"),
    ("rings", "suits", "EPDM", "water-based-lubricant", "glycol-coolant"),
    ("stock", "list", *NOW),
    ("sure", *PELL, *DAY, "--branch", "upper"),
    ("today", "--branch", "upper", *NOW),
    ("toolbox", "buy", "PELL 117", "J2", "--box", "van", *DAY),
    ("toolbox", "check", "PELL 117", "J3", "--box", "bay", *DAY),
    ("toolbox", "list"),
    ("toolbox", "reach", "--box", "van", *DAY),
    ("van", "upper", "--on", "2026-04-09"),
    ("why", *PELL, "--about", "SEAL-INTAKE"),
)
# Texts of tables, and words that services put together with data; they are English for now.
NOT_TOLD = frozenset(
    {
        "SQLite", "PostgreSQL", "square drive", "or larger", "common practice", "step", "service", "list", "ramp and no technician", "of the catalogue",
        # From where a figure is taken, as it is quoted.
        "parts page on O-ring materials", "page NBR vs EPDM", "O-ring supplier", "seal supplier",
        "from memory of seal makers' handbooks", "page of technical support", "from memory",
        "table of elastomers", "read in a seal maker's extract of", "read in two vendors' tables",
        "Apple Rubber Seal Design Guide", "Parker O-Ring Handbook", "read", "secondary",
        "chart of groove dimensions on the web", "page on moving glands of a seal supplier",
        "if the gland is radial", "if it is in a face", "another handbook", "another source",
        "published glands of thin sections reach", "usual", "encyclopaedia article",
        # Names that are put together of data: sides of a car, ends of a line, holidays.
        "left caliper seen from the driver's seat", "right caliper seen from the driver's seat",
        "Good Friday", "Easter Monday",
    }
)  # fmt: skip


@pytest.fixture
def accented(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command in a language that nobody speaks, on a screen that breaks no line."""
    other = pseudo()
    monkeypatch.setattr(language, "find_language", lambda _tag: other)
    run = runner(monkeypatch, capsys, 5000)
    return lambda *words: run("--language", "de", *words)


@pytest.mark.parametrize("words", SHOWING, ids=" ".join)
def test_no_word_is_told_without_being_marked(
    accented: Run, garage_folder: Path, words: tuple[str, ...]
) -> None:
    ended = accented(*words)
    assert ended.code in (0, 3), ended.err
    assert ended.out.strip()
    data = data_of_seeds() | NOT_TOLD | {word for word in words if len(word) > 1}
    assert unmarked(ended.out + ended.err, data) == []


def test_a_plain_word_among_data_is_found() -> None:
    assert unmarked("RING-FKM-17X2.5  ňóť here, 12 mm", {"RING-FKM-17X2.5"}) == [
        "here  <  RING-FKM-17X2.5  ňóť here, 12 mm"
    ]
    assert unmarked("SEAL-INTAKE  ĥéřé, 12 mm", {"SEAL-INTAKE"}) == []
