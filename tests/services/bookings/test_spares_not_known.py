"""What goes back does not hold up the work: a wheel bearing, and discs of two sizes. Invented."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, load, planned, said, unit
from kitting.errors import KittingError
from kitting.facts.verdicts import Verdict
from kitting.services.advice.completion import completion_chance
from kitting.services.advice.weighed_case import Work
from kitting.services.bookings.booking import BookingRequest, book, renew_promises
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.planning.variants import settle_variant
from kitting.store import reading

ITEMS = """
  - {code: BEARING, name: Wheel bearing, kind: wheel-bearing}
  - {code: DISC-S, name: Small disc, kind: brake-disc}
  - {code: DISC-L, name: Large disc, kind: brake-disc}
"""
SPLIT = """
      {code: disc, question: "Which disc?", check: "Measure it.", options: [
        {code: small, name: small}, {code: large, name: large}]}
"""
JOINTS = """
      - code: hub
        name: hub
        system: suspension
        fits:
          - {item: BEARING, position: bearing, rules: [{rule: renew, source: maker, reference: m}]}
          - {item: DISC-S, position: disc, option: disc/small}
          - {item: DISC-L, position: disc, option: disc/large}
"""
STEPS = "      - {code: H, name: hub off, hours: 1 h, opens: [hub]}\n"
JOBS = """
      - {code: BEARING, name: wheel bearing, needs: [H]}
      - {code: DISC, name: disc, needs: [H], renews: [{kind: brake-disc}]}
"""
TEXT = unit(JOINTS, STEPS, JOBS, ITEMS, SPLIT) + SUPPLY
CAR = "PELL 001"
SETTLE = "disc: Which disc?"


def test_the_bearing_is_booked_while_the_size_of_the_disc_is_open(store: Engine) -> None:
    load(store, TEXT)
    view = planned(store, CAR, "BEARING")
    assert view.jobs[0].stopped_by == ()
    assert [(split.split, split.only_looks) for split in view.unresolved] == [("disc", True)]
    assert view.verdict is Verdict.STOPPED
    booked = book(store, BookingRequest(CAR, ("BEARING",), ON, "yard"), NOW)
    assert {need.item for need in booked.needs} == {"BEARING"}
    assert Verdict.STOPPED in {doubt.verdict for doubt in booked.doubts}
    assert not booked.ready


def test_a_job_that_renews_the_disc_still_waits(store: Engine) -> None:
    load(store, TEXT)
    assert planned(store, CAR, "DISC").jobs[0].stopped_by == ("disc",)
    with pytest.raises(KittingError, match="cannot be booked for these jobs yet: Which disc"):
        book(store, BookingRequest(CAR, ("DISC",), ON, "yard"), NOW)


def test_once_it_is_settled_the_spare_is_known(store: Engine) -> None:
    load(store, TEXT)
    number = book(store, BookingRequest(CAR, ("BEARING",), ON, "yard"), NOW).number
    settle_variant(store, CAR, "disc", "large")
    view = renew_promises(store, number)
    assert {need.item for need in view.needs} == {"BEARING", "DISC-L"}
    assert Verdict.STOPPED not in {doubt.verdict for doubt in view.doubts}


def test_a_disc_that_fails_while_its_size_is_open_keeps_the_kit_from_being_ready(
    store: Engine,
) -> None:
    load(store, TEXT)
    number = book(store, BookingRequest(CAR, ("BEARING",), ON, "yard"), NOW).number
    record_findings(store, number, [Found("hub", "disc", "failed", "too thin")], NOW)
    with reading(store) as session:
        view = booking_view(session, find_booking(session, number))
    stopped = [doubt for doubt in view.doubts if doubt.verdict is Verdict.STOPPED]
    assert stopped
    assert any("disc" in text for text in said(doubt.because for doubt in stopped))


def test_no_spare_makes_a_kit_sure_whose_disc_nobody_knows(store: Engine) -> None:
    load(store, TEXT)
    with reading(store) as session:
        sure = completion_chance(session, Work(CAR, ("BEARING",), ON, "yard"), NOW)
    assert Verdict.STOPPED in {doubt.verdict for doubt in sure.doubts}


def test_a_kept_bolt_whose_figure_hangs_on_the_variant_still_stops_the_work(store: Engine) -> None:
    kept = TEXT.replace("{item: DISC-S, position: disc, ", "{item: BOLT, position: disc, ")
    load(store, kept)
    assert planned(store, CAR, "BEARING").jobs[0].stopped_by == ("disc",)
