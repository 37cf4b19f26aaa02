"""Whatever a booking was judged by: once the catalogue says otherwise, nobody reads READY.

The rubbers and fluids are rated by the general table: NBR stands engine oil, EPDM does not.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import CAR, NOW, SUPPLY, booked, load, said, stock
from kitting.errors import KittingError
from kitting.facts.reasons import RefusedError
from kitting.facts.verdicts import Aspect, Verdict
from kitting.facts.words import BookingState, FindingResult
from kitting.services.bookings.booking import renew_promises, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.listing import list_bookings
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals, removal_view, uncounted
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.store import reading
from kitting.views.bookings import BookingView
from kitting.views.kit import SealReason

NOTHING = Closing({}, {})
CATALOGUE = (
    """
fluids:
  - {code: sump-oil, name: sump oil, medium: engine-oil}
kinds:
  - {code: lip, name: lip, family: seal}
items:
  - {code: SEAL, name: Seal, kind: o-ring, elastomer: NBR, ring_inside: 20 mm, ring_section: 2 mm}
  - {code: NEXT, name: Next, kind: o-ring, elastomer: NBR, ring_inside: 20 mm, ring_section: 2 mm}
  - {code: LIP, name: Lip, kind: lip}
  - {code: SCREW, name: Screw, kind: bolt, thread: M6, property_class: "8.8", head: hexagon 8 mm}
  - {code: GREASE, name: Grease, kind: assembly-lubricant, unit: ml, medium: silicone-grease, shelf_life: 24 months}
units:
  - code: grebe
    name: Grebe
    joints:
      - code: x1
        name: X1
        system: lubrication
        fluids: [sump-oil]
        fits:
          - {item: SEAL, position: a, lubricant: {item: GREASE, amount: 1 ml}, RENEW}
          - {item: SEAL, position: look, LOOK}
          - {item: LIP, position: lip, RENEW}
          - {item: SCREW, position: screw, RENEW, tightening: {stages: [8 N·m], thread: dry, source: test}}
    steps:
      - {code: S1, name: S, hours: 1 h, opens: [x1]}
      - {code: S2, name: T, hours: 1 h}
    jobs:
      - {code: X1, name: X1, needs: [S1]}
""".replace("RENEW", "rules: [{rule: renew, source: maker, reference: test}]").replace(
        "LOOK", "rules: [{rule: inspect, source: maker, criterion: no cut, reference: test}]"
    )
    + CAR
    + SUPPLY
)
STOCKED = [f"yard,{item},{item}-1,9 each,1Q26" for item in ("SEAL", "NEXT", "LIP", "SCREW")]
# What is written otherwise in the catalogue, and what the booking has to say of it.
CHANGES = {
    "the elastomer of an item": (
        "code: SEAL, name: Seal, kind: o-ring, elastomer: NBR",
        "code: SEAL, name: Seal, kind: o-ring, elastomer: EPDM",
        "SEAL at x1: a",
    ),
    "the size of a ring": (
        "elastomer: NBR, ring_inside: 20 mm, ring_section: 2 mm}\n  - {code: NEXT",
        "elastomer: NBR, ring_inside: 22 mm, ring_section: 2 mm}\n  - {code: NEXT",
        "22 × 2 mm",
    ),
    "the fluids of a joint": ("fluids: [sump-oil]", "fluids: [brake-fluid]", "joint x1"),
    "what a fluid is": ("medium: engine-oil", "medium: glycol-brake-fluid", "SEAL"),
    "the medium of a lubricant": ("medium: silicone-grease", "medium: glycol-brake-fluid", "SEAL"),
    "what replaces an item": (
        "ring_section: 2 mm}\n  - {code: NEXT",
        "ring_section: 2 mm, replaced: {by: [{item: NEXT, quantity: 1 each}], old_stock: scrap}}\n"
        "  - {code: NEXT",
        "NEXT at x1: a",
    ),
    "the head of a screw": ("head: hexagon 8 mm", "head: hexagon 10 mm", "hexagon 10 mm"),
    "the thread of a screw": ("thread: M6", "thread: M8", "M8"),
    "the strength of a screw": ('"8.8"', '"10.9"', "10.9"),
    "the rubber of a kind": ("family: seal}", "family: seal, rubber: made of}", "LIP"),
    "a stage of a figure": ("stages: [8 N·m]", "stages: [8 N·m, +90°]", "figure of SCREW"),
    "the steps of a job": ("needs: [S1]", "needs: [S1, S2]", "step S2"),
    "the system of a joint": ("system: lubrication", "system: fuel", "joint x1"),
}


@pytest.fixture
def kitted(store: Engine, tmp_path: Path) -> tuple[Engine, str]:
    """A booking that is ready, picked and confirmed."""
    load(store, CATALOGUE)
    stock(store, tmp_path, *STOCKED, "yard,GREASE,G,50 ml,1Q26")
    number = booked(store, "X1").number
    pick(store, number, NOW)
    assert step_to(store, number, BookingState.CONFIRMED).ready
    return store, number


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


@pytest.mark.parametrize("change", CHANGES)
def test_a_booking_is_not_ready_after_a_change_of(kitted: tuple[Engine, str], change: str) -> None:
    engine, number = kitted
    before, after, told = CHANGES[change]
    assert CATALOGUE.count(before) == 1
    load(engine, CATALOGUE.replace(before, after))
    view = shown(engine, number)
    assert not view.ready
    assert Aspect.CATALOGUE in {doubt.aspect for doubt in view.doubts}
    assert told in " | ".join(said(view.changes))
    # Neither is it put on the ramp, until it is planned anew.
    assert step_to(engine, number, BookingState.ON_THE_RAMP).state is BookingState.CONFIRMED
    assert shown(engine, renew_promises(engine, number).number).changes == ()


def test_what_clashes_by_now_is_not_only_unproven(kitted: tuple[Engine, str]) -> None:
    engine, number = kitted
    before, after, _ = CHANGES["the elastomer of an item"]
    load(engine, CATALOGUE.replace(before, after))
    assert shown(engine, number).verdict is Verdict.NO


def test_what_is_only_called_otherwise_changes_nothing(kitted: tuple[Engine, str]) -> None:
    engine, number = kitted
    load(engine, CATALOGUE.replace("name: Grease", "name: Another grease"))
    load(engine, CATALOGUE.replace("name: Lip,", "name: Another lip,"))
    view = shown(engine, number)
    assert (view.ready, view.changes) == (True, ())


def test_a_reason_given_before_the_catalogue_changed_does_not_excuse_the_change(
    store: Engine, tmp_path: Path
) -> None:
    load(store, CATALOGUE)
    stock(store, tmp_path, *STOCKED)
    number = booked(store, "X1").number
    assert step_to(store, number, BookingState.CONFIRMED, "the grease comes").override
    before, after, _ = CHANGES["the elastomer of an item"]
    load(store, CATALOGUE.replace(before, after))
    assert step_to(store, number, BookingState.ON_THE_RAMP).state is BookingState.CONFIRMED
    on_the_ramp = step_to(store, number, BookingState.ON_THE_RAMP, "seen and agreed")
    assert on_the_ramp.state is BookingState.ON_THE_RAMP


def test_closing_is_refused_with_what_the_catalogue_says_by_now(kitted: tuple[Engine, str]) -> None:
    engine, number = kitted
    step_to(engine, number, BookingState.ON_THE_RAMP)
    count_seals(engine, number, {"x1": 3}, NOW)
    load(engine, CATALOGUE.replace("medium: engine-oil", "medium: glycol-brake-fluid"))
    with pytest.raises(RefusedError) as refused:
        close(engine, number, NOTHING, NOW)
    told = said(refused.value.reasons)
    assert told[0].startswith("the catalogue was changed since it was planned")
    assert "NBR suits sump oil" in " | ".join(told[1:])


def test_what_is_found_after_an_unrelated_change_is_no_change_of_the_catalogue(
    kitted: tuple[Engine, str],
) -> None:
    engine, number = kitted
    load(engine, CATALOGUE.replace("name: Next", "name: Another"))
    found = Found("x1", "look", FindingResult.FAILED, "cut")
    record_findings(engine, number, [found], NOW)
    assert shown(engine, number).changes == ()


def test_what_is_found_after_a_change_leaves_the_change_told(kitted: tuple[Engine, str]) -> None:
    engine, number = kitted
    load(engine, CATALOGUE.replace('"8.8"', '"10.9"'))
    found = Found("x1", "look", FindingResult.FAILED, "cut")
    record_findings(engine, number, [found], NOW)
    assert "10.9" in " | ".join(said(shown(engine, number).changes))


def test_the_old_seals_of_a_joint_come_out_whose_new_ones_may_not_go_in(
    kitted: tuple[Engine, str],
) -> None:
    engine, number = kitted
    step_to(engine, number, BookingState.ON_THE_RAMP)
    fit = "- {item: LIP, position: lip, rules: [{rule: renew, source: maker, reference: test}]}"
    assert CATALOGUE.count(fit) == 1
    clash = CATALOGUE.replace("elastomer: NBR", "elastomer: EPDM").replace(fit, "")
    clash = clash.replace("          - {item: SCREW", "          # none\n          - {item: SCREW")
    load(engine, clash)
    with reading(engine) as session:
        view = removal_view(session, find_booking(session, number))
    assert [(joint.joint, joint.expected) for joint in view.joints] == [("x1", 2)]
    assert uncounted(view) == ("x1",)
    with pytest.raises(RefusedError) as refused:
        close(engine, number, NOTHING, NOW)
    assert SealReason.NOT_COUNTED in {reason.code for reason in refused.value.reasons}
    assert not count_seals(engine, number, {"x1": 2}, NOW).withheld
    with pytest.raises(KittingError, match=r"has no seals in 'x2'\. Known: x1"):
        count_seals(engine, number, {"x2": 1}, NOW)


def test_a_joint_without_a_bag_is_counted_too(kitted: tuple[Engine, str]) -> None:
    engine, number = kitted
    clash = CATALOGUE.replace("elastomer: NBR", "elastomer: EPDM")
    lines = [line for line in clash.splitlines() if "{item: LIP" not in line]
    load(engine, "\n".join(line for line in lines if "{item: SCREW" not in line))
    with reading(engine) as session:
        (joint,) = removal_view(session, find_booking(session, number)).joints
    assert (joint.bag, joint.joint, joint.expected) == (None, "x1", 2)


def test_what_another_job_did_to_the_car_meanwhile_is_told(store: Engine, tmp_path: Path) -> None:
    """A ring that may go back once: the first job uses that up."""
    limit = "{item: SEAL, position: look, refit_limit: 1, rules:"
    once = CATALOGUE.replace("{item: SEAL, position: look, rules:", limit)
    assert once != CATALOGUE
    load(store, once)
    stock(store, tmp_path, *STOCKED, "yard,GREASE,G,50 ml,1Q26")
    first, second = booked(store, "X1").number, booked(store, "X1").number
    assert shown(store, second).ready
    pick(store, first, NOW)
    step_to(store, first, BookingState.CONFIRMED)
    step_to(store, first, BookingState.ON_THE_RAMP)
    count_seals(store, first, {"x1": 3}, NOW)
    record_findings(store, first, [Found("x1", "look", FindingResult.PASSED, None)], NOW)
    close(store, first, NOTHING, NOW, "lip not counted")
    told = " | ".join(said(shown(store, second).changes))
    assert "CHANGED SEAL at x1: look: was 1 inspect" in told
    assert not shown(store, second).ready


def test_a_supplier_that_changes_changes_no_plan(store: Engine, tmp_path: Path) -> None:
    load(store, CATALOGUE)
    booked(store, "X1")
    slower = CATALOGUE.replace("lead_days: 3", "lead_days: 2")
    assert slower != CATALOGUE
    load(store, slower)
    with reading(store) as session:
        (line,) = list_bookings(session, None, ["provisional"], NOW.date())
    assert not line.outdated
    load(store, CATALOGUE.replace("amount: 1 ml", "amount: 2 ml"))
    with reading(store) as session:
        (line,) = list_bookings(session, None, ["provisional"], NOW.date())
    assert line.outdated
