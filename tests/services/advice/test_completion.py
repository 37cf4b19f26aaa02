"""Completion chances: chances learned from findings, spares, estimate, stock levels, further work."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, func, select, update

from helpers import booked, load, priced, shop, stock, unit
from kitting.errors import FileProblemsError, KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.facts.words import FindingResult, RateShift
from kitting.services.advice.additional_work import decline, meanwhile
from kitting.services.advice.base_stock import stock_levels
from kitting.services.advice.completion import completion_chance
from kitting.services.advice.learned_rates import learned, load_findings
from kitting.services.advice.weighed_case import Work, work_of_booking
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.findings import Found, load_ramp_findings, record_findings
from kitting.services.bookings.findings_sheet import findings_view
from kitting.services.bookings.pick import pick
from kitting.services.planning.request import PlanRequest
from kitting.store import reading
from kitting.tables.bookings import Finding
from kitting.tables.items import Item
from kitting.views.completion import CompletionView, RiskView, UnknownRateView
from kitting.views.explanations import DeclinedView
from kitting.wording.advice import replay

NOW = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001
ON = date(2026, 4, 15)


def asked(
    engine: Engine, *jobs: str, target: float = 0.95, on: date = ON,
    short_costs: Money | None = None,
) -> CompletionView:  # fmt: skip
    work = Work("PELL 117", jobs, on, "upper")
    with reading(engine) as session:
        return completion_chance(session, work, NOW, target, short_costs)


def risk(view: CompletionView, item: str) -> RiskView:
    (found,) = (one for one in view.risks if one.item == item)
    return found


def test_nine_findings_with_two_failures_move_the_chance_from_15_to_18_4_percent(
    garage: Engine,
) -> None:
    """Invented prior; Beta(1.5, 8.5) after 2 of 9 is 3.5/19."""
    found = risk(asked(garage, "J2"), "SEAL-COOLER-LATE")
    assert (found.inspected, found.failed) == (9, 2)
    assert found.chance == pytest.approx(3.5 / 19)
    assert found.low < found.chance < found.high
    assert found.group
    with reading(garage) as session:
        (row,) = learned(session)
    assert (row.item, row.unit, row.inspected, row.failed) == ("SEAL-COOLER-LATE", "grebe-4t", 9, 2)
    assert row.reasons == ("flat on one side", "swollen by the wrong oil")


def test_what_was_renewed_without_a_look_teaches_nothing(garage: Engine) -> None:
    before = risk(asked(garage, "J2"), "SEAL-COOLER-LATE").chance
    number = book(garage, BookingRequest("PELL 117", ["J2"], ON, "upper", again=True), NOW).number
    unseen = Found("cooler", "plate groove 1", "renewed without a look")
    record_findings(garage, number, [unseen], NOW)
    assert risk(asked(garage, "J2"), "SEAL-COOLER-LATE").chance == before
    record_findings(garage, number, [Found("cooler", "plate groove 1", "failed", "cut")], NOW)
    assert risk(asked(garage, "J2"), "SEAL-COOLER-LATE").chance == pytest.approx(4.5 / 20)


def test_the_age_of_the_car_at_the_fitting_date_moves_the_chance(garage: Engine) -> None:
    young = risk(asked(garage, "J2", on=date(2023, 1, 10)), "CLAMP-WORM-25")
    old = risk(asked(garage, "J2", on=date(2029, 6, 1)), "CLAMP-WORM-25")
    now = risk(asked(garage, "J2"), "CLAMP-WORM-25")
    assert (young.shifts, now.shifts, old.shifts) == (
        (RateShift.UNDER_2_YEARS,), (), (RateShift.OVER_8_YEARS,),
    )  # fmt: skip
    assert young.chance < now.chance < old.chance


def test_the_spares_reach_the_target_and_a_higher_target_costs_no_less(garage: Engine) -> None:
    low, high = asked(garage, "J2", target=0.6), asked(garage, "J2", target=0.97)
    assert low.reached
    assert high.reached
    assert low.without < low.chance <= high.chance
    assert low.chance >= 0.6
    assert high.chance >= 0.97
    assert [point.chance for point in high.frontier] == sorted(p.chance for p in high.frontier)


def test_what_nobody_offers_is_taken_from_the_shelf_only_and_its_chance_is_said(
    garage: Engine,
) -> None:
    view = asked(garage, "J1", target=0.999)
    clips = risk(view, "CLIP-CONNECTOR")
    assert (clips.price, clips.loss, clips.in_stock) == (None, None, 2)
    assert (view.reached, clips.spares) == (False, 2)
    assert view.estimate.unpriced == ("CLIP-CONNECTOR",)


def test_kinds_without_a_stated_chance_are_named_and_not_counted(garage: Engine) -> None:
    view = asked(garage, "J2")
    assert view.unknown == (UnknownRateView("COOLER-OIL-LATE", "oil cooler"),)
    assert all(one.item != "COOLER-OIL-LATE" for one in view.risks)


def test_the_estimate_rises_from_now_over_expected_to_the_upper_figure(garage: Engine) -> None:
    view = asked(garage, "J1", "J2")
    stated = (view.estimate.now, view.estimate.expected, view.estimate.upper)
    assert {money.currency for money in stated} == {"GBP"}
    figures = [money.minor for money in stated]
    assert figures == sorted(figures)
    assert figures[0] > 0


def test_what_a_booking_has_promised_counts_as_there(garage: Engine) -> None:
    number = book(
        garage, BookingRequest("PELL 117", ["J1", "J2"], ON, "upper", again=True), NOW
    ).number
    with reading(garage) as session:
        view = completion_chance(session, work_of_booking(session, number), NOW)
    assert risk(view, "SEAL-COOLER-LATE").in_stock == 3
    assert risk(view, "CLIP-CONNECTOR").in_stock == 2


def test_an_open_variant_says_nothing(garage: Engine) -> None:
    with (
        reading(garage) as session,
        pytest.raises(
            KittingError, match="cannot be weighed for these jobs yet: Which type of oil cooler"
        ),
    ):
        completion_chance(session, Work("PELL 042", ["J2"], ON, "upper"), NOW)


def test_findings_of_a_booking_come_from_a_list_all_or_none(garage: Engine, tmp_path: Path) -> None:
    number = book(garage, BookingRequest("PELL 117", ["J2"], ON, "upper", again=True), NOW).number
    path = tmp_path / "f.csv"
    path.write_text(
        "joint,position,found,reason\n"
        "cooler,plate groove 1,passed,\n"
        "cooler,plate groove 2,failed,cut\n"
        "cooler,clamp of the cooler hose,renewed without a look,\n"
    )
    assert load_ramp_findings(garage, number, [path], NOW) == 3
    with reading(garage) as session:
        rows = {
            row.position: (row.recorded, row.recorded_reason)
            for row in findings_view(session, number).rows
        }
    assert rows["plate groove 2"] == (FindingResult.FAILED, "cut")
    assert rows["plate groove 3"] == (None, None)
    path.write_text(
        "joint,position,found,reason\ncooler,plate groove 3,passed,\ncooler,x,failed,\n"
    )
    with pytest.raises(FileProblemsError, match="failed without a reason"):
        load_ramp_findings(garage, number, [path], NOW)
    path.write_text("joint,position,found\ncooler,plate groove 3,passed\ncooler,x,passed\n")
    with pytest.raises(
        FileProblemsError, match=r"f.csv:3: position x: .* opens no 'x' in 'cooler'"
    ):
        load_ramp_findings(garage, number, [path], NOW)
    with reading(garage) as session:
        assert findings_view(session, number).rows[-1].recorded is None
        kept = session.scalar(select(func.count()).where(Finding.position == "plate groove 3"))
    assert kept == 3


def test_earlier_findings_are_loaded_once(garage: Engine, tmp_path: Path) -> None:
    path = tmp_path / "f.csv"
    path.write_text(
        "on,unit,joint,position,item,found,reason\n"
        "2026-01-05,grebe-4t,intake,connectors,CLIP-CONNECTOR,failed,spread\n"
    )
    assert load_findings(garage, [path], dry_run=True) == 1
    assert load_findings(garage, [path]) == 1
    assert load_findings(garage, [path]) == 0
    path.write_text(
        "on,unit,joint,position,item,found\n"
        "2026-01-05,grebe-5t,intake,p,CLIP-CONECTOR,passed\n2026-13-05,a,b,c,d,looked\n"
    )
    with pytest.raises(FileProblemsError) as caught:
        load_findings(garage, [path])
    assert {problem.line for problem in caught.value.problems} == {2, 3}


FINDINGS = "on,unit,joint,position,item,found,reason\n"
CUT = "2026-01-05,grebe-4t,intake,connectors,CLIP-CONNECTOR,failed,{why}\n"


def seen(engine: Engine) -> tuple[int, int]:
    """How many connector clips were inspected, and how many of them failed."""
    with reading(engine) as session:
        return next(
            ((row.inspected, row.failed) for row in learned(session, ["CLIP-CONNECTOR"])), (0, 0)
        )


def test_two_cars_that_fail_at_one_position_on_one_day_are_two_findings(
    garage: Engine, tmp_path: Path
) -> None:
    path = tmp_path / "f.csv"
    path.write_text(FINDINGS + CUT.format(why="car one") + CUT.format(why="car two"))
    assert load_findings(garage, [path]) == 2
    assert seen(garage) == (2, 2)
    assert load_findings(garage, [path]) == 0
    assert seen(garage) == (2, 2)


def test_rows_that_say_the_same_count_as_often_as_a_list_says_it(
    lite_garage: Engine, tmp_path: Path
) -> None:
    path = tmp_path / "f.csv"
    path.write_text(FINDINGS + CUT.format(why="spread") * 2)
    assert load_findings(lite_garage, [path, path]) == 2
    path.write_text(FINDINGS + CUT.format(why="spread") * 3)
    assert load_findings(lite_garage, [path]) == 1
    assert seen(lite_garage) == (3, 3)


def test_a_second_list_adds_what_the_first_did_not_say(lite_garage: Engine, tmp_path: Path) -> None:
    one, two = tmp_path / "1.csv", tmp_path / "2.csv"
    one.write_text(FINDINGS + CUT.format(why="spread"))
    two.write_text(FINDINGS + CUT.format(why="spread") + CUT.format(why="broken"))
    assert load_findings(lite_garage, [one, two]) == 2
    assert seen(lite_garage) == (2, 2)


def test_levels_follow_from_use_and_a_budget_buys_no_more_than_it_is(garage: Engine) -> None:
    with reading(garage) as session, pytest.raises(KittingError, match="has used nothing"):
        stock_levels(session, "upper", NOW)
    pick(garage, "B0001", NOW)
    later = datetime(2026, 4, 20, 9, 0)  # noqa: DTZ001
    with reading(garage) as session:
        view = stock_levels(session, "upper", later, 0.95)
        small = stock_levels(session, "upper", later, budget=Money(100, "GBP"))
    assert view.chance >= 0.95
    levels = {line.item: line.level for line in view.lines}
    assert levels["SEAL-INTAKE"] % 4 == 0
    assert small.value.minor <= 100
    assert small.chance < view.chance
    assert {line.item: line.level for line in small.lines} != levels
    assert view.unpriced == ("CLIP-CONNECTOR",)
    assert view.pooled is None
    assert view.replay is not None
    assert (view.replay.jobs, view.replay.scrapped) == (1, 0)
    assert replay(view.replay) == (
        f"Played against the past: {view.replay.complete} of 1 job would have found all they took,"
        f" {view.replay.tied_up} on the shelf on an average day, 0 pieces scrapped for age"
        f" (orders every day, {view.replay.lead_days} working days to come)"
    )


@pytest.mark.parametrize(("months", "refused"), [(11, True), (12, False)])
def test_a_part_that_is_used_once_a_year_has_to_keep_a_year_to_be_stocked(
    garage: Engine, months: int, refused: bool
) -> None:
    pick(garage, "B0001", NOW)
    with garage.begin() as connection:
        connection.execute(
            update(Item).where(Item.code == "SEAL-INTAKE").values(shelf_life_months=months)
        )
    later = datetime(2026, 4, 20, 9, 0)  # noqa: DTZ001
    with reading(garage) as session:
        view = stock_levels(session, "upper", later, 0.95)
    assert {line.yearly for line in view.lines} == {1.0}
    assert ("SEAL-INTAKE" in {one.item for one in view.refused}) is refused


def test_levels_count_only_what_is_certain_to_be_fit_for_use(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each")
    # Good; expired; nobody knows how old; on hold.
    stock(
        store, tmp_path, "yard,RING,A,5 each,1Q25", "yard,RING,OLD,7 each,,2026-01-31",
        "yard,RING,UNDATED,11 each", "yard,RING,HELD,13 each,1Q25,,,seen damaged",
    )  # fmt: skip
    booked(store, "X1")
    pick(store, "B0001", NOW)
    later = datetime(2026, 4, 20, 9, 0)  # noqa: DTZ001
    with reading(store) as session:
        (line,) = stock_levels(session, "yard", later, 0.95).lines
    assert (line.item, line.on_hand) == ("RING", 4)


def test_further_work_counts_what_is_renewed_at_a_later_opening(lite: Engine) -> None:
    """Opened twice, and may go back once: looked at first, new the second time."""
    load(
        lite,
        unit(
            "      - {code: a, name: A, system: engine, fits: [{item: BOLT, position: a}]}\n"
            "      - {code: b, name: B, system: engine,"
            " fits: [{item: BOLT, position: b, quantity: 2 each, refit_limit: 1}]}",
            "      - {code: S1, name: one, hours: 1 h, opens: [a]}\n"
            "      - {code: S2, name: two, hours: 1 h, opens: [{joint: b, times: 2}]}",
            "      - {code: X1, name: one, needs: [S1]}\n"
            "      - {code: X2, name: two, needs: [S2]}",
        ),
    )
    with reading(lite) as session:
        (more,) = meanwhile(session, PlanRequest("PELL 001", ("X1",), ON)).additions
    assert (more.code, more.parts_added, more.items_added) == ("X2", 2000, ("BOLT",))


def test_further_work_is_weighed_against_coming_back_and_remembered_when_declined(
    garage: Engine,
) -> None:
    """c/(c+R): parts and added hours now against the hours of coming back; invented prices."""
    with reading(garage) as session:
        view = meanwhile(session, PlanRequest("PELL 117", ("J1",), ON), Money(6000, "GBP"))
    (cooler,) = (a for a in view.additions if a.code == "J2")
    now, back = cooler.cost_now, cooler.cost_back
    assert now is not None
    assert back == Money(39 * 60 * 10, "GBP")  # 3.9 h at £60
    assert cooler.worth_above == pytest.approx(now.minor / (now.minor + back.minor))
    (lines,) = (a for a in view.additions if a.code == "J6")
    assert (lines.worth_above, lines.unpriced) == (None, ("CLIP-LINE",))
    assert decline(garage, "PELL 117", "J2", ON, "after the holidays") == "J2 oil cooler reseal"
    with reading(garage) as session:
        again = meanwhile(session, PlanRequest("PELL 117", ("J1",), ON))
    (cooler,) = (a for a in again.additions if a.code == "J2")
    assert cooler.declined == DeclinedView(ON, "after the holidays")
    assert cooler.cost_now is None


def test_what_being_short_costs_tells_when_one_spare_is_worth_bringing(garage: Engine) -> None:
    """p > loss/(loss + cost of being short): £2.47 of a £16.50 hose at 15 % against £180."""
    view = asked(garage, "J1", short_costs=Money(18_000, "GBP"))
    hose = risk(view, "HOSE-HEATER")
    assert hose.loss == Money(247, "GBP")
    assert hose.worth_above == pytest.approx(247 / (247 + 18_000))
    assert hose.any_fails == pytest.approx(0.12)
    assert risk(view, "CLIP-CONNECTOR").worth_above is None
    assert all(one.worth_above is None for one in asked(garage, "J1").risks)


def test_the_spread_is_that_of_the_chance_on_this_car_and_place(garage: Engine) -> None:
    hot = risk(asked(garage, "J4"), "NUT-SHIELD-M6")
    assert hot.shifts == (RateShift.HOT_SIDE,)
    assert hot.low < hot.chance < hot.high
    assert hot.chance == pytest.approx(1 / (1 + (0.7 / 0.3) * 2.718281828**-0.9), rel=1e-6)


def test_what_was_learned_of_an_unknown_item_is_no_empty_table(lite_garage: Engine) -> None:
    with reading(lite_garage) as session, pytest.raises(UnknownNameError, match="item 'SEAL-COOLER-LAET': unknown name"):  # fmt: skip
        learned(session, ["SEAL-COOLER-LAET"])
