"""What comes off, step by step: order, bags, what runs out, what is not known. All invented."""

from __future__ import annotations

import pytest
from paper import characters, drawn, require_clear, words
from sqlalchemy import Engine

from helpers import NOW, ON, load, said, unit
from kitting.facts.strip_down import ComesOut
from kitting.facts.units import Quantity
from kitting.facts.words import PatternShape, Rule
from kitting.reports.sheets.strip import draw_strip
from kitting.reports.stationery import PAPERS
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.seal_count import count_seals
from kitting.services.bookings.strip_sheet import strip_of
from kitting.services.planning.request import PlanRequest
from kitting.services.tightening.strip import strip
from kitting.store import reading
from kitting.views.strip import StripJointView, StripStepView, StripView


def stripped(engine: Engine, registration: str, *jobs: str) -> StripView:
    with reading(engine) as session:
        return strip(session, PlanRequest(registration, jobs, ON, {}))


def step_of(view: StripView, code: str) -> StripStepView:
    (found,) = (step for step in view.steps if step.code == code)
    return found


def joint_of(view: StripView, code: str) -> StripJointView:
    """A joint at the step that opens it first."""
    return next(one for step in view.steps for one in step.joints if one.joint == code)


def test_steps_stand_in_the_order_of_stripping_down_with_the_bags_of_their_joints(
    garage: Engine,
) -> None:
    view = stripped(garage, "PELL 117", "J1", "J2")
    assert [(step.number, step.code) for step in view.steps] == [
        (1, "A1"), (2, "A2"), (3, "A3"), (4, "P1"), (5, "P2"),
    ]  # fmt: skip
    bags = [[(bag.number, bag.code) for bag in one.bags] for step in view.steps for one in step.joints]  # fmt: skip
    assert bags == [[(n, f"{view.reference}-{n:02d}")] for n in (7, 6, 5, 4, 3, 2, 1)]


def test_what_comes_off_is_counted_with_what_becomes_of_it_and_the_reverse_of_the_makers_order(
    garage: Engine,
) -> None:
    intake = joint_of(stripped(garage, "PELL 117", "J1", "J2"), "intake")
    assert [(off.positions, off.item, off.amount.thousandths, off.rule) for off in intake.off] == [
        (("port 1", "port 2", "port 3", "port 4"), "SEAL-INTAKE", 4000, Rule.RENEW),
        (("vacuum stub",), "RING-FKM-14X2", 1000, Rule.RENEW),
        (("manifold bolts 1 to 6",), "BOLT-FLANGE-M6X25", 6000, Rule.KEEP),
        (("connectors on the manifold",), "CLIP-CONNECTOR", 3000, Rule.INSPECT),
    ]
    assert intake.undo is not None
    # The demo states 3-4-2-5-1-6.
    assert (intake.undo.order, intake.undo.shape) == ((6, 1, 5, 2, 4, 3), PatternShape.MAKER)
    assert (intake.seals, intake.seals_depend) == (5, False)


def test_what_runs_out_has_its_hazard_and_what_is_filled_in_again_or_where_it_was_drained(
    garage: Engine,
) -> None:
    view = stripped(garage, "PELL 117", "J1", "J2")
    # Intake air is not caught.
    assert step_of(view, "A1").fluids == ()
    (coolant,) = step_of(view, "A2").fluids
    assert (coolant.fluid, coolant.comes_out, coolant.hazards) == (
        "coolant", ComesOut.RUNS_OUT, ("POISONOUS",),
    )  # fmt: skip
    # The demo's own figure: half of 3.2 L each.
    assert {one.item: one.amount for one in coolant.refills} == {
        "COOLANT-NEAT": Quantity(1_600_000, "ml"), "WATER-PURE": Quantity(1_600_000, "ml"),
    }  # fmt: skip
    (left,) = step_of(view, "P1").fluids
    assert (left.refills, left.drained_at) == ((), "A2")
    assert {out.fluid: out.drained_at for out in step_of(view, "P2").fluids} == {
        "engine oil": "A3", "coolant": "A2",
    }  # fmt: skip


def test_refrigerant_is_under_pressure_and_its_step_names_the_licence(garage: Engine) -> None:
    step = step_of(stripped(garage, "PELL 117", "J5"), "A7")
    (out,) = step.fluids
    assert out.comes_out is ComesOut.RECOVERED
    assert step.licences == ("refrigerant handling",)


def test_a_licence_that_a_system_asks_for_stands_at_the_step_that_opens_it(lite: Engine) -> None:
    joint = """
      - code: belt
        name: belt
        system: restraints
        fits: [{item: BOLT, position: anchor}]
"""
    step = "      - {code: S1, name: belt off, hours: 1 h, opens: [belt]}"
    load(lite, unit(joint, step, "      - {code: X1, name: belt, needs: [S1]}"))
    (only,) = stripped(lite, "PELL 001", "X1").steps
    assert len(only.licences) == 1


@pytest.mark.parametrize("paper", PAPERS)
def test_the_sheet_of_all_jobs_of_the_demo_has_nothing_over_something_else(
    garage: Engine, paper: str
) -> None:
    view = stripped(garage, "PELL 117", "J1", "J2", "J3", "J4", "J5")
    pdf = drawn(draw_strip, view, paper=paper)
    require_clear(pdf, *PAPERS[paper])
    text = "".join(map(words, characters(pdf)))
    assert all(f"STEP{step.number}of13·{step.code}" in text for step in view.steps)


def test_caps_are_counted_where_they_are_stated_and_asked_for_where_something_is_open(
    garage: Engine,
) -> None:
    view = stripped(garage, "PELL 117", "J1", "J2", "J3")
    told = {step.code: (step.open_ends, step.closers) for step in view.steps}
    assert told["A1"] == (True, 4)
    assert told["P2"] == (True, 5)
    assert told["A2"] == (True, None)
    assert told["A4"] == (False, None)


def test_photos_are_of_ends_that_could_be_swapped_and_of_what_is_held_by_clips(
    garage: Engine,
) -> None:
    view = stripped(garage, "PELL 117", "J1")
    assert said(step_of(view, "P1").photos) == [
        "which ring sits on which end: pump end, short leg (rear coolant pipe, pump end)",
        "which ring sits on which end: heater end, long leg (rear coolant pipe, heater end)",
        "how it sits and runs: hose on the long leg; clamp of the hose on the long leg (rear coolant"
        " pipe, heater end)",
    ]
    assert step_of(view, "A2").photos == ()


def test_while_a_variant_is_open_its_parts_say_so_and_the_seals_are_at_most_so_many(
    garage: Engine,
) -> None:
    view = stripped(garage, "PELL 042", "J2")
    cooler = joint_of(view, "cooler")
    assert {off.only_with for off in cooler.off} == {(), ("cooler/early",), ("cooler/late",)}
    assert (cooler.seals, cooler.seals_depend) == (7, True)
    (ends, runs) = said(step_of(view, "P2").photos)
    assert "port with the cast arrow; port nearest the filter" in ends
    assert runs.startswith("how it sits and runs")
    assert view.doubts


HUB = unit(
    """
      - code: hub
        name: hub
        system: driveline
        fits:
          - {item: NUT, position: hub nut}
          - {item: BARE, position: lock plate bolts, quantity: 2 each}
          - {item: RING, position: groove}
          - {item: LONG, position: upper bolts, quantity: 2 each}
          - {item: BOLT20, position: lower bolts, quantity: 2 each}
""",
    """
      - {code: S1, name: hub off, hours: 1 h, opens: [hub]}
      - {code: S2, name: hub apart, hours: 1 h, needs: [S1], opens: [{joint: hub, reopened: 1}]}
""",
    "      - {code: X1, name: hub, needs: [S2]}",
    """
  - {code: NUT, name: hub nut, kind: nut, thread: M22x1.5 LH, head: hexagon 32 mm}
  - {code: BARE, name: bolt, kind: bolt}
  - {code: LONG, name: bolt, kind: bolt, thread: M8, length: 60 mm}
  - {code: BOLT20, name: bolt, kind: bolt, thread: M8, length: 20 mm}
""",
)


def test_a_left_hand_thread_and_one_that_is_not_stated_stand_at_what_is_undone(
    lite: Engine,
) -> None:
    load(lite, HUB)
    view = stripped(lite, "PELL 001", "X1")
    off = {one.positions[0]: one.left_hand for one in joint_of(view, "hub").off}
    assert off == {
        "hub nut": True, "lock plate bolts": None, "groove": False, "upper bolts": False,
        "lower bolts": False,
    }  # fmt: skip
    assert "unequal lengths, which sits where: upper bolts; lower bolts (hub)" in said(
        step_of(view, "S1").photos
    )


def test_a_joint_that_is_opened_again_is_listed_once_and_what_it_holds_is_not_guessed(
    lite: Engine,
) -> None:
    load(lite, HUB)
    first, second = stripped(lite, "PELL 001", "X1").steps
    (opened,) = first.joints
    assert (opened.before, opened.holds_unknown, opened.seals) == (None, True, 1)
    (again,) = second.joints
    assert (again.before, again.off, again.seals) == ("S1", (), 0)


def test_what_a_step_opens_that_may_not_be_done_is_told_again_where_it_is_certain(
    lite: Engine,
) -> None:
    joint = """
      - code: hub
        name: hub
        system: driveline
        fits: [{item: BOLT, position: ear}]
"""
    steps = """
      - {code: S1, name: motor off, hours: 1 h, opens: [hub], option: motor/with}
      - {code: S2, name: hub off, hours: 1 h, opens: [hub]}
"""
    split = (
        "{code: motor, question: With a motor?, check: Look., options:"
        " [{code: with, name: with}, {code: without, name: without}]}"
    )
    load(
        lite,
        unit(joint, steps, "      - {code: X1, name: hub, needs: [S1, S2]}", splits=split),
    )
    perhaps, certain = stripped(lite, "PELL 001", "X1").steps
    assert (perhaps.waits_for, certain.waits_for) == (("motor",), ())
    assert [one.positions for one in certain.joints[0].off] == [("ear",)]
    assert certain.joints[0].before is None


@pytest.fixture
def booked(garage: Engine) -> Engine:
    """The demo garage with B0002 for J1 and J2 of PELL 117."""
    book(garage, BookingRequest("PELL 117", ["J1", "J2"], ON, "upper", again=True), NOW)
    return garage


def test_of_a_booking_it_has_the_number_the_counts_so_far_and_what_is_short(booked: Engine) -> None:
    count_seals(booked, "B0002", {"intake": 4}, NOW)
    with reading(booked) as session:
        view = strip_of(session, "B0002", NOW.date())
    assert view.booking == "B0002"
    assert (joint_of(view, "intake").counted, joint_of(view, "cooler").counted) == (4, None)
    assert "SEAL-INTAKE: 2 short" in said(doubt.because for doubt in view.doubts)
