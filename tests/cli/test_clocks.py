"""By which clock a command goes: that of the branch, wherever the machine stands."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, update

from kitting.cli import clock
from kitting.store import Engine
from kitting.tables.supply import Branch

Run = Callable[..., Any]


class _Noon(datetime):
    """What the clock of the machine shows: 8 April 2026, 13:20 UTC (14:20 in London, 22:20 in Tokyo)."""

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> datetime:
        return datetime(2026, 4, 8, 13, 20, 30, tzinfo=UTC).astimezone(tz)


@pytest.fixture(params=["Asia/Tokyo", "America/Los_Angeles", "Europe/London"])
def machine(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A machine that stands somewhere."""
    monkeypatch.setenv("TZ", request.param)
    time.tzset()
    monkeypatch.setattr(clock, "datetime", _Noon)
    yield request.param
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def moved(garage_folder: Path) -> Callable[..., None]:
    """Moves branches of the garage to other time zones."""

    def move(**zones: str | None) -> None:
        engine: Engine = create_engine(f"sqlite:///{garage_folder / 'kitting.db'}")
        with engine.begin() as connection:
            for code, zone in zones.items():
                connection.execute(update(Branch).where(Branch.code == code).values(zone=zone))
        engine.dispose()

    return move


def test_the_time_of_the_machine_is_told_by_the_clock_of_the_branch(
    machine: str, garage_folder: Path, run: Run
) -> None:
    shown = run("today", "--branch", "upper").out
    assert shown.startswith("upper, Wed 08 Apr 2026 14:20:"), machine
    assert "15:00 in 40 min" in shown
    asked = run("today", "--branch", "upper", "--now", "2026-04-08 14:20").out
    assert asked == shown


def test_an_instant_with_its_offset_is_the_same_wherever_the_machine_stands(
    machine: str, garage_folder: Path, run: Run
) -> None:
    """Half past one in UTC is half past two in London in summer, and half past one in winter."""
    for told, wall in (
        ("2026-04-08T13:20Z", "Wed 08 Apr 2026 14:20"),
        ("2026-04-08T22:20+09:00", "Wed 08 Apr 2026 14:20"),
        ("2026-12-08T13:20Z", "Tue 08 Dec 2026 13:20"),
        ("2026-12-08 13:20", "Tue 08 Dec 2026 13:20"),
    ):
        shown = run("today", "--branch", "upper", "--now", told).out
        assert shown.startswith(f"upper, {wall}:"), (machine, told)


def test_a_day_is_the_day_of_the_branch(machine: str, garage_folder: Path, run: Run) -> None:
    """At 23:30 UTC on 8 April it is Thursday already in London."""
    assert (
        run("today", "--now", "2026-04-08T23:30Z").out.split(":")[0].endswith("Thu 09 Apr 2026 00")
    )
    assert "judged at the fitting date 2026-04-08" in run("plan", "PELL 117", "J1").out


@pytest.mark.parametrize(
    ("words", "wall"),
    [
        (("stock", "count", "canal", "RING-FKM-17X2.5", "F17-25", "3 each"), "2026-04-08T15:20:00"),
        (("stock", "count", "upper", "WASHER-AL-14X20", "WA-01", "30 each"), "2026-04-08T14:20:00"),
    ],
)
def test_of_branches_in_two_zones_the_one_that_is_meant_counts(
    moved: Callable[..., None], run: Run, words: tuple[str, ...], wall: str
) -> None:
    moved(canal="Europe/Paris")
    ended = run(*words, "--now", "2026-04-08T13:20Z")
    assert (ended.code, "different clocks" in ended.err) == (0, False), ended.err
    assert wall in run("recall", words[4], "--json").out


def test_bookings_orders_and_transfers_go_by_the_clock_of_their_branch(
    moved: Callable[..., None], run: Run
) -> None:
    moved(canal="Asia/Tokyo")
    run("stock", "send", "canal", "RING-FKM-17X2.5", "F17-25", "1 each", "--to", "upper",
        "--now", "2026-04-08 14:00")  # fmt: skip
    run("order", "place", "ombrith", "NUT-EXH-M8=4", "--branch", "upper", "--place",
        "--now", "2026-04-08T13:20Z")  # fmt: skip
    assert "placed 2026-04-08 14:20" in run("order", "show", "P0001").out
    for words in (
        ("booking", "show", "1"),
        ("stock", "arrive", "1"),
        ("dates", "B0001"),
        ("receive", "p0001"),
    ):
        ended = run(*words, "--now", "2026-04-09T13:20Z")
        assert "different clocks" not in ended.err, words
    moves = run("recall", "F17-25", "--json").out
    assert "2026-04-09T14:20:00" in moves


def test_where_the_clocks_differ_and_no_branch_is_meant_it_is_said(
    moved: Callable[..., None], run: Run
) -> None:
    moved(canal="Asia/Tokyo")
    ended = run("booking", "list")
    assert "the branches go by different clocks" in ended.err
    assert "different" not in run("booking", "list", "--now", "2026-04-08 14:20").err


@pytest.mark.usefixtures("machine")
def test_where_no_zone_is_stated_the_clock_of_the_machine_is_that_of_the_branch(
    moved: Callable[..., None], run: Run
) -> None:
    moved(upper=None, canal=None, van1=None)
    local = datetime(2026, 4, 8, 13, 20, tzinfo=UTC).astimezone().strftime("%H:%M")
    shown = run("today", "--branch", "upper").out
    assert f"2026 {local}:" in shown


@pytest.mark.parametrize(
    ("zone", "told", "jump", "near"),
    [
        ("Europe/London", "2026-03-29 01:30", "01:00 to 02:00", ("03-29 00:59", "03-29 02:00")),
        ("Europe/London", "2026-03-29 01:00", "01:00 to 02:00", ("03-29 00:59", "03-29 02:00")),
        ("America/New_York", "2026-03-08 02:59", "02:00 to 03:00", ("03-08 01:59", "03-08 03:00")),
        (
            "Australia/Lord_Howe",
            "2026-10-04 02:10",
            "02:00 to 02:30",
            ("10-04 01:59", "10-04 02:30"),
        ),
    ],
)
def test_a_time_that_the_clock_jumps_over_is_refused_with_those_beside_it(
    garage_folder: Path,
    run: Run,
    moved: Callable[..., None],
    zone: str,
    told: str,
    jump: str,
    near: tuple[str, str],
) -> None:
    """The jumps are those of the IANA database of time zones."""
    moved(upper=zone)
    refused = run("today", "--branch", "upper", "--now", told)
    said = " ".join(refused.err.replace("│", " ").split())
    assert refused.code == 2
    assert f"{told} does not exist in {zone}: the clock goes from {jump}" in said
    for beside in near:
        assert f"'2026-{beside}'" in said
        assert run("today", "--branch", "upper", "--now", f"2026-{beside}").code in (0, 3)


def test_of_an_hour_that_comes_twice_it_is_told_which_is_taken(
    garage_folder: Path, run: Run, moved: Callable[..., None]
) -> None:
    """London goes back from 02:00 to 01:00 on 25 October 2026 (IANA database of time zones)."""
    moved(upper="Europe/London")
    words = ("today", "--branch", "upper", "--now")
    twice = run(*words, "2026-10-25 01:30")
    assert "comes twice in Europe/London: the first is taken" in twice.err
    assert "'2026-10-25T01:30+00:00' for the second" in twice.err
    for once in ("2026-10-25T01:30+00:00", "2026-10-25 00:59", "2026-10-25 02:00"):
        assert "comes twice" not in run(*words, once).err, once


def test_where_the_clocks_differ_or_none_is_stated_no_time_is_refused(
    garage_folder: Path, run: Run, moved: Callable[..., None]
) -> None:
    moved(upper="Asia/Tokyo")
    assert "does not exist" not in run("today", "--now", "2026-03-29 01:30").err
    moved(upper=None)
    shown = run("today", "--branch", "upper", "--now", "2026-03-29 01:30")
    assert shown.out.startswith("upper, Sun 29 Mar 2026 01:30:")
