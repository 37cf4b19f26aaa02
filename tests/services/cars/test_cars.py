"""Cars told at the garage: added, completed, noted; a catalogue file loaded later does not undo it."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import Engine, delete, func, select, update
from sqlalchemy.exc import DBAPIError

from helpers import NOW, load, said
from kitting.errors import FigureError, KittingError, StoreError, UnknownNameError
from kitting.facts.car_facts import CarFact
from kitting.facts.conditions import ConditionReason
from kitting.facts.plan_reasons import VariantReason
from kitting.services.cars.add import Added, CarEntry, add_car
from kitting.services.cars.notes import note_car
from kitting.services.cars.view import car_view
from kitting.services.planning.jobs import list_cars
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.store import reading
from kitting.tables.cars import CarNote, CarTold
from kitting.views.cars import CarView, EquipmentView

VIN = "1M8GDM9AXKP042788"  # of tests/outside/data/vin.csv
CATALOGUE = """
items:
  - {code: RING-A, name: Ring, kind: o-ring, elastomer: FKM}
  - {code: RING-B, name: Ring, kind: o-ring, elastomer: FKM}
units:
  - code: grebe
    name: Grebe
    splits:
      - code: pump
        question: Which pump?
        check: Look at the pump.
        options:
          - {code: plain, name: plain, without: tow-bar}
          - {code: strong, name: strong, equipment: tow-bar}
      - code: cooler
        question: Which cooler?
        check: Look at the cooler.
        options:
          - {code: early, name: early, built_before: 2019-01-01}
          - {code: late, name: late, built_from: 2019-01-01}
    joints:
      - code: lid
        name: lid
        system: engine
        fits:
          - {item: RING-A, position: lid, option: pump/plain}
          - {item: RING-B, position: lid, option: pump/strong}
    steps: [{code: S1, name: lid off, hours: 1 h, opens: [lid]}]
    jobs: [{code: X1, name: lid, needs: [S1]}]
  - {code: other, name: Other}
models:
  - {code: pell, name: Ulvander Pell, units: [grebe]}
"""


@pytest.fixture
def shop(lite: Engine) -> Engine:
    """A model whose variants hang on its build date and on a tow bar; no car."""
    load(lite, CATALOGUE)
    return lite


def told(engine: Engine, at: datetime = NOW, **facts: object) -> Added:
    return add_car(engine, CarEntry("NEW 1", told_by="Ann", **facts), at)  # type: ignore[arg-type]


def car(engine: Engine, registration: str = "new1") -> CarView:
    with reading(engine) as session:
        return car_view(session, registration)


def test_a_new_car_tells_what_is_unknown_and_what_that_leaves_open(shop: Engine) -> None:
    done = told(shop, model="pell")
    view = done.car
    assert (done.new, done.changed, view.registration, view.model) == (
        True, True, "NEW 1", "Ulvander Pell",
    )  # fmt: skip
    assert (view.vin, view.build_date, view.units) == (None, None, ("grebe",))
    assert view.equipment == (EquipmentView("tow-bar", None),)
    assert (view.unknown, view.build_date_decides) == (("tow-bar",), True)
    assert [(one.variant, one.why.code) for one in view.open] == [
        ("grebe/pump", VariantReason.NOT_KNOWN), ("grebe/cooler", VariantReason.NOT_KNOWN),
    ]  # fmt: skip
    assert said([view.open[0].why]) == ["whether the car has tow-bar is not known"]
    assert dict(view.open[1].why.values)["missing"][0].code is ConditionReason.BUILD_DATE_UNKNOWN
    with reading(shop) as session:
        planned = plan(session, PlanRequest("NEW 1", ("X1",), date(2026, 4, 15)))
    assert [one.split for one in planned.unresolved] == ["pump"]


def test_what_is_told_later_settles_what_was_open(shop: Engine) -> None:
    told(shop, model="pell")
    view = told(shop, build_date=date(2020, 5, 1), equipment={"tow-bar": True}).car
    assert (view.open, view.unknown, view.build_date_decides) == ((), (), False)
    assert view.equipment == (EquipmentView("tow-bar", True),)
    assert [(one.fact, one.code, one.value) for one in view.told] == [
        (CarFact.MODEL, None, "pell"), (CarFact.BUILD_DATE, None, "2020-05-01"),
        (CarFact.EQUIPMENT, "tow-bar", "yes"),
    ]  # fmt: skip
    assert not told(shop, equipment={"tow-bar": True}).changed


def test_what_contradicts_what_is_known_is_refused_and_corrected_only_with_a_reason(
    shop: Engine,
) -> None:
    told(shop, model="pell", build_date=date(2020, 5, 1), equipment={"tow-bar": True})
    otherwise = {"build_date": date(2018, 1, 1), "equipment": {"tow-bar": False}}
    with pytest.raises(
        KittingError,
        match="build date is known as 2020-05-01, told is 2018-01-01; tow-bar is known as yes",
    ):
        told(shop, **otherwise)
    with pytest.raises(KittingError, match="a reason is required"):
        told(shop, **otherwise, correct=" ")
    assert car(shop).build_date == date(2020, 5, 1)
    told(shop, **otherwise, correct="plate misread", at=NOW + timedelta(days=1))
    view = car(shop)
    assert (view.build_date, view.equipment) == (
        date(2018, 1, 1), (EquipmentView("tow-bar", False),),
    )  # fmt: skip
    assert [one.why for one in view.told][-2:] == ["plate misread", "plate misread"]


@pytest.mark.parametrize(
    ("facts", "error", "match"),
    [
        ({}, KittingError, "NEW 1 is not known yet: name its model"),
        ({"model": "pel"}, UnknownNameError, "model 'pel': unknown name. Did you mean pell"),
        ({"model": "pell", "units": ["greb"]}, UnknownNameError, "Did you mean grebe"),
        ({"model": "pell", "equipment": {"towbar": True}}, UnknownNameError, "mean tow-bar"),
        ({"model": "pell", "vin": "1M8GDM9A1KP042788"}, FigureError, "position 9"),
        ({"model": "pell", "vin": "SHORT"}, FigureError, "it must have 17"),
        (
            {"model": "pell", "build_date": NOW.date() + timedelta(days=1)},
            KittingError,
            "NEW 1: 2026-04-03 is still to come; say when it was built",
        ),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(
    shop: Engine, facts: dict[str, object], error: type[KittingError], match: str
) -> None:
    with pytest.raises(error, match=match):
        told(shop, **facts)
    with reading(shop) as session:
        assert list_cars(session) == ()


@pytest.mark.parametrize("registration", ["", " - ", "X" * 21, "A\x1b[2J"])
def test_what_is_no_registration_is_refused(shop: Engine, registration: str) -> None:
    with pytest.raises(KittingError, match="is no registration"):
        add_car(shop, CarEntry(registration, model="pell"), NOW)


def test_a_vin_belongs_to_one_car(shop: Engine) -> None:
    told(shop, model="pell", vin="1m8gdm9a xkp042788")
    assert car(shop).vin == VIN
    with pytest.raises(KittingError, match="NEW 2: NEW 1 has VIN 1M8GDM9AXKP042788 already"):
        add_car(shop, CarEntry("NEW 2", model="pell", vin=VIN), NOW)
    with pytest.raises(StoreError, match="vehicle NEW 3: NEW 1 has VIN"):
        load(shop, f"vehicles: [{{registration: NEW 3, model: pell, vin: {VIN}}}]")


def test_a_file_that_does_not_state_what_was_told_leaves_it(store: Engine) -> None:
    """Loaded twice, on either engine: VIN, build date, units and equipment stay."""
    load(store, CATALOGUE)
    told(
        store, model="pell", vin=VIN, build_date=date(2020, 5, 1), equipment={"tow-bar": True},
        units=["grebe", "other"],
    )  # fmt: skip
    before = car(store)
    for _ in range(2):
        report = load(store, CATALOGUE + "vehicles: [{registration: NEW1, model: pell}]")
        assert report.remarks == ()
    after = car(store)
    assert (after.vin, after.build_date, after.units, after.equipment) == (
        before.vin, before.build_date, ("grebe", "other"), before.equipment,
    )  # fmt: skip


def test_a_file_that_states_it_otherwise_holds_and_both_words_are_named(shop: Engine) -> None:
    told(shop, model="pell", build_date=date(2020, 5, 1), equipment={"tow-bar": True})
    file = """
vehicles:
  - {registration: NEW 1, model: pell, build_date: 2018-02-03, equipment: {tow-bar: false, roof: true}}
"""
    assert said(load(shop, file).remarks) == [
        "NEW 1: the file states build date 2018-02-03, told at the garage was 2020-05-01. The file's"
        " word holds now: look at the car, and put right what is wrong",
        "NEW 1: the file states tow-bar no, told at the garage was yes. The file's word holds now:"
        " look at the car, and put right what is wrong",
    ]
    view = car(shop)
    assert view.build_date == date(2018, 2, 3)
    assert view.equipment == (EquipmentView("roof", True), EquipmentView("tow-bar", False))
    # Told as the file has it, nothing contradicts any more.
    told(shop, at=NOW + timedelta(days=1), correct="seen", build_date=date(2018, 2, 4))
    assert car(shop).build_date == date(2018, 2, 4)
    remarks = said(load(shop, file.replace("2018-02-03", "2018-02-04")).remarks)
    assert [text for text in remarks if "build date" in text] == []


def test_a_dry_run_keeps_nothing(shop: Engine) -> None:
    view = add_car(shop, CarEntry("NEW 1", model="pell"), NOW, dry_run=True)
    assert view.car.registration == "NEW 1"
    with reading(shop) as session:
        assert list_cars(session) == ()


def test_notes_are_signed_dated_and_never_altered(store: Engine) -> None:
    load(store, CATALOGUE)
    told(store, model="pell")
    note_car(store, "new1", "thread repaired", "Ann", NOW)
    note_car(store, "new1", "noise when cold", "Ben", NOW + timedelta(days=2))
    assert [(one.told_by, one.text) for one in car(store).notes] == [
        ("Ann", "thread repaired"), ("Ben", "noise when cold"),
    ]  # fmt: skip
    for change in (update(CarNote).values(text="x"), delete(CarNote), delete(CarTold)):
        with pytest.raises(DBAPIError, match="never altered"), store.begin() as connection:
            connection.execute(change)
    with reading(store) as session:
        assert session.scalar(select(func.count()).select_from(CarNote)) == 2


@pytest.mark.parametrize(
    ("text", "by", "match"),
    [(" ", "Ann", "needs its words"), ("x", " ", "who says so"), ("a\x1bb", "Ann", "U\\+001B")],
)
def test_a_note_without_words_or_name_is_refused(
    shop: Engine, text: str, by: str, match: str
) -> None:
    told(shop, model="pell")
    with pytest.raises(KittingError, match=match):
        note_car(shop, "NEW 1", text, by, NOW)
