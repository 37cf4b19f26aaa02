"""The shape of a catalogue file: what may be written, with which units.

Only shape is judged here (types, units, allowed words). Whether names exist, positions repeat or
steps need one another in a ring is judged in `kitting.services.checking`, which sees all files.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from kitting.facts.units import Quantity
from kitting.files.shapes import (
    Amount,
    Area,
    Code,
    Days,
    Elastomer,
    Entry,
    HeadText,
    Hours,
    Length,
    Months,
    Name,
    PropertyClass,
    RuleWord,
    Stage,
    StatedSource,
    Text,
    ThreadText,
    Vin,
)
from kitting.files.terms import Branch, Supplier


class Caution(Entry):
    """A warning that travels with the work; it defers to the maker's data and local rules."""

    code: Code
    title: Name
    text: Text
    word: Name | None = Field(None, description="one word for labels, such as FLAMMABLE")


class Fluid(Entry):
    """What a joint holds back."""

    code: Code
    name: Name
    cautions: tuple[Code, ...] = ()


class System(Entry):
    """The part of a car a joint belongs to; decides where a general torque may never be given."""

    code: Code
    name: Name
    general_torque: bool = True
    cautions: tuple[Code, ...] = ()


class Licence(Entry):
    """A qualification without which a step is not begun."""

    code: Code
    name: Name
    text: Text


class Tool(Entry):
    """A general tool that steps and kinds ask for by name."""

    code: Code
    name: Name


class KindRule(Entry):
    """What goes back, for a kind of item, where nothing more exact is known."""

    rule: RuleWord
    source: Literal["general", "workshop"] = "general"
    fluid: Code | None = None
    system: Code | None = None
    criterion: Text | None = None
    reference: Text = "common practice"
    relaxed_by: Literal["workshop", "leaflet", "maker", "nobody"] = Field(
        "workshop", description="the lowest source that may allow less than this rule"
    )


class Kind(Entry):
    """A kind of item with its general rules."""

    code: Code
    name: Name
    family: Literal["ring", "seal", "fastener", "clip", "clamp", "part", "consumable"]
    threaded: bool = False
    general_torque: bool = Field(
        True, description="whether a figure of a general thread table may ever stand in"
    )
    chance: Annotated[float, Field(ge=0, le=1)] | None = Field(
        None, description="assumed chance of failing an inspection, until findings say better"
    )
    rules: tuple[KindRule, ...] = ()
    tools: tuple[Code, ...] = ()
    cautions: tuple[Code, ...] = ()


class StatedRule(Entry):
    """What a source says about one position or one item."""

    rule: RuleWord
    source: StatedSource
    criterion: Text | None = None
    reference: Text = Field(description="where it is written")


class Content(Entry):
    """An item inside a packet."""

    item: Code
    quantity: Amount


class Successor(Entry):
    """What replaces an item; several make a set."""

    item: Code
    quantity: Amount


class Succession(Entry):
    """How an item is replaced and what becomes of the old stock."""

    by: Annotated[tuple[Successor, ...], Field(min_length=1)]
    old_stock: Literal["use up", "scrap"]
    since: date | None = None
    note: Text | None = None


class Alternative(Entry):
    """An item that may stand in, in order of preference."""

    item: Code
    note: Text | None = None


class Item(Entry):
    """A catalogue part or consumable."""

    code: Code
    name: Name
    kind: Code
    unit: Literal["each", "ml", "g", "mm"] = "each"
    pack: Amount | None = Field(None, description="how much one pack holds")
    contents: tuple[Content, ...] = Field((), description="what a packet brings")
    sold_singly: bool = Field(True, description="false: comes only inside a packet")
    colour: Name | None = Field(None, description="as supplied; never used to find or match")
    elastomer: Elastomer | None = None
    hardness: Annotated[int, Field(ge=20, le=100)] | None = Field(
        None, description="Shore A or IRHD"
    )
    ring_inside: Length | None = None
    ring_section: Length | None = None
    head: HeadText | None = None
    thread: ThreadText | None = None
    length: Length | None = None
    property_class: PropertyClass | None = None
    shelf_life: Months | None = None
    opened_life: Days | None = None
    nozzle_waste: Amount | None = Field(None, description="left in the nozzle each time")
    bin: Name | None = None
    rules: tuple[StatedRule, ...] = ()
    replaced: Succession | None = None
    alternatives: tuple[Alternative, ...] = ()
    cautions: tuple[Code, ...] = ()


class Option(Entry):
    """One side of a variant split: who has it, and how it looks."""

    code: Code
    name: Name
    built_from: date | None = None
    built_before: date | None = None
    equipment: Code | None = Field(None, description="cars with this equipment have the option")
    without: Code | None = Field(None, description="cars without this equipment have the option")
    seen: Text | None = Field(None, description="what it looks like at the car")


class Split(Entry):
    """A question that decides which parts a car takes."""

    code: Code
    question: Text
    check: Text = Field(description="the check at the car that decides")
    options: Annotated[tuple[Option, ...], Field(min_length=2)]


class Lubricant(Entry):
    """What a position is assembled with."""

    item: Code
    amount: Amount


class Tightening(Entry):
    """How the fasteners of a position are tightened; no stages means that no figure is known."""

    stages: tuple[Stage, ...] = ()
    thread: Literal["dry", "oiled", "locked", "unknown"] = "unknown"
    pattern: Text | None = None
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
    position: Name | None = None
    positions: Annotated[tuple[Name, ...], Field(min_length=1)] | None = None
    end: Name | None = Field(None, description="the end, named by something visible")
    quantity: Amount = Quantity(1000, "each")
    option: Code | None = Field(None, description="SPLIT=OPTION as SPLIT/OPTION")
    rules: tuple[StatedRule, ...] = ()
    group: Code | None = Field(None, description="if one of the group fails, all are renewed")
    heat: Literal["hot", "cold"] | None = None
    refit_limit: Annotated[int, Field(ge=0, le=1000)] | None = Field(
        None, description="how often the same item may go back"
    )
    lubricant: Lubricant | Literal["dry"] | None = None
    recess: Length | None = Field(None, description="how deep the head sits")
    access: Literal["open", "side", "angled"] | None = Field(
        None, description="side: something is in the way of a socket; angled: no straight way"
    )
    protrusion: Length | None = Field(None, description="how far a stud stands out of its nut")
    into: Literal["steel", "aluminium", "plastic"] | None = Field(
        None, description="what the thread is cut into"
    )
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


class Bead(Entry):
    """A round bead of sealant."""

    diameter: Length
    length: Length


class Film(Entry):
    """An anaerobic film on a flange."""

    area: Area
    thickness: Length


class Drops(Entry):
    """Drops on threads; how many a thread takes follows from its size."""

    thread: ThreadText
    threads: Annotated[int, Field(ge=1, le=1000)]


class Use(Entry):
    """A consumable that a joint or step takes, by exactly one of the four measures."""

    item: Code
    amount: Amount | None = None
    bead: Bead | None = None
    film: Film | None = None
    drops: Drops | None = None
    option: Code | None = None
    note: Text | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Use:
        given = [self.amount, self.bead, self.film, self.drops]
        if sum(measure is not None for measure in given) != 1:
            raise ValueError("give exactly one of amount, bead, film or drops")
        return self


class Joint(Entry):
    """A place where components meet and are sealed or held."""

    code: Code
    name: Name
    system: Code
    fluids: tuple[Code, ...] = ()
    cautions: tuple[Code, ...] = ()
    front: Name | None = Field(None, description="what lies towards the top of the hole drawing")
    order: tuple[int, ...] = Field((), description="the maker's order, by number of hole")
    fits: tuple[Fit, ...] = ()
    uses: tuple[Use, ...] = ()

    @model_validator(mode="after")
    def _order_names_each_hole(self) -> Joint:
        count = sum(len(fit.holes) for fit in self.fits)
        if self.order and any(fit.holes and fit.option for fit in self.fits):
            raise ValueError(
                "an order needs the same holes on every car; leave 'option' off the fits with holes"
            )
        if self.order and sorted(self.order) != list(range(1, count + 1)):
            raise ValueError(
                f"the order does not name each of the {count} holes once; holes are numbered from"
                " 1 as they stand"
            )
        return self


class Opening(Entry):
    """A joint that a step opens, and how often more after a test run."""

    joint: Code
    times: Annotated[int, Field(ge=1, le=20)] = 1
    reopened: Annotated[int, Field(ge=0, le=20)] = 0


class Step(Entry):
    """Something off and on again."""

    code: Code
    name: Name
    hours: Hours
    needs: tuple[Code, ...] = ()
    opens: tuple[Code | Opening, ...] = ()
    uses: tuple[Use, ...] = ()
    tools: tuple[Code, ...] = ()
    cautions: tuple[Code, ...] = ()
    licence: Code | None = None

    @property
    def openings(self) -> tuple[Opening, ...]:
        """The joints opened, short and long spelling alike."""
        return tuple(
            opened if isinstance(opened, Opening) else Opening(joint=opened, times=1, reopened=0)
            for opened in self.opens
        )


class Service(Entry):
    """Work bought from outside after the job."""

    name: Name
    timing: Name = "after the job"
    licence: Code | None = None


class Job(Entry):
    """What the customer asks for: the steps it needs in the end."""

    code: Code
    name: Name
    needs: Annotated[tuple[Code, ...], Field(min_length=1)]
    services: tuple[Service, ...] = ()


class Unit(Entry):
    """An assembly that several vehicle models may carry."""

    code: Code
    name: Name
    splits: tuple[Split, ...] = ()
    joints: tuple[Joint, ...] = ()
    steps: tuple[Step, ...] = ()
    jobs: tuple[Job, ...] = ()


class Model(Entry):
    """A vehicle model with the units it carries."""

    code: Code
    name: Name
    units: Annotated[tuple[Code, ...], Field(min_length=1)]


class Removal(Entry):
    """What became of the item in one position at an earlier visit."""

    joint: Code = Field(description="UNIT/JOINT")
    position: Name
    on: date
    outcome: Literal["refitted", "renewed"]


class Vehicle(Entry):
    """One car."""

    registration: Annotated[
        str, StringConstraints(strip_whitespace=True, min_length=1, max_length=20)
    ]
    model: Code
    vin: Vin | None = None
    build_date: date | None = None
    equipment: dict[Code, bool] = Field(default={}, description="what is not listed is unknown")
    units: tuple[Code, ...] = Field((), description="instead of the model's, where they differ")
    settled: dict[Code, Code] = Field(default={}, description="UNIT/SPLIT: option seen at the car")
    history: tuple[Removal, ...] = ()


class Catalogue(Entry):
    """One catalogue file."""

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
