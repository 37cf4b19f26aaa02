"""Vehicles: models, the cars themselves, what is known about each."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Index, String, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.weights import WeightIs
from kitting.facts.words import RefitOutcome
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Medium,
    Name,
    Position,
    Thousandths,
    Word,
    not_negative,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class Model(Base):
    """A vehicle model with the units it usually carries."""

    __tablename__ = "model"
    __table_args__ = (UniqueConstraint("code"),)

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]


class ModelUnit(Base):
    """A unit that a model carries."""

    __tablename__ = "model_unit"

    model_id: Mapped[int] = mapped_column(owned_by("model"), primary_key=True)
    unit_id: Mapped[int] = mapped_column(refers_to("unit"), primary_key=True)
    seq: Mapped[Position]


class ModelFluid(Base):
    """What a fluid is on a model, and what its rings are assembled with there."""

    __tablename__ = "model_fluid"

    model_id: Mapped[int] = mapped_column(owned_by("model"), primary_key=True)
    fluid_id: Mapped[int] = mapped_column(refers_to("fluid"), primary_key=True)
    medium: Mapped[Medium]
    lubricant_id: Mapped[int | None] = mapped_column(refers_to("item"))
    reference: Mapped[LongText]


class Vehicle(Base):
    """One car. `registration_key` is the registration without spaces, in capitals.

    `weight` is in thousandths of a kilogram.
    """

    __tablename__ = "vehicle"
    __table_args__ = (
        UniqueConstraint("registration_key"),
        UniqueConstraint("vin"),
        # The number has 17 characters since 1981; a shorter one names an older car's chassis.
        CheckConstraint("length(vin) = 17", name="vin_length"),
        positive("weight"),
        one_of("weight_is", WeightIs),
        CheckConstraint("(weight IS NULL) = (weight_is IS NULL)", name="weight_of_something"),
        Index(None, "model_id"),
    )

    id: Mapped[Identity]
    registration_key: Mapped[Word]
    registration: Mapped[Word]
    model_id: Mapped[int] = mapped_column(refers_to("model"))
    vin: Mapped[str | None] = mapped_column(String(17))
    build_date: Mapped[date | None]
    weight: Mapped[Thousandths | None]
    weight_is: Mapped[WeightIs | None]


class VehicleUnit(Base):
    """A unit that this car carries instead of its model's usual ones."""

    __tablename__ = "vehicle_unit"

    vehicle_id: Mapped[int] = mapped_column(owned_by("vehicle"), primary_key=True)
    unit_id: Mapped[int] = mapped_column(refers_to("unit"), primary_key=True)
    seq: Mapped[Position]


class VehicleFluid(Base):
    """What a fluid is on this very car, instead of what its model states."""

    __tablename__ = "vehicle_fluid"

    vehicle_id: Mapped[int] = mapped_column(owned_by("vehicle"), primary_key=True)
    fluid_id: Mapped[int] = mapped_column(refers_to("fluid"), primary_key=True)
    medium: Mapped[Medium]
    lubricant_id: Mapped[int | None] = mapped_column(refers_to("item"))
    reference: Mapped[LongText]


class Equipment(Base):
    """What a car is known to have or not to have; what has no row is unknown."""

    __tablename__ = "equipment"

    vehicle_id: Mapped[int] = mapped_column(owned_by("vehicle"), primary_key=True)
    code: Mapped[Code] = mapped_column(primary_key=True)
    present: Mapped[bool]


class SettledVariant(Base):
    """The option of a split that somebody saw at the car.

    `reason` says why it holds where what is known of the car speaks against it.
    """

    __tablename__ = "settled_variant"

    vehicle_id: Mapped[int] = mapped_column(owned_by("vehicle"), primary_key=True)
    split_id: Mapped[int] = mapped_column(refers_to("split"), primary_key=True)
    option_id: Mapped[int] = mapped_column(refers_to("split_option"))
    reason: Mapped[LongText | None]


class Refit(Base):
    """What became of a position when a booking was closed.

    `times` is how often what is fitted there now went back meanwhile: none where the last opening
    renewed it. Never changed: a correction of the booking adds what it puts right, numbered from 1;
    what was written at closing is number 0.
    """

    __tablename__ = "refit"
    __table_args__ = (
        one_of("outcome", RefitOutcome),
        not_negative("times"),
        not_negative("correction"),
        Index(None, "joint_id"),
    )

    vehicle_id: Mapped[int] = mapped_column(owned_by("vehicle"), primary_key=True)
    joint_id: Mapped[int] = mapped_column(refers_to("joint"), primary_key=True)
    position: Mapped[Name] = mapped_column(primary_key=True)
    booking: Mapped[Code] = mapped_column(primary_key=True)
    correction: Mapped[int] = mapped_column(primary_key=True, server_default=text("0"))
    on_date: Mapped[date]
    outcome: Mapped[RefitOutcome]
    times: Mapped[int]


class Removal(Base):
    """What became of the item in one position at an earlier visit."""

    __tablename__ = "removal"
    __table_args__ = (one_of("outcome", RefitOutcome), Index(None, "joint_id"))

    vehicle_id: Mapped[int] = mapped_column(owned_by("vehicle"), primary_key=True)
    joint_id: Mapped[int] = mapped_column(refers_to("joint"), primary_key=True)
    position: Mapped[Name] = mapped_column(primary_key=True)
    on_date: Mapped[date] = mapped_column(primary_key=True)
    outcome: Mapped[RefitOutcome]
