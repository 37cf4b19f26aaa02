"""Limits on going back: counted at every opening of a plan, and from what is known of the car."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine

from helpers import ON, load, planned, source
from kitting.calc.planning.refits import Refits
from kitting.calc.planning.renewal import Situation, SituationRule, Statement, kind_says, ruling
from kitting.facts.words import RateShift, Rule, Source
from kitting.services.advice.inspection_risks import read_risks
from kitting.services.kit.bags import kit_view
from kitting.services.planning.plan import draft
from kitting.services.planning.request import PlanRequest
from kitting.services.tools.fasteners import fasteners
from kitting.store import reading
from kitting.views.plan import LineView
from kitting.wording.reasons import as_text


@pytest.mark.parametrize(
    ("before", "limit", "opened", "looks"),
    [
        (0, None, 3, (0, 1, 2)),
        (0, 1, 1, (0,)),
        (0, 1, 2, (0,)),  # refitted, new
        (0, 1, 3, (0, 0)),  # refitted, new, refitted
        (1, 2, 2, (1,)),  # refitted for the second time, new
        (0, 2, 2, (0, 1)),
        (0, 0, 2, ()),
        (5, 2, 2, (0,)),  # new, refitted
    ],
)
def test_an_item_is_looked_at_until_its_limit_and_a_new_one_begins_anew(
    before: int, limit: int | None, opened: int, looks: tuple[int, ...]
) -> None:
    assert Refits(before, limit).looked_at(opened) == looks


@given(st.integers(0, 5), st.integers(0, 5), st.integers(0, 12))
def test_a_new_one_goes_in_once_in_every_limit_and_one_openings(
    limit: int, before: int, opened: int
) -> None:
    refits = Refits(min(before, limit), limit)
    new = opened - len(refits.looked_at(opened))
    assert new == (opened + refits.before) // (limit + 1)


def followed(before: int, limit: int, fails_at: int | None, opened: int) -> tuple[int, int]:
    """One item followed through every opening: how many new ones, how often the last went back."""
    new, back = 0, before
    for opening in range(opened):
        if opening == fails_at or back >= limit:
            new, back = new + 1, 0
        else:
            back += 1
    return new, back


@given(st.integers(0, 4), st.integers(0, 4), st.integers(1, 8))
def test_what_is_fitted_in_the_end_has_gone_back_as_often_as_when_it_is_followed(
    limit: int, before: int, opened: int
) -> None:
    refits = Refits(min(before, limit), limit)
    new, back = followed(refits.before, limit, None, opened)
    assert refits.since_renewed(opened) == (back if new else None)
    # A look may fail at whichever opening.
    failing = [followed(refits.before, limit, at, opened) for at in range(opened)]
    assert refits.since_failed(opened) == max(back for _, back in failing)
    assert refits.renewed_if_failed(opened) == max(new for new, _ in failing)


@given(st.integers(0, 4), st.integers(0, 6), st.integers(0, 7))
def test_the_new_ones_are_the_fewest_with_which_nothing_goes_back_beyond_its_limit(
    limit: int, before: int, opened: int
) -> None:
    """Every choice at every opening tried."""

    def fewest(back: int, left: int) -> int:
        if not left:
            return 0
        renewed = 1 + fewest(0, left - 1)
        return min(renewed, fewest(back + 1, left - 1)) if back < limit else renewed

    refits = Refits(before, limit)
    assert opened - len(refits.looked_at(opened)) == fewest(before, opened)
    says = SituationRule(Statement(Source.GENERAL, Rule.INSPECT, "test"))
    found = ruling(kind_says([says], Situation("engine")), [], refits)
    assert found.over(opened).renewals(opened) == fewest(before, opened)


def nuts(limit: str, opens: str, history: str = "") -> str:
    return f"""
items:
  - {{code: LN, name: nut, kind: locking-nut, head: hexagon 10 mm, thread: M6}}
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: engine
        fits: [{{item: LN, position: ln1, quantity: 4 each {limit}}}]
    steps: [{{code: S, name: s, hours: 1 h, opens: [{opens}]}}]
    jobs: [{{code: J, name: job, needs: [S]}}]
models: [{{code: m, name: M, units: [u]}}]
vehicles: [{{registration: C 1, model: m, history: [{history}]}}]
"""


ONCE = "{joint: u/j, position: ln1, on: 2025-05-20, outcome: refitted}"


def lines(engine: Engine, text: str) -> list[LineView]:
    load(engine, text)
    return list(planned(engine, "C 1", "J").lines)


@pytest.mark.parametrize(
    ("limit", "opens", "history", "expected"),
    [
        (", refit_limit: 1", "j", "", [("inspect", 4, 0)]),
        (", refit_limit: 1", "{joint: j, times: 2}", "", [("renew", 4, 4), ("inspect", 4, 0)]),
        (
            ", refit_limit: 1",
            "{joint: j, times: 2, reopened: 2}",
            "",
            [("renew", 8, 8), ("inspect", 4, 0)],
        ),
        (", refit_limit: 2", "{joint: j, times: 2}", "", [("inspect", 4, 0)]),
        (", refit_limit: 2", "{joint: j, times: 2}", ONCE, [("renew", 4, 4), ("inspect", 4, 0)]),
        # Used up before: new, refitted.
        (", refit_limit: 1", "{joint: j, times: 2}", ONCE, [("renew", 4, 4), ("inspect", 4, 0)]),
        (", refit_limit: 1", "j", ONCE, [("renew", 4, 4)]),
        # Used up before: new, refitted, new.
        (", refit_limit: 1", "{joint: j, times: 3}", ONCE, [("renew", 8, 8), ("inspect", 4, 0)]),
        (", refit_limit: 0", "{joint: j, times: 2}", "", [("renew", 8, 8)]),
        ("", "{joint: j, times: 2}", "", [("inspect", 4, 0)]),
    ],
)
def test_each_opening_of_a_plan_uses_up_a_refit_and_new_ones_are_needed_for_certain(
    lite: Engine,
    limit: str,
    opens: str,
    history: str,
    expected: list[tuple[str, int, int]],
) -> None:
    found = lines(lite, nuts(limit, opens, history))
    assert [(x.rule, x.quantity // 1000, x.to_take // 1000) for x in found] == expected


def test_the_line_says_that_the_limit_is_reached_in_this_plan(lite: Engine) -> None:
    renewed, _ = lines(lite, nuts(", refit_limit: 1", "{joint: j, times: 2}"))
    assert renewed.source == "history"
    assert as_text(renewed.said_by) == "opened twice here, may go back once"
    (lost,) = renewed.overruled
    assert (lost.rule, lost.source) == ("inspect", "general")


def test_what_is_used_up_before_is_new_first_and_then_goes_back(lite: Engine) -> None:
    renewed, _ = lines(lite, nuts(", refit_limit: 1", "{joint: j, times: 2}", ONCE))
    assert (
        as_text(renewed.said_by) == "has gone back once before, opened twice here, may go back once"
    )
    with reading(lite) as session:
        found = draft(session, PlanRequest("C 1", ("J",), ON))
        ((risk,), _) = read_risks(session, found)
    # The one that is looked at is new, and is looked at once.
    assert (risk.shifts, risk.each) == ((), (4,))
    (nut,) = fasteners(found)
    assert (nut.rule, nut.renewed, nut.new_first) == (Rule.INSPECT, 4, True)


def test_what_goes_back_first_and_is_renewed_later_is_one_fastener_in_one_bag(
    lite: Engine,
) -> None:
    load(lite, nuts(", refit_limit: 1", "{joint: j, times: 2}"))
    with reading(lite) as session:
        found = draft(session, PlanRequest("C 1", ("J",), ON))
    assert [one.count for one in fasteners(found)] == [4]
    view = planned(lite, "C 1", "J")
    assert [(row.position, row.quantity) for row in view.tightenings] == [("ln1", 4)]
    (bag,) = kit_view(view).bags
    assert [(line.content.rule, line.content.quantity) for line in bag.lines] == [
        ("renew", 4000),
        ("inspect", 4000),
    ]


@pytest.mark.parametrize(
    ("opens", "history", "removals"),
    [
        ("j", "", 0),
        ("j", ONCE, 1),
        ("{joint: j, times: 2}", "", 0),
        ("{joint: j, times: 3}", ONCE, 1),
    ],
)
def test_earlier_removals_move_the_chance_and_each_opening_is_a_look(
    lite: Engine, opens: str, history: str, removals: int
) -> None:
    load(lite, nuts("", opens, history))
    with reading(lite) as session:
        ((risk,), _) = read_risks(session, draft(session, PlanRequest("C 1", ("J",), ON)))
    assert risk.shifts == (RateShift.EARLIER_REMOVAL,) * removals


def test_a_job_that_waits_for_a_variant_elsewhere_counts_its_openings(
    lite: Engine,
) -> None:
    text = (
        nuts(", refit_limit: 1", "j")
        .replace(
            "    joints:",
            "    splits: [{code: v, question: which, check: look, options:"
            " [{code: a, name: A, seen: s}, {code: b, name: B, seen: t}]}]\n    joints:",
        )
        .replace(
            "steps: [",
            "steps: [{code: T, name: t, hours: 1 h, opens: [{joint: j, times: 2}],"
            " uses: [{item: OIL, amount: 1 l, option: v/a}]}, ",
        )
        .replace("jobs: [", "jobs: [{code: K, name: k, needs: [T]}, ")
        .replace("items:\n", "items:\n  - {code: OIL, name: oil, kind: engine-oil, unit: ml}\n")
    )
    assert source(text)
    load(lite, text)
    view = planned(lite, "C 1", "J", "K")
    found = [(line.rule, line.quantity, bool(line.stopped_by)) for line in view.lines]
    # Whichever way it comes out, the joint is opened as often.
    assert found == [("renew", 4000, False), ("inspect", 4000, False)]
