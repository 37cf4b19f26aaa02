"""The benchmarks run and compare equal answers; how fast anything is, no test says."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest
from examples import MANY
from processes import processes

from benchmarks import choice, hand, harness, optimisers
from benchmarks.bulk import connected
from benchmarks.command import BENCHES, cells, listed, names_of, rows_of
from benchmarks.harness import Row, apart, by_turns
from benchmarks.plan import ours
from benchmarks.setting import ENGINES, Setting, lacks
from benchmarks.synthetic import ON, jobs_of, registration
from kitting.guide.pages import page
from kitting.store import make_engine

ROOT = Path(__file__).parent.parent
# What each must have compared, by the words of its rows; the rest differs with what is installed.
COMPARED: Mapping[str, set[str]] = {
    "startup": {"import typer, rich, sqlalchemy"},
    "plan": {"SQL by hand, the same rows", "SQL by hand, only what the list needs"},
    "prices": {"csv and executemany, unchecked", "csv and COPY, unchecked", "imports included"},
    "labels": {"ReportLab, places known", "ReportLab, its own code widgets"},
    "choice": {"PuLP with its CBC", "OR-Tools CP-SAT"},
    "sureness": {"every choice tried", "import typer, rich, sqlalchemy"},
    "tools": {"import typer, rich, sqlalchemy"},
    "large": {"itself, smaller"},
}


@pytest.fixture(autouse=True)
def forked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Processes apart begin with all imported: how much they use is not looked at here."""
    monkeypatch.setattr(harness, "fresh", processes)


@pytest.fixture(scope="module")
def setting(server_uri: str, tmp_path_factory: pytest.TempPathFactory) -> Setting:
    """Tiny sizes, one pair each."""
    folder = tmp_path_factory.mktemp("bench")
    return Setting(folder, quick=True, runs=1, server=server_uri)


@pytest.mark.slow
@pytest.mark.skipif(not MANY, reason="runs with KITTING_EXAMPLES=many, as .ci/run does")
@pytest.mark.parametrize("name", BENCHES)
def test_every_benchmark_runs_and_states_a_ratio_or_why_there_is_none(
    setting: Setting, name: str
) -> None:
    rows = list(rows_of(name, setting))
    assert {row.against for row in rows} >= COMPARED[name]
    assert [row.name for row in rows] == names_of(name, setting)
    for row in rows:
        assert len(cells(row)) == 10
        told = row.skipped is not None or row.ours != ""
        assert told, row
        if row.goal is not None and row.skipped is None:
            assert row.ratio is not None
            assert row.ratio > 0
            assert row.verdict in ("met", "MISSED")


@pytest.mark.parametrize("name", ENGINES)
@pytest.mark.parametrize("car", [1, 2, 4, 9])
def test_a_plan_written_by_hand_has_the_same_items_rules_and_quantities(
    setting: Setting, name: str, car: int
) -> None:
    url = setting.garage(name, 1_000)
    engine = make_engine(url)
    expected = ours(engine, registration(car), jobs_of(car))
    engine.dispose()
    assert {rule for _, rule in expected.lines} == {"renew", "inspect", "keep"}
    with connected(url) as connection:
        for peer in (hand.least, hand.same):
            assert peer(connection, registration(car), jobs_of(car), ON) == expected


def test_the_made_up_garage_obeys_every_reference(setting: Setting) -> None:
    with connected(setting.garage("sqlite", 1_000)) as connection:
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


def test_a_rule_by_hand_lets_the_maker_go_before_the_leaflet_and_the_stricter_before_both() -> None:
    general = [("general", "renew", "maker", None, None, None)]
    leaflet, maker = ("leaflet", "keep"), ("maker", "inspect")
    assert hand.rule_of(general, [leaflet], [], (), "engine", spent=False) == "renew"
    assert hand.rule_of(general, [leaflet], [maker], (), "engine", spent=False) == "inspect"
    workshop = ("workshop", "renew")
    assert hand.rule_of(general, [], [maker, workshop], (), "engine", spent=False) == "renew"
    assert hand.rule_of(general, [], [maker], (), "engine", spent=True) == "renew"


def test_a_span_of_building_counts_its_first_day_and_not_its_last() -> None:
    span = ("2018-07-01", date(2020, 1, 1))
    assert hand.suits(span, date(2018, 7, 1))
    assert hand.suits(span, date(2019, 12, 31))
    assert not hand.suits(span, date(2020, 1, 1))
    assert not hand.suits((None, "2018-07-01"), None)


@pytest.mark.skipif(lacks("pulp", "ortools") is not None, reason="the peers are not installed")
@pytest.mark.parametrize("seed", range(3))
def test_optimisers_spend_the_same_as_we_do(seed: int) -> None:
    case = choice.market(5, 3, seed)
    for buy in (optimisers.buy_pulp, optimisers.buy_cpsat):
        assert buy(case.needs, case.offers, case.deliveries, choice.TARGET) == choice.bought(case)


def test_pairs_are_run_by_turns_and_who_begins_changes() -> None:
    order: list[str] = []
    by_turns(lambda: order.append("a"), lambda: order.append("b"), 3)
    assert order == ["a", "b", "a", "b", "b", "a", "a", "b"]


def test_a_missed_goal_is_said_and_a_missing_peer_too() -> None:
    assert Row("x", "1", "y", ratio=2.01, goal=2.0).verdict == "MISSED"
    assert Row("x", "1", "y", ratio=2.0, goal=2.0).verdict == "met"
    assert Row("x", "1", "y", skipped="pandas not installed").verdict == (
        "skipped: pandas not installed"
    )


def test_memory_of_a_process_is_its_own_and_grows_with_what_it_holds() -> None:
    little, much = apart(bytearray, 2**20).megabytes, apart(bytearray, 101 * 2**20).megabytes
    assert 90 < much - little < 115


def test_what_breaks_in_a_process_apart_is_told() -> None:
    with pytest.raises(RuntimeError, match="ValueError: invalid literal"):
        apart(int, "no number")


SPEED = page("speed").text


def test_the_command_of_the_guide_measures_the_installed_program_from_a_fresh_clone(
    tmp_path: Path,
) -> None:
    shutil.copytree(
        ROOT / "tests", tmp_path / "tests", ignore=lambda _, names: {"__pycache__"} & {*names}
    )
    # What lies in a checkout under this name is not the installed program, only a part of it.
    hiding = tmp_path / "kitting" / "__init__.py"
    hiding.parent.mkdir()
    hiding.write_text("raise ImportError('this is the checkout')", encoding="utf-8")
    (line,) = re.findall(r"`(python tests/\S+)`, from the folder of the README", SPEED)
    python, *words = line.split()
    assert python == "python"
    # One in this process, one in a process of its own.
    asked = ["tools", "prices"]
    only = [word for name in asked for word in ("--only", name)]
    done = subprocess.run(
        [sys.executable, *words, "--quick", "--engine", "sqlite", *only],
        cwd=tmp_path, env={"PATH": "", "TMPDIR": str(tmp_path)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    head, versions, *rows = done.stdout.splitlines()
    assert "cores" in head
    assert versions.startswith("Python 3.")
    quick = Setting(tmp_path, quick=True, engines=("sqlite",))
    expected = [what for name in asked for what, _, _ in names_of(name, quick)]
    assert [row.split("  ")[0] for row in rows[-len(expected) :]] == expected


def test_the_guide_has_every_row_that_the_command_prints_by_default_and_no_other() -> None:
    setting = Setting(Path())
    every = [name for bench in BENCHES for name in names_of(bench, setting)]
    assert len(every) == len(set(every))
    table, *_ = SPEED.split("\nAt a million fits")
    rows = [line.strip("| ").split(" | ") for line in table.splitlines() if line.startswith("| ")]
    assert [tuple(cell.strip("| ") for cell in row[:3]) for row in rows[1:]] == every


def test_a_row_is_printed_as_the_guide_has_it() -> None:
    measured = Row("plan", "sqlite", "SQL", "2 ms", "1 ms", 2.0, (1.9, 2.1), 2.0, goal=2.5)
    assert listed(measured) == "| plan | sqlite | SQL | 2 ms | 1 ms | 2.00 | ≤2.5 | met |"
    assert listed(Row("plan", "sqlite", "SQL", "2 ms")) == "| plan | sqlite | SQL | 2 ms | | | | |"
