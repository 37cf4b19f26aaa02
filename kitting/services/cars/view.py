"""A car as it is known: facts, what they leave open, notes, bookings, what was fitted."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import BindParameter, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.planning.variants import Open, settle
from kitting.facts.conditions import BuildDate, Equipment
from kitting.facts.vin import check_digit_missing
from kitting.facts.weights import CarWeight
from kitting.facts.words import RefitOutcome
from kitting.services.planning.facts import Car
from kitting.services.planning.read_car import read_car
from kitting.tables.bookings import Booking, BookingJob, Promise
from kitting.tables.cars import CarNote, CarTold
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch
from kitting.tables.units import Joint, Unit
from kitting.tables.vehicles import Refit, Removal, Vehicle
from kitting.views.cars import (
    CarBookingView,
    CarView,
    EquipmentView,
    FittedView,
    NoteView,
    OpenVariantView,
    PositionHistoryView,
    ToldView,
)

_CAR: BindParameter[Any] = bindparam("car")
_WEIGHT = select(Vehicle.weight, Vehicle.weight_is).where(Vehicle.id == _CAR)
_NOTES = (
    select(CarNote.at, CarNote.told_by, CarNote.text)
    .where(CarNote.vehicle_id == _CAR)
    .order_by(CarNote.id)
)
_TOLD = (
    select(
        CarTold.at, CarTold.told_by, CarTold.fact, CarTold.code, CarTold.value, CarTold.why
    )
    .where(CarTold.vehicle_id == _CAR)
    .order_by(CarTold.id)
)  # fmt: skip
_BOOKINGS = (
    select(Booking.id, Booking.number, Branch.code, Booking.fit_on, Booking.state)
    .join(Branch, Booking.branch_id == Branch.id)
    .where(Booking.vehicle_id == _CAR)
    .order_by(Booking.id)
)
_JOBS = (
    select(BookingJob.booking_id, BookingJob.name)
    .join(Booking, BookingJob.booking_id == Booking.id)
    .where(Booking.vehicle_id == _CAR)
    .order_by(BookingJob.booking_id, BookingJob.seq)
)
_FITTED = (
    select(
        Booking.number, Booking.fit_on, Item.code, ITEM_NAME, Lot.code.label("lot"), Item.unit,
        Promise.used,
    )
    .join(Booking, Promise.booking_id == Booking.id)
    .join(Item, Promise.item_id == Item.id)
    .join(Lot, Promise.lot_id == Lot.id)
    .where(Booking.vehicle_id == _CAR, Promise.used > 0)
    .order_by(Booking.id, Item.code, Lot.code)
)  # fmt: skip
_EARLIER: Any = (
    select(Removal.on_date, Unit.code.label("unit"), Joint.code, Removal.position, Removal.outcome)
    .join(Joint, Removal.joint_id == Joint.id)
    .join(Unit, Joint.unit_id == Unit.id)
    .where(Removal.vehicle_id == _CAR)
    .order_by(Removal.on_date, Unit.code, Joint.code, Removal.position)
)
_CLOSED: Any = (
    select(
        Refit.on_date, Unit.code.label("unit"), Joint.code, Refit.position, Refit.outcome,
        Refit.booking,
    )
    .join(Joint, Refit.joint_id == Joint.id)
    .join(Unit, Joint.unit_id == Unit.id)
    .where(Refit.vehicle_id == _CAR)
    .order_by(Refit.on_date, Refit.booking, Refit.correction, Unit.code, Joint.code, Refit.position)
)  # fmt: skip


def car_view(session: Session, registration: str) -> CarView:
    """A car as it is known; raises UnknownNameError. Bookings are those that the login may see."""
    car = read_car(session, registration, date.max)
    asked = {"car": car.key}
    jobs: dict[int, list[str]] = {}
    for booking, name in session.execute(_JOBS, asked):
        jobs.setdefault(booking, []).append(name)
    open_variants = tuple(_open(car))
    return CarView(
        registration=car.registration,
        model=car.model,
        vin=car.vin,
        check_digit=None if car.vin is None else check_digit_missing(car.vin),
        build_date=car.build_date,
        weight=_weight(session, car.key),
        units=tuple(unit.code for unit in car.units),
        equipment=equipment_of(car),
        build_date_decides=car.build_date is None and _asks_build_date(car),
        open=open_variants,
        told=tuple(ToldView(*row) for row in session.execute(_TOLD, asked)),
        notes=tuple(NoteView(*row) for row in session.execute(_NOTES, asked)),
        bookings=tuple(
            CarBookingView(number, branch, tuple(jobs.get(key, ())), fit_on, state)
            for key, number, branch, fit_on, state in session.execute(_BOOKINGS, asked)
        ),
        fitted=tuple(FittedView(*row) for row in session.execute(_FITTED, asked)),
        positions=_positions(session, car.key),
    )


def _weight(session: Session, car: int) -> CarWeight | None:
    weight, of = session.execute(_WEIGHT, {"car": car}).one()
    return None if weight is None or of is None else CarWeight(weight, of)


def _open(car: Car) -> list[OpenVariantView]:
    found = []
    for split in car.splits:
        settled = settle(split, car.facts)
        if isinstance(settled, Open):
            name = f"{car.unit(split.unit).code}/{split.code}"
            found.append(OpenVariantView(name, split.question, split.check, settled.because))
    return found


def _conditions(car: Car) -> list[Any]:
    """The conditions that options of the variants that are open ask of a car."""
    return [
        condition
        for split in car.splits
        if isinstance(settle(split, car.facts), Open)
        for option in split.options
        for condition in option.conditions
    ]


def equipment_of(car: Car) -> tuple[EquipmentView, ...]:
    """What it is known to have or not, and what variants that are open depend on beside."""
    asked = {one.code for one in _conditions(car) if isinstance(one, Equipment)}
    known = car.facts.equipment
    return tuple(EquipmentView(code, known.get(code)) for code in sorted({*known, *asked}))


def _asks_build_date(car: Car) -> bool:
    return any(isinstance(one, BuildDate) for one in _conditions(car))


def _positions(session: Session, car: int) -> tuple[PositionHistoryView, ...]:
    """What became of its positions, the earliest first; a correction after what it corrects."""
    earlier = [
        PositionHistoryView(on, None, f"{unit}/{joint}", position, RefitOutcome(outcome))
        for on, unit, joint, position, outcome in session.execute(_EARLIER, {"car": car})
    ]
    closed = [
        PositionHistoryView(on, booking, f"{unit}/{joint}", position, RefitOutcome(outcome))
        for on, unit, joint, position, outcome, booking in session.execute(_CLOSED, {"car": car})
    ]
    return tuple(sorted((*earlier, *closed), key=lambda one: one.on))
