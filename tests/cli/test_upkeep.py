"""Audit, backup and restore at the command line: what is printed, JSON, exit codes."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from conftest import Templates
from kitting.schema import HEAD

Run = Callable[..., Any]
FINE = "21 checks, no fault"


def spoil(path: Path) -> None:
    """One lot says more than its movements."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE lot SET on_hand = on_hand + 2000 WHERE code = 'WA-01'")
        connection.commit()


def test_an_audit_prints_a_row_per_check_and_the_verdict(run: Run, garage_folder: Path) -> None:
    ended = run("audit")
    assert (ended.code, ended.err) == (0, "")
    lines = ended.out.splitlines()
    assert lines[0].split() == ["check", "that", "looked", "at", "faults"]
    (balances,) = (line for line in lines if line.startswith("balances"))
    assert balances.split() == "balances a lot holds the sum of its movements 37 lots 0".split()
    assert lines[-1] == f"SQLite, revision {HEAD}: {FINE}"


def test_a_fault_is_named_with_what_is_written_and_what_it_comes_to_and_ends_with_3(
    run: Run, garage_folder: Path
) -> None:
    spoil(garage_folder / "kitting.db")
    ended = run("audit")
    assert ended.code == 3
    assert (
        "BALANCES: hold the lot and count it; restore the newest backup whose audit is clean, and"
        " enter the count there. Next: kitting stock hold BRANCH ITEM LOT --why REASON, then"
        " kitting restore FILE --replace, then kitting stock count BRANCH ITEM LOT QUANTITY\n"
        "  WASHER-AL-14X20, lot WA-01, in upper: its balance is not the sum of its movements: 27"
        " recorded, 25 recomputed\n"
        f"SQLite, revision {HEAD}: 1 fault in balances\n"
    ) in ended.out


def test_an_audit_as_json_has_amounts_in_the_unit(run: Run, garage_folder: Path) -> None:
    spoil(garage_folder / "kitting.db")
    ended = run("audit", "--json")
    assert (ended.code, ended.err) == (3, "")
    plain = json.loads(ended.out)
    assert {key: plain[key] for key in ("engine", "revision", "fine", "remarks")} == {
        "engine": "SQLite",
        "revision": HEAD,
        "fine": False,
        "remarks": [],
    }
    (check,) = (one for one in plain["checks"] if one["faults"])
    assert check["advice"] == {"code": "recount"}
    assert check["shown"] == [
        {
            "subject": "lot",
            "fault": {"code": "balance"},
            "name": "WA-01",
            "part": None,
            "item": "WASHER-AL-14X20",
            "lot": "WA-01",
            "place": "upper",
            "unit": "each",
            "recorded": 27,
            "recomputed": 25,
        }
    ]


def test_a_backup_says_what_it_holds_and_a_restore_where_the_old_one_is(
    run: Run, garage_folder: Path
) -> None:
    made = run("backup", "b.db")
    assert (made.code, made.err) == (0, "")
    first, second = made.out.splitlines()
    assert first.startswith("b.db: ")
    assert f" tables from SQLite, revision {HEAD}, " in first
    assert second == f"audit: {FINE}"
    refused = run("backup", "b.db")
    assert (refused.code, refused.err) == (
        1,
        "kitting: b.db is there already. Choose another name, or replace it. Next: the same command"
        " with --replace\n",
    )
    assert run("settle", "PELL 042", "cooler", "late").code == 0
    back = run("restore", "b.db", "--replace")
    assert back.code == 0
    assert back.out.splitlines()[1] == f"audit: {FINE}"
    assert back.err.startswith("what was there before: kitting-kept-")
    assert run("plan", "PELL 042", "J1", "J2").code == 3  # not settled, as it was


def test_a_backup_of_books_with_a_fault_is_written_and_ends_with_3(
    run: Run, garage_folder: Path
) -> None:
    spoil(garage_folder / "kitting.db")
    ended = run("backup", "b.db", "--json")
    assert ended.code == 3
    plain = json.loads(ended.out)
    assert (plain["file"], plain["fine"]) == ("b.db", False)
    assert [one["check"] for one in plain["audit"]["checks"] if one["faults"]] == ["balances"]
    assert (garage_folder / "b.db").stat().st_size == plain["size"]
    assert run("restore", "b.db", "--database", "sqlite:///new.db", "--json").code == 3


def test_a_backup_goes_from_a_file_to_a_server_and_back(
    run: Run, garage_folder: Path, templates: Templates
) -> None:
    url = templates.new()
    before = run("plan", "PELL 117", "J1", "J2", "--on", "2026-04-15").out
    assert run("backup", "b.db").code == 0
    assert run("restore", "b.db", "--database", url).code == 0
    assert (
        run("plan", "PELL 117", "J1", "J2", "--on", "2026-04-15", "--database", url).out == before
    )
    assert run("audit", "--database", url).code == 0
    made = run("backup", "c.db", "--database", url)
    assert " tables from PostgreSQL, revision " in made.out
    assert run("restore", "c.db", "--database", "sqlite:///c-restored.db").code == 0
    again = run("restore", "b.db", "--database", url)
    assert again.code == 1
    assert "holds data already" in again.err


@pytest.mark.parametrize("words", [("audit",), ("backup", "b.db")])
def test_without_a_database_it_is_said_how_to_begin(
    run: Run, empty_folder: Path, words: tuple[str, ...]
) -> None:
    ended = run(*words)
    assert ended.code == 1
    assert ended.err == (
        "kitting: there is no database at kitting.db. Set one up there, or say where it is, for all"
        " commands with KITTING_DATABASE_URL. Next: kitting setup, or the same command with"
        " --database URL\n"
    )
    assert list(empty_folder.iterdir()) == []
