"""What the customer chooses, by the commands: asked for, refused, kept, changed. All invented."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from commands import Run

from conftest import Templates
from helpers import SUPPLY, unit

NOW = ("--now", "2026-04-02 14:20")
BOOK = ("book", "PELL 001", "PADS", "--on", "2026-04-15", "--branch", "yard", *NOW)
TEXT = unit(
    """
      - code: caliper
        name: caliper
        system: brakes
        fits:
          - {item: PAD, position: pads, quantity: 2 each, option: pads/plain}
          - {item: PAD-LONG, position: pads, quantity: 2 each, option: pads/long}
""",
    """
      - {code: C1, name: caliper off, hours: 0.5 h, opens: [caliper]}
      - {code: C2, name: measure the disc, hours: 0.2 h, option: pads/long}
""",
    """
      - code: PADS
        name: pads
        needs: [C1, C2]
        renews: [{kind: brake-pad}]
        services:
          - {name: bed the pads in, timing: before it is handed over, option: pads/long}
""",
    items="""
  - {code: PAD, name: Pad, kind: brake-pad}
  - {code: PAD-LONG, name: Long-life pad, kind: brake-pad}
""",
    splits="""
      {code: pads, question: "Which pads does the customer want?", check: "Long-life costs more.",
        settled_by: customer, options: [
          {code: plain, name: as fitted}, {code: long, name: long-life pads}]}
""",
)


@pytest.fixture
def shop(empty_folder: Path, templates: Templates, run: Run) -> Run:
    """A folder with a database of the general rules and a unit whose pads are chosen."""
    shutil.copy(templates.file("empty"), empty_folder / "kitting.db")
    (empty_folder / "own.yaml").write_text(TEXT + SUPPLY, encoding="utf-8")
    assert run("load", "own.yaml").code == 0
    return run


def flat(text: str) -> str:
    return " ".join(text.replace("│", " ").split())


def test_a_plan_asks_the_customer_and_names_both_ways_on(shop: Run) -> None:
    plan = shop("plan", "PELL 001", "PADS", "--on", "2026-04-15", "--full")
    assert plan.code == 3
    told = flat(plan.out)
    for text in (
        "PADS STOPPED: settle 'pads' first",
        "Which pads does the customer want? Not known: the customer has not chosen.",
        "long: long-life pads takes PAD-LONG; does C2; asks for bed the pads in",
        "Then: kitting book … --choose pads=plain|long; here --assume with the same",
        "measure the disc [waits for pads]",
        "Hours: 0.5 h in all, without the steps that wait for a variant",
        "bed the pads in, before it is handed over [waits for pads]",
    ):
        assert text in told
    chosen = flat(shop("plan", "PELL 001", "PADS", "--assume", "pads=long", "--full").out)
    assert "Hours: 0.7 h in all" in chosen
    assert "waits for" not in chosen


def test_the_advice_of_a_refused_booking_makes_it(shop: Run) -> None:
    refused = shop(*BOOK)
    assert refused.code == 1
    assert "before the customer has chosen: Which pads does the customer want?" in refused.err
    assert "Next: the same command with --choose pads=OPTION" in refused.err
    assert "pads: plain (as fitted), long (long-life pads)" in refused.err
    made = shop(*BOOK, "--choose", "pads=long")
    assert made.code == 3  # nothing is bought yet
    assert "Chosen by the customer: pads is long (long-life pads)." in made.out


def test_a_choice_is_shown_kept_and_changed(shop: Run) -> None:
    shop(*BOOK, "--choose", "pads=long")
    shop("booking", "change", "B0001", "--choose", "pads=plain", "--make", *NOW)
    view = json.loads(shop("booking", "show", "B0001", "--json", *NOW).out)
    assert view["chosen"] == [{"variant": "pads", "option": "plain", "name": "as fitted"}]
    assert [need["item"] for need in view["needs"]] == ["PAD"]
    assert shop("audit").code == 0


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (("--choose", "pads"), "'pads' is no SPLIT=OPTION, for example pads=long-life"),
        (
            ("--choose", "pads=best"),
            "variant 'pads' has no option 'best'. Its options: plain, long",
        ),
        (
            ("--choose", "pads=long", "--choose", "pads=plain"),
            "pads cannot be both long and plain",
        ),
    ],
)
def test_a_wrong_choice_is_refused(shop: Run, given: tuple[str, ...], message: str) -> None:
    ended = shop(*BOOK, *given)
    assert ended.code in (1, 2)
    assert message in flat(ended.err)


@pytest.mark.parametrize("command", ["dates", "buy"])
def test_dates_and_purchases_of_a_car_take_the_choice(shop: Run, command: str) -> None:
    asked = (command, "PELL 001", "PADS", "--branch", "yard", *NOW)
    assert "before the customer has chosen" in flat(shop(*asked).err)
    assert shop(*asked, "--choose", "pads=long").code in (0, 3)


def test_a_booking_has_its_own_choice(shop: Run) -> None:
    shop(*BOOK, "--choose", "pads=long")
    for asked in (("dates", "B0001"), ("buy", "B0001"), ("sure", "--booking", "B0001")):
        ended = shop(*asked, "--choose", "pads=plain", *NOW)
        assert ended.code == 2
        assert "--choose goes with a car or a model; bookings have their own" in flat(ended.err)


def test_the_car_settles_no_choice_of_its_customer(shop: Run) -> None:
    ended = shop("settle", "PELL 001", "pads", "long")
    assert ended.code == 1
    assert "pads is what the customer chooses" in flat(ended.err)
    assert "--choose pads=long" in flat(ended.err)
