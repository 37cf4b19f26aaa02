"""Facts of the trade in whole plans and checks: each case by its number. All data are invented.

Rules are common practice, no source, where none is named.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import ON, line_of, load, planned
from kitting.calc.advice.base_stock_replay import Use, replay
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.calc.rubber.compatibility import stands
from kitting.errors import FigureError, FileProblemsError
from kitting.facts.rubber_media import MEDIA, compatibility
from kitting.facts.vin import check_character, check_vin
from kitting.facts.words import Certainty, ContactState, Rating
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.services.tools.check import check_tools
from kitting.services.tools.toolboxes import load_tools
from kitting.store import reading
from kitting.views.catalogue import LoadRemark
from kitting.views.plan import LineView, PlanView
from kitting.wording.reasons import say
from kitting.wording.tools import requirement_text


def text_of(item: str, joint: str, fit: str = "", car: str = "") -> str:
    """A catalogue of one joint with one item; `item` … `car` are what is said of each."""
    return f"""
items: [{{code: PART, name: part, {item}}}]
units:
  - code: u
    name: U
    joints: [{{code: j, name: J, {joint}, fits: [{{item: PART, position: p{fit}}}]}}]
    steps: [{{code: S, name: s, hours: 1 h, opens: [j]}}]
    jobs: [{{code: J, name: job, needs: [S]}}]
models: [{{code: m, name: M, units: [u]}}]
vehicles: [{{registration: C 1, model: m{car}}}]
"""


def plan_of(engine: Engine, item: str, joint: str, fit: str = "") -> PlanView:
    """The plan of that joint."""
    load(engine, text_of(item, joint, fit))
    return planned(engine, "C 1", "J")


def line(engine: Engine, kind: str, system: str, *said: str) -> LineView:
    """What becomes of a part of a kind in a system; `said` are sources that say keep."""
    rules = ", ".join(f"{{rule: keep, source: {source}, reference: page 1}}" for source in said)
    fit = f", rules: [{rules}]" if said else ""
    return line_of(plan_of(engine, f"kind: {kind}", f"system: {system}", fit), "PART")


@pytest.mark.parametrize(
    ("kind", "system", "by_maker"),
    [
        ("split-pin", "steering", "renew"),
        ("tab-washer", "steering", "keep"),
        ("crush-washer", "brakes", "renew"),
        ("multilayer-gasket", "engine", "keep"),
    ],
)
def test_neither_workshop_nor_leaflet_keeps_what_bends_or_crushes_once(
    lite: Engine, kind: str, system: str, by_maker: str
) -> None:
    kept = line(lite, kind, system, "workshop", "leaflet")
    assert (kept.rule, kept.source) == ("renew", "general")
    assert line(lite, kind, system, "maker").rule == by_maker


@pytest.mark.parametrize(
    ("kind", "system"),
    [
        ("bonded-washer", "brakes"), ("bonded-washer", "high-pressure-fuel"),
        ("moulded-ring", "fuel"), ("moulded-gasket", "fuel"), ("moulded-ring", "brakes"),
        ("moulded-gasket", "air-conditioning"), ("union", "high-pressure-fuel"),
        ("gudgeon-pin-circlip", "engine"), ("timing-belt", "engine"), ("bolt", "restraints"),
        ("bolt", "brakes"), ("bolt", "driveline"), ("locking-nut", "wheels"), ("nut", "wheels"),
        ("hub-nut", "wheels"),
    ],
)  # fmt: skip
def test_what_life_or_an_engine_hangs_on_is_renewed_where_nobody_speaks(
    lite: Engine, kind: str, system: str
) -> None:
    assert line(lite, kind, system).rule == "renew"


@pytest.mark.parametrize(
    ("kind", "system", "why"),
    [
        ("banjo-bolt", "fuel", "hollow (banjo) bolt"), ("union", "cooling", "line union"),
        ("bleed-screw", "cooling", "bleed screw"),
        ("drain-plug", "lubrication", "drain or level plug"),
        ("screw-cap", "lubrication", "screw cap of a housing"),
        ("exhaust-stud", "engine", "exhaust stud"), ("stud", "exhaust", "exhaust"),
        ("bolt", "driveline", "driveline"),
    ],
)  # fmt: skip
def test_no_general_torque_stands_in_for_hollow_bolts_plugs_exhaust_and_driveline(
    lite: Engine, kind: str, system: str, why: str
) -> None:
    part = f'kind: {kind}, thread: M8, property_class: "8.8", head: hexagon 13 mm'
    fit = ", into: steel, tightening: {thread: dry}"
    plan_of(lite, part, f"system: {system}", fit)
    with reading(lite) as session:
        sheet = tighten(session, ToolRequest(PlanRequest("C 1", ("J",), ON)))
    ((row,),) = [joint.rows for joint in sheet.joints]
    assert row.general is None
    assert row.why_not_general is not None
    assert say(row.why_not_general) == f"no general figure may stand in: {why}"


def state(engine: Engine, rubber: str, joint: str) -> str:
    (contact,) = plan_of(engine, f"kind: o-ring, elastomer: {rubber}", joint).contacts
    return contact.state


@pytest.mark.parametrize(
    ("rubber", "joint", "expected"),
    [
        ("EPDM", "system: gearbox, fluids: [gearbox-fluid]", "clash"),
        ("FKM", "system: air-conditioning, fluids: [refrigerant]", "clash"),
        ("VMQ", "system: air-conditioning, fluids: [refrigerant]", "clash"),
        ("NBR", "system: air-conditioning, fluids: [refrigerant]", "ask"),
        ("HNBR", "system: air-conditioning, fluids: [refrigerant]", "ask"),
        ("NBR", "system: brakes, fluids: [brake-fluid]", "clash"),
        ("HNBR", "system: brakes, fluids: [brake-fluid]", "clash"),
        ("NBR", "system: body, fluids: [brake-fluid]", "ask"),
    ],
)
def test_chemistry_speaks_by_default_and_stops_in_brakes_and_air_conditioning(
    lite: Engine, rubber: str, joint: str, expected: str
) -> None:
    assert state(lite, rubber, joint) == expected


REFRIGERANTS = [medium for medium in MEDIA if medium.startswith(("r134a-", "r1234yf-"))]
BRAKE_FLUIDS = [medium for medium in MEDIA if medium.endswith("brake-fluid")]


@pytest.mark.parametrize(
    ("system", "media"),
    [("air-conditioning", ["refrigerant", *REFRIGERANTS]), ("brakes", BRAKE_FLUIDS)],
)
def test_every_not_suitable_of_refrigerants_and_brake_fluids_stops_in_their_system(
    system: str, media: list[str]
) -> None:
    against = [
        (elastomer, medium)
        for (medium, elastomer), row in compatibility().items()
        if medium in media and row.rating == Rating.NOT_SUITABLE
    ]
    assert len(against) >= 4
    for elastomer, medium in against:
        assert stands(elastomer, medium, system=system).state == ContactState.CLASH


def test_a_refrigerant_that_nobody_states_is_no_better_than_any_it_may_be() -> None:
    order = list(ContactState)
    for medium, elastomer in compatibility():
        if medium in REFRIGERANTS and ("refrigerant", elastomer) in compatibility():
            known = stands(elastomer, medium, system="air-conditioning").state
            unstated = stands(elastomer, "refrigerant", system="air-conditioning").state
            assert order.index(unstated) <= order.index(known), (elastomer, medium)


TOOLS = """box,code,sort,turns,takes,gives,length,depth,points,grip,from,to,class,calibrated to,resolution
bay,WRENCH,torque wrench,,,1/2,,,,300 mm,10 N·m,60 N·m,{},2030-01-01,0.5 N·m
bay,S-13,socket,hexagon 13 mm,1/2,,38 mm,30 mm,6,,,,,
"""


@pytest.mark.parametrize(
    ("wrench_class", "state", "why"),
    [("I A", "gap", "±6 % is ±1.2 N·m, more than the ±1 N·m allowed"), ("II A", "have", "")],
)
def test_a_beam_that_bends_may_be_off_by_six_percent(
    lite: Engine, tmp_path: Path, wrench_class: str, state: str, why: str
) -> None:
    """ISO 6789-1:2017, class I A from memory; 20 ± 1 N·m is a band of 5 %."""
    part = 'kind: bolt, thread: M8, property_class: "8.8", head: hexagon 13 mm'
    fit = ", tightening: {stages: [20 ± 1 N·m], thread: dry, source: test}"
    plan_of(lite, part, "system: engine", fit)
    box = tmp_path / "tools.csv"
    box.write_text(TOOLS.format(wrench_class), encoding="utf-8")
    load_tools(lite, [box])
    with reading(lite) as session:
        view = check_tools(session, ToolRequest(PlanRequest("C 1", ("J",), ON)))
    (need,) = [one for one in view.needs if requirement_text(one.what).startswith("20 N")]
    assert need.state == state
    assert why in " ".join(map(say, need.reasons))


def test_handbooks_differ_on_three_rows_and_none_is_certain() -> None:
    table = compatibility()
    for pair in (
        ("glycol-coolant", "NBR"), ("diesel", "NBR"), ("water-based-lubricant", "ACM"),
    ):  # fmt: skip
        row = table[pair]
        assert (row.rating, row.certainty) == (Rating.USUALLY_SUITABLE, Certainty.MEDIUM)


def car(vin: str) -> str:
    return text_of("kind: bolt", "system: engine", car=f", vin: {vin}")


def test_a_letter_in_position_9_passes_and_z_is_not_even_remarked(lite: Engine) -> None:
    for vin, remarked in (("3XXZZZ00Z00000001", False), ("1XX00000S00000001", True)):
        report = load(lite, car(vin))
        assert [reason.code for reason in report.remarks] == [LoadRemark.CHECK_DIGIT] * remarked


@pytest.mark.parametrize("start", ["1", "5", "7F", "70"])
def test_a_wrong_digit_is_refused_where_the_check_digit_is_law(lite: Engine, start: str) -> None:
    vin = f"{start:0<8}"[:8] + "0" + "00000001"
    right = vin[:8] + check_character(vin) + vin[9:]
    check_vin(right)
    wrong = vin[:8] + next(digit for digit in "0123" if digit != right[8]) + vin[9:]
    with pytest.raises(FileProblemsError, match="in position 9"):
        load(lite, car(wrong))
    with pytest.raises(FigureError):
        check_vin(wrong)


def test_elsewhere_a_wrong_digit_is_remarked_and_stops_nothing(lite: Engine) -> None:
    vin = "XX0ULV00500000001"
    assert check_character(vin) != "5"
    (remark,) = load(lite, car(vin)).remarks
    assert (remark.code, remark["vin"], remark["stands"]) == (LoadRemark.CHECK_DIGIT, vin, "5")
    assert load(lite, car(vin[:8] + check_character(vin) + vin[9:])).remarks == ()


def test_the_replay_counts_lead_times_in_working_days() -> None:
    """Ordered on Friday 3 July 2026, one working day to come: it is there on Monday, not Saturday."""
    friday = datetime(2026, 7, 3).toordinal()  # noqa: DTZ001
    rows = [Use(friday, "J1", "ring", 1), Use(friday + 1, "J2", "ring", 1)]
    own = WorkCalendar()

    def arrives(day: int) -> int:
        return own.add(datetime.fromordinal(day).date(), 1).toordinal()

    assert replay(rows, {"ring": 1}, arrives).delayed == ((friday + 1, "J2"),)
