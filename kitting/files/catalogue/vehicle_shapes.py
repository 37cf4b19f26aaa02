"""Models and cars of a catalogue file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from kitting.facts.words import RefitOutcome
from kitting.files.catalogue.shapes import (
    Code,
    Day,
    Entry,
    Medium,
    Name,
    Registration,
    Text,
    Vin,
    Weight,
)


class CarFluid(Entry):
    """What a fluid is on a model or a car, and what its rings are assembled with there."""

    fluid: Code
    medium: Medium
    lubricant: Code | None = Field(
        None, description="where a lubricant of the unit's joints says cars_own"
    )
    reference: Text = Field(description="where the maker of the car says so")


class Model(Entry):
    """A vehicle model with the units it carries."""

    code: Code
    name: Name
    fluids: tuple[CarFluid, ...] = ()
    units: Annotated[tuple[Code, ...], Field(min_length=1)]


class Removal(Entry):
    """What became of the item in one position at an earlier visit."""

    joint: Code = Field(description="UNIT/JOINT")
    position: Name
    on: Day
    outcome: RefitOutcome


class Vehicle(Entry):
    """One car."""

    registration: Registration
    model: Code
    vin: Vin | None = None
    build_date: Day | None = None
    weight: Weight | None = Field(None, description="kerb, or as it stands with all that is in it")
    fluids: tuple[CarFluid, ...] = Field((), description="instead of the model's")
    equipment: dict[Code, bool] = Field(default={}, description="what is not listed is unknown")
    units: tuple[Code, ...] = Field((), description="instead of the model's, where they differ")
    settled: dict[Code, Code] = Field(default={}, description="UNIT/SPLIT: option seen at the car")
    history: tuple[Removal, ...] = ()
