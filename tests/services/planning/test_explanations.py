"""Why and meanwhile: the reason of a line, and what else is nearly done."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import ON, load, planned, priced, shop, unit
from kitting.errors import UnknownNameError
from kitting.facts.money import Money
from kitting.facts.words import EntryKind
from kitting.services.advice.additional_work import meanwhile
from kitting.services.planning.explain import why
from kitting.services.planning.jobs import list_cars, list_jobs
from kitting.services.planning.request import PlanRequest
from kitting.store import reading
from kitting.views.explanations import ChainView
from kitting.wording.plan import subject
from kitting.wording.reasons import say


def test_why_goes_down_to_job_step_joint_and_position(garage: Engine) -> None:
    (found,) = why(planned(garage, "PELL 117", "J1", "J2"), "seal-intake")
    assert subject(found) == "SEAL-INTAKE intake port seal, moulded"
    assert say(found.answer) == "renew 4"
    assert say(found.decided_by) == "the vehicle maker: demo maker's instruction (invented)"
    assert [(o.source, o.rule, say(o.because)) for o in found.overruled] == [
        ("leaflet", "inspect", "the vehicle maker ranks above it"),
        ("general", "inspect", "the vehicle maker speaks of this very case"),
    ]
    ports = ("port 1", "port 2", "port 3", "port 4")
    assert found.chains == (
        ChainView("J1", ("A1",), "intake", 1, ports),
        ChainView("J2", ("A1",), "intake", 1, ports),
    )


def test_why_shows_the_steps_in_between(garage: Engine) -> None:
    found = why(planned(garage, "PELL 117", "J3"), "A3")
    step = next(entry for entry in found if (entry.kind, entry.code) == (EntryKind.STEP, "A3"))
    assert step.chains[0].job == "J3"
    assert step.chains[0].steps[-1] == "A3"


def test_why_explains_positions_joints_uses_and_tools(garage: Engine) -> None:
    view = planned(garage, "PELL 117", "J1", "J2")
    assert [subject(w) for w in why(view, "vacuum stub")] == ["RING-FKM-14X2 O-ring, vacuum stub"]
    assert subject(why(view, "intake")[-1]) == "joint intake intake manifold to cylinder head"
    assert "sum of 1.6 L" in say(why(view, "COOLANT-NEAT")[0].decided_by)
    assert say(why(view, "socket 10 mm")[0].decided_by) == "cooler: cooler bolts 1 to 4"


def test_why_of_something_that_is_not_there_names_what_is_near(garage: Engine) -> None:
    with pytest.raises(
        UnknownNameError, match=r"nothing in this plan is called 'SEAL-INTAK'. Near: SEAL-INTAKE"
    ):
        why(planned(garage, "PELL 117", "J1"), "SEAL-INTAK")


def test_meanwhile_ranks_by_what_is_done_anyway(garage: Engine) -> None:
    with reading(garage) as session:
        view = meanwhile(session, PlanRequest("PELL 117", ("J1",), ON))
    first = view.additions[0]
    assert (first.code, first.hours_alone, first.hours_added) == ("J2", 3900, 2300)
    assert first.joints_added == ("oil-drain", "oil-filter", "cooler")
    assert {addition.code for addition in view.additions} == {"J2", "J3", "J4", "J5", "J6", "J7"}
    assert view.hours == 3400


def test_meanwhile_counts_what_a_plan_of_both_would_add(garage: Engine) -> None:
    with reading(garage) as session:
        found = {
            a.code: a for a in meanwhile(session, PlanRequest("PELL 117", ("J1",), ON)).additions
        }

    def renewed(*jobs: str) -> int:
        view = planned(garage, "PELL 117", *jobs)
        return sum(
            line.quantity
            for line in view.lines
            if line.rule == "renew" and line.unit == "each" and line.positions
        )

    for job in ("J2", "J4", "J6"):
        assert found[job].parts_added == renewed("J1", job) - renewed("J1")
        both, alone = planned(garage, "PELL 117", "J1", job), planned(garage, "PELL 117", "J1")
        assert found[job].hours_added == both.hours.total - alone.hours.total


def test_meanwhile_says_which_variant_would_have_to_be_settled(garage: Engine) -> None:
    with reading(garage) as session:
        found = meanwhile(session, PlanRequest("PELL 042", ("J1",), ON))
    assert {a.code: a.stopped_by for a in found.additions}["J2"] == ("cooler",)


def test_cars_and_their_jobs_are_listed(garage: Engine) -> None:
    with reading(garage) as session:
        assert [car.registration for car in list_cars(session)] == [
            "LINN 114",
            "LINN 230",
            "PELD 207",
            "PELL 042",
            "PELL 117",
            "TANS 311",
        ]
        jobs = list_jobs(session, "PELL 117", ON)
    assert [(job.code, job.hours) for job in jobs[:2]] == [("J1", 3400), ("J2", 3900)]


def test_meanwhile_counts_each_part_that_is_added_once(lite: Engine) -> None:
    """Two jobs open one joint, the second opens another too: only that one's ring is added."""
    load(
        lite,
        unit(
            """
      - {code: a, name: A, system: engine, fits: [{item: RING, positions: [p1, p2]}]}
      - {code: b, name: B, system: engine, fits: [{item: RING, position: q1}, {item: BOLT, position: q2}]}""",
            """
      - {code: S1, name: One, hours: 1 h, opens: [a]}
      - {code: S2, name: Two, hours: 1 h, opens: [a, b]}
      - {code: S3, name: Three, hours: 1 h, opens: [{joint: a, reopened: 1}]}""",
            """
      - {code: X1, name: One, needs: [S1]}
      - {code: X2, name: Two, needs: [S2]}
      - {code: X3, name: Three, needs: [S3]}""",
        ),
    )
    with reading(lite) as session:
        found = meanwhile(session, PlanRequest("PELL 001", ("X1",), ON)).additions
    # X3 opens a joint again that is opened anyway: both its rings are renewed once more.
    assert {one.code: (one.parts_added, one.items_added) for one in found} == {
        "X2": (1000, ("RING",)),
        "X3": (2000, ("RING",)),
    }


def test_what_a_job_costs_now_has_each_part_once_and_the_hours_that_it_adds(
    lite: Engine, tmp_path: Path
) -> None:
    """Invented prices: 2 seals at £3.00 and 1 h at £60 now, against 1 h for coming back."""
    load(lite, shop({"X1": {"RING": 1}, "X2": {"RING": 2}}))
    priced(lite, tmp_path, "prompt", "R1,RING,3.00 GBP,1 each")
    with reading(lite) as session:
        request = PlanRequest("PELL 001", ("X1",), ON)
        (found,) = meanwhile(session, request, Money(6000, "GBP")).additions
    assert (found.cost_now, found.cost_back) == (Money(6600, "GBP"), Money(6000, "GBP"))
    assert found.worth_above == 6600 / 12600
