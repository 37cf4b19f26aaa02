"""Bookings: a car, its jobs and a date; what it needs, what is promised to it, what came of it."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import CheckConstraint, Index, UniqueConstraint, case, exists, func, select
from sqlalchemy.orm import Mapped, column_property, mapped_column

from kitting.facts.verdicts import Aspect, Verdict
from kitting.facts.words import BookingState, FindingResult, NeedRule, ShelfPolicy
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Name,
    Position,
    Thousandths,
    not_negative,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class Booking(Base):
    """A car booked for some jobs; `override` is the reason why it was confirmed incomplete.

    `shelf_policy` is set where this booking is judged by another table than its branch. `planned`
    is what it was planned to take, as JSON text, by which `edition` of the catalogue; None: by an
    older program, which did not record it.
    """

    __tablename__ = "booking"
    __table_args__ = (
        UniqueConstraint("number"),
        one_of("state", BookingState),
        one_of("shelf_policy", ShelfPolicy),
        Index(None, "branch_id"),
        Index(None, "vehicle_id"),
    )

    id: Mapped[Identity]
    number: Mapped[Code]
    branch_id: Mapped[int] = mapped_column(refers_to("branch"))
    vehicle_id: Mapped[int] = mapped_column(refers_to("vehicle"))
    fit_on: Mapped[date]
    state: Mapped[BookingState]
    made_at: Mapped[datetime]
    override: Mapped[LongText | None]
    closed_at: Mapped[datetime | None]
    shelf_policy: Mapped[ShelfPolicy | None]
    edition: Mapped[int | None]
    planned: Mapped[LongText | None]


class BookingJob(Base):
    """A job of a booking, named as it was asked for."""

    __tablename__ = "booking_job"

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    seq: Mapped[Position] = mapped_column(primary_key=True)
    name: Mapped[Name]


class BookingChoice(Base):
    """What the customer chose for a booking, of a split that he settles."""

    __tablename__ = "booking_choice"

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    split_id: Mapped[int] = mapped_column(refers_to("split"), primary_key=True)
    option_id: Mapped[int] = mapped_column(refers_to("split_option"))


class BookingLicence(Base):
    """A qualification that a booking asks for, and the steps that do."""

    __tablename__ = "booking_licence"

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    licence_id: Mapped[int] = mapped_column(refers_to("licence"), primary_key=True)
    asked_by: Mapped[LongText]


class BookingDoubt(Base):
    """What keeps the plan of a booking from being fine, as judged when it was last planned.

    `item` is the code of the line that it is of, `reason` the JSON text of the reason.
    """

    __tablename__ = "booking_doubt"
    __table_args__ = (one_of("verdict", Verdict), one_of("aspect", Aspect))

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    seq: Mapped[Position] = mapped_column(primary_key=True)
    item: Mapped[Code | None]
    verdict: Mapped[Verdict]
    aspect: Mapped[Aspect]
    reason: Mapped[LongText]


class BookingStandIn(Base):
    """An item that stands in a kit for the one that joints ask for, under a rule."""

    __tablename__ = "booking_stand_in"
    __table_args__ = (one_of("rule", NeedRule),)

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    asked_id: Mapped[int] = mapped_column(refers_to("item"), primary_key=True)
    rule: Mapped[NeedRule] = mapped_column(primary_key=True)
    item_id: Mapped[int] = mapped_column(refers_to("item"), primary_key=True)


class BookingNeed(Base):
    """What a booking needs of an item, as planned when it was last looked at.

    `rule` is renew, inspect or use; what is to be inspected is brought only as a spare.
    """

    __tablename__ = "booking_need"
    __table_args__ = (
        UniqueConstraint("booking_id", "item_id", "rule"),
        positive("quantity"),
        one_of("rule", NeedRule),
    )

    id: Mapped[Identity]
    booking_id: Mapped[int] = mapped_column(owned_by("booking"))
    item_id: Mapped[int] = mapped_column(refers_to("item"))
    rule: Mapped[NeedRule]
    quantity: Mapped[Thousandths]


class BookingSure(Base):
    """The chance for which spares were taken into a booking, in thousandths of a percent."""

    __tablename__ = "booking_sure"
    __table_args__ = (CheckConstraint("target > 0 AND target < 100000", name="target_is_chance"),)

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    target: Mapped[Thousandths]
    at: Mapped[datetime]


class BookingSpare(Base):
    """Spares taken into a booking: to be there, and fitted only if a look fails.

    `looked_at` is how much of the item was to be inspected when they were taken.
    """

    __tablename__ = "booking_spare"
    __table_args__ = (positive("quantity"), positive("looked_at"))

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    item_id: Mapped[int] = mapped_column(refers_to("item"), primary_key=True)
    quantity: Mapped[Thousandths]
    looked_at: Mapped[Thousandths]


_failed_since = case(
    (BookingSpare.looked_at > BookingNeed.quantity, BookingSpare.looked_at - BookingNeed.quantity),
    else_=0,
)
_taken_left = func.coalesce(BookingSpare.quantity - _failed_since, 0)
# How much of a need is spares that were taken and have to be there. What failed since is needed as
# a part, and used one up; once the car is on the ramp its looks decide.
TAKEN_SPARES = case(
    (BookingNeed.rule != NeedRule.INSPECT, 0),
    (Booking.state.not_in((BookingState.PROVISIONAL, BookingState.CONFIRMED)), 0),
    (_taken_left <= 0, 0),
    (_taken_left > BookingNeed.quantity, BookingNeed.quantity),
    else_=_taken_left,
)
# The row of spares that a need may have.
SPARES_OF_NEED = (BookingSpare.booking_id == BookingNeed.booking_id) & (
    BookingSpare.item_id == BookingNeed.item_id
)


class Promise(Base):
    """Stock or an arrival set aside for a booking; `picked` is what was put into its kit.

    Of what was picked, `lost` is gone before the work was done (lost, dropped, damaged); `used`,
    `returned` and `scrapped` are recorded when the booking is closed. See IN_KIT.
    """

    __tablename__ = "promise"
    __table_args__ = (
        # A promise is of something on a shelf or of something that comes: of both, it would count
        # twice.
        CheckConstraint("(lot_id IS NULL) <> (order_line_id IS NULL)", name="one_source"),
        not_negative("waiting"),
        not_negative("picked"),
        CheckConstraint("waiting + picked > 0", name="something_promised"),
        CheckConstraint(
            "used >= 0 AND returned >= 0 AND scrapped >= 0"
            " AND used + returned + scrapped <= picked",
            name="accounted_of_picked",
        ),
        CheckConstraint(
            "lost >= 0 AND used + returned + scrapped + lost <= picked", name="lost_of_picked"
        ),
        Index(None, "item_id"),  # who holds an item is asked at every booking
        Index(
            "uq_promise_lot",
            "booking_id",
            "lot_id",
            unique=True,
        ),
        Index(
            "uq_promise_order_line",
            "booking_id",
            "order_line_id",
            unique=True,
        ),
        Index(None, "lot_id"),
        Index(None, "order_line_id"),
    )

    id: Mapped[Identity]
    booking_id: Mapped[int] = mapped_column(owned_by("booking"))
    item_id: Mapped[int] = mapped_column(refers_to("item"))
    lot_id: Mapped[int | None] = mapped_column(refers_to("lot"))
    order_line_id: Mapped[int | None] = mapped_column(refers_to("order_line"))
    waiting: Mapped[Thousandths]
    picked: Mapped[Thousandths] = mapped_column(default=0)
    used: Mapped[Thousandths] = mapped_column(default=0)
    returned: Mapped[Thousandths] = mapped_column(default=0)
    scrapped: Mapped[Thousandths] = mapped_column(default=0)
    lost: Mapped[Thousandths] = mapped_column(default=0)


# What lies in the kit of an open booking, and lay there when a closed one was closed.
IN_KIT = Promise.picked - Promise.lost
# What of it nobody has accounted for yet.
UNACCOUNTED = IN_KIT - Promise.used - Promise.returned - Promise.scrapped


class Declined(Base):
    """Further work that was offered for a car and declined."""

    __tablename__ = "declined"
    __table_args__ = (Index(None, "vehicle_id"),)

    id: Mapped[Identity]
    vehicle_id: Mapped[int] = mapped_column(owned_by("vehicle"))
    job: Mapped[Name]
    on: Mapped[date]
    reason: Mapped[LongText | None]


class SealCount(Base):
    """How many old seals came out of a joint, and how many had to."""

    __tablename__ = "seal_count"
    __table_args__ = (not_negative("expected"), not_negative("counted"))

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    joint: Mapped[Name] = mapped_column(primary_key=True)
    expected: Mapped[Thousandths]
    counted: Mapped[Thousandths]
    at: Mapped[datetime]


class Finding(Base):
    """What a person saw at one position; kept when the catalogue forgets the position.

    `item_id` is None while an open variant decides which item the position has.
    `found`, `failed` and `reason` are as they were corrected last, `first_found`, `first_failed`
    and `first_reason` as they were written down first. `failed` is how much of `quantity`
    failed, where it did; None: all of it.
    """

    __tablename__ = "finding"
    __table_args__ = (
        one_of("found", FindingResult),
        positive("quantity"),
        positive("failed"),
        Index(None, "booking_id"),
        Index(None, "item_id"),
    )

    id: Mapped[Identity]
    booking_id: Mapped[int | None] = mapped_column(owned_by("booking"))
    unit_id: Mapped[int | None] = mapped_column(refers_to("unit"))
    joint: Mapped[Name]
    position: Mapped[Name]
    item_id: Mapped[int | None] = mapped_column(refers_to("item"))
    quantity: Mapped[Thousandths]
    first_found: Mapped[FindingResult] = mapped_column("found")
    first_failed: Mapped[Thousandths | None] = mapped_column("failed")
    first_reason: Mapped[LongText | None] = mapped_column("reason")
    at: Mapped[datetime]
    if TYPE_CHECKING:
        found: Mapped[FindingResult]  # see below, where corrections are known
        failed: Mapped[int | None]
        reason: Mapped[str | None]


class FindingCorrection(Base):
    """What a finding of a closed booking should have said: added after it, never altered."""

    __tablename__ = "finding_correction"
    __table_args__ = (
        one_of("found", FindingResult),
        positive("failed"),
        Index(None, "finding_id"),
    )

    id: Mapped[Identity]
    finding_id: Mapped[int] = mapped_column(owned_by("finding"))
    at: Mapped[datetime]
    found: Mapped[FindingResult]
    failed: Mapped[Thousandths | None]
    reason: Mapped[LongText | None]
    why: Mapped[LongText]
    told_by: Mapped[Name | None]


def _newest(column: Any) -> Any:
    """A column of the newest correction of a finding."""
    return (
        select(column)
        .where(FindingCorrection.finding_id == Finding.__table__.c.id)
        .order_by(FindingCorrection.id.desc())
        .limit(1)
        .correlate(Finding.__table__)
        .scalar_subquery()
    )


_first = Finding.__table__.c
Finding.found = column_property(func.coalesce(_newest(FindingCorrection.found), _first.found))


def _corrected(correction: Any, first: Any) -> Any:
    """A column that may be empty: as corrected last, or as it was written down first."""
    corrected = exists().where(FindingCorrection.finding_id == _first.id)
    return case((corrected.correlate(Finding.__table__), _newest(correction)), else_=first)


Finding.failed = column_property(_corrected(FindingCorrection.failed, _first.failed))
Finding.reason = column_property(_corrected(FindingCorrection.reason, _first.reason))
