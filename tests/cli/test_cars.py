"""Cars, owners and the day on the phone, on the command line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
NOW = ("--now", "2026-04-02 14:20")
NAME, CALL = "Zarathea Quillfeather", "00 555 7719 004"  # invented


def test_the_phone_rings_and_a_new_car_gets_its_day(garage_folder: Path, run: Run) -> None:
    added = run("car", "add", "NEW 1", "--model", "pell", "--by", "Ann", *NOW)
    assert added.code == 0
    assert "UNKNOWN, and variants depend on it: the build date" in added.said
    assert "LEFT OPEN: no job that meets it can be booked before" in added.said
    assert "grebe-4t/cooler: Which type of oil cooler does the engine have?" in added.said
    asked = ("dates", "new1", "J2", "--branch", "upper", *NOW)
    refused = run(*asked)
    assert refused.code == 1
    assert 'Next: kitting settle "NEW 1" cooler OPTION' in refused.said
    told = run("car", "add", "new1", "--built", "2021-03-14", *NOW)
    assert (told.code, "LEFT OPEN" in told.said) == (0, False)
    dated = run(*asked)
    assert "NEW 1: J2 (not booked), as of Thu 02 Apr 2026 14:20" in dated.said
    assert "No booking is like that." in run("booking", "list", "--car", "NEW 1").said


def test_an_item_is_named_once_by_an_option_of_closing(garage_folder: Path, run: Run) -> None:
    booked = run("book", "PELL 117", "J1", "--on", "2026-04-15", "--branch", "upper", *NOW)
    assert booked.code == 3
    twice = ("--back", "CAP-PLUG=1 each", "--back", " CAP-PLUG =2 each")
    refused = run("close", "B0001", *twice, "--used-up", "--despite", "test", *NOW)
    assert refused.code == 2
    assert "--back: CAP-PLUG is named twice; name it once, with all of it" in refused.said


def test_a_chance_beyond_certainty_names_the_option_that_is_wrong(
    garage_folder: Path, run: Run
) -> None:
    asked = run("sure", "PELL 117", "J1", "--target", "101%", "--on", "2026-04-15", *NOW)
    assert asked.code == 2
    assert "Invalid value for --target: a chance lies between 0% and 100%" in asked.said


def test_dates_of_anything_begin_with_any_day(garage_folder: Path, run: Run) -> None:
    later = ("dates", "PELL 117", "J1", "--branch", "upper", "--from", "2026-04-18", "--days", "1")
    assert "Mon 20 Apr" in run(*later, *NOW).out
    booked = run("dates", "B0001", "--from", "2026-04-18", "--days", "1", *NOW).out
    assert "B0001, as of" in booked
    assert "Mon 20 Apr" in booked
    assert "Fri 17 Apr" not in booked
    for words, told in (
        (("dates", "B0001", "--branch", "upper"), "--branch goes with a car or a model"),
        (("dates", "PELL 117"), "which jobs?"),
        (("dates", "PELL 117", "J1", "--from", "soon"), "is no date"),
    ):
        ended = run(*words, *NOW)
        assert (ended.code, told in ended.said) == (2, True), ended.said


def test_a_sheet_and_a_purchase_need_no_booking(garage_folder: Path, run: Run) -> None:
    printed = run("sheet", "dates", "PELL 117", "J1", "--branch", "canal", *NOW)
    assert "wrote dates-PELL117-J1.pdf" in printed.said
    assert (garage_folder / "dates-PELL117-J1.pdf").read_bytes().startswith(b"%PDF")
    asked = ("buy", "PELL 117", "J1", "--branch", "upper", "--on", "2026-04-20", *NOW)
    assert "For PELL 117: J1 (not booked) on 2026-04-20:" in run(*asked).out
    refused = run(*asked, "--place")
    assert refused.code == 2
    assert "only bookings are ordered for: book these jobs first" in refused.said
    of_model = run("dates", "J1", "--model", "pell", "--branch", "upper", *NOW)
    assert "any Ulvander Pell: J1 (not booked)" in of_model.out
    sure = run("sure", "J1", "--model", "pell", "--on", "2026-04-20", "--branch", "upper", *NOW)
    assert "any Ulvander Pell: J1 on 2026-04-20" in sure.out
    open_variant = run("dates", "J2", "--model", "pell", "--branch", "upper", *NOW)
    assert open_variant.code == 1
    assert "Next: kitting car add REGISTRATION --model pell" in open_variant.said


def test_nothing_that_leaves_the_program_names_the_owner(garage_folder: Path, run: Run) -> None:
    run("owner", "set", "PELL 117", "--name", NAME, "--telephone", CALL, *NOW)
    shown = run("owner", "show", "pell117")
    assert shown.out == f"PELL 117: {NAME}, {CALL}, since 2026-04-02\n"
    jobs = ("PELL 117", "J1", "J2", "--on", "2026-04-15")
    for words in (
        ("plan", *jobs, "--json"), ("plan", *jobs), ("car", "show", "PELL 117", "--json"),
        ("jobs", "--json"), ("audit", "--json"), ("sheet", "labels", *jobs, "--out", "labels.pdf"),
    ):  # fmt: skip
        ended = run(*words)
        assert ended.code in (0, 3), ended.said
        assert NAME not in ended.said
        assert CALL not in ended.said
    forgotten = run("owner", "forget", "PELL 117")
    assert forgotten.out == "PELL 117: the owner is forgotten; the history of the car stays\n"
    assert "backups made before still hold it" in forgotten.err
    assert "nobody is written down as the owner of PELL 117" in run("owner", "show", "PELL 117").err


def test_what_was_fitted_noted_and_told_is_shown(garage_folder: Path, run: Run) -> None:
    run("car", "note", "PELL 042", "thread repaired", "--by", "Ann", *NOW)
    run("pick", "B0001", *NOW)
    run("booking", "confirm", "B0001", "--incomplete", "test", *NOW)
    run("booking", "ramp", "B0001", *NOW)
    closed = ("close", "B0001", "--used-up", "--back", "CLIP-CONNECTOR=3 each", "--despite", "test")
    assert run(*closed, *NOW).code == 0
    shown = run("car", "show", "PELL 042").said
    assert "2026-04-02, Ann: thread repaired" in shown
    assert "B0001 2026-04-09, upper: J1, closed" in shown
    assert "2026-04-09 B0001 SEAL-INTAKE SI-2411 4" in shown
    assert "2026-04-09 B0001 grebe-4t/intake" in shown
    earlier = run("car", "show", "PELL 117").said
    assert "2025-05-20 before grebe-4t/heat-shields front shield, nut 1 refitted" in earlier


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("add", "NEW 1"), 1, 'Next: kitting car add "NEW 1" --model MODEL'),
        (("add", "PELL 117", "--built", "2020-01-01"), 1, "the same command with --correct REASON"),
        (("add", "NEW 1", "--model", "pell", "--equipment", "x=maybe"), 2, "write CODE, CODE=yes"),
        (("note", "PELL 117", "text"), 2, "--by"),
        (("show", "PELL 999"), 1, "no vehicle 'PELL 999' in the catalogue"),
    ],
)
def test_what_cannot_be_done_is_told_with_the_way_to_do_it(
    garage_folder: Path, run: Run, words: Sequence[str], code: int, told: str
) -> None:
    ended = run("car", *words)
    assert (ended.code, told in ended.said) == (code, True), ended.said
