"""A job says what it renews: its own wish decides, and only ever asks for more. All invented."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, booked, load, needed, planned, priced, unit
from kitting.calc.planning.refits import Refits
from kitting.errors import FileProblemsError
from kitting.facts.words import NeedRule, Rule, Source
from kitting.services.advice.inspection_risks import read_risks
from kitting.services.planning.plan import draft
from kitting.services.planning.request import PlanRequest
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.orders import place
from kitting.store import reading
from kitting.wording.reasons import as_text

ITEMS = """
  - {code: PAD, name: Pad, kind: brake-pad}
  - {code: DISC, name: Disc, kind: brake-disc}
  - {code: NUT, name: Nut, kind: locking-nut, head: hexagon 10 mm, thread: M6}
"""
JOINTS = """
      - code: left
        name: brake, left
        system: brakes
        fits:
          - {item: PAD, position: pads, quantity: 2 each}
          - {item: DISC, position: disc}
          - {item: RING, position: ring}
      - code: right
        name: brake, right
        system: brakes
        fits:
          - {item: PAD, position: pads, quantity: 2 each}
          - {item: DISC, position: disc}
"""
STEPS = """
      - {code: L, name: left off, hours: 0.5 h, opens: [left]}
      - {code: R, name: right off, hours: 0.5 h, opens: [right]}
"""
FRONT = "{code: FRONT, name: front brakes, needs: [L, R]%s}"
LOOK = "      - {code: LOOK, name: brakes looked at, needs: [L]}\n"


def brakes(renews: str = "", joints: str = JOINTS, needs: str = FRONT) -> str:
    wish = f", renews: [{renews}]" if renews else ""
    return unit(joints, STEPS, f"      - {needs % wish}\n{LOOK}", items=ITEMS)


def rules(engine: Engine, text: str, *jobs: str) -> dict[tuple[str, str, str], str]:
    """The rule of each position by joint, position and item."""
    load(engine, text)
    return {
        (place.joint, place.position, line.item): line.rule
        for line in planned(engine, "PELL 001", *jobs).lines
        for place in line.positions
    }


BEFORE = {
    ("left", "pads", "PAD"): "inspect",
    ("left", "disc", "DISC"): "inspect",
    ("left", "ring", "RING"): "renew",
    ("right", "pads", "PAD"): "inspect",
    ("right", "disc", "DISC"): "inspect",
}


@pytest.mark.parametrize(
    ("renews", "changed"),
    [
        ("{kind: brake-pad}", {("left", "pads", "PAD"), ("right", "pads", "PAD")}),
        ("{item: DISC}", {("left", "disc", "DISC"), ("right", "disc", "DISC")}),
        ("{joint: left}", {("left", "pads", "PAD"), ("left", "disc", "DISC")}),
        ("{joint: right, position: disc}", {("right", "disc", "DISC")}),
        (
            "{kind: brake-pad}, {joint: left, position: disc}",
            {("left", "pads", "PAD"), ("right", "pads", "PAD"), ("left", "disc", "DISC")},
        ),
    ],
)
def test_what_a_job_is_there_for_is_renewed(
    store: Engine, renews: str, changed: set[tuple[str, str, str]]
) -> None:
    assert rules(store, brakes(), "FRONT") == BEFORE
    assert rules(store, brakes(renews), "FRONT") == BEFORE | dict.fromkeys(changed, "renew")


def test_a_job_that_is_there_for_nothing_of_it_asks_for_a_look(store: Engine) -> None:
    """The wish is of the job; asked for with another that opens the same joint, it counts."""
    text = brakes("{kind: brake-pad}")
    assert rules(store, text, "LOOK")["left", "pads", "PAD"] == "inspect"
    assert rules(store, text, "LOOK", "FRONT")["left", "pads", "PAD"] == "renew"


def test_the_plan_says_whose_wish_it_is_and_what_the_general_rule_would_be(store: Engine) -> None:
    load(store, brakes("{kind: brake-pad}"))
    plan = planned(store, "PELL 001", "FRONT")
    (line,) = (line for line in plan.lines if line.item == "PAD")
    assert (line.rule, line.source, line.quantity) == (Rule.RENEW, Source.JOB, 4000)
    assert as_text(line.said_by) == "renewing it is what FRONT is for"
    (lost,) = line.overruled
    assert (lost.source, lost.rule) == (Source.GENERAL, Rule.INSPECT)
    assert as_text(lost.because) == "the job itself is stricter, which it may be"


def test_it_is_ordered_and_counts_as_no_risk(store: Engine, tmp_path: Path) -> None:
    load(store, brakes("{kind: brake-pad}, {kind: brake-disc}") + SUPPLY)
    priced(store, tmp_path, "prompt", "P,PAD,10 GBP,2 each", "D,DISC,30 GBP", "R,RING,1 GBP",
           heading="part,item,price,pack")  # fmt: skip
    view = booked(store, "FRONT")
    assert {n.item: n.rule for n in view.needs} == dict.fromkeys(
        ("PAD", "DISC", "RING"), NeedRule.RENEW
    )
    (number,) = place(store, [view.number], NOW).orders
    with reading(store) as session:
        lines = order_view(session, find_order(session, number)).lines
        assert {line.item: line.ordered for line in lines} == {
            "PAD": 4000, "DISC": 2000, "RING": 1000,
        }  # fmt: skip
        risks, unknown = read_risks(
            session, draft(session, PlanRequest("PELL 001", ("FRONT",), ON))
        )
    assert (risks, unknown) == ([], ())
    assert needed(view, "PAD").short == 4000


@given(st.integers(0, 4), st.integers(0, 4), st.integers(1, 8))
def test_what_is_renewed_at_the_first_opening_goes_back_until_its_limit(
    before: int, limit: int, opened: int
) -> None:
    new, back = 0, before
    for opening in range(opened):
        new, back = (new + 1, 0) if opening == 0 or back >= limit else (new, back + 1)
    refits = Refits(before, limit)
    assert (refits.renewed_at_first(opened), refits.since_renewed_at_first(opened)) == (new, back)


def test_a_joint_opened_again_takes_no_second_new_one(store: Engine) -> None:
    twice = STEPS.replace("opens: [left]", "opens: [{joint: left, times: 1, reopened: 1}]")
    text = brakes("{kind: brake-pad}").replace(STEPS, twice)
    load(store, text)
    (line,) = (n for n in planned(store, "PELL 001", "FRONT").lines if n.item == "PAD")
    assert line.quantity == 4000
    (ring,) = (n for n in planned(store, "PELL 001", "FRONT").lines if n.item == "RING")
    assert ring.quantity == 2000  # never goes back


@pytest.mark.parametrize(
    ("renews", "reason", "step"),
    [
        ("{kind: brake-pads}", "unknown name", "Did you mean brake-pad or brake-disc or brake-shoe?"),
        ("{kind: brake-shoe}",
         "kind 'brake-shoe' is in no joint that the job opens (left, right)",
         "There is brake-pad, brake-disc, o-ring; name one of them"),
        ("{item: NUT}", "item 'NUT' is in no joint that the job opens (left, right)",
         "There is PAD, DISC, RING; name one of them"),
        ("{joint: lefft}", "unknown name", "Did you mean left?"),
        ("{joint: left, position: pad}", "unknown name", "Did you mean pads?"),
        ("{kind: brake-pad}, {kind: brake-pad}", "kind 'brake-pad' is given twice",
         "Keep one of the two"),
        ("{position: pads}", "give exactly one of kind, item or joint", "Correct this entry"),
        ("{kind: brake-pad, position: pads}", "a position needs its joint: give both",
         "Correct this entry"),
    ],
)  # fmt: skip
def test_a_wish_that_means_nothing_is_refused(
    lite: Engine, renews: str, reason: str, step: str
) -> None:
    with pytest.raises(FileProblemsError) as refused:
        load(lite, brakes(renews))
    assert [(p.reason, p.next_step) for p in refused.value.problems] == [(reason, step)]


def test_a_joint_that_the_job_does_not_open_is_refused(lite: Engine) -> None:
    text = brakes("{joint: right}", needs="{code: FRONT, name: front brakes, needs: [L]%s}")
    with pytest.raises(FileProblemsError) as refused:
        load(lite, text)
    (problem,) = refused.value.problems
    assert problem.reason == "joint 'right' is in no joint that the job opens (left)"


POSITIONS = tuple(BEFORE)
WISHES = st.lists(
    st.sampled_from(
        [
            "{kind: brake-pad}", "{kind: brake-disc}", "{kind: o-ring}", "{item: RING}",
            "{joint: left}", "{joint: right}", "{joint: left, position: ring}",
        ]
    ),
    max_size=4,
    unique=True,
)  # fmt: skip


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(wishes=WISHES)
def test_a_wish_never_makes_a_line_weaker_nor_touches_what_it_does_not_mean(
    lite: Engine, wishes: list[str]
) -> None:
    strict = {"keep": 0, "inspect": 1, "renew": 2}
    found = rules(lite, brakes(", ".join(wishes)), "FRONT")
    assert set(found) == set(BEFORE)
    for (joint, position, item), rule in found.items():
        before = BEFORE[joint, position, item]
        kind = {"PAD": "brake-pad", "DISC": "brake-disc", "RING": "o-ring"}[item]
        meant = {
            f"{{kind: {kind}}}", f"{{item: {item}}}", f"{{joint: {joint}}}",
            f"{{joint: {joint}, position: {position}}}",
        }  # fmt: skip
        assert strict[rule] >= strict[before]
        assert rule == ("renew" if meant & set(wishes) else before)
