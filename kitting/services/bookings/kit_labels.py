"""Reading the code of a label: whose kit it is of, and whether that is what it was when printed."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.kit_place import kit_in
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.kit.bags import bags_of
from kitting.services.planning.kit_code import read_code, same_car
from kitting.tables.bookings import Booking
from kitting.tables.vehicles import Vehicle
from kitting.views.kit_life import KitNowView, LabelReadView
from kitting.views.plan import PlanView

_OPEN = (
    select(Booking.number, Vehicle.registration)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .where(Booking.state.in_(OPEN_BOOKINGS))
    .order_by(Booking.fit_on, Booking.id)
)


def read_label(session: Session, text: str) -> LabelReadView:
    """What the code of a label says: the kit it is of, and its bag.

    Where no open booking of the car has these contents by now, the label is outdated: it names the
    kits of that car as they are.
    Raises KittingError for what is no code, for a car without an open booking and for a bag that
    the kit does not have.
    """
    read = read_code(text)
    if read is None:
        raise KittingError(
            f"{text!r} is no code of a kit: write it as it stands on the label, such as K0123456 or"
            " K0123456-01. A shorter one is of a label that an earlier program printed, which does"
            " not tell what is in the kit: print that label again"
        )
    code, number = read
    kits = [
        (booking, plan_of(session, booking))
        for row in session.execute(_OPEN).all()
        if same_car(code, row.registration)
        for booking in (find_booking(session, row.number),)
    ]
    if not kits:
        raise KittingError(
            f"no open booking is of the car of {text.strip()}. A booking that is over has no kit"
            " any more; a plan that nobody booked is planned again and compared with its label",
            then=[next_step(Action.PLAN)],
        )
    same = [kit for kit in kits if kit[1].reference == code]
    if not same:
        return LabelReadView(code, current=False, bag=number, kits=_all_now(session, kits))
    joint = None if number is None else _joint(same[0][1], number)
    kits_now = _all_now(session, same)
    return LabelReadView(code, current=True, bag=number, joint=joint, kits=kits_now)


def _joint(plan: PlanView, number: int) -> str:
    """The joint whose bag has a number."""
    bags = {bag.number: bag.joint for bag in bags_of(plan)}
    if number not in bags:
        raise KittingError(
            f"kit {plan.reference} has {len(bags)} bags, and no bag {number}: read the label again"
        )
    return bags[number]


def _all_now(
    session: Session, kits: Sequence[tuple[BookingFacts, PlanView]]
) -> tuple[KitNowView, ...]:
    return tuple(_now(session, kit) for kit in kits)


def _now(session: Session, kit: tuple[BookingFacts, PlanView]) -> KitNowView:
    booking, plan = kit
    return KitNowView(
        booking=booking.number,
        code=plan.reference,
        vehicle=plan.vehicle.public_name,
        jobs=tuple(job.code for job in plan.jobs),
        on=booking.fit_on,
        kit_in=kit_in(session, booking),
    )
