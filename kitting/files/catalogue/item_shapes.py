"""Items of a catalogue file: parts and consumables, packets, replacements, what they stand."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from kitting.facts.words import OldStock, Rule, StockUnit
from kitting.files.catalogue.shapes import (
    Amount,
    Celsius,
    Code,
    CureTime,
    Day,
    Days,
    Elastomer,
    Entry,
    Gtin,
    HeadText,
    LanguageCode,
    Length,
    Medium,
    Months,
    Name,
    OpenTime,
    PropertyClass,
    RingInside,
    RingSection,
    Some,
    Speed,
    StatedRating,
    StatedSource,
    Text,
    ThreadText,
)


class StatedRule(Entry):
    """What a source says about one position or one item."""

    rule: Rule
    source: StatedSource
    criterion: Text | None = None
    reference: Text = Field(description="where it is written")


class StatedMedium(Entry):
    """What a source says of how this very compound stands a medium."""

    medium: Medium
    rating: StatedRating
    source: StatedSource
    reference: Text = Field(description="where it is written")


class Times(Entry):
    """How long a product may be worked and has to be waited for, by its own data."""

    open: OpenTime | None = Field(None, description="from putting it on to closing the joint")
    cure: CureTime | None = Field(None, description="before fluids come in or the engine runs")
    laying: Speed | None = Field(None, description="how fast its bead is laid")
    at: Celsius | None = Field(None, description="the temperature that its sheet states them for")
    source: Text = Field(description="the product's own data sheet")

    @model_validator(mode="after")
    def _some_time(self) -> Times:
        if self.open is None and self.cure is None and self.laying is None:
            raise ValueError("give open, cure or laying; without them leave 'times' out")
        if self.open is not None and self.cure is not None and self.open > self.cure:
            raise ValueError(
                "it cannot be worked longer than it takes to cure: check open and cure and their"
                " units"
            )
        return self


class Content(Entry):
    """An item inside a packet."""

    item: Code
    quantity: Some


class Successor(Entry):
    """What replaces an item; several make a set."""

    item: Code
    quantity: Some


class Succession(Entry):
    """How an item is replaced and what becomes of the old stock."""

    by: Annotated[tuple[Successor, ...], Field(min_length=1)]
    old_stock: OldStock
    since: Day | None = None
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
    unit: StockUnit = StockUnit.EACH
    pack: Some | None = Field(None, description="how much one pack holds")
    contents: tuple[Content, ...] = Field((), description="what a packet brings")
    sold_singly: bool = Field(True, description="false: comes only inside a packet")
    colour: Name | None = Field(None, description="as supplied; never used to find or match")
    elastomer: Elastomer | None = None
    hardness: Annotated[int, Field(ge=20, le=100)] | None = Field(
        None, description="Shore A or IRHD"
    )
    ring_inside: RingInside | None = Field(None, description="the hole of a ring or washer")
    ring_section: RingSection | None = Field(
        None, description="how thick the cord of a ring or a washer is"
    )
    head: HeadText | None = None
    thread: ThreadText | None = None
    length: Length | None = None
    property_class: PropertyClass | None = None
    shelf_life: Months | None = None
    opened_life: Days | None = None
    nozzle_waste: Amount | None = Field(None, description="left in the nozzle of each tube opened")
    medium: Medium | None = Field(None, description="the class that this fluid or grease is of")
    media: tuple[StatedMedium, ...] = Field((), description="how this compound stands media")
    times: Times | None = None
    bin: Name | None = None
    names: dict[LanguageCode, Name] = Field(
        default={}, description="in other languages, by language: {de: Dichtring}"
    )
    gtins: tuple[Gtin, ...] = Field((), description="the numbers below the bars of its packets")
    rules: tuple[StatedRule, ...] = ()
    replaced: Succession | None = None
    alternatives: tuple[Alternative, ...] = ()
    cautions: tuple[Code, ...] = ()

    @model_validator(mode="after")
    def _more_than_its_nozzle_holds(self) -> Item:
        waste, pack = self.nozzle_waste, self.pack
        if waste and pack and waste.unit == pack.unit and waste.thousandths >= pack.thousandths:
            raise ValueError("a pack holds no more than its nozzle; check nozzle_waste and pack")
        return self
