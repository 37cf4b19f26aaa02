"""What the garage tells of cars beside the catalogue: facts, notes; apart, their owners."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, Index
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.car_facts import CarFact
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Name,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class CarTold(Base):
    """A fact of a car that was told at the garage, not in a catalogue file: added, never altered.

    `code` is of equipment. The newest word of a fact holds: a file that does not state it leaves it
    as it is. `why` is given where it puts right what was known before.
    """

    __tablename__ = "car_told"
    __table_args__ = (one_of("fact", CarFact), Index(None, "vehicle_id"))

    id: Mapped[Identity]
    vehicle_id: Mapped[int] = mapped_column(refers_to("vehicle"))
    at: Mapped[datetime]
    told_by: Mapped[Name | None]
    fact: Mapped[CarFact]
    code: Mapped[Code | None]
    value: Mapped[LongText]
    why: Mapped[LongText | None]


class CarNote(Base):
    """A note on the history of a car: added, never altered, and not about people."""

    __tablename__ = "car_note"
    __table_args__ = (Index(None, "vehicle_id"),)

    id: Mapped[Identity]
    vehicle_id: Mapped[int] = mapped_column(refers_to("vehicle"))
    at: Mapped[datetime]
    told_by: Mapped[Name]
    text: Mapped[LongText]


class FoundPart(Base):
    """A part as somebody found it while a car was stripped; what was not seen is NULL.

    It is of a registration, not of a row: the catalogue may not know the car yet. `figure` has its
    stages one after the other. What was noted by mistake is taken back, not altered.
    """

    __tablename__ = "found_part"
    __table_args__ = (
        positive("count"),
        # A figure is only worth keeping with the place where it was read.
        CheckConstraint("figure IS NULL OR source IS NOT NULL", name="figure_has_source"),
        Index(None, "registration_key"),
    )

    id: Mapped[Identity]
    registration: Mapped[Code]
    registration_key: Mapped[Code]
    at: Mapped[datetime]
    told_by: Mapped[Name | None]
    joint: Mapped[Name]
    position: Mapped[Name]
    kind: Mapped[Code | None]
    count: Mapped[int | None]
    thread: Mapped[Code | None]
    head: Mapped[Name | None]
    figure: Mapped[LongText | None]
    source: Mapped[LongText | None]
    size: Mapped[Name | None]
    seen: Mapped[LongText | None]
    taken_back: Mapped[datetime | None]


class CarOwner(Base):
    """Whose car it is and how to call them: personal data, of which nothing else holds a copy.

    It goes when it is asked to be forgotten; what was done to the car stays.
    """

    __tablename__ = "car_owner"

    vehicle_id: Mapped[int] = mapped_column(owned_by("vehicle"), primary_key=True)
    name: Mapped[Name]
    telephone: Mapped[Name | None]
    at: Mapped[datetime]
