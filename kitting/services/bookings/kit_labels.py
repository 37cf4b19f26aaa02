"""Reading the code of a label: whose kit it is of, and whether that is what it was when printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.amounts import Thousandths
from kitting.facts.words import OPEN_BOOKINGS, LotState
from kitting.services.bookings.bag_lots import with_lots
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.kit_sheets import earliest
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.bookings.trays import read_trays
from kitting.services.bookings.view import booking_views
from kitting.services.kit.bags import bags_of
from kitting.services.planning.kit_code import read_code, same_car
from kitting.tables.bookings import Booking
from kitting.tables.vehicles import Vehicle
from kitting.views.bookings import BookingView, PromisedView
from kitting.views.kit import Bag, awaited
from kitting.views.kit_life import KitNowView, KitShortView, LabelReadView
from kitting.views.plan import PlanView

_OPEN = (
    select(Booking.number, Vehicle.registration)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .where(Booking.state.in_(OPEN_BOOKINGS))
    .order_by(Booking.fit_on, Booking.id)
)


def read_label(session: Session, text: str, today: date | None = None) -> LabelReadView:
    """What the code of a label says: the kit it is of, its bag, and its ring end.

    Where no open booking of the car has these contents by now, the label is outdated: it names the
    kits of that car as they are. What a label tells of lots and trays is not in its code, so that
    it is told as it is now (judged at `today` where the day is past).
    Raises KittingError for what is no code, for a car without an open booking and for a bag or an
    end that the kit does not have.
    """
    read = read_code(text)
    if read is None:
        raise KittingError(
            "{text!r} is no code of a kit: write it as it stands on the label, such as K0123456,"
            " K0123456-01 or K0123456-01-2. A shorter one is of a label that an earlier program"
            " printed, which does not tell what is in the kit: print that label again",
            text=text,
        )
    code, number = read.kit, read.bag
    kits = [
        (booking, plan_of(session, booking))
        for row in session.execute(_OPEN).all()
        if same_car(code, row.registration)
        for booking in (find_booking(session, row.number),)
    ]
    if not kits:
        raise KittingError(
            "no open booking is of the car of {text}. A booking that is over has no kit any more;"
            " a plan that nobody booked is planned again and compared with its label",
            text=text.strip(),
            then=[next_step(Action.PLAN)],
        )
    same = [kit for kit in kits if kit[1].reference == code]
    if not same:
        kits_now = _all_now(session, kits, today)
        return LabelReadView(code, current=False, bag=number, kits=kits_now, end=read.end)
    of: Bag | None = None if number is None else _bag(same[0][1], number)
    joint = None if of is None else of.joint
    return LabelReadView(
        code,
        current=True,
        bag=number,
        joint=joint,
        tray=_tray(session, same[0][0], joint),
        kits=_all_now(session, same, today, number),
        end=read.end,
        positions=_positions(of, read.end) if of and read.end is not None else (),
    )


def _bag(plan: PlanView, number: int) -> Bag:
    """The bag that has a number."""
    bags = {bag.number: bag for bag in bags_of(plan)}
    if number not in bags:
        raise KittingError(
            "kit {reference} has {count_of_bags} bags, and no bag {number}: read the label again",
            reference=plan.reference,
            count_of_bags=len(bags),
            number=number,
        )
    return bags[number]


def _positions(bag: Bag, number: int) -> tuple[str, ...]:
    """The positions that the label of a ring end of a bag names."""
    found = tuple(end.position for end in bag.ends if end.code == f"{bag.code}-{number}")
    if not found:
        codes = ", ".join(dict.fromkeys(end.code for end in bag.ends)) or "none"
        raise KittingError(
            "bag {code} has no ring {number} (its rings: {codes}): read the label again",
            code=bag.code,
            number=number,
            codes=codes,
        )
    return found


def _tray(session: Session, booking: BookingFacts, joint: str | None) -> int | None:
    """On which tray the bag of a joint lies; None where the kit is not split."""
    trays = read_trays(session, booking)
    return trays.get(joint, 1) if trays and joint is not None else None


@dataclass(frozen=True, slots=True)
class _Held:
    """What a kit or a bag has of an item, and what it lacks of it (thousandths of the unit)."""

    item: str
    unit: str
    short: Thousandths
    coming: Thousandths
    sources: tuple[PromisedView, ...]


def _held(view: BookingView, plan: PlanView, number: int | None) -> tuple[_Held, ...]:
    """What the label of a bag is about; with None that of the kit, which is about all of it."""
    if number is None:
        return tuple(
            _Held(need.item, need.unit, need.lacking, need.awaited, need.sources)
            for need in view.needs
        )
    return tuple(
        _Held(line.content.item, line.content.unit, line.short, awaited(line.lots), line.lots)
        for bag in with_lots(tuple(bags_of(plan)), view.needs)
        if bag.number == number
        for line in bag.lines
    )


def _all_now(
    session: Session,
    kits: Sequence[tuple[BookingFacts, PlanView]],
    today: date | None,
    bag: int | None = None,
) -> tuple[KitNowView, ...]:
    views = booking_views(session, [booking.id for booking, _ in kits], today)
    return tuple(
        _now(view, plan, _held(view, plan, bag))
        for (_, plan), view in zip(kits, views, strict=True)
    )


def _now(view: BookingView, plan: PlanView, held: Sequence[_Held]) -> KitNowView:
    return KitNowView(
        booking=view.number,
        code=plan.reference,
        vehicle=plan.vehicle.whole_name,
        jobs=tuple(job.code for job in plan.jobs),
        on=view.fit_on,
        keeps_to=earliest(source for one in held for source in one.sources),
        short=tuple(KitShortView(one.item, one.unit, one.short) for one in held if one.short),
        coming=tuple(KitShortView(one.item, one.unit, one.coming) for one in held if one.coming),
        age_unknown=tuple(
            dict.fromkeys(
                one.item
                for one in held
                if any(source.state is LotState.AGE_UNKNOWN for source in one.sources)
            )
        ),
        kit_in=view.kit_in,
    )
