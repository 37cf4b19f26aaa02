"""Rings searched and measured, what has to set: each case by its number. All data are invented."""

from __future__ import annotations

import json
import random
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Engine

from conftest import Templates
from helpers import ON, load, planned, use_of
from kitting.calc.rubber.ring_sizes import Measured, match_sizes
from kitting.cli.main import main
from kitting.facts.ring_standards import standard_sizes
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.store import reading
from kitting.wording.tightening import put_on_text

HERE = Path(__file__).parent
DAY = ("--on", "2026-04-15")
Ask = Callable[..., tuple[int, str, str]]


@pytest.fixture
def ask(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    templates: Templates,
) -> Ask:
    """Runs a command beside the demo garage; exit code, screen and errors in one line each."""
    shutil.copy(templates.file("garage"), tmp_path / "kitting.db")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("KITTING_DATABASE_URL", raising=False)
    monkeypatch.setenv("KITTING_COLUMNS", "300")

    def call(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["kitting", *words])
        code = 0
        try:
            main()
        except SystemExit as ended:
            code = int(ended.code or 0)
        told = capsys.readouterr()
        return code, told.out, " ".join(told.err.split())

    return call


@pytest.mark.parametrize(
    ("section", "tolerance"), [("1.78", 0.08), ("2.62", 0.08), ("3.53", 0.1), ("5.33", 0.13)]
)
def test_a_section_has_the_tolerance_of_its_standard_size(
    ask: Ask, section: str, tolerance: float
) -> None:
    """SAE AS568: ±0.003, ±0.003, ±0.004 and ±0.005 in."""
    depth = f"{float(section) * 0.8:.2f} mm"
    gland = ("--section", f"{section} mm", "--shallowest", depth, "--deepest", depth)
    _, out, _ = ask("rings", "gland", *gland, "--json")
    assert json.loads(out)["section_tolerance"] == tolerance


def test_a_rotary_seal_that_its_shaft_stretches_by_five_percent_is_out(ask: Ask) -> None:
    gland = ("--section", "3.53 mm", "--shallowest", "3.4 mm", "--deepest", "3.4 mm")
    stretched = ("--inside", "24.99 mm", "--groove", "26.24 mm", "--for", "rotary")
    code, out, _ = ask("rings", "gland", *gland, *stretched)
    assert code == 3
    assert "OUT: stretch" in " ".join(out.split())


def test_an_item_within_reach_of_what_was_measured_is_listed(ask: Ask) -> None:
    for words in (
        ("--inside", "17.5 mm", "--section", "2.4 mm", "--used"),
        ("--inside", "17.08 mm", "--section", "2.45 mm"),
    ):
        code, out, _ = ask("rings", "find", *words, "--json")
        assert code == 0
        assert "RING-FKM-17X2.5" in [item["item"] for item in json.loads(out)["items"]]


def test_a_used_ring_that_has_set_by_a_tenth_is_within_reach_of_its_true_size() -> None:
    """Stretched by 2 %, set by 10 % of its section, neither swollen nor measured wrongly."""
    sizes = [size.ring for size in standard_sizes()]
    for ring in random.Random("set").sample(sizes, 60):
        one = Measured(ring.inside * 1.02, ring.section / 1.02**0.5 * 0.9, used=True)
        found = {match.size.name: match for match in match_sizes(sizes, one, 500)}
        assert found[ring.name].within, ring.name


def test_a_decimal_comma_is_named_as_the_fault(ask: Ask) -> None:
    code, _, err = ask("rings", "find", "--inside", "17,2 mm", "--section", "2 mm")
    assert code == 1
    assert "'17,2 mm' has a comma in its figure; write a point" in err


@pytest.mark.parametrize(("width", "remarks"), [("3.4 mm", 0), ("9 mm", 1), ("300 mm", 1)])
def test_a_groove_that_is_hardly_filled_is_remarked_in_a_search_too(
    ask: Ask, width: str, remarks: int
) -> None:
    _, out, _ = ask(
        "rings", "find", "--groove", "17.2 mm", "--bore", "21.3 mm", "--width", width, "--json"
    )
    gland = json.loads(out)["items"][0]["gland"]
    assert [one["share"] for one in gland["remarks"]] == ["fill"] * remarks


def test_each_amount_of_sealant_stands_at_its_own_bead(ask: Ask) -> None:
    assert ask("load", str(HERE / "r-s.yaml"))[0] == 0
    (product,) = json.loads(ask("cure", "SS 1", "S1", *DAY, "--json")[1])["products"]
    # 3 mm × 1.64 m and 2 mm × 0.5 m, each × 1.2 + 5 ml: common practice, no source.
    assert [place["quantity"] for place in product["places"]] == [18.911, 6.885]


def without_the_absurd_bead(text: str) -> str:
    """The catalogue without its bead of three metres."""
    lines = text.splitlines(keepends=True)
    start = next(n for n, line in enumerate(lines) if "code: e3" in line)
    kept = lines[:start] + lines[start + 4 :]
    return "".join(line for line in kept if "e3" not in line)


def test_each_tube_of_a_bead_loses_what_stays_in_its_nozzle(lite: Engine) -> None:
    """4 mm × 2 m × 1.2 = 30.16 ml; a tube of 20 ml gives 15 ml, and two give 30.0."""
    load(lite, without_the_absurd_bead((HERE / "r-e.yaml").read_text(encoding="utf-8")))
    use = use_of(planned(lite, "EE 1", "E4"), "SP-1")
    assert (use.packs, use.quantity) == (3, 30_160 + 3 * 5_000)


def test_a_bead_of_three_metres_is_refused(ask: Ask) -> None:
    code, _, err = ask("load", str(HERE / "r-e.yaml"))
    assert code == 1
    assert "r-e.yaml:16" in err
    assert "no bead is thicker than 20 mm" in err


def test_a_bead_is_set_against_its_open_time_and_the_temperature_is_told(lite: Engine) -> None:
    text = (HERE / "r-s.yaml").read_text(encoding="utf-8")
    load(lite, text)
    put_on = []
    for times in ("cure: 24 h", "cure: 24 h, at: 23 °C, laying: 1.5 m/min"):
        load(lite, text.replace("cure: 24 h", times))
        with reading(lite) as session:
            sheet = tighten(session, ToolRequest(PlanRequest("SS 1", ("S6",), ON)))
        (laid,) = sheet.put_on
        put_on.append(put_on_text(laid))
    assert "(sheet; temperature not stated)" in put_on[0]
    assert "have to be laid faster than 3 m/min" in put_on[0]
    assert "(sheet; holds at 23 °C)" in put_on[1]
    assert "TOO LONG FOR ITS OPEN TIME" in put_on[1]


@pytest.mark.parametrize(
    ("parked", "code", "told"),
    [
        ("23 h 59 min", 3, "NOT ENOUGH: the car can stand 23 h 59 min"),
        ("24 h", 0, "ENOUGH: the car can stand 24 h"),
        ("1,5 h", 1, "'1,5 h' has a comma in its figure; write a point"),
    ],
)
def test_times_are_read_as_they_are_written(
    ask: Ask, tmp_path: Path, parked: str, code: int, told: str
) -> None:
    text = (HERE / "r-s.yaml").read_text(encoding="utf-8")
    stated = tmp_path / "stated.yaml"
    stated.write_text(text.replace("cure: 24 h", "cure: 24 h, laying: 1 m/min"), encoding="utf-8")
    assert ask("load", str(stated))[0] == 0
    ended, out, err = ask("cure", "SS 1", "S1", *DAY, "--parked", parked)
    assert ended == code
    assert told in out + err
