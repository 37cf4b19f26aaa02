"""How many old seals come out of a joint: one where one is, however often the joint is opened."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import Engine

from helpers import NOW, SUPPLY, booked, line_of, load, planned, unit
from kitting.facts.words import FindingResult, ItemFamily, Rule
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.seal_count import count_seals, removal_view
from kitting.services.bookings.states import find_booking
from kitting.services.kit.bags import kit_view
from kitting.services.kit.old_seals import old_seals
from kitting.store import reading

RULE = "rules: [{{rule: {rule}, source: workshop, criterion: whole, reference: test}}]"


def reopened(engine: Engine, rule: Rule) -> None:
    """A joint of one ring that is opened a second time after a test run."""
    rules = RULE.format(rule=rule)
    load(
        engine,
        unit(
            f"\n      - {{code: a, name: A, system: engine, fits: [{{item: RING, position: p1,"
            f" {rules}}}]}}",
            "      - {code: S1, name: One, hours: 1 h, opens: [{joint: a, reopened: 1}]}",
            "      - {code: X1, name: One, needs: [S1]}",
        )
        + SUPPLY,
    )


@pytest.mark.parametrize(("rule", "planned_pieces"), [(Rule.RENEW, 2), (Rule.INSPECT, 1)])
def test_one_old_seal_comes_out_each_time_a_joint_is_opened_twice(
    lite: Engine, rule: Rule, planned_pieces: int
) -> None:
    reopened(lite, rule)
    plan = planned(lite, "PELL 001", "X1")
    (joint,) = plan.joints
    assert joint.opened == 2
    assert line_of(plan, "RING").quantity == planned_pieces * 1000
    (bag,) = kit_view(plan).bags
    assert bag.count_out == 1
    number = booked(lite, "X1").number
    with reading(lite) as session:
        (counted,) = removal_view(session, find_booking(session, number)).joints
    assert counted.expected == 1
    assert count_seals(lite, number, {"a": 1}, NOW).withheld == ()


@pytest.mark.parametrize(
    ("family", "holds", "pieces"),
    [(ItemFamily.RING, 2000, 2), (ItemFamily.SEAL, 3000, 3), (ItemFamily.FASTENER, 4000, 0)],
)
def test_what_sits_there_comes_out_if_it_is_a_seal(
    lite: Engine, family: ItemFamily, holds: int, pieces: int
) -> None:
    reopened(lite, Rule.RENEW)
    line = line_of(planned(lite, "PELL 001", "X1"), "RING")
    place = replace(line.positions[0], quantity=8000, holds=holds)
    assert old_seals([(replace(line, family=family), place)]) == pieces


def test_a_seal_that_goes_back_first_and_is_renewed_later_comes_out_once_each_time(
    lite: Engine,
) -> None:
    reopened(lite, Rule.RENEW)
    line = line_of(planned(lite, "PELL 001", "X1"), "RING")
    fates = [(replace(line, rule=rule), line.positions[0]) for rule in (Rule.RENEW, Rule.INSPECT)]
    assert old_seals(fates) == 1


def test_a_seal_that_failed_comes_out_once_though_its_joint_is_opened_twice(lite: Engine) -> None:
    reopened(lite, Rule.INSPECT)
    number = booked(lite, "X1").number
    record_findings(lite, number, [Found("a", "p1", FindingResult.FAILED, "cut")], NOW)
    with reading(lite) as session:
        (counted,) = removal_view(session, find_booking(session, number)).joints
    assert counted.expected == 1
