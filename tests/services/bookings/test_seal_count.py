"""Old seals counted out, findings, and the van's day."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from sqlalchemy import Engine, select

from helpers import UNCOUNTED, load, said, unit
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.reasons import RefusedError
from kitting.facts.tool_words import ToolVerdict
from kitting.facts.words import BookingState, LotState, NeedRule
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals, refit_of, removal_view
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.van_day import van
from kitting.services.purchasing.purchase import buy
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.shelves import LotName
from kitting.store import reading
from kitting.tables.bookings import Finding
from kitting.views.counted import RemovalView
from kitting.views.purchasing import BarredView
from kitting.views.van_day import UnaccountedView
from kitting.wording.bookings import source_warning
from kitting.wording.kit import shortage_text
from kitting.wording.pick_list import lot_texts, short_texts
from kitting.wording.purchasing import alternative, transfer
from kitting.wording.tools import van_gap_text

NOW = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001
ON = date(2026, 4, 15)


@pytest.fixture
def booked(garage: Engine) -> Engine:
    """The demo garage with B0002 for J1 and J2 of PELL 117."""
    book(garage, BookingRequest("PELL 117", ["J1", "J2"], ON, "upper", again=True), NOW)
    return garage


def removal(engine: Engine, number: str = "B0002") -> RemovalView:
    with reading(engine) as session:
        return removal_view(session, find_booking(session, number))


def test_every_seal_of_every_opened_joint_has_to_come_out(booked: Engine) -> None:
    joints = {joint.joint: joint for joint in removal(booked).joints}
    assert {code: joint.expected for code, joint in joints.items()} == {
        "cooler": 3, "rear-pipe-heater": 1, "rear-pipe-pump": 1, "oil-filter": 1, "oil-drain": 1,
        "coolant-drain": 1, "intake": 5,
    }  # fmt: skip
    assert all(joint.counted is None for joint in joints.values())
    assert set(joints["intake"].positions) == {
        "port 1", "port 2", "port 3", "port 4", "vacuum stub",
    }  # fmt: skip


def test_what_comes_off_first_is_counted_first_with_the_number_of_its_bag(booked: Engine) -> None:
    joints = [(joint.joint, joint.bag) for joint in removal(booked).joints]
    assert joints == [
        ("intake", 7), ("coolant-drain", 6), ("oil-drain", 5), ("oil-filter", 4),
        ("rear-pipe-pump", 3), ("rear-pipe-heater", 2), ("cooler", 1),
    ]  # fmt: skip


def test_the_refit_sheet_is_withheld_while_a_seal_is_missing_and_names_the_likely_places(
    booked: Engine,
) -> None:
    view = count_seals(booked, "B0002", {"intake": 4}, NOW)
    (text,) = said(view.withheld)
    assert text.startswith("intake manifold to cylinder head: 1 still in there; look first at")
    with reading(booked) as session, pytest.raises(RefusedError) as caught:
        refit_of(session, "B0002")
    assert caught.value.what == "B0002: the tightening and refit sheets are withheld"
    assert caught.value.reasons == view.withheld
    assert count_seals(booked, "B0002", {"intake": 5}, NOW).withheld == ()
    with reading(booked) as session:
        refit = refit_of(session, "B0002")
    assert (refit.request.registration, refit.request.jobs, refit.request.on) == (
        "PELL 117", ("J1", "J2"), ON,
    )  # fmt: skip
    texts = said(doubt.because for doubt in refit.doubts)
    assert texts[-1].startswith("OLD SEALS NOT COUNTED: coolant-drain, oil-drain")
    assert "SEAL-INTAKE: 2 short" in texts


def test_more_seals_than_expected_are_told_too(booked: Engine) -> None:
    (text,) = said(count_seals(booked, "B0002", {"rear-pipe-pump": 2}, NOW).withheld)
    assert text == (
        "rear coolant pipe, pump end: 2 out, 1 expected: one was doubled before, or it came from"
        " another joint"
    )


@pytest.mark.parametrize(
    ("joint", "pieces", "error", "told"),
    [
        ("intaek", 1, UnknownNameError, "B0002 has no seals in 'intaek'. Known: intake"),
        (
            "crank-hub", 1, UnknownNameError,
            "B0002 has no seals in 'crank-hub'. Known: intake, coolant-drain, oil-drain, oil-filter,"
            " rear-pipe-pump, rear-pipe-heater, cooler",
        ),
        ("intake", -1, KittingError, "intake: the count must not be negative. Count again"),
    ],
)  # fmt: skip
def test_a_count_that_cannot_be_is_refused(
    booked: Engine, joint: str, pieces: int, error: type[KittingError], told: str
) -> None:
    with pytest.raises(KittingError) as caught:
        count_seals(booked, "B0002", {joint: pieces}, NOW)
    assert (type(caught.value), str(caught.value)) == (error, told)
    assert all(one.counted is None for one in removal(booked).joints)


def test_findings_are_kept_one_per_position_and_all_or_none(booked: Engine) -> None:
    seen = [Found("cooler", "plate groove 1", "failed", "flat"), Found("cooler", "plate groove 2", "passed")]  # fmt: skip
    assert record_findings(booked, "B0002", seen, NOW) == 2
    record_findings(booked, "B0002", [Found("cooler", "plate groove 1", "passed")], NOW)
    bad = [
        Found("cooler", "plate groove 3", "failed"),
        Found("cooler", "plate groove 9", "passed"),
        Found("cooler", "plate groove 3", "looked fine"),
    ]
    for one in bad:
        with pytest.raises(KittingError):
            record_findings(booked, "B0002", [Found("intake", "port 1", "passed"), one], NOW)
    with reading(booked) as session:
        kept = session.execute(
            select(Finding.position, Finding.found)
            .where(Finding.booking_id.is_not(None))
            .order_by(Finding.position)
        )
        assert [tuple(row) for row in kept] == [
            ("plate groove 1", "passed"), ("plate groove 2", "passed"),
        ]  # fmt: skip


def test_the_pick_list_of_a_booking_names_lots_shortages_and_who_has_them(booked: Engine) -> None:
    with reading(booked) as session:
        view = pick_of(session, "B0002")
        labels = labels_of(session, "B0002")
    (seal,) = (line for line in view.lines if line.content.item == "SEAL-INTAKE")
    (source,) = seal.sources
    assert (source.lot, source.bin, source.keeps_to) == ("SI-2411", "S1-01", date(2034, 12, 31))
    assert (seal.take, seal.picked, seal.lacks, seal.short) == (2000, 0, 2000, 2000)
    assert lot_texts(source, seal.content) == ("2 from lot", "SI-2411", "keeps to 2034-12-31")
    assert view.booking == labels.booking == "B0002"
    told = {line.content.item: text for line in view.lines for text in short_texts(line)}
    assert told == {
        "RING-EPDM-17X2": "SHORT 1: none free, here or on its way",
        "RING-FKM-17X2.5": "SHORT 1: 2 free in canal",
        "SEAL-INTAKE": "SHORT 2: 4 promised to B0001; 4 free in canal",
    }
    assert told.keys() == {short.item for short in labels.shortages}
    assert [shortage_text(short, elsewhere=False) for short in labels.shortages] == [
        "1 × RING-EPDM-17X2", "1 × RING-FKM-17X2.5", "2 × SEAL-INTAKE",
    ]  # fmt: skip
    assert labels.keeps_to == date(2027, 3, 1)


def test_a_spare_that_was_not_taken_is_missing_from_its_bag(booked: Engine) -> None:
    with reading(booked) as session:
        labels = labels_of(session, "B0002")
    missing = [
        (line.content.item, line.content.quantity, line.missing)
        for bag in labels.bags
        for line in bag.lines
        if line.content.rule is NeedRule.INSPECT
    ]
    assert missing == [
        ("CLAMP-WORM-25", 1000, 0), ("COOLER-OIL-LATE", 1000, 1000), ("SEAL-COOLER-LATE", 3000, 0),
        ("HOSE-HEATER", 1000, 1000), ("CLIP-CONNECTOR", 3000, 1000),
    ]  # fmt: skip


def test_a_lot_that_is_held_stays_on_the_shelf_and_the_list_says_so(booked: Engine) -> None:
    put_on_hold(booked, LotName("upper", "FILTER-OIL", "FO-77"), "wrong thread", NOW)
    view = pick(booked, "B0002", NOW)
    (need,) = (need for need in view.needs if need.item == "FILTER-OIL")
    (source,) = need.sources
    assert (need.picked, source.state, source.on_hold) == (0, LotState.ON_HOLD, "wrong thread")
    assert source_warning(source) == "ON HOLD: wrong thread"


def test_buying_tells_what_another_yard_has_free_with_both_times(booked: Engine) -> None:
    with reading(booked) as session:
        view = buy(session, ["B0002"], NOW)
        late = buy(session, ["B0002"], NOW.replace(hour=15, minute=5))
    assert [transfer(one) for one in view.transfers] == [
        "1 × RING-FKM-17X2.5 free in canal: by van here Thu 02 Apr (leaves 15:00), bought Tue 07"
        " Apr: the van is earlier",
        "2 × SEAL-INTAKE free in canal: by van here Thu 02 Apr (leaves 15:00), bought Tue 07 Apr:"
        " the van is earlier",
    ]
    # The van has left: the next working day is after the holidays.
    assert "by van here Tue 07 Apr" in transfer(late.transfers[0])
    assert "buying is no later" in transfer(late.transfers[0])


def test_the_van_loads_once_for_all_stops_and_ends_the_day_with_nothing_unaccounted(
    garage: Engine,
) -> None:
    book(garage, BookingRequest("PELD 207", ["J6"], ON, "van1", again=True), NOW)
    book(garage, BookingRequest("PELL 117", ["J6"], ON, "van1", again=True), NOW)
    with reading(garage) as session:
        view = van(session, "van1", ON, ["van"])
    assert [stop.booking for stop in view.stops] == ["B0002", "B0003"]
    (caps,) = (line for line in view.load if line.item == "CAP-PLUG")
    assert (caps.quantity, caps.stops) == (8000, ("B0002", "B0003"))
    gaps = list(map(van_gap_text, view.tools))
    gap = "undo hexagon 19 mm: V-S-19: something is in the way of a socket;"
    assert any(text.startswith(gap) and text.endswith("(B0002, B0003)") for text in gaps)
    assert {missing.state for missing in view.tools} >= {ToolVerdict.GAP}
    assert ToolVerdict.HAVE not in {missing.state for missing in view.tools}
    assert view.unaccounted == ()
    pick(garage, "B0002", NOW)
    with reading(garage) as session:
        parts = van(session, "van1", ON, []).unaccounted
    assert UnaccountedView("B0002", "CAP-PLUG", "each", 4000) in parts
    step_to(garage, "B0002", BookingState.CONFIRMED, "test")
    step_to(garage, "B0002", BookingState.ON_THE_RAMP)
    close(garage, "B0002", Closing({"CAP-PLUG": 1000}, {}), NOW, despite=UNCOUNTED)
    with reading(garage) as session:
        assert van(session, "van1", ON, []).unaccounted == ()


def test_alternatives_are_ranked_and_barred_where_only_the_makers_part_may_go(
    lite: Engine,
) -> None:
    items = """
  - {code: OTHER, name: Other, kind: o-ring, elastomer: FKM}
  - {code: THIRD, name: Third, kind: o-ring, elastomer: FKM}
"""
    text = unit(
        """
      - {code: a, name: A, system: engine, fits: [{item: RING, position: p1}]}""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        items=items,
    ).replace(
        "kind: o-ring, elastomer: FKM}",
        "kind: o-ring, elastomer: FKM, alternatives: [{item: OTHER}, {item: THIRD, note: dearer}]}",
        1,
    )
    branches = "branches:\n  - {code: yard, name: Yard}\n"
    load(lite, text + branches)
    book(lite, BookingRequest("PELL 001", ["X1"], ON, again=True), NOW)
    with reading(lite) as session:
        view = buy(session, ["B0001"], NOW)
    assert [alternative(one) for one in view.alternatives] == [
        "RING: choice 1 instead is OTHER, 0 free here, not judged at its place yet",
        "RING: choice 2 instead is THIRD, 0 free here, not judged at its place yet (dearer)",
    ]
    assert view.barred == ()
    load(lite, (text + branches).replace("system: engine", "system: brakes"))
    with reading(lite) as session:
        view = buy(session, ["B0001"], NOW)
    assert (view.alternatives, view.barred) == ((), (BarredView("RING", "brakes"),))


def test_case_18_all_parts_there_and_nobody_qualified_is_not_ready(garage: Engine) -> None:
    """Common practice, no source: refrigerant work needs a qualified person, or is sublet."""
    at_upper = book(garage, BookingRequest("PELL 117", ["J5"], ON, "upper", again=True), NOW)
    at_canal = book(garage, BookingRequest("PELL 117", ["J5"], ON, "canal", again=True), NOW)
    lack = (
        "refrigerant handling: nobody at this branch is qualified (step A7, step P5, service"
        " air-conditioning recharge and leak test); sublet that work, then confirm with the reason"
    )
    assert lack not in said(at_upper.lacking)
    assert lack in said(at_canal.lacking)
    refused = step_to(garage, at_canal.number, BookingState.CONFIRMED)
    assert (refused.state, refused.ready) == ("provisional", False)
    done = step_to(garage, at_canal.number, BookingState.CONFIRMED, "A7 and P5 sublet")
    assert (done.state, done.override) == ("confirmed", "A7 and P5 sublet")
