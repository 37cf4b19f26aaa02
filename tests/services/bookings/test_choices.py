"""What the customer chooses is settled for each booking anew, and kept with it. All invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import Engine, select

from helpers import NOW, ON, SUPPLY, load, needed, planned, unit
from kitting.actions import Action
from kitting.errors import FileProblemsError, KittingError, UnknownNameError
from kitting.facts.plan_reasons import VariantReason
from kitting.facts.verdicts import Verdict
from kitting.services.advice.completion import completion_chance
from kitting.services.advice.weighed_case import Work
from kitting.services.bookings.booking import BookingRequest, book, renew_promises
from kitting.services.bookings.change import Change
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.planning.variants import settle_variant
from kitting.services.purchasing.booking_change import make_change
from kitting.services.purchasing.purchase_unbooked import buy_unbooked
from kitting.services.purchasing.safe_dates import CarRequest, dates_unbooked
from kitting.store import reading
from kitting.tables.bookings import BookingChoice
from kitting.views.bookings import BookingView, ChosenView

ITEMS = """
  - {code: PAD, name: Pad, kind: brake-pad}
  - {code: PAD-LONG, name: Long-life pad, kind: brake-pad}
  - {code: SHIM, name: Shim, kind: circlip}
"""
SPLIT = """
      {code: pads, question: "Which pads does the customer want?", check: "Long-life costs more.",
        settled_by: customer, options: [
          {code: plain, name: as fitted}, {code: long, name: long-life pads}]}
"""
JOINTS = """
      - code: caliper
        name: caliper
        system: brakes
        fits:
          - {item: PAD, position: pads, quantity: 2 each, option: pads/plain}
          - {item: PAD-LONG, position: pads, quantity: 2 each, option: pads/long}
      - code: carrier
        name: carrier
        system: brakes
        fits:
          - {item: SHIM, position: shim}
"""
STEPS = """
      - {code: C1, name: caliper off, hours: 0.5 h, opens: [caliper]}
      - {code: C2, name: carrier off, hours: 0.2 h, opens: [carrier], option: pads/long}
"""
JOBS = """
      - code: PADS
        name: pads
        needs: [C1, C2]
        renews: [{kind: brake-pad}]
        services:
          - {name: bed the pads in, timing: before it is handed over, option: pads/long}
"""
TEXT = unit(JOINTS, STEPS, JOBS, ITEMS, SPLIT) + SUPPLY
CAR = "PELL 001"


def booked(engine: Engine, **chosen: str) -> BookingView:
    return book(engine, BookingRequest(CAR, ("PADS",), ON, "yard", chosen=chosen), NOW)


def test_a_plan_waits_for_the_choice_and_says_who_makes_it(store: Engine) -> None:
    load(store, TEXT)
    view = planned(store, CAR, "PADS")
    (split,) = view.unresolved
    assert (split.settled_by, split.why_open.code) == ("customer", VariantReason.NOT_CHOSEN)
    assert view.verdict is Verdict.STOPPED
    long = planned(store, CAR, "PADS", assumed={"pads": "long"})
    assert sorted(line.item for line in long.lines) == ["PAD-LONG", "SHIM"]
    assert [service.name for service in long.services] == ["bed the pads in"]


def test_a_booking_keeps_what_was_chosen_and_is_planned_by_it(store: Engine) -> None:
    load(store, TEXT)
    view = booked(store, pads="long")
    assert view.chosen == (ChosenView("pads", "long", "long-life pads"),)
    assert {need.item for need in view.needs} == {"PAD-LONG", "SHIM"}
    with reading(store) as session:
        now = plan_of(session, find_booking(session, view.number))
    assert sorted(line.item for line in now.lines) == ["PAD-LONG", "SHIM"]
    assert needed(renew_promises(store, view.number), "PAD-LONG").short == 2000


def test_a_booking_without_the_choice_is_refused_with_what_there_is_to_choose(
    store: Engine,
) -> None:
    load(store, TEXT)
    with pytest.raises(KittingError) as caught:
        booked(store)
    assert str(caught.value) == (
        "PELL 001 cannot be booked for these jobs before the customer has chosen: Which pads does"
        " the customer want? Long-life costs more. pads: plain (as fitted), long (long-life pads)"
    )
    assert [step.action for step in caught.value.then] == [Action.CHOOSE_ONE]


@pytest.mark.parametrize(
    ("chosen", "message"),
    [
        ({"pads": "best"}, "variant 'pads' has no option 'best'. Its options: plain, long"),
        ({"pad": "long"}, "no variant 'pad' for PELL 001. Known for this car: pads"),
    ],
)
def test_a_choice_that_is_not_offered_is_refused_by_name(
    store: Engine, chosen: dict[str, str], message: str
) -> None:
    load(store, TEXT)
    with pytest.raises(UnknownNameError) as caught:
        booked(store, **chosen)
    assert str(caught.value) == message


def test_a_variant_of_the_car_is_nothing_to_choose_and_a_choice_is_nothing_to_see(
    store: Engine,
) -> None:
    load(store, TEXT)
    with pytest.raises(KittingError, match="pads is what the customer chooses") as caught:
        settle_variant(store, CAR, "pads", "long")
    assert [step.action for step in caught.value.then] == [Action.CHOOSE]
    load(store, TEXT.replace("settled_by: customer, ", ""))
    with pytest.raises(KittingError, match="pads is not for the customer to choose") as caught:
        booked(store, pads="long")
    assert [step.action for step in caught.value.then] == [Action.SETTLE_VARIANT]


def test_the_next_booking_of_the_car_is_asked_anew(store: Engine) -> None:
    load(store, TEXT)
    booked(store, pads="long")
    with pytest.raises(KittingError, match="before the customer has chosen"):
        book(store, BookingRequest(CAR, ("PADS",), ON, "yard", again=True), NOW)


def test_another_choice_changes_the_kit_of_a_booking(store: Engine) -> None:
    load(store, TEXT)
    number = booked(store, pads="long").number
    make_change(store, number, Change(chosen={"pads": "plain"}), NOW)
    with reading(store) as session:
        view = booking_view(session, find_booking(session, number))
        kept = session.scalars(select(BookingChoice.booking_id)).all()
    assert ({need.item for need in view.needs}, len(kept)) == ({"PAD"}, 1)
    assert view.chosen == (ChosenView("pads", "plain", "as fitted"),)


def test_a_choice_that_a_new_catalogue_offers_has_to_be_made_for_old_bookings(
    store: Engine,
) -> None:
    load(store, TEXT.replace("settled_by: customer, ", ""))
    settle_variant(store, CAR, "pads", "plain")
    number = book(store, BookingRequest(CAR, ("PADS",), ON, "yard"), NOW).number
    load(store, TEXT)
    with pytest.raises(KittingError, match="before the customer has chosen: Which pads") as caught:
        renew_promises(store, number)
    (step,) = caught.value.then
    assert (step.action, dict(step.values)["booking"]) == (Action.CHANGE_CHOICE, number)
    make_change(store, number, Change(chosen={"pads": "long"}), NOW)
    with reading(store) as session:
        view = booking_view(session, find_booking(session, number))
    assert {need.item for need in view.needs} == {"PAD-LONG", "SHIM"}


def test_dates_purchases_and_chances_before_a_booking_take_the_choice(store: Engine) -> None:
    load(store, TEXT)
    asked = CarRequest(CAR, ("PADS",), "yard", ON, chosen={"pads": "long"})
    with reading(store) as session:
        bought = buy_unbooked(session, asked, NOW)
        days = dates_unbooked(session, asked, NOW)
        sure = completion_chance(
            session, Work(CAR, ("PADS",), ON, "yard", chosen={"pads": "long"}), NOW
        )
        for ask in (buy_unbooked, dates_unbooked):
            with pytest.raises(KittingError, match="before the customer has chosen"):
                ask(session, replace(asked, chosen={}), NOW)
    assert days.dates
    assert bought.jobs == ("PADS",)
    assert 0 <= sure.chance <= 1
    with reading(store) as session:
        assert session.scalars(select(BookingChoice.booking_id)).all() == []


def test_what_the_customer_chooses_hangs_on_nothing_of_the_car(store: Engine) -> None:
    with pytest.raises(FileProblemsError) as caught:
        load(store, TEXT.replace("name: as fitted}", "name: as fitted, equipment: abs}"))
    assert "option plain has 'equipment', and the customer settles it" in str(caught.value)


def test_a_file_settles_for_no_car_what_its_customer_chooses(store: Engine) -> None:
    settled = TEXT.replace("build_date: 2021-03-14", "settled: {grebe/pads: long}")
    with pytest.raises(FileProblemsError) as caught:
        load(store, settled)
    assert "vehicle PELL 001: grebe/pads is what the customer chooses" in str(caught.value)
    load(store, TEXT)
    cars = "models" + settled.split("models", 1)[1].split("branches", 1)[0]
    with pytest.raises(FileProblemsError, match="is what the customer chooses"):
        load(store, cars)


def test_what_was_chosen_counts_no_more_once_a_look_at_the_car_settles_it(store: Engine) -> None:
    load(store, TEXT)
    number = booked(store, pads="plain").number
    load(store, TEXT.replace("settled_by: customer, ", ""))
    settle_variant(store, CAR, "pads", "long")
    renew_promises(store, number, NOW.date())
    with reading(store) as session:
        view = booking_view(session, find_booking(session, number))
    assert view.chosen == ()
    assert {need.item for need in view.needs} == {"PAD-LONG", "SHIM"}


def of_unit(code: str) -> str:
    """The unit of TEXT by another code, its steps and jobs too."""
    text = TEXT.partition("units:")[2].partition("models:")[0]
    for old, new in (("grebe", code), ("C1", f"{code}1"), ("C2", f"{code}2"), ("PADS", f"P{code}")):
        text = text.replace(old, new)
    return text


def test_choices_of_two_units_are_told_with_their_units(store: Engine) -> None:
    items, _, rest = TEXT.partition("units:")
    cars = "models:" + rest.partition("models:")[2].replace("[grebe]", "[f, r]")
    load(store, f"{items}units:{of_unit('f')}{of_unit('r')}{cars}")
    jobs = ("Pf", "Pr")
    view = planned(store, CAR, *jobs)
    assert [one.split for one in view.unresolved] == ["f/pads", "r/pads"]
    request = BookingRequest(CAR, jobs, ON, "yard")
    with pytest.raises(KittingError, match="f/pads: plain") as caught:
        book(store, request, NOW)
    assert [dict(step.values)["variant"] for step in caught.value.then] == ["f/pads", "r/pads"]
    with pytest.raises(UnknownNameError, match=r"more than one unit\. Say f/pads or r/pads$"):
        book(store, replace(request, chosen={"pads": "long"}), NOW)
    chosen = {"f/pads": "long", "r/pads": "plain"}
    assert book(store, replace(request, chosen=chosen), NOW).chosen == (
        ChosenView("f/pads", "long", "long-life pads"),
        ChosenView("r/pads", "plain", "as fitted"),
    )
