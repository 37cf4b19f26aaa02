"""Figures without a source say so; what the file of a unit is taken from is a source. All invented."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import ON, load, planned
from kitting.cli.render import plan as show_plan
from kitting.cli.screen import console
from kitting.services.planning.explain import why
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.store import reading
from kitting.views.plan import LineView, PlanView, UseView
from kitting.views.tightening import TightenRowView
from kitting.wording.kit import lubricant_text
from kitting.wording.reasons import say

CATALOGUE = """
items:
  - {code: RING, name: Ring, kind: o-ring, elastomer: FKM, ring_inside: 17 mm, ring_section: 2.5 mm}
  - {code: BOLT, name: Bolt, kind: bolt, thread: M8x1.25, property_class: "8.8", head: hexagon 13 mm}
  - {code: GREASE, name: Grease, kind: bearing-grease, unit: ml, medium: silicone-grease}
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: engine
        fluids: [engine-oil]
        fits:
          - {item: RING, position: groove, lubricant: {item: GREASE, amount: 0.5 ml}}
          - item: BOLT
            position: bolts
            quantity: 4 each
            refit_limit: 2
            tightening: {thread: dry, pattern: crosswise}
        uses: [{item: GREASE, amount: 2 ml}]
    steps: [{code: S1, name: off, hours: 1 h, opens: [j], uses: [{item: GREASE, amount: 3 ml}]}]
    jobs: [{code: X1, name: X, needs: [S1]}]
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: AB 1, model: m, build_date: 2020-01-01}]
"""
WRITTEN = "amount: 0.5 ml, source: maker, reference: page 9"
AUTHOR = "about: {author: A. Sample}\n"
TAKEN = "about: {author: A. Sample, source: handbook}\n"


def plan_of(engine: Engine, text: str) -> PlanView:
    load(engine, text)
    return planned(engine, "AB 1", "X1")


def line(plan: PlanView, item: str) -> LineView:
    return next(one for one in plan.lines if one.item == item)


def used(plan: PlanView) -> UseView:
    (use,) = plan.uses
    return use


def row(engine: Engine) -> TightenRowView:
    with reading(engine) as session:
        view = tighten(session, ToolRequest(PlanRequest("AB 1", ("X1",), ON)))
    return view.joints[0].rows[0]


@pytest.mark.parametrize("head", ["", AUTHOR])
def test_amounts_limits_lubricants_and_words_about_order_without_a_source_say_so(
    store: Engine, head: str
) -> None:
    plan = plan_of(store, head + CATALOGUE)
    assert list(map(say, used(plan).notes)) == ["amount: no source stated"]
    assert list(map(say, line(plan, "BOLT").notes)) == [
        "may go back 2 times at most (no source stated)"
    ]
    (place,) = line(plan, "RING").positions
    assert lubricant_text(place.lubricant, place.lubricant_sourced) == (
        "Grease (GREASE), 0.5 ml (no source stated)"
    )
    assert [one.source for one in plan.tightenings] == [None]
    assert row(store).source is None


def test_what_the_file_is_taken_from_is_the_source(store: Engine) -> None:
    plan = plan_of(store, TAKEN + CATALOGUE)
    assert used(plan).notes == ()
    assert list(map(say, line(plan, "BOLT").notes)) == ["may go back 2 times at most"]
    assert line(plan, "RING").positions[0].lubricant_sourced
    assert [one.source for one in plan.tightenings] == ["handbook"]
    assert row(store).source == "handbook"


def test_of_some_amounts_without_a_source_the_places_are_named(store: Engine) -> None:
    plan = plan_of(store, CATALOGUE.replace("amount: 0.5 ml", WRITTEN))
    assert line(plan, "RING").positions[0].lubricant_sourced
    assert list(map(say, used(plan).notes)) == ["amount at joint j, step S1: no source stated"]


def test_a_lubricant_that_the_maker_of_the_car_names_has_its_source_there(store: Engine) -> None:
    own = CATALOGUE.replace("amount: 0.5 ml", "amount: 0.5 ml, cars_own: true").replace(
        "name: M, units: [u]",
        "name: M, units: [u], fluids: [{fluid: engine-oil, medium: engine-oil,"
        " lubricant: OTHER, reference: page 4}]",
    )
    other = "items:\n  - {code: OTHER, name: Other, kind: bearing-grease, unit: ml, medium: silicone-grease}\n"
    plan = plan_of(store, own.replace("\nitems:\n", "\n" + other))
    (place,) = line(plan, "RING").positions
    assert lubricant_text(place.lubricant, place.lubricant_sourced) == "Other (OTHER), 0.5 ml"


def test_the_kit_is_the_same_whether_a_source_is_stated_or_not(store: Engine) -> None:
    assert plan_of(store, CATALOGUE).reference == plan_of(store, TAKEN + CATALOGUE).reference


def test_plan_and_explanation_show_it(lite: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    plan = plan_of(lite, CATALOGUE)
    show_plan.show_plan(console(), plan)
    shown = " ".join(capsys.readouterr().out.split())
    assert shown.count("no source stated") == 3
    told = [say(one) for entry in why(plan, "GREASE") for one in entry.changes]
    assert "amount: no source stated" in told
