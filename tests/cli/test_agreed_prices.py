"""What was agreed of the price is told wherever money is spent for a booking, and at the end."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands import Run

NOW = ("--now", "2026-04-02 14:20")
AGREED = "Price of B0002: agreed £400.00, at most £420.00, deposit £100.00, £300.00 open"


@pytest.fixture
def agreed(garage_folder: Path, run: Run) -> str:
    """The number of a booking with a price, a limit and a deposit."""
    run(
        "book", "PELL 117", "J1", "--on", "2026-04-15", "--branch", "upper", "--agreed", "400 GBP",
        "--limit", "420 GBP", "--deposit", "100 GBP", *NOW,
    )  # fmt: skip
    return "B0002"


def test_it_is_told_where_something_is_bought_or_taken_for_the_booking(
    agreed: str, run: Run
) -> None:
    for words in (
        ("order", "place", "ombrith", "SEAL-INTAKE=2", "--branch", "upper", "--for", agreed),
        ("order", "counter", "ombrith", "SEAL-INTAKE", "2 each", "--paid", "10 GBP", "--bill", "7",
         "--branch", "upper", "--for", agreed, "--expires", "2030-01-01"),
        ("sure", "--booking", agreed),
    ):  # fmt: skip
        ended = run(*words, *NOW)
        assert AGREED in ended.said, (words, ended.said)
    assert AGREED.replace(" of B0002", "") in run("booking", "show", agreed, *NOW).said
    assert "Price" not in run(
        "order", "place", "ombrith", "SEAL-INTAKE=2", "--branch", "upper", *NOW
    ).said  # fmt: skip


def test_what_is_open_is_told_when_the_car_goes_back(agreed: str, run: Run) -> None:
    day = ("--now", "2026-04-15 09:00")
    run("booking", "confirm", agreed, "--incomplete", "test", *day)
    run("booking", "ramp", agreed, *day)
    closed = run("close", agreed, "--despite", "test", "--used-up", *day)
    assert closed.code == 0, closed.said
    assert "Price: agreed £400.00, at most £420.00, deposit £100.00, £300.00 open" in closed.said
    assert "NOT KNOWN whether it is within" not in closed.said
