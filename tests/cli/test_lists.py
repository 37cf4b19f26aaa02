"""The filters of the lists: the same words for bookings, orders and stock."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands import Run

NOW = ("--now", "2026-04-02 14:20")
LATE = ("--now", "2026-04-10 09:00")


@pytest.fixture
def busy(run: Run, garage_folder: Path) -> Run:
    """B0001 is on 9 April; B0002 another car's, ordered for; B0003 a third, all on its shelf."""
    run("book", "PELL 117", "J2", "--on", "2026-04-20", "--branch", "upper", *NOW)
    run("book", "TANS 311", "B1", "--on", "2026-04-21", "--branch", "upper", *NOW)
    assert run("buy", "B0001", "--place", "--sure", "80%", *NOW).code in (0, 3)
    run("stock", "hold", "upper", "SEAL-INTAKE", "SI-2411", "--why", "recalled")
    return run


def numbers(run: Run, *words: str) -> list[str]:
    ended = run(*words, "--json")
    assert ended.code == 0, ended.err
    return [one["number"] for one in ended.data]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ((*NOW,), ["B0001", "B0002"]),
        (("--car", "pell 117", *NOW), ["B0002"]),
        (("--car", "PELL-042", *NOW), ["B0001"]),
        (("--item", "RING-EPDM-17X2", *NOW), ["B0001"]),
        (("--item", "RING-EPDM-17X2", "--car", "PELL 117", *NOW), []),
        (("--overdue", *NOW), []),
        (("--overdue", *LATE), ["B0001"]),
        (("--spoilt", *NOW), ["B0001", "B0002"]),
        (("--spoilt", "--state", "confirmed", *NOW), []),
        (("--state", "Provisional", "--state", "closed", *NOW), ["B0001", "B0002"]),
    ],
)
def test_bookings_are_found_by_what_people_hunt_for(
    busy: Run, words: tuple[str, ...], found: list[str]
) -> None:
    assert numbers(busy, "booking", "list", *words) == found


def test_a_list_of_bookings_says_when_none_is_like_that(busy: Run) -> None:
    assert busy("booking", "list", "--overdue", *NOW).out.endswith("No booking is like that.\n")
    assert busy("booking", "cancel", "1", *NOW).code == 0
    assert busy("booking", "cancel", "2", *NOW).code == 0
    assert busy("booking", "list", *NOW).out.endswith("No booking is open.\n")
    assert numbers(busy, "booking", "list", "--state", "cancelled", *NOW) == ["B0001", "B0002"]


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("booking", "list", "--car", "PELL 043"), 1, "Did you mean PELL 042"),
        (("booking", "list", "--item", "RING-EPDM"), 1, "unknown name"),
        (("booking", "list", "--state", "lost"), 2, "is no state; write provisional"),
        (("order", "list", "--supplier", "ombrit"), 1, "Did you mean ombrith?"),
        (("order", "list", "--booking", "9"), 1, "Known: B0001"),
        (("order", "list", "--item", "NOTHING"), 1, "unknown name"),
    ],
)
def test_what_is_not_known_is_told(busy: Run, words: tuple[str, ...], code: int, said: str) -> None:
    ended = busy(*words)
    assert ended.code == code
    assert said in ended.said


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ((), ["P0001"]),
        (("--all",), ["P0001"]),
        (("--overdue", *NOW), []),
        (("--overdue", *LATE), ["P0001"]),
        (("--supplier", "ombrith"), ["P0001"]),
        (("--supplier", "quandrel"), []),
        (("--item", "RING-EPDM-17X2"), ["P0001"]),
        (("--item", "FILTER-OIL"), []),
        (("--booking", "1"), ["P0001"]),
        (("--booking", "2"), []),
    ],
)
def test_orders_are_found_by_what_people_hunt_for(
    busy: Run, words: tuple[str, ...], found: list[str]
) -> None:
    assert numbers(busy, "order", "list", *words) == found


def test_an_order_that_came_is_open_and_overdue_no_more(busy: Run) -> None:
    assert busy("receive", "1", "--made", "1Q26", "--now", "2026-04-07 11:00").code == 0
    assert numbers(busy, "order", "list", "--all") == ["P0001"]
    assert numbers(busy, "order", "list") == []
    assert busy("order", "list").out.splitlines()[-2:] == [
        "No order is open.",
        "1 complete or cancelled not shown. See them: --all",
    ]
    assert busy("order", "list", "--overdue", *LATE).out.endswith("No order is like that.\n")
    of_supplier = busy("order", "list", "--supplier", "ombrith").out.splitlines()
    assert of_supplier[-2] == "No open order is like that."


def test_stock_is_found_by_what_is_held_and_what_does_not_keep(busy: Run) -> None:
    on = ("--on", "2026-04-15")
    everything = busy("stock", "list", *on, "--json").data
    for option, state in (("--held", "on hold"), ("--expired", "expired")):
        found = busy("stock", "list", option, *on, "--json").data
        assert found == [lot for lot in everything if lot["state"] == state]
        assert found
    both = busy("stock", "list", "--held", "--expired", *on, "--json").data
    assert {lot["state"] for lot in both} == {"on hold", "expired"}
    one = busy("stock", "list", "SEAL-INTAKE", "--held", *on, "--json").data
    assert [lot["lot"] for lot in one] == ["SI-2411"]
