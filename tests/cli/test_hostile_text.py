"""Text from data is text everywhere: on the screen, in JSON, on paper, in lists to send, in names.

The demo garage, with every name, note and reference turned hostile. Some of these signs are refused
by the readers of files; a database of before may hold them all the same.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import pytest
from hostile import CONTROL
from paper import characters, words
from running import Ended, run

from conftest import Templates
from kitting.cli.render import plan_heads
from kitting.cli.screen import console
from kitting.facts.control_characters import unwritable, visible
from kitting.facts.plan_reasons import StopReason
from kitting.facts.reasons import because
from kitting.files.output.plain import json_text

# What a screen, a sheet and a spreadsheet could take for more than text, and how a screen shows it.
HOSTILE = "=<b>&amp;</b> [red]x[/] [/] \x1b[31m\a\0\r\b\x9b2J \u202eabc\u2066 e\u0301 \U0001f600 "
SHOWN = ("=<b>&amp;</b>", "[red]x[/]", "[/]", "␛[31m␇␀␍␈�2J", "�abc�", "e\u0301", "\U0001f600")
ON_PAPER = "=<b>&amp;</b>[red]x[/][/]"
LONG = "L" * 10_000
# Columns that hold what people write; what stood there before is kept behind it.
FREE = {
    "name", "title", "text", "word", "question", "check_text", "seen", "criterion", "reference",
    "note", "reason", "position", "end", "front", "pattern", "colour", "bin", "held", "inspection",
    "description", "lent_to", "asked_by", "timing", "override", "lubricant_reference",
    "author", "version", "licence",
}  # fmt: skip
# Columns of codes that others write: of suppliers, of packets, of toolboxes.
OTHERS_CODES = {("lot", "code"): "../../", ("offer", "part"): "=1+", ("toolbox", "code"): "@"}
SAME = {("tool_offer", "supplier")}
NOW = ("--now", "2026-04-02 14:20")
ON = ("--on", "2026-04-15")
CAR = ("PELL 117", "J1", "J2", "J3")
# An item of the garage otherwise: what was there before is told.
OWN = "items: [{code: BOLT-HEX-M8X30, name: Bolt, kind: bolt, thread: M8, colour: black}]\n"
# In this order: each finds what those before it did.
ASKED = {
    "cars": ("jobs",),
    "jobs": ("jobs", "PELL 117"),
    "plan": ("plan", *CAR, *ON, "--full"),
    "short plan": ("plan", *CAR, *ON),
    "stopped plan": ("plan", "PELL 042", "J1", "J2", *ON, "--full"),
    "clash": ("plan", "PELL 117", "J7", *ON, "--full"),
    "plan as JSON": ("plan", *CAR, *ON, "--json"),
    "why": ("why", *CAR, "--about", "HOSE-HEATER", *ON),
    "meanwhile": ("meanwhile", "PELL 117", "J1", *ON),
    "cure": ("cure", "PELL 117", "J3", *ON),
    "rings": ("rings", "find", "--item", "RING-FKM-17X2.5"),
    "stock": ("stock", "list", *ON),
    "stock as JSON": ("stock", "list", *ON, "--json"),
    "toolboxes": ("toolbox", "list"),
    "tool check": ("toolbox", "check", *CAR, *ON),
    "tool buying": ("toolbox", "buy", *CAR, *ON),
    "tool reach": ("toolbox", "reach", *ON),
    "learned": ("learned",),
    "sure": ("sure", "PELL 117", "J2", "--branch", "upper", *ON, *NOW),
    "pick list": ("sheet", "pick", *CAR, *ON, "--out", "pick.pdf"),
    "labels": ("sheet", "labels", *CAR, *ON, "--stock", "99x67-8", "--out", "labels.pdf"),
    "seal map": ("sheet", "seals", *CAR, *ON, "--out", "seals.pdf"),
    "tool sheet": ("sheet", "tools", *CAR, *ON, "--out", "tools.pdf"),
    "tightening": ("sheet", "tighten", *CAR, *ON, "--out", "tighten.pdf"),
    "book": ("book", *CAR, *ON, "--branch", "upper", *NOW),
    "bookings": ("booking", "list"),
    "booking": ("booking", "show", "B0002"),
    "dates": ("dates", "B0002", *NOW),
    "dates sheet": ("sheet", "dates", "B0002", *NOW),
    "buy": ("buy", "B0002", "--place", *NOW),
    "orders": ("order", "list"),
    "order": ("order", "show", "P0001"),
    "order sheet": ("sheet", "order", "P0001"),
    "order to send": ("sheet", "order", "P0001", "--csv"),
    "receive": ("receive", "P0001", "--now", "2026-04-07 11:00"),
    "pick": ("pick", "B0002", "--now", "2026-04-14 11:00"),
    "booking as JSON": ("booking", "show", "B0002", "--json"),
    "removal sheet": ("sheet", "removal", "B0002"),
    "findings sheet": ("sheet", "findings", "B0002"),
    "recall": ("recall", "../../SI-2411"),
    "van": ("van", "upper", "--on", "2026-04-15"),
    "audit": ("audit",),
    "export": ("export", "nib-3"),
    "compared": ("load", "own.yaml", "--compare"),
}


@dataclass(frozen=True)
class Told:
    """How each command ended, and what it left in its folder."""

    ended: dict[str, Ended]
    folder: Path


def spoil(database: Path) -> None:
    """Put hostile text before all that people wrote, and one of ten thousand letters in between."""
    with closing(sqlite3.connect(database)) as connection:
        connection.create_function(
            "hostile", 1, lambda text: None if text is None else HOSTILE + text
        )
        tables = connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        ).fetchall()
        triggers = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        for (table,) in tables:
            for _, column, kind, *_ in connection.execute(f"PRAGMA table_info({table})").fetchall():
                if column in FREE and kind.startswith(("VARCHAR", "TEXT")):
                    connection.execute(f"UPDATE {table} SET {column} = hostile({column})")
                elif (table, column) in OTHERS_CODES:
                    before = OTHERS_CODES[table, column]
                    connection.execute(f"UPDATE {table} SET {column} = ? || {column}", (before,))
        connection.execute("UPDATE item SET name = ? || name WHERE code = 'CLAMP-WORM-25'", (LONG,))
        connection.execute("UPDATE step SET name = ? || name WHERE code = 'A2'", (LONG,))
        for _, sql in triggers:
            connection.execute(sql)
        connection.commit()


@pytest.fixture(scope="module")
def told(templates: Templates, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Told]:
    """Every command of ASKED, run once."""
    top = tmp_path_factory.mktemp("hostile")
    folder = top / "in" / "here"
    folder.mkdir(parents=True)
    shutil.copy(templates.file("garage"), folder / "kitting.db")
    spoil(folder / "kitting.db")
    (folder / "own.yaml").write_text(OWN, encoding="utf-8")
    with pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.chdir(folder)
        monkeypatch.delenv("KITTING_DATABASE_URL", raising=False)
        monkeypatch.setenv("KITTING_COLUMNS", "400")
        yield Told(
            {name: run(folder, list(asked), monkeypatch) for name, asked in ASKED.items()}, folder
        )


@pytest.mark.parametrize("name", ASKED)
def test_a_command_goes_on_and_lets_no_sign_through_that_steers(name: str, told: Told) -> None:
    ended = told.ended[name]
    assert ended.code in (0, 3), ended.err[:2000]
    for text in (ended.out, ended.err):
        assert not CONTROL.search(text)


SCREENS = [name for name, asked in ASKED.items() if asked[0] != "sheet" and "--json" not in asked]
# What is told there is not what people wrote, but our own words and codes.
OWN_WORDS = {"audit", "export", "bookings", "pick", "orders", "receive"}


@pytest.mark.parametrize("name", [name for name in SCREENS if name not in OWN_WORDS])
def test_hostile_text_stands_on_the_screen_as_it_is(name: str, told: Told) -> None:
    for part in SHOWN:
        assert part in told.ended[name].out, part


def test_the_title_of_a_box_is_no_markup(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KITTING_COLUMNS", "80")
    reason = because(StopReason.VARIANT, variant="why")
    clash = SimpleNamespace(what="[red]x[/]\x1b[31m", elastomer="EPDM", reason=reason)
    plan_heads.show_clashes(console(), SimpleNamespace(clashes=[clash]))  # type: ignore[arg-type]
    title, *_ = capsys.readouterr().out.splitlines()
    assert title.startswith("╭─ [red]x[/]␛[31m and EPDM CLASH: left off ─")


@pytest.mark.parametrize("name", [name for name, asked in ASKED.items() if "--json" in asked])
def test_json_says_every_sign_and_shows_none_that_steers(name: str, told: Told) -> None:
    def texts(node: object) -> Iterator[str]:
        if isinstance(node, str):
            yield node
        for inner in (
            node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
        ):
            yield from texts(inner)

    found = list(texts(json.loads(told.ended[name].out)))
    assert any(HOSTILE.strip() in text for text in found)


SHEETS = [
    "pick.pdf", "labels.pdf", "seals.pdf", "tools.pdf", "tighten.pdf", "removal-B0002.pdf",
    "findings-B0002.pdf", "order-P0001.pdf",
]  # fmt: skip


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_prints_hostile_text_as_it_is(name: str, told: Told) -> None:
    pages = characters((told.folder / name).read_bytes())
    text = "".join(words(page) for page in pages)
    assert ON_PAPER in text
    assert not CONTROL.search(text)
    # What the font lacks is shown to be missing; what steers is gone.
    assert "\ufffd" in text
    assert "\U0001f600" not in text


def test_a_list_to_send_holds_no_formula(told: Told) -> None:
    rows = list(csv.reader((told.folder / "order-P0001.csv").read_text("utf-8").splitlines(True)))
    assert len(rows) > 1
    assert any(cell.startswith("'=1+") for row in rows for cell in row)
    assert any(cell.startswith("'=<b>&amp;</b> [red]x[/]") for row in rows for cell in row)
    for row in rows:
        for cell in row:
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r")), cell
            assert "\0" not in cell


def test_files_are_written_where_they_belong_under_names_of_our_own(told: Told) -> None:
    top = told.folder.parents[1]
    made = {str(path.relative_to(told.folder)) for path in top.rglob("*") if path.is_file()}
    assert made - {"kitting.db-wal", "kitting.db-shm"} == {
        *SHEETS, "kitting.db", "own.yaml", "order-P0001.csv", "dates-B0002.pdf",
    }  # fmt: skip


def test_a_table_on_a_terminal_is_coloured_by_us_alone(
    told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(told.folder)
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    ended = run(told.folder, list(ASKED["plan"]), monkeypatch)
    assert "\x1b[1m" in ended.out
    assert not CONTROL.search(re.sub(r"\x1b\[[0-9;]*m", "", ended.out))
    assert "\x1b[31m" not in ended.out  # what the data asked for
    assert "␛[31m" in ended.out


# One place for each rule


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain – ½ °", "plain – ½ °"),
        ("\x1b[31m\x00\x07\t\r\x7f", "␛[31m␀␇␉␍␡"),
        ("a\nb", "a\nb"),
        ("\x9b2J\x85\u2028\u2029", "�2J���"),
        ("\u202egpj.exe\u202c \u2066x\u2069", "�gpj.exe� �x�"),
        ("half \ud83d sign", "half � sign"),
        (
            "זה \u200f e\u0301 \U0001f468\u200d\U0001f527",
            "זה \u200f e\u0301 \U0001f468\u200d\U0001f527",
        ),
    ],
)
def test_signs_that_steer_are_shown_as_pictures_of_themselves(text: str, shown: str) -> None:
    assert visible(text) == shown
    assert visible(shown) == shown


def test_json_writes_them_as_escapes_that_mean_the_same() -> None:
    plain = {"a": "\x1b\x9b\u202e\u2028 ½ \ud800"}
    text = json_text(plain)
    assert not CONTROL.search(text)
    assert "½" in text
    assert json.loads(text) == plain
    assert json_text(plain, ascii_only=True).isascii()


@pytest.mark.parametrize(
    ("text", "lines", "sign"),
    [
        ("plain ½ \u202e \U0001f600", False, None),
        ("a\nb\tc", True, None),
        ("a\nb", False, "U+000A"),
        ("a\rb", True, "U+000D"),
        ("a\0b", True, "U+0000"),
        ("a\x9bb", False, "U+009B"),
        ("a\ud800b", True, "U+D800"),
    ],
)
def test_an_entry_may_hold_no_sign_that_only_steers(
    text: str, lines: bool, sign: str | None
) -> None:
    assert unwritable(text, lines=lines) == sign


@pytest.mark.parametrize("coding", ["ascii", "cp1252", "utf-8"])
def test_a_screen_of_few_letters_gets_question_marks_and_json_loses_nothing(
    coding: str, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(told.folder)
    plain = run(told.folder, list(ASKED["plan"]), monkeypatch, coding)
    assert plain.code == 3  # some rubbers are opinions only
    assert ("■" if coding == "utf-8" else "?") in plain.out
    ended = run(told.folder, list(ASKED["plan as JSON"]), monkeypatch, coding)
    assert json.loads(ended.out) == json.loads(told.ended["plan as JSON"].out)


@pytest.mark.parametrize(
    ("asked", "code", "says"),
    [
        (("check", "\x1b[31m\u202ex.yaml"), 1, "␛[31m�x.yaml: file: No such file or directory"),
        (("toolbox", "lend", "@bay", "W-5-25", "--to", "Ann\a\r\x1b[2J"), 2, "cannot be printed"),
        (("jobs", "PELL \udcff"), 1, "kitting: 'PELL \\udcff' is not UTF-8 text. Type it again"),
    ],
)  # fmt: skip
def test_what_is_told_outside_of_tables_steers_nothing_either(
    asked: tuple[str, ...], code: int, says: str, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(told.folder)
    ended = run(told.folder, list(asked), monkeypatch)
    assert ended.code == code
    assert says in ended.out + ended.err
    assert not CONTROL.search(ended.out + ended.err)
