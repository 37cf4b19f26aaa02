"""Removal: old seals counted out joint by joint, and what was found at each position."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Engine, delete, insert, select
from sqlalchemy.orm import Session

from kitting.errors import FileProblemsError, KittingError, Problem, UnknownNameError
from kitting.facts.names import nearest
from kitting.facts.plan_reasons import ContactPlace
from kitting.facts.reasons import Reason, because
from kitting.facts.words import OPEN_BOOKINGS, FindingResult
from kitting.services.bookings.booking import find_booking
from kitting.services.bookings.view import booking_view, car_of
from kitting.services.kit.bags import kit_view
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.store import writing
from kitting.tables.bookings import Booking, Finding, SealCount
from kitting.tables.items import Item
from kitting.tables.units import Unit
from kitting.views.kit import KitView, RemovalJointView, RemovalView
from kitting.views.plan import LineView, PlanView

# Common practice, no source: a ring stays behind in its bore more often than a flat gasket.
_STAYS_BEHIND = ("ring", "seal")


def plan_of(session: Session, booking: Booking) -> PlanView:
    """The plan of a booking, as the catalogue has it now."""
    return plan(session, PlanRequest(*car_of(session, booking), booking.fit_on))


def removal_view(session: Session, booking: Booking) -> RemovalView:
    """How many old seals each joint has to give up, how many were counted, and what differs."""
    planned = plan_of(session, booking)
    kit = kit_view(planned)
    counted = dict(
        session.execute(
            select(SealCount.joint, SealCount.counted).where(SealCount.booking_id == booking.id)
        ).all()
    )
    joints = tuple(_joints(planned, kit, counted))
    return RemovalView(
        booking=booking.number,
        reference=kit.reference,
        on=booking.fit_on,
        vehicle=kit.vehicle,
        jobs=kit.jobs,
        joints=joints,
        withheld=tuple(_differs(j) for j in joints if j.counted not in (None, j.expected)),
        cautions=kit.cautions,
    )


def _joints(planned: PlanView, kit: KitView, counted: dict[str, int]) -> Sequence[RemovalJointView]:
    opened = {joint.code: joint.opened for joint in planned.joints}
    found = []
    for bag in kit.bags:
        if bag.part > 1:
            # Old seals are counted joint by joint, not bag by bag.
            continue
        seals = [
            (line, position.position, position.quantity)
            for line in planned.lines
            if line.family in _STAYS_BEHIND
            for position in line.positions
            if position.joint == bag.joint
        ]
        if not seals:
            continue
        ordered = sorted(seals, key=lambda seal: _STAYS_BEHIND.index(seal[0].family))
        found.append(
            RemovalJointView(
                bag.number,
                bag.joint,
                bag.joint_name,
                sum(_pieces(line, amount, opened[bag.joint]) for line, _, amount in seals),
                counted.get(bag.joint),
                tuple(dict.fromkeys(position for _, position, _ in ordered)),
            )
        )
    return found


def _pieces(line: LineView, amount: int, opened: int) -> int:
    """Old seals that come out once, of new ones that go in at each opening."""
    return amount // 1000 // (opened if line.rule == "renew" else 1)


def _differs(joint: RemovalJointView) -> str:
    counted = joint.counted or 0
    if counted > joint.expected:
        return (
            f"{joint.joint_name}: {counted} out, {joint.expected} expected: one was doubled before,"
            " or it came from another joint"
        )
    likely = ", ".join(joint.positions[:4])
    missing = joint.expected - counted
    return f"{joint.joint_name}: {missing} still in there; look first at {likely}"


def count_seals(
    engine: Engine, number: str, counts: Mapping[str, int], at: datetime
) -> RemovalView:
    """Record how many old seals came out of some joints, all or none; again replaces a count.

    Raises UnknownNameError for a joint that holds none in this booking.
    """
    with writing(engine) as session:
        booking = _open(session, number)
        joints = {one.joint: one for one in removal_view(session, booking).joints}
        for joint, counted in counts.items():
            if counted < 0:
                raise KittingError(f"{joint}: less than no seal cannot come out. Count again")
            if joint not in joints:
                near = nearest(joint, joints) or list(joints)
                raise UnknownNameError(
                    f"{booking.number} has no seals in {joint!r}. Known: {', '.join(near)}"
                )
            session.execute(
                delete(SealCount).where(
                    SealCount.booking_id == booking.id, SealCount.joint == joint
                )
            )
            session.execute(
                insert(SealCount).values(
                    booking_id=booking.id, joint=joint, expected=joints[joint].expected,
                    counted=counted, at=at,
                )
            )  # fmt: skip
        view = removal_view(session, booking)
        session.commit()
        return view


def uncounted(view: RemovalView) -> list[str]:
    """Joints of which nobody has counted the old seals yet."""
    return [joint.joint for joint in view.joints if joint.counted is None]


def require_live(booking: Booking) -> None:
    """Raise KittingError for a booking that is over: its sheets would be read as live."""
    if booking.state not in OPEN_BOOKINGS:
        raise KittingError(f"{booking.number} is {booking.state}; its sheets are not printed")


def refit_of(
    session: Session, number: str
) -> tuple[str, list[str], date, tuple[str | Reason, ...]]:
    """Car, jobs and date of a booking, and what has to be told on its refit sheet.

    Raises KittingError while a count differs: nothing is closed over an old seal.
    """
    booking = find_booking(session, number)
    require_live(booking)
    removal = removal_view(session, booking)
    withheld = removal.withheld
    if withheld:
        raise KittingError(
            f"{booking.number}: the refit sheet is withheld. {'; '.join(withheld)}."
            f" Count again: kitting count {booking.number}"
        )
    registration, jobs = car_of(session, booking)
    left = uncounted(removal)
    told: list[str | Reason] = [f"OLD SEALS NOT COUNTED: {', '.join(left)}"] if left else []
    told += [
        f"NOT READY: {lack}"
        if isinstance(lack, str)
        else because(ContactPlace.NOT_READY, lack=lack)
        for lack in booking_view(session, booking).lacking
    ]
    return registration, list(jobs), booking.fit_on, tuple(told)


@dataclass(frozen=True, slots=True)
class Found:
    """What was seen at one position; `row` is the file and line that say so, if a list does."""

    joint: str
    position: str
    found: str
    reason: str | None = None
    row: tuple[str, int] | None = None


def record_findings(engine: Engine, number: str, seen: Sequence[Found], at: datetime) -> int:
    """Record what was seen at positions of a booking, all or none; a position again replaces it.

    Raises UnknownNameError for a position that the booking does not open, KittingError for a word
    that is none of passed, failed, renewed without a look, or a failure without its reason;
    FileProblemsError with all of these where they come from lists.
    """
    with writing(engine) as session:
        booking = _open(session, number)
        planned = plan_of(session, booking)
        items = {
            (position.joint, position.position): (line.item, position.quantity)
            for line in planned.lines
            for position in line.positions
        }
        codes = {joint.code: joint.unit for joint in planned.joints}
        units = dict(
            session.execute(
                select(Unit.code, Unit.id).where(Unit.code.in_(set(codes.values())))
            ).all()
        )
        ids = dict(
            session.execute(
                select(Item.code, Item.id).where(
                    Item.code.in_({item for item, _ in items.values()})
                )
            ).all()
        )
        problems = list(_refusals(booking, seen, items))
        if problems:
            raise FileProblemsError(problems)
        for one in seen:
            item, amount = items[one.joint, one.position]
            session.execute(
                delete(Finding).where(
                    Finding.booking_id == booking.id,
                    Finding.joint == one.joint,
                    Finding.position == one.position,
                )
            )
            session.execute(
                insert(Finding).values(
                    booking_id=booking.id, unit_id=units[codes[one.joint]], joint=one.joint,
                    position=one.position, item_id=ids[item], quantity=amount, found=one.found,
                    reason=one.reason, at=at,
                )
            )  # fmt: skip
        session.commit()
        return len(seen)


def _refusals(
    booking: Booking, seen: Sequence[Found], items: dict[tuple[str, str], tuple[str, int]]
) -> Iterator[Problem]:
    for one in seen:
        try:
            _refuse(booking, one, items)
        except KittingError as error:
            if one.row is None:
                raise
            yield Problem(*one.row, f"position {one.position}", str(error), "Mend this row")


def _refuse(booking: Booking, one: Found, items: dict[tuple[str, str], tuple[str, int]]) -> None:
    if (one.joint, one.position) not in items:
        here = [position for joint, position in items if joint == one.joint]
        near = nearest(one.position, here) or here[:5] or sorted({j for j, _ in items})
        raise UnknownNameError(
            f"{booking.number} opens no {one.position!r} in {one.joint!r}. Known: {', '.join(near)}"
        )
    if one.found not in tuple(FindingResult):
        raise KittingError(f"{one.found!r} is none of {', '.join(FindingResult)}")
    if one.found == "failed" and not one.reason:
        raise KittingError(
            f"{one.joint}, {one.position}: say why it failed, for those who come after"
        )


def _open(session: Session, number: str) -> Booking:
    booking = find_booking(session, number)
    if booking.state not in OPEN_BOOKINGS:
        raise KittingError(f"{booking.number} is {booking.state}; nothing of it can be changed")
    return booking
