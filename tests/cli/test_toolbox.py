"""kitting toolbox: exit codes, JSON as data, several currencies, where a tool is."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
ON = ("--on", "2026-04-15")


def test_a_gap_and_its_reasons_are_data_in_json(run: Run, garage_folder: Path) -> None:
    ended = run("toolbox", "check", "PELL 117", "J3", "--box", "bay", *ON, "--json")
    plain = json.loads(ended.out)
    assert (ended.code, plain["policy"]) == (3, "marked")
    (angle,) = (
        need
        for need in plain["needs"]
        if need["what"]["task"] == "angle" and need["what"]["head"]["size"] == "E12"
    )
    assert angle["reasons"] == [
        {
            "code": "of tool",
            "tool": "GAUGE-ANGLE",
            "reason": {"code": "lent", "to": "Canal Yard", "until": "2026-04-17"},
        }
    ]
    torques = [need["what"] for need in plain["needs"] if need["what"]["torque"]]
    assert {
        "task": "torque",
        "head": {"profile": "external six-lobe", "size": "E12"},
        "left_hand": False,
        "torque": {"figure": "20", "unit": "N·m"},
        "tolerance": None,
        "tool": None,
    } in torques


def test_a_purchase_has_its_prices_as_amounts_in_json(run: Run, garage_folder: Path) -> None:
    ended = run("toolbox", "buy", "PELL 117", "J5", "--box", "van", *ON, "--json")
    plain = json.loads(ended.out)
    assert (ended.code, plain["total"]) == (3, {"amount": "7.00", "currency": "GBP"})
    assert [one["offer"] for one in plain["bought"]] == ["E10"]
    assert plain["bought"][0]["price"] == {"amount": "7.00", "currency": "GBP"}
    assert plain["left_out"] == []


def test_offers_in_two_currencies_ask_which_to_buy_in(run: Run, garage_folder: Path) -> None:
    (garage_folder / "offers.csv").write_text(
        "offer,supplier,way,price,code,sort,turns,takes\n"
        "E10-EUR,Fennimuth,buy,6.00 EUR,E10,socket,external six-lobe E10,3/8\n"
    )
    assert run("toolbox", "offers", "offers.csv").code == 0
    words = ("toolbox", "buy", "PELL 117", "J5", "--box", "van", *ON)
    refused = run(*words)
    assert refused.code == 1
    assert refused.err == (
        "kitting: offers in several currencies are neither added nor compared: E10-EUR in EUR;"
        " A-14-38, E10, SET-A, SET-C, W-5-25 in GBP. Name the currency to buy in. Next: the same command with --currency EUR\n"
    )
    in_pounds = run(*words, "--currency", "gbp")
    assert in_pounds.code == 3  # something that nothing on offer closes
    assert "proven: £7.00" in in_pounds.out
    assert "NOT COMPARED, in another currency: E10-EUR: E10-EUR, Fennimuth, €6.00" in " ".join(
        in_pounds.out.split()
    )


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (("check", "PELL 117", "J3", "--range", "half"), 1, "'half' is no range policy; use marked"),
        (("check", "PELL 117", "J3", "--box", "bya"), 1, "toolbox 'bya': unknown name. Did you mean"),
        (("buy", "PELL 117", "J5", "--currency", "USD"), 1, "no offer is priced in USD"),
        (("lend", "bay", "GAUGE-ANGLE", "--to", "X"), 1, "Next: kitting toolbox back bay GAUGE-ANGLE"),
        (("away", "bay", "GAUGE-ANGLE", "--why", "lost"), 2, "is neither 'at calibration' nor"),
    ],
)  # fmt: skip
def test_bad_input_is_answered_in_a_sentence(
    run: Run, garage_folder: Path, words: tuple[str, ...], code: int, message: str
) -> None:
    ended = run("toolbox", *words)
    assert ended.code == code, ended
    assert message in " ".join(ended.err.replace("│", " ").split())
    assert "Traceback" not in ended.err


def test_where_a_tool_is_is_recorded_and_listed(
    run: Run, garage_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KITTING_COLUMNS", "400")
    lent = run("toolbox", "lend", "van", "V-R-38", "--to", "Canal Yard", "--until", "2026-04-20")
    assert lent.out == "van V-R-38: lent to Canal Yard until 2026-04-20\n"
    listed = run("toolbox", "list", "--box", "van")
    assert "lent to Canal Yard until 2026-04-20" in " ".join(listed.out.split())
    assert run("toolbox", "back", "van", "V-R-38").out == "van V-R-38: here\n"
    away = run("toolbox", "away", "van", "V-20-100", "--why", "at calibration", "--dry-run")
    assert (away.out, away.err) == (
        "van V-20-100: at calibration\n",
        "dry run: nothing was kept\n",
    )


def test_wrenches_of_unknown_steps_are_listed_at_once_and_the_advice_works_as_it_is_typed(
    run: Run, garage_folder: Path
) -> None:
    (garage_folder / "old.csv").write_text(
        "box,code,sort,turns,takes,gives,from,to,deviation,calibrated to\n"
        "old-box,W1,torque wrench,,,3/8,5 N·m,25 N·m,4 %,2027-01-01\n"
        "old-box,W2,torque wrench,,,1/2,40 N·m,200 N·m,4 %,2027-01-01\n"
    )
    assert run("toolbox", "load", "old.csv").code == 0
    listed = run("toolbox", "list", "--box", "old-box")
    (listed_as_data,) = {
        one["resolution"]
        for one in json.loads(run("toolbox", "list", "--box", "old-box", "--json").out)
    }
    assert listed_as_data is None
    advice = [
        "old-box W1: the steps of its scale are not stated. Next: kitting toolbox resolution"
        " old-box W1 RESOLUTION",
        "old-box W2: the steps of its scale are not stated. Next: kitting toolbox resolution"
        " old-box W2 RESOLUTION",
    ]
    assert listed.err.splitlines() == advice
    checked = run("toolbox", "check", "PELL 117", "J3", "--box", "old-box", *ON)
    assert checked.err.splitlines() == advice
    for sheet in ("tighten", "tools"):
        printed = run("sheet", sheet, "PELL 117", "J3", "--box", "old-box", *ON, "--out", "x.pdf")
        assert [line for line in printed.err.splitlines() if "Next:" in line] == advice
    for line, step in zip(advice, ("0.5 N·m", "1 N·m"), strict=True):
        words = shlex.split(line.partition("Next: kitting ")[2].replace("RESOLUTION", f'"{step}"'))
        tried = run(*words, "--dry-run")
        assert (tried.code, "nothing was kept" in tried.err) == (0, True)
        stated = run(*words)
        assert (stated.code, stated.err) == (0, "")
        assert stated.out.endswith(f"N·m, steps of {step}\n")
    after = run("toolbox", "list", "--box", "old-box", "--json")
    assert [one["resolution"]["figure"] for one in json.loads(after.out)] == ["0.5", "1"]
    assert run("toolbox", "list", "--box", "old-box").err == ""
    # The list says what it says: without the column nobody states the steps.
    assert run("toolbox", "load", "old.csv").code == 0
    assert run("toolbox", "list", "--box", "old-box").err.splitlines() == advice


@pytest.mark.parametrize(
    ("tool", "step", "why"),
    [
        ("W-5-25", "1 lbf·ft", "W-5-25: its scale is in N·m and its resolution in lbf·ft. Give"),
        ("W-5-25", "21 N·m", "more than the whole scale (5 N·m to 25 N·m)"),
        ("W-5-25", "0 N·m", "'0 N·m' is no resolution of a scale"),
        ("W-5-25", "fine", "'fine'"),
        ("S-10", "1 N·m", "S-10 is a socket, and only a torque wrench"),
        ("W-5", "1 N·m", "Did you mean"),
    ],
)
def test_a_resolution_that_is_none_of_the_scale_is_refused_and_nothing_is_kept(
    run: Run, garage_folder: Path, tool: str, step: str, why: str
) -> None:
    before = run("toolbox", "list").out
    ended = run("toolbox", "resolution", "bay", tool, step)
    assert ended.code in (1, 2)
    assert why in " ".join(ended.err.split())
    assert run("toolbox", "list").out == before
