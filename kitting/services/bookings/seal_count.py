"""Removal: old seals counted out joint by joint, and what the refit sheet has to show."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import Engine, bindparam, delete, insert, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.names import nearest
from kitting.facts.reasons import Reason, RefusedError, because
from kitting.facts.verdicts import Aspect, Doubt, Verdict, worst_first
from kitting.services.bookings.kit_record import plan_of, request_of
from kitting.services.bookings.kit_sheets import own_doubts
from kitting.services.bookings.slots import slots_of
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.services.bookings.view import booking_view
from kitting.services.kit.bags import bag_numbers, bags_of
from kitting.services.kit.left_off import jobs_of, kit_doubts
from kitting.services.kit.old_seals import seals_by_joint
from kitting.services.planning.request import PlanRequest
from kitting.store import writing
from kitting.tables.bookings import SealCount
from kitting.views.counted import RemovalJointView, RemovalPlaceView, RemovalView
from kitting.views.kit import LeftOff, SealReason
from kitting.views.plan import PlanView
from kitting.views.slot import SlotView

LOOK_FIRST = 4  # positions named where a seal may still be in there
_COUNTED = select(SealCount.joint, SealCount.counted).where(
    SealCount.booking_id == bindparam("booking")
)


def removal_sheet(session: Session, number: str, today: date | None = None) -> RemovalView:
    """The removal count with what of the kit is in doubt, as its other sheets tell it."""
    booking = find_booking(session, number)
    view = removal_view(session, booking)
    planned, own = plan_of(session, booking), own_doubts(booking_view(session, booking, today))
    doubts = worst_first((*kit_doubts(planned), *own))
    return replace(view, doubts=doubts)


def removal_view(session: Session, booking: BookingFacts) -> RemovalView:
    """How many old seals each joint has to give up, how many were counted, and what differs.

    In the order of stripping down. What comes out does not depend on whether something may go in.
    """
    planned = plan_of(session, booking)
    counted = dict(session.execute(_COUNTED, {"booking": booking.id}).all())
    joints = tuple(_joints(planned, counted))
    return RemovalView(
        booking=booking.number,
        reference=planned.reference,
        on=booking.fit_on,
        vehicle=planned.vehicle.whole_name,
        vehicle_shortened=planned.vehicle.public_name,
        jobs=jobs_of(planned),
        joints=joints,
        withheld=tuple(_differs(joint) for joint in joints if joint.differs),
        cautions=planned.cautions,
        slot=slots_of(session, [booking.id]).get(booking.id),
    )


def _joints(planned: PlanView, counted: Mapping[str, int]) -> Iterator[RemovalJointView]:
    # Old seals are counted joint by joint, not bag by bag.
    packed = tuple(bags_of(planned))
    bags = {bag.joint: bag.number for bag in packed if bag.part == 1}
    lies_in = bag_numbers(packed)
    names = {joint.code: joint.name for joint in planned.joints}
    for joint, seals in seals_by_joint(planned).items():
        yield RemovalJointView(
            bag=bags.get(joint),
            joint=joint,
            joint_name=names[joint],
            expected=seals.expected,
            counted=counted.get(joint),
            positions=seals.positions,
            places=tuple(
                RemovalPlaceView(
                    position,
                    seals.pieces[position],
                    lies_in.get((joint, seals.items[position])),
                )
                for position in seals.positions
            ),
        )


def _differs(joint: RemovalJointView) -> Reason:
    counted = joint.counted or 0
    if counted > joint.expected:
        return because(
            SealReason.TOO_MANY,
            joint=joint.joint,
            name=joint.joint_name,
            counted=counted,
            expected=joint.expected,
        )
    return because(
        SealReason.STILL_IN_THERE,
        joint=joint.joint,
        name=joint.joint_name,
        missing=joint.expected - counted,
        positions=joint.positions[:LOOK_FIRST],
    )


def count_seals(
    engine: Engine, number: str, counts: Mapping[str, int], at: datetime
) -> RemovalView:
    """Record how many old seals came out of some joints, all or none; again replaces a count.

    Raises UnknownNameError for a joint that holds none in this booking.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_open(booking)
        count_in(session, booking, counts, at)
        view = removal_view(session, booking)
        session.commit()
        return view


def count_in(
    session: Session, booking: BookingFacts, counts: Mapping[str, int], at: datetime
) -> None:
    """As `count_seals`, in a transaction that does more; nothing where nothing was counted."""
    if not counts:
        return
    joints = {one.joint: one for one in removal_view(session, booking).joints}
    for joint, counted in counts.items():
        if counted < 0:
            raise KittingError("{joint}: the count must not be negative. Count again", joint=joint)
        if joint not in joints:
            near = nearest(joint, joints) or list(joints)
            known = f"Known: {', '.join(near)}" if near else "No joint of it holds any"
            raise UnknownNameError(
                "{number} has no seals in {joint!r}. {known}",
                number=booking.number,
                joint=joint,
                known=known,
            )
    session.execute(
        delete(SealCount).where(
            SealCount.booking_id == booking.id, SealCount.joint.in_(list(counts))
        )
    )
    session.execute(
        insert(SealCount),
        [
            {
                "booking_id": booking.id, "joint": joint, "counted": counted, "at": at,
                "expected": joints[joint].expected,
            }
            for joint, counted in counts.items()
        ],
    )  # fmt: skip


def uncounted(view: RemovalView) -> tuple[str, ...]:
    """Joints of which nobody has counted the old seals yet."""
    return tuple(joint.joint for joint in view.joints if joint.counted is None)


@dataclass(frozen=True, slots=True)
class Refit:
    """What is asked of the plan of a booking for its refit sheet, and what has to stand on it."""

    request: PlanRequest
    doubts: tuple[Doubt, ...]
    slot: SlotView | None


def refit_of(session: Session, number: str, today: date | None = None) -> Refit:
    """What is refitted of a booking, and what its refit sheet has to show.

    Raises RefusedError while a count differs: nothing is closed over an old seal.
    """
    booking = find_booking(session, number)
    require_open(booking, "its sheets are not printed")
    removal = removal_view(session, booking)
    if removal.withheld:
        raise RefusedError(
            "{number}: the tightening and refit sheets are withheld",
            removal.withheld,
            number=booking.number,
            then=[next_step(Action.COUNT_SEALS, booking=booking.number)],
        )
    left = uncounted(removal)
    doubts = list(own_doubts(booking_view(session, booking, today)))
    if left:
        uncounted_seals = because(LeftOff.SEALS_NOT_COUNTED, joints=left)
        doubts.append(Doubt(Verdict.UNKNOWN, Aspect.FINDING, uncounted_seals))
    return Refit(request_of(session, booking), worst_first(doubts), removal.slot)
