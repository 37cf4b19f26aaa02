"""Rubber and what touches it, in plans, bookings and kits: each case by its number.

The catalogues are invented; the ratings are those of the general table, with its sources.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, line_of, load, planned, said, use_of
from kitting.facts.verdicts import Verdict
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.kit.bags import kit_view
from kitting.services.kit.pick import pick_view
from kitting.views.bookings import BookingView
from kitting.views.plan import PlanView
from kitting.wording.verdicts import doubt_text

HERE = Path(__file__).parent


def catalogue(name: str) -> str:
    return (HERE / f"{name}.yaml").read_text(encoding="utf-8")


def plan(engine: Engine, name: str, car: str, job: str) -> PlanView:
    load(engine, catalogue(name))
    return planned(engine, car, job)


def doubts(view: PlanView) -> list[str]:
    return said(doubt.because for doubt in view.doubts)


def clashes(view: PlanView) -> list[tuple[str, str]]:
    return [(clash.elastomer, clash.what) for clash in view.clashes]


def reserved(engine: Engine, name: str, car: str, job: str) -> BookingView:
    load(engine, catalogue(name) + SUPPLY)
    return book(engine, BookingRequest(car, (job,), ON, "yard"), NOW)


@pytest.fixture
def both(lite_garage: Engine) -> Engine:
    """The rings and greases, and the joint where two rubbers have a grease each."""
    load(lite_garage, catalogue("r-chem"))
    load(lite_garage, catalogue("r-bag"))
    return lite_garage


def test_each_grease_is_picked_for_the_bag_of_its_own_ring(both: Engine) -> None:
    view = planned(both, "BB 1", "BB")
    bags = {line.content.item: line.bags for line in pick_view(view).lines}
    assert bags["G-SIL"] == bags["R-EPDM"]
    assert bags["G-MIN"] == bags["R-NBR"]
    assert set(bags["G-SIL"]).isdisjoint(bags["G-MIN"])


def test_a_booking_says_at_once_what_clashes(lite_garage: Engine) -> None:
    view = reserved(lite_garage, "r-k", "KK 1", "K5")
    assert (view.ready, view.verdict) == (False, Verdict.NO)
    told = [text for text in said(view.lacking) if text.startswith("G-MIN2 on EPDM at piston seal")]
    assert told
    assert step_to(lite_garage, view.number, BookingState.CONFIRMED).state == "provisional"


def test_a_missing_licence_is_said_as_well(lite_garage: Engine) -> None:
    view = reserved(lite_garage, "r-k", "KK 1", "K4")
    assert not view.ready
    assert any("refrigerant handling" in text for text in said(view.lacking))


def test_what_is_offered_instead_stands_the_heat_and_the_grease_of_the_place(
    lite_garage: Engine,
) -> None:
    (hot,) = plan(lite_garage, "r-k", "KK 1", "K1").clashes
    # 180 °C: FKM serves to 200 °C (from memory), NBR to 100 °C.
    assert (hot.instead, hot.perhaps) == ((), ("Q-FKM",))
    (greased,) = planned(lite_garage, "KK 1", "K2").clashes
    # EPDM stands the brake fluid, and not the mineral grease that is named there.
    assert (greased.what, greased.instead, greased.perhaps) == ("brake fluid", (), ())


@pytest.mark.parametrize(
    ("name", "car", "job", "clash"),
    [
        ("r-chem", "CC 1", "C12", ("EPDM", "G-MIN")),
        ("r-chem", "CC 1", "C13", ("EPDM", "petrol")),
        ("r-k", "KK 1", "K3", ("EPDM", "H-OIL")),
    ],
)
def test_a_grease_as_a_use_what_is_filled_in_and_rubber_in_a_packet_are_judged(
    lite_garage: Engine, name: str, car: str, job: str, clash: tuple[str, str]
) -> None:
    view = plan(lite_garage, name, car, job)
    assert clashes(view) == [clash]
    assert view.verdict is Verdict.NO


@pytest.mark.parametrize(
    ("job", "told"),
    [
        ("C4", "the rubber of c4: b (R-NONE) is not stated (elastomer: of the item)"),
        ("C15", "which fluid touches c15: a (R-EPDM) is not stated (fluids: of the joint)"),
    ],
)
def test_a_ring_without_rubber_and_a_joint_without_fluids_cannot_be_proven(
    lite_garage: Engine, job: str, told: str
) -> None:
    view = plan(lite_garage, "r-chem", "CC 1", job)
    assert told in doubts(view)
    item = "R-NONE" if job == "C4" else "R-EPDM"
    assert line_of(view, item).verdict is Verdict.UNKNOWN


def test_that_a_maker_overrules_a_certain_no_is_told_with_who_and_against_what(
    lite_garage: Engine,
) -> None:
    view = plan(lite_garage, "r-mc", "WW 1", "W1")
    told = "suitable. maker: maker's sheet, AGAINST not suitable by the general table"
    assert (view.verdict, [told in text for text in doubts(view)]) == (Verdict.UNKNOWN, [True])
    for sheet in (kit_view(view), pick_view(view)):
        assert any(told in doubt_text(doubt) for doubt in sheet.doubts)


def test_the_oil_that_a_car_names_for_a_fluid_does_not_go_on_every_ring(
    lite_garage: Engine,
) -> None:
    """KK 2 names mineral grease for its refrigerant; the joint names silicone for an EPDM ring."""
    view = plan(lite_garage, "r-k", "KK 2", "K4")
    assert use_of(view, "G-SIL2").quantity == 1000
    assert [use.item for use in view.uses] == ["G-SIL2"]
    assert any("G-MIN2" in text and "cars_own" in text for text in doubts(view))


def test_heat_far_beyond_the_limit_stops_and_heat_a_little_beyond_is_asked(
    lite_garage: Engine,
) -> None:
    """NBR to 100 °C, FKM to 200 °C, both from memory; the joint is at 230 °C."""
    view = plan(lite_garage, "r-chem", "CC 1", "C7")
    assert clashes(view) == [("NBR", "230 °C")]
    assert line_of(view, "R-NBR").verdict is Verdict.NO
    assert line_of(view, "R-FKM").verdict is Verdict.UNKNOWN
    load(lite_garage, catalogue("r-chem").replace("hottest: 230 °C", "hottest: 105 °C"))
    cooler = planned(lite_garage, "CC 1", "C7")
    assert clashes(cooler) == []
    assert line_of(cooler, "R-NBR").verdict is Verdict.UNKNOWN


JOBS = [("r-chem", car, f"C{n}") for car in ("CC 1", "CC 2") for n in (1, 2, 3, 4, 5, 6, 7, 8)]
JOBS += [("r-k", car, f"K{n}") for car in ("KK 1", "KK 2") for n in (1, 2, 3, 4, 5)]


@pytest.mark.parametrize(("name", "car", "job"), JOBS)
def test_what_is_asked_or_unknown_of_a_rubber_is_always_among_what_is_not_proven(
    lite_garage: Engine, name: str, car: str, job: str
) -> None:
    """One list tells all of it: a second one of opinions is not needed."""
    view = plan(lite_garage, name, car, job)
    told = {
        (doubt.because["item"], doubt.because["what"])
        for doubt in view.doubts
        if {"item", "what"} <= dict(doubt.because.values).keys()
    }
    open_ = {(c.item, c.what) for c in view.contacts if c.state in ("ask", "unknown")}
    assert open_ <= told
