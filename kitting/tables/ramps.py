"""Ramps and people of a branch, when a booking takes which of them, and what was agreed of money.

Bookings name ramps and technicians by code: what they were done on stays on record when the list of
the branch no longer has it.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from kitting.tables.base import (
    Base,
    Code,
    Identity,
    Minor,
    Name,
    Thousandths,
    not_negative,
    owned_by,
    positive,
    refers_to,
)

# Nobody works more hours on a day than it has.
_OF_A_DAY = "hours BETWEEN 0 AND 24000"


class Ramp(Base):
    """A place of a branch where one car is worked on; `takes` is what it can take, if stated.

    `hours` are thousandths of an hour of a working day, None where nobody stated them;
    `lifts` is the most that it carries, in thousandths of a kilogram, by its plate.
    """

    __tablename__ = "ramp"
    __table_args__ = (
        UniqueConstraint("branch_id", "code"),
        CheckConstraint(_OF_A_DAY, name="hours_of_a_day"),
        positive("lifts"),
    )

    id: Mapped[Identity]
    branch_id: Mapped[int] = mapped_column(owned_by("branch"))
    code: Mapped[Code]
    takes: Mapped[Name | None]
    hours: Mapped[Thousandths | None]
    lifts: Mapped[Thousandths | None]


class Technician(Base):
    """Somebody who works at a branch, by code."""

    __tablename__ = "technician"
    __table_args__ = (UniqueConstraint("branch_id", "code"),)

    id: Mapped[Identity]
    branch_id: Mapped[int] = mapped_column(owned_by("branch"))
    code: Mapped[Code]


class TechnicianHours(Base):
    """Thousandths of an hour that a technician works on a weekday, Monday 0; no row: not stated."""

    __tablename__ = "technician_hours"
    __table_args__ = (
        CheckConstraint("weekday BETWEEN 0 AND 6", name="weekday_of_a_week"),
        CheckConstraint(_OF_A_DAY, name="hours_of_a_day"),
    )

    technician_id: Mapped[int] = mapped_column(owned_by("technician"), primary_key=True)
    weekday: Mapped[int] = mapped_column(primary_key=True)
    hours: Mapped[Thousandths]


class TechnicianLicence(Base):
    """A qualification that a technician holds; `valid_until` is its last day, None: not stated."""

    __tablename__ = "technician_licence"

    technician_id: Mapped[int] = mapped_column(owned_by("technician"), primary_key=True)
    licence_id: Mapped[int] = mapped_column(refers_to("licence"), primary_key=True)
    valid_until: Mapped[date | None]


class Absence(Base):
    """Days on which a technician is away, both ends among them."""

    __tablename__ = "absence"
    # Days that end before they begin would be no days at all.
    __table_args__ = (CheckConstraint("last_day >= first_day", name="ends_after_it_begins"),)

    technician_id: Mapped[int] = mapped_column(owned_by("technician"), primary_key=True)
    first_day: Mapped[date] = mapped_column(primary_key=True)
    last_day: Mapped[date]


class BookingSlot(Base):
    """When a booking begins ("08:30") and on which ramp, as far as that is settled."""

    __tablename__ = "booking_slot"

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    starts: Mapped[str | None] = mapped_column(String(5))
    ramp: Mapped[Code | None]


class BookingTechnician(Base):
    """A technician who does a booking."""

    __tablename__ = "booking_technician"

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    technician: Mapped[Code] = mapped_column(primary_key=True)


class BookingPrice(Base):
    """What was agreed of money for a booking; the newest row holds, former ones stay on record.

    `upper_limit` is what it may cost at most without asking again, `deposit` what was paid before,
    `hour_price` what an hour of work costs; None where it is not stated.
    """

    __tablename__ = "booking_price"
    __table_args__ = (
        CheckConstraint("length(currency) = 3", name="currency_iso_4217"),
        not_negative("agreed"),
        not_negative("upper_limit"),
        not_negative("deposit"),
        not_negative("hour_price"),
        Index(None, "booking_id"),
    )

    id: Mapped[Identity]
    booking_id: Mapped[int] = mapped_column(owned_by("booking"))
    at: Mapped[datetime]
    currency: Mapped[str] = mapped_column(String(3))
    agreed: Mapped[Minor | None]
    upper_limit: Mapped[Minor | None]
    deposit: Mapped[Minor | None]
    hour_price: Mapped[Minor | None]
