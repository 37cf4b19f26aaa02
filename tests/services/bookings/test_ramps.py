"""Ramps, people and agreed prices of bookings: listed, taken, told and never forbidden (15, 9)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from paper import drawn, lines
from rich.console import Console
from sqlalchemy import Engine, select, update

from helpers import NOW, ON, load, priced, shop
from kitting.actions import Action, next_step
from kitting.cli.render.bookings import show_bookings
from kitting.errors import FigureError, FileProblemsError, KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.facts.weights import parse_weight
from kitting.facts.words import OPEN_BOOKINGS, BookingState
from kitting.reports.sheets.pick_list import draw_pick_list
from kitting.services.advice.agreed_price import agreed_price, limit_state
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.change import Change
from kitting.services.bookings.findings_sheet import findings_view
from kitting.services.bookings.kit_sheets import pick_of
from kitting.services.bookings.listing import list_bookings
from kitting.services.bookings.seal_count import refit_of, removal_view
from kitting.services.bookings.slots import CLEARED, Asked
from kitting.services.bookings.staff import list_staff, load_ramps, load_technicians
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.van_day import van
from kitting.services.bookings.work_day import booking_day
from kitting.services.branches import branch_codes
from kitting.services.cars.add import CarEntry, add_car
from kitting.services.day.today import TodayRequest, today
from kitting.services.purchasing.booking_change import Advice, make_change, show_change
from kitting.store import reading
from kitting.tables.bookings import Booking
from kitting.tables.vehicles import Vehicle
from kitting.views.bookings import BookingView
from kitting.views.slot import SlotView
from kitting.views.today import TodayKind, TodayView
from kitting.views.work_day import AgreedView, LimitState
from kitting.wording.reasons import say
from kitting.wording.today import why_texts
from kitting.wording.work_day import (
    agreed_text,
    estimate_text,
    remark_text,
    unknown_texts,
    when_text,
)

SOON = date(2026, 4, 7)  # the next working day after NOW
RAMPS = "branch,ramp,takes,hours\nyard,R1,to 2.5 t,2 h\nyard,R2,,\nquay,R1,,8 h\n"
TAKES = (
    "NOT KNOWN: ramp R1 is listed as 'to 2.5 t': whether it takes this car (read the car's plate"
    " before it is lifted)"
)
PEOPLE = (
    "branch,technician,tue,wed,licences,away\n"
    "yard,T1,2 h,2 h,cold to 2026-04-10; dust,2026-04-20 to 2026-04-21; 2026-05-01\n"
    "yard,T2,8 h,,,\nquay,T3,8 h,8 h,,\n"
)
LICENCES = """
licences:
  - {code: cold, name: Cold, text: Local rules decide.}
  - {code: dust, name: Dust, text: Local rules decide.}
"""


def written(folder: Path, text: str, name: str = "list.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def yard(lite: Engine, tmp_path: Path) -> Engine:
    """A yard with two ramps and two people, and RING at £4 each."""
    load(lite, shop({"X1": {"RING": 1}, "X2": {"RING": 3}}) + LICENCES)
    priced(lite, tmp_path, "prompt", "P-1,RING,£4.00,1 each")
    load_ramps(lite, [written(tmp_path, RAMPS)])
    load_technicians(lite, [written(tmp_path, PEOPLE)])
    return lite


def made(engine: Engine, *jobs: str, on: date = ON, **asked: object) -> BookingView:
    request = BookingRequest("PELL 001", jobs, on, "yard", again=True, asked=Asked(**asked))  # type: ignore[arg-type]
    return book(engine, request, NOW)


def told(view: BookingView) -> list[str]:
    assert view.day is not None
    return [remark_text(one) for one in view.day.remarks]


def pounds(amount: int) -> Money:
    return Money(amount * 100, "GBP")


def price(engine: Engine, number: str) -> AgreedView:
    with reading(engine) as session:
        found = agreed_price(session, find_booking(session, number), NOW)
    assert found is not None
    return found


def asked_today(engine: Engine) -> TodayView:
    with reading(engine) as session:
        return today(session, TodayRequest("yard"), NOW)


def test_lists_describe_their_branches_wholly_and_loading_again_changes_nothing(
    yard: Engine, tmp_path: Path
) -> None:
    for load_list, text in ((load_ramps, RAMPS), (load_technicians, PEOPLE)):
        report = load_list(yard, [written(tmp_path, text)])
        assert all(one.added == one.changed == one.removed == 0 for one in report.counts.values())
    report = load_ramps(yard, [written(tmp_path, "branch,ramp,hours\nyard,R1,2 h\n")])
    assert (report.counts["ramps"].changed, report.counts["ramps"].removed) == (1, 1)
    with reading(yard) as session:
        quay, here = list_staff(session, branch_codes(session, None))
    assert [one.ramp for one in (*quay.ramps, *here.ramps)] == ["R1", "R1"]
    (first, second) = here.technicians
    assert first.hours == (None, 2000, 2000, None, None, None, None)
    assert [(one.licence, one.until) for one in first.licences] == [
        ("cold", date(2026, 4, 10)), ("dust", None),
    ]  # fmt: skip
    assert [(one.first, one.last) for one in first.away] == [
        (date(2026, 4, 20), date(2026, 4, 21)), (date(2026, 5, 1), date(2026, 5, 1)),
    ]  # fmt: skip
    assert second.hours[1] == 8000


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("branch,technician,mon\nyord,T1,8 h\n", "no branch is called 'yord'"),
        ("branch,technician,licences\nyard,T1,warm\n", "no licence is called 'warm'"),
        ("branch,technician,mon\nyard,T1,25 h\n", "'25 h' is more than a day has"),
        ("branch,technician,mon\nyard,T1,\nyard,T1,\n", "it is listed twice in yard"),
        (
            "branch,technician,away\nyard,T1,2026-04-21 to 2026-04-20\n",
            "'2026-04-21 to 2026-04-20' ends before it begins; write the first day first",
        ),
        (
            "branch,technician,licences\nyard,T1,cold to soon\n",
            "'soon' is no date; write year-month-day, for example 2026-04-15",
        ),
    ],
)
def test_a_fault_of_a_list_is_told_with_its_line_and_nothing_is_loaded(
    yard: Engine, tmp_path: Path, text: str, reason: str
) -> None:
    with pytest.raises(FileProblemsError) as caught:
        load_technicians(yard, [written(tmp_path, text)])
    assert reason in [one.reason for one in caught.value.problems]
    assert all(one.line >= 2 for one in caught.value.problems)
    with reading(yard) as session:
        found = list_staff(session, branch_codes(session, "yard"))
    assert [one.code for one in found[0].technicians] == ["T1", "T2"]


def test_a_booking_takes_time_ramp_and_people_and_what_does_not_fit_is_told_at_making_it(
    yard: Engine,
) -> None:
    first = made(yard, "X1", "X2", starts="08:00", ramp="r1", technicians=("T1",))
    assert first.day is not None
    day = first.day
    assert (day.starts, day.ramp, day.technicians, day.hours) == ("08:00", "R1", ("T1",), 2000)
    assert told(first) == [TAKES]
    second = made(yard, "X1", starts="09:30", ramp="R1", technicians=("t2",))
    assert told(second) == [
        "DAY: ramp R1: 3 h planned of 2 h, 1 h too many (B0001, B0002)",
        "DAY: ramp R1: B0001 and B0002 at the same time",
        TAKES,
        "NOT KNOWN: the hours of technician T2 on Wed 15 Apr are not stated",
    ]
    assert second.state is BookingState.PROVISIONAL  # told, not forbidden
    third = made(yard, "X1", ramp="R2")
    assert told(third) == [
        "NOT KNOWN: the hours of ramp R2 are not stated: its room",
        "NOT KNOWN: no technician named: room on the day",
    ]


def test_the_list_of_bookings_has_time_and_ramp(yard: Engine) -> None:
    made(yard, "X1", starts="09:30", ramp="R1")
    made(yard, "X2")
    with reading(yard) as session:
        listed = list_bookings(session, None, tuple(OPEN_BOOKINGS))
    assert [(line.starts, line.ramp) for line in listed] == [("09:30", "R1"), (None, None)]
    out = StringIO()
    show_bookings(Console(file=out, width=120), listed)
    assert f"{ON} 09:30 R1" in out.getvalue()


def test_hours_that_nobody_wrote_down_are_unknown(yard: Engine) -> None:
    made(yard, "X1", starts="08:00", ramp="R1", technicians=("T1",))
    with yard.begin() as connection:
        connection.execute(update(Booking).values(planned=None))
    second = made(yard, "X1", starts="12:00", ramp="R1", technicians=("T1",))
    assert told(second) == [
        TAKES,
        "NOT KNOWN: ramp R1: hours of B0001 on the day",
        "NOT KNOWN: ramp R1: whether B0001 and B0002 are at the same time (a time or hours not"
        " stated)",
        "NOT KNOWN: technician T1: hours of B0001 on the day",
        "NOT KNOWN: technician T1: whether B0001 and B0002 are at the same time (a time or hours"
        " not stated)",
    ]


@pytest.mark.parametrize("wrong", [{"ramp": "R9"}, {"technicians": ("T3",)}])
def test_a_ramp_or_somebody_of_another_branch_is_refused(
    yard: Engine, wrong: dict[str, object]
) -> None:
    with pytest.raises(UnknownNameError, match="of yard"):
        made(yard, "X1", **wrong)
    with reading(yard) as session:
        assert session.query(Booking).count() == 0


def test_a_change_shows_and_makes_another_time_ramp_and_people(yard: Engine) -> None:
    number = made(yard, "X1", starts="08:00", ramp="R1", technicians=("T1", "T2")).number
    change = Change(asked=Asked(starts="10:00", ramp=CLEARED, technicians=("T2",)))
    shown = show_change(yard, number, change, NOW)
    assert shown.before.day is not None
    assert shown.after.day is not None
    assert (shown.before.day.starts, shown.after.day.starts) == ("08:00", "10:00")
    assert (shown.after.day.ramp, shown.after.day.technicians) == (None, ("T2",))
    make_change(yard, number, change, NOW)
    again = show_change(yard, number, Change(), NOW)
    assert again.before.day == shown.after.day


def test_ramp_and_people_stay_at_the_branch_that_a_booking_leaves(yard: Engine) -> None:
    number = made(yard, "X1", starts="08:00", ramp="R1", technicians=("T1",)).number
    moved = make_change(yard, number, Change(branch="quay"), NOW).after.day
    assert moved is not None
    assert (moved.starts, moved.ramp, moved.technicians) == ("08:00", None, ())
    assert [remark_text(one) for one in moved.remarks] == [
        "NOT KNOWN: no ramp and no technician named: room on the day"
    ]


def test_a_price_is_kept_and_what_is_open_is_told(yard: Engine) -> None:
    number = made(yard, "X1", agreed=pounds(90), limit=pounds(100), deposit=pounds(30)).number
    view = price(yard, number)
    assert agreed_text(view) == "agreed £90.00, at most £100.00, deposit £30.00, £60.00 open"
    # One hour of work without a price: nobody knows that it is within the limit.
    assert view.state is LimitState.NOT_KNOWN
    assert unknown_texts(view) == ["NOT KNOWN: 1 h of work: no price of an hour is stated"]
    more = show_change(
        yard,
        number,
        Change(add=("X2",), asked=Asked(hour_price=pounds(30))),
        NOW,
        Advice(weigh=agreed_price),
    ).price
    assert more is not None
    # Two hours at £30, four rings at £4.
    assert (more.now, more.state, more.by) == (pounds(76), LimitState.WITHIN, pounds(24))
    over = Change(add=("X2",), asked=Asked(hour_price=pounds(60)))
    make_change(yard, number, over, NOW)
    assert estimate_text(price(yard, number)) == (
        "£136.00 with prices as suppliers state them: OVER the limit £100.00 by £36.00: ask the"
        " customer first"
    )
    less = Change(asked=Asked(agreed=CLEARED, deposit=pounds(20)))
    make_change(yard, number, less, NOW)
    assert agreed_text(price(yard, number)) == (
        "at most £100.00, deposit £20.00, £60.00 an hour, what is open after the deposit NOT KNOWN:"
        " no price is agreed"
    )


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"limit": Money(100, "EUR")}, "counts in GBP"),
        ({"limit": pounds(5), "agreed": pounds(6)}, "is above the limit"),
    ],
)
def test_sums_that_contradict_each_other_are_refused(
    yard: Engine, asked: dict[str, object], why: str
) -> None:
    with pytest.raises(KittingError, match=why):
        made(yard, "X1", **asked)


def test_known_prices_alone_may_be_over_a_limit_and_never_within_it() -> None:
    assert limit_state(100, 101, 120, whole=False) == (LimitState.OVER, 1)
    assert limit_state(100, 100, 100, whole=False) == (LimitState.NOT_KNOWN, None)
    assert limit_state(100, 100, 100, whole=True) == (LimitState.WITHIN, 0)
    assert limit_state(100, 100, 101, whole=True) == (LimitState.MAY_GO_OVER, 1)


def test_today_shows_each_ramp_and_what_answers_a_day_that_does_not_fit(yard: Engine) -> None:
    made(yard, "X1", "X2", on=SOON, starts="08:00", ramp="R1", technicians=("T2",))
    made(yard, "X1", on=SOON, starts="09:00", ramp="R1", technicians=("T2",))
    made(yard, "X2", on=NOW.date(), ramp="R2", limit=pounds(1), hour_price=pounds(1))
    view = asked_today(yard)
    (late,) = (row for row in view.rows if row.kind is TodayKind.DAY_DOES_NOT_FIT)
    assert late.then == next_step(Action.CHANGE_DAY, booking="B0002")
    assert why_texts(late) == [
        "ramp R1: 3 h planned of 2 h, 1 h too many (B0001, B0002)",
        "ramp R1: B0001 and B0002 at the same time",
        "technician T2: B0001 and B0002 at the same time",
    ]
    (over,) = (row for row in view.rows if row.kind is TodayKind.OVER_LIMIT)
    assert over.then == next_step(Action.AGREE_LIMIT, booking="B0003")
    assert why_texts(over) == ["£13.00 by now, £12.00 over the £1.00 agreed"]
    assert [(one.ramp, one.planned, len(one.bookings)) for one in view.ramps] == [
        ("R1", 0, 0), ("R2", 1000, 1),
    ]  # fmt: skip


def test_a_car_on_the_ramp_since_yesterday_stands_there_with_unknown_hours(yard: Engine) -> None:
    number = made(yard, "X1", on=NOW.date(), starts="08:00", ramp="R1").number
    with yard.begin() as connection:
        connection.execute(update(Booking).values(state=BookingState.ON_THE_RAMP))
    with reading(yard) as session:
        later = replace(TodayRequest("yard"), on=SOON)
        ramp = today(session, later, NOW).ramps[0]
    assert [(one.booking, one.hours) for one in ramp.bookings] == [(number, None)]
    assert [say(one.because) for one in ramp.remarks] == [f"ramp R1: hours of {number} on the day"]


def test_what_a_ramp_takes_is_told_where_a_car_is_put_on_it(yard: Engine) -> None:
    """Nothing is stated of the car that it could be held against: it never counts as fine."""
    assert TAKES in told(made(yard, "X1", on=SOON, ramp="R1"))
    assert not [text for text in told(made(yard, "X1", on=SOON, ramp="R2")) if "listed as" in text]


@pytest.mark.parametrize(
    ("weight", "remark"),
    [
        (None, "NOT KNOWN: ramp R3 lifts 1500 kg, and what the car weighs is not stated"),
        ("1400 kg kerb", "NOT KNOWN: ramp R3 lifts 1500 kg, the car weighs 1400 kg without what"),
        ("1501 kg kerb", "DAY: TOO HEAVY: ramp R3 lifts 1500 kg, the car weighs 1501 kg kerb;"),
        ("1500.001 kg as it stands", "DAY: TOO HEAVY: ramp R3 lifts 1500 kg, the car weighs"),
        ("1.5 t as it stands", None),
        ("900 kg as it stands", None),
    ],
)
def test_the_weight_of_a_car_is_held_against_what_its_ramp_lifts(
    yard: Engine, tmp_path: Path, weight: str | None, remark: str | None
) -> None:
    """Told and never forbidden; the very weight that a ramp lifts is not too much."""
    load_ramps(yard, [written(tmp_path, "branch,ramp,lifts\nyard,R3,1.5 t\n")])
    number = made(yard, "X1", on=SOON, ramp="R3").number
    with reading(yard) as session:
        car = session.scalars(select(Vehicle.registration)).first()
    if weight is not None:
        add_car(yard, CarEntry(str(car), weight=parse_weight(weight)), NOW)
    with reading(yard) as session:
        day = booking_day(session, find_booking(session, number).id, NOW)
        rows = today(session, replace(TodayRequest("yard"), on=SOON), NOW).rows
    assert day is not None
    found = [remark_text(one) for one in day.remarks if "R3 lifts" in remark_text(one)]
    assert len(found) == (remark is not None)
    assert remark is None or found[0].startswith(remark)
    heavy = [one.then for one in rows if one.then.action is Action.CHANGE_RAMP]
    assert bool(heavy) == (remark is not None and "TOO HEAVY" in remark)


def test_a_former_weight_of_a_car_is_put_right_with_a_reason(yard: Engine) -> None:
    with reading(yard) as session:
        car = str(session.scalars(select(Vehicle.registration)).first())
    add_car(yard, CarEntry(car, weight=parse_weight("1400 kg kerb")), NOW)
    other = CarEntry(car, weight=parse_weight("1400 kg as it stands"))
    with pytest.raises(KittingError, match="weight is known as 1400 kg kerb, told is 1400 kg as"):
        add_car(yard, other, NOW)
    done = add_car(yard, replace(other, correct="it was weighed"), NOW)
    assert str(done.car.weight) == "1400 kg as it stands"


@pytest.mark.parametrize(
    "text", ["1400 kg", "1400 kerb", "0 kg kerb", "-5 kg kerb", "900 t kerb", "1,4 t kerb", "kerb"]
)
def test_a_weight_says_its_unit_and_of_what_it_is(text: str) -> None:
    with pytest.raises(FigureError):
        parse_weight(text)


def test_time_and_ramp_stand_on_the_vans_day_and_on_the_sheets_of_a_booking(yard: Engine) -> None:
    late = made(yard, "X1", on=SOON, ramp="R1", starts="14:00").number
    early = made(yard, "X1", on=SOON, starts="08:30").number
    never = made(yard, "X1", on=SOON).number
    with reading(yard) as session:
        stops = van(session, "yard", SOON, ()).stops
        booking = find_booking(session, late)
        slots = (
            pick_of(session, late).slot, removal_view(session, booking).slot,
            findings_view(session, late).slot, refit_of(session, late).slot,
        )  # fmt: skip
        pick = pick_of(session, late)
    assert [(one.booking, when_text(one.slot)) for one in stops] == [
        (early, ", 08:30"), (late, ", 14:00, ramp R1"), (never, ""),
    ]  # fmt: skip
    assert slots == (SlotView("14:00", "R1"),) * 4
    (first, *_) = lines(drawn(draw_pick_list, pick))
    assert any("fitting date 2026-04-07, 14:00, ramp R1" in line.text for line in first)
