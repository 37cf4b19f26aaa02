"""What a booking has settled of its kit: what stands for what, and what did not pass."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from sqlalchemy import (
    BindParameter,
    String,
    bindparam,
    case,
    null,
    select,
    type_coerce,
    union_all,
)
from sqlalchemy.orm import Session, aliased

from kitting.facts.words import FindingResult, NeedRule, SettledBy
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.stand_ins import KitRecord
from kitting.tables.bookings import (
    Booking,
    BookingChoice,
    BookingJob,
    BookingStandIn,
    Finding,
    SealCount,
)
from kitting.tables.units import Split, SplitOption, Unit
from kitting.tables.vehicles import ModelUnit, Vehicle, VehicleUnit
from kitting.views.bookings import BookingView, ChosenView
from kitting.views.plan import PlanView

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
# What stands for what, what failed, and which joints somebody looked into, in one statement.
_RECORDED: Any = union_all(
    select(
        BookingStandIn.booking_id, BookingStandIn.asked_id, BookingStandIn.item_id,
        type_coerce(BookingStandIn.rule, String).label("word"), null().label("joint"),
        null().label("position"), null().label("failed"),
    ).where(BookingStandIn.booking_id.in_(_KEYS)),
    select(
        Finding.booking_id, null(), null(), Finding.found, Finding.joint, Finding.position,
        Finding.failed,
    ).where(Finding.booking_id.in_(_KEYS)),
    select(
        SealCount.booking_id, null(), null(), null(), SealCount.joint, null(), null()
    ).where(SealCount.booking_id.in_(_KEYS)),
    select(
        BookingChoice.booking_id, BookingChoice.split_id, BookingChoice.option_id, null(), null(),
        null(), null(),
    ).where(BookingChoice.booking_id.in_(_KEYS)),
)  # fmt: skip
_other = aliased(Split)
_ON_CAR = union_all(
    select(ModelUnit.unit_id).where(ModelUnit.model_id == Vehicle.model_id).correlate(Vehicle),
    select(VehicleUnit.unit_id).where(VehicleUnit.vehicle_id == Vehicle.id).correlate(Vehicle),
)
_ALIKE = select(_other.id).where(
    _other.unit_id.in_(_ON_CAR), _other.code == Split.code, _other.id != Split.id
)
# The jobs of bookings in order, and what their customers chose, with the unit where another of the
# car has a split of that code.
_ASKED: Any = union_all(
    select(
        BookingJob.booking_id, BookingJob.seq, BookingJob.name, null().label("split"),
        null().label("option"), null().label("unit"), null().label("settled_by"),
    ).where(BookingJob.booking_id.in_(_KEYS)),
    select(
        BookingChoice.booking_id, BookingChoice.split_id, SplitOption.name, Split.code,
        SplitOption.code,
        case((_ALIKE.correlate(Split, Vehicle).exists(), Unit.code)),
        type_coerce(Split.settled_by, String),
    )
    .join(Split, BookingChoice.split_id == Split.id)
    .join(SplitOption, BookingChoice.option_id == SplitOption.id)
    .join(Unit, Split.unit_id == Unit.id)
    .join(Booking, BookingChoice.booking_id == Booking.id)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .where(BookingChoice.booking_id.in_(_KEYS)),
)  # fmt: skip
_NUMBERS = select(Booking.id, Booking.number).where(
    Booking.number.in_(bindparam("numbers", expanding=True))
)
_CAR = select(Vehicle.registration).where(Vehicle.id == bindparam("key"))


def kit_records(session: Session, bookings: Sequence[int]) -> dict[int, KitRecord]:
    """What some bookings have settled of their kits, in one statement."""
    stands: dict[int, dict[tuple[int, NeedRule], list[int]]] = {key: {} for key in bookings}
    failed: dict[int, dict[tuple[str, str], int | None]] = defaultdict(dict)
    passed: dict[int, set[tuple[str, str]]] = defaultdict(set)
    opened: dict[int, set[str]] = defaultdict(set)
    chosen: dict[int, dict[int, int]] = defaultdict(dict)
    for row in session.execute(_RECORDED, {"keys": list(bookings)}):
        if row.joint is None and row.word is None:
            chosen[row.booking_id][row.asked_id] = row.item_id
            continue
        if row.joint is None:
            asked = (row.asked_id, NeedRule(row.word))
            stands[row.booking_id].setdefault(asked, []).append(row.item_id)
            continue
        opened[row.booking_id].add(row.joint)
        if row.word == FindingResult.FAILED:
            failed[row.booking_id][row.joint, row.position] = row.failed
        elif row.word == FindingResult.PASSED:
            passed[row.booking_id].add((row.joint, row.position))
    return {
        key: KitRecord(
            stands={asked: tuple(sorted(items)) for asked, items in stands[key].items()},
            failed=failed[key],
            opened=frozenset(opened[key]),
            passed=frozenset(passed[key]),
            chosen=chosen[key],
        )
        for key in bookings
    }


def kits_by_number(session: Session, bookings: Sequence[BookingView]) -> dict[str, KitRecord]:
    """As `kit_records`, by the numbers of bookings."""
    numbers = {"numbers": [view.number for view in bookings]}
    keys = dict(session.execute(_NUMBERS, numbers).all())
    records = kit_records(session, list(keys))
    return {number: records[key] for key, number in keys.items()}


def asked_for(
    session: Session, bookings: Sequence[int]
) -> dict[int, tuple[tuple[str, ...], tuple[ChosenView, ...]]]:
    """The jobs of some bookings, in order, and what their customers chose; in one statement.

    What was chosen of a split that by now a look at the car settles is not told.
    """
    jobs: dict[int, list[str]] = {booking: [] for booking in bookings}
    chosen: dict[int, list[ChosenView]] = {booking: [] for booking in bookings}
    rows = session.execute(_ASKED, {"keys": list(bookings)}).all()
    for booking, _, name, split, option, unit, by in sorted(rows, key=lambda row: row[:2]):
        if split is None:
            jobs[booking].append(name)
        elif by == SettledBy.CUSTOMER:
            chosen[booking].append(ChosenView(f"{unit}/{split}" if unit else split, option, name))
    return {booking: (tuple(jobs[booking]), tuple(chosen[booking])) for booking in bookings}


def job_names(session: Session, bookings: Sequence[int]) -> dict[int, tuple[str, ...]]:
    """The jobs of some bookings, in order."""
    return {booking: jobs for booking, (jobs, _) in asked_for(session, bookings).items()}


def car_of(session: Session, booking: BookingFacts) -> tuple[str, tuple[str, ...]]:
    """The registration and the jobs of a booking."""
    registration = session.execute(_CAR, {"key": booking.vehicle_id}).scalar_one()
    return registration, job_names(session, [booking.id])[booking.id]


def request_of(
    session: Session, booking: BookingFacts, kit: KitRecord | None = None
) -> PlanRequest:
    """What is asked of the plan of a booking: its car, jobs and date, and its kit as recorded."""
    kit = kit or kit_records(session, [booking.id])[booking.id]
    asked = car_of(session, booking)
    return PlanRequest(*asked, booking.fit_on, kit=kit, booking=booking.number)


def plan_of(session: Session, booking: BookingFacts) -> PlanView:
    """The plan of a booking by the catalogue as it is now, with what its kit really holds."""
    return plan(session, request_of(session, booking))
