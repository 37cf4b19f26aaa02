"""kitting rings age and kitting stock extend: limits, exit codes, JSON, refusals."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
NOW = ("--now", "2026-04-02 14:20")
LOT = ("upper", "RING-NBR-11X2", "N11-18")


@pytest.fixture(autouse=True)
def wide(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("KITTING_COLUMNS", "300")


def words(text: str) -> str:
    return " ".join(text.split())


def test_a_ring_age_shows_each_policy_its_limit_its_extension_and_storing(
    run: Run, empty_folder: Path
) -> None:
    ended = run("rings", "age", "NBR", "--made", "2Q18", "--on", "2026-04-15")
    assert (ended.code, ended.err) == (0, "")
    text = words(ended.out)
    assert (
        "ISO 2230 AFTER AN INSPECTION 2025-06-30 +3 years, 2028-06-30 ISO 2230:2002, read in"
        in text
    )
    assert "ARP5316 YES 2033-06-30 no extension SAE ARP5316 / AS5316, read in" in text
    assert "Stored as it should be (ISO 2230:2002, from memory): below 25 °C" in text


@pytest.mark.parametrize(
    ("elastomer", "made", "on", "code"),
    [
        ("NBR", "2Q18", "2033-06-30", 0),
        ("NBR", "2Q18", "2033-07-01", 3),
        # Only after an inspection: as it is, no policy lets it be fitted.
        ("SBR", "2Q18", "2024-01-01", 3),
        # ISO 2230 does not speak of it, ARP5316 has it without limit.
        ("PTFE", "2Q08", "2026-04-15", 0),
        # ARP5316 does not speak of it, ISO 2230 has seven years.
        ("ECO", "2Q18", "2026-04-15", 3),
    ],
)
def test_a_ring_age_ends_with_3_when_no_policy_lets_it_be_fitted(
    run: Run, empty_folder: Path, elastomer: str, made: str, on: str, code: int
) -> None:
    assert run("rings", "age", elastomer, "--made", made, "--on", on).code == code


def test_a_ring_age_tells_where_sources_disagree_and_has_json(run: Run, empty_folder: Path) -> None:
    out = run("rings", "age", "SBR", "--made", "2Q18", "--on", "2020-04-15").out
    assert "another table of it has 15 years" in out
    plain = json.loads(
        run("rings", "age", "NBR", "--made", "2Q18", "--on", "2026-04-15", "--json").out
    )
    assert [(p["policy"], p["fit"], p["limit"], p["extended"]) for p in plain["policies"]] == [
        ("ISO 2230", "after an inspection", "2025-06-30", "2028-06-30"),
        ("ARP5316", "yes", "2033-06-30", None),
    ]


@pytest.mark.parametrize(
    ("given", "code", "message"),
    [
        (("green", "--made", "2Q18"), 1, "'green' is no elastomer code of ISO 1629"),
        (("NBR", "--made", "spring"), 1, "'spring' is no date of making"),
        (("NBR", "--made", "3Q26", "--on", "2026-04-15"), 1, "made 3Q26 is after 2026-04-15"),
        (("NBR",), 2, "Missing option"),
    ],
)
def test_a_bad_ring_age_is_told_in_a_sentence(
    run: Run, empty_folder: Path, given: tuple[str, ...], code: int, message: str
) -> None:
    ended = run("rings", "age", *given)
    assert ended.code == code
    assert message in words(ended.err.replace("│", " "))


def test_extend_says_the_old_and_the_new_limit_and_stock_and_recall_show_the_look(
    run: Run, garage_folder: Path
) -> None:
    ended = run("stock", "extend", *LOT, "--seen", "no crack, no flat", "--on", "2025-05-02", *NOW)
    assert (ended.code, ended.err) == (0, "")
    text = words(ended.out)
    assert "inspected 2025-05-02: no crack, no flat" in text
    assert "kept to 2025-06-30: 30 Jun 2018 + 7 years (ISO 2230:2002 group B)" in text
    assert "keeps to 2028-06-30: 30 Jun 2018 + 7 + 3 years" in text
    assert "matter of the standard and of the customer" in text
    listed = words(run("stock", "list", "RING-NBR-11X2", "--on", "2026-04-15").out)
    assert "2028-06-30 30 Jun 2018 + 7 + 3 years (ISO 2230:2002 group B, inspected" in listed
    assert "seen: no crack, no flat" in listed
    assert "inspected 2025-05-02: no crack, no flat" in words(run("recall", "N11-18").out)
    again = run("stock", "extend", *LOT, "--seen", "again", "--on", "2026-03-01", *NOW)
    assert again.code == 1
    assert "was inspected on 2025-05-02 already" in again.err


def test_extend_as_a_dry_run_keeps_nothing_and_has_json(run: Run, garage_folder: Path) -> None:
    ended = run("stock", "extend", *LOT, "--seen", "good", "--dry-run", "--json", *NOW)
    assert ended.err == "dry run: nothing was kept\n"
    plain = json.loads(ended.out)
    assert (plain["before"], plain["after"]) == ("2025-06-30", "2028-06-30")
    assert plain["inspected_on"] == "2026-04-02"
    (lot,) = [
        row
        for row in json.loads(run("stock", "list", "RING-NBR-11X2", "--json").out)
        if row["lot"] == "N11-18"
    ]
    assert (lot["inspected_on"], lot["inspection"], lot["keeps_to"]) == (None, None, "2025-06-30")


@pytest.mark.parametrize(
    ("given", "code", "message"),
    [
        ((*LOT, "--seen", " "), 1, "what was seen must not be empty"),
        ((*LOT, "--seen", "good", "--on", "2026-04-03"), 1, "2026-04-03 is to come"),
        ((*LOT, "--seen", "good", "--on", "3.4.2026"), 2, "is no date"),
        ((*LOT[:2], "N11-99", "--seen", "good"), 1, "has no lot 'N11-99'"),
        (("upper", "FILTER-OIL", "FO-77", "--seen", "good"), 1, "FILTER-OIL is not rubber"),
        (LOT, 2, "Missing option"),
    ],
)
def test_a_look_that_cannot_be_is_refused_in_a_sentence(
    run: Run, garage_folder: Path, given: tuple[str, ...], code: int, message: str
) -> None:
    ended = run("stock", "extend", *given, *NOW)
    assert ended.code == code
    assert message in words(ended.err.replace("│", " "))
    assert "Traceback" not in ended.err
