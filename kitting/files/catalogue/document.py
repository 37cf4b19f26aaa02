"""The shape of a catalogue file: what may be written, with which units.

Only shape is judged here (types, units, allowed words). Whether names exist, positions repeat or
steps need one another in a ring is judged in `services.catalogue.check`, which sees all files.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from kitting.facts.units import Quantity
from kitting.facts.words import FastenerAccess, Heat, SettledBy, ThreadedInto, ThreadState
from kitting.files.catalogue.item_shapes import Item, StatedRule
from kitting.files.catalogue.shapes import (
    Celsius,
    Code,
    Day,
    Engagement,
    Entry,
    Name,
    PlainCode,
    Protrusion,
    Recess,
    Some,
    StageText,
    StatedSource,
    Text,
)
from kitting.files.catalogue.trade_shapes import Branch, Supplier
from kitting.files.catalogue.vehicle_shapes import Model, Vehicle
from kitting.files.catalogue.vocabulary_shapes import Caution, Fluid, Kind, Licence, System, Tool
from kitting.files.catalogue.work_shapes import Job, Step, Use


class Option(Entry):
    """One side of a variant split: who has it, and how it looks."""

    code: Code
    name: Name
    built_from: Day | None = None
    built_before: Day | None = None
    equipment: Code | None = Field(None, description="cars with this equipment have the option")
    without: Code | None = Field(None, description="cars without this equipment have the option")
    seen: Text | None = Field(None, description="what it looks like at the car")


class Split(Entry):
    """A question that decides which parts a car takes."""

    code: PlainCode
    question: Text
    check: Text = Field(
        description="the check at the car that decides, or what to tell the customer who does"
    )
    settled_by: SettledBy = Field(
        SettledBy.CAR, description="customer: he chooses for every booking anew"
    )
    options: Annotated[tuple[Option, ...], Field(min_length=2)]

    @model_validator(mode="after")
    def _customers_free_choice(self) -> Split:
        told = ("built_from", "built_before", "equipment", "without")
        if self.settled_by is SettledBy.CUSTOMER:
            for option in self.options:
                if given := [key for key in told if getattr(option, key) is not None]:
                    raise ValueError(
                        f"option {option.code} has {given[0]!r}, and the customer settles"
                        " it: nothing of the car may. Take one of them out"
                    )
        return self


class Lubricant(Entry):
    """What a position is assembled with."""

    item: Code
    amount: Some
    source: StatedSource | None = Field(None, description="who names this product")
    reference: Text | None = Field(None, description="where it is written")
    cars_own: bool = Field(
        False, description="the product goes on that the car's maker names for the fluid, if any"
    )

    @model_validator(mode="after")
    def _source_with_place(self) -> Lubricant:
        if (self.source is None) != (self.reference is None):
            raise ValueError("give source and reference together")
        return self


class Tightening(Entry):
    """How the fasteners of a position are tightened; no stages means that no figure is known."""

    stages: tuple[StageText, ...] = ()
    thread: ThreadState = ThreadState.UNKNOWN
    pattern: Text | None = Field(
        None, description="the maker's order of the fasteners in words; no general one is drawn"
    )
    stage_order: Text | None = Field(
        None, description="how the stages follow each other; says no order of the fasteners"
    )
    source: Text | None = None

    @model_validator(mode="after")
    def _figures_need_a_source(self) -> Tightening:
        if self.stages and not self.source:
            raise ValueError("stages without a source; say where the figures are published")
        return self


Coordinate = Annotated[float, Field(ge=-10_000, le=10_000)]
Hole = tuple[Coordinate, Coordinate]


class Fit(Entry):
    """One item in one position of a joint (or in several positions alike)."""

    item: Code
    role: Code | None = Field(None, description="the part of its joint's pattern that it is")
    position: Name | None = None
    positions: Annotated[tuple[Name, ...], Field(min_length=1)] | None = None
    end: Name | None = Field(None, description="the end, named by something visible")
    quantity: Some = Quantity(1000, "each")
    option: Code | None = Field(None, description="SPLIT=OPTION as SPLIT/OPTION")
    rules: tuple[StatedRule, ...] = ()
    group: Code | None = Field(
        None, description="if one of the group fails, all of the unit that name it are renewed"
    )
    heat: Heat | None = None
    refit_limit: Annotated[int, Field(ge=0, le=1000)] | None = Field(
        None, description="how often the same item may go back"
    )
    lubricant: Lubricant | Literal["dry"] | None = None
    fluids: tuple[Code, ...] = Field(
        (), description="what this item touches, where the joint holds back several"
    )
    recess: Recess | None = Field(None, description="how deep the head sits")
    access: FastenerAccess | None = Field(
        None, description="side: something is in the way of a socket; angled: no straight way"
    )
    protrusion: Protrusion | None = Field(None, description="how far a stud stands out of its nut")
    into: ThreadedInto | None = Field(None, description="what the thread is cut into")
    engagement: Engagement | None = Field(None, description="how far the thread is engaged there")
    holes: tuple[Hole, ...] = Field((), description="one per fastener, in mm, y upwards")
    tightening: Tightening | None = None

    @model_validator(mode="after")
    def _position_or_positions(self) -> Fit:
        if (self.position is None) == (self.positions is None):
            raise ValueError("give either position or positions")
        count = self.quantity.thousandths // 1000
        if self.holes and (len(self.all_positions) > 1 or len(self.holes) != count):
            raise ValueError(
                f"{len(self.holes)} holes for {count} fasteners; give one position with a hole for"
                " each of them"
            )
        return self

    @property
    def all_positions(self) -> tuple[str, ...]:
        """The positions, whichever way they were written."""
        return self.positions or ((self.position,) if self.position else ())


class Running(Entry):
    """The hottest that a joint runs."""

    hottest: Celsius
    source: Text = Field(description="where it is written or who measured it")


class Joint(Entry):
    """A place where components meet and are sealed or held."""

    code: Code
    name: Name
    sides: tuple[Name, ...] = Field(
        (), description="it is there on each of these, seen from the driver's seat"
    )
    like: Code | None = Field(None, description="a pattern: what is expected there, by its parts")
    parts: Mapping[Code, Any] = Field({}, description="the parts of the pattern: item, or a fit")
    system: Code
    fluids: tuple[Code, ...] = ()
    cautions: tuple[Code, ...] = ()
    temperature: Running | None = None
    near: tuple[Literal["paint", "exhaust sensor"], ...] = Field(
        (), description="what a lubricant may spoil there"
    )
    front: Name | None = Field(None, description="what lies towards the top of the hole drawing")
    seen_from: Name | None = Field(
        None, description="from where the holes are seen: from the other side they are mirrored"
    )
    order: tuple[int, ...] = Field(
        (), description="the maker's order, by number of each hole that is tightened"
    )
    fits: tuple[Fit, ...] = ()
    uses: tuple[Use, ...] = ()

    @model_validator(mode="after")
    def _order_names_holes(self) -> Joint:
        count = sum(len(fit.holes) for fit in self.fits)
        if self.order and any(fit.holes and fit.option for fit in self.fits):
            raise ValueError(
                "an order needs the same holes on every car; leave 'option' off the fits with holes"
            )
        if self.order and any(fit.holes and _words_of(fit) for fit in self.fits):
            raise ValueError(
                "two orders are stated: 'order' of the joint and 'pattern' of a tightening; keep"
                " the one that is the maker's"
            )
        named = set(self.order)
        if len(named) < len(self.order) or not named <= set(range(1, count + 1)):
            raise ValueError(
                f"the order names a hole twice, or one that is not among the {count}; holes are"
                " numbered from 1 as they stand"
            )
        return self


def _words_of(fit: Fit) -> str | None:
    """The maker's order of a fit in words."""
    return fit.tightening.pattern if fit.tightening is not None else None


class Unit(Entry):
    """An assembly that several vehicle models may carry."""

    code: Code
    name: Name
    splits: tuple[Split, ...] = ()
    joints: tuple[Joint, ...] = ()
    steps: tuple[Step, ...] = ()
    jobs: tuple[Job, ...] = ()


class About(Entry):
    """Who wrote a catalogue file, and what it is taken from."""

    author: Name = Field(description="who wrote the file")
    source: Text | None = Field(None, description="what it is taken from")
    version: Name | None = None
    licence: Text | None = Field(None, description="what others may do with it")


class Catalogue(Entry):
    """One catalogue file."""

    about: About | None = None
    cautions: tuple[Caution, ...] = ()
    fluids: tuple[Fluid, ...] = ()
    systems: tuple[System, ...] = ()
    licences: tuple[Licence, ...] = ()
    tools: tuple[Tool, ...] = ()
    kinds: tuple[Kind, ...] = ()
    items: tuple[Item, ...] = ()
    units: tuple[Unit, ...] = ()
    models: tuple[Model, ...] = ()
    vehicles: tuple[Vehicle, ...] = ()
    branches: tuple[Branch, ...] = ()
    suppliers: tuple[Supplier, ...] = ()
