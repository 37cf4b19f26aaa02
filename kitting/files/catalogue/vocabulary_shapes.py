"""The vocabulary of a catalogue file: cautions, fluids, systems, licences, tools, kinds."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from pydantic import Field, model_validator

from kitting.facts.threads import PROPERTY_CLASSES
from kitting.facts.words import ItemFamily, KindRubber, RelaxedBy, Rule, Source
from kitting.files.catalogue.shapes import (
    BoltClass,
    Code,
    Elastomer,
    Entry,
    Medium,
    Name,
    RuleSource,
    Text,
)

Also = Annotated[tuple[Name, ...], Field(description="what else people call it")]


class Caution(Entry):
    """A warning that travels with the work; it defers to the maker's data and local rules."""

    code: Code
    title: Name
    also: Also = ()
    text: Text
    word: Name | None = Field(None, description="one word for labels, such as FLAMMABLE")


class Fluid(Entry):
    """What a joint holds back."""

    code: Code
    name: Name
    also: Also = ()
    medium: Medium | None = Field(None, description="the class by which rubbers are rated")
    cautions: tuple[Code, ...] = ()


class System(Entry):
    """The part of a car a joint belongs to; decides where a general torque may never be given."""

    code: Code
    name: Name
    also: Also = ()
    general_torque: bool = True
    cautions: tuple[Code, ...] = ()
    licences: tuple[Code, ...] = ()


class Licence(Entry):
    """A qualification without which a step is not begun."""

    code: Code
    name: Name
    also: Also = ()
    text: Text


class Tool(Entry):
    """A general tool that steps and kinds ask for by name."""

    code: Code
    name: Name
    also: Also = ()


class Where(NamedTuple):
    """A situation that a rule names; None is any."""

    fluid: str | None = None
    medium: str | None = None
    system: str | None = None


class AnyOf(Entry):
    """Situations of one rule; each counts for itself."""

    fluids: tuple[Code, ...] = ()
    media: tuple[Medium, ...] = ()
    systems: tuple[Code, ...] = ()


class KindRule(Entry):
    """What goes back, for a kind of item, where nothing more exact is known.

    It holds where all of `fluid`, `medium` and `system` that it names are met; one with `any_of`
    stands for a rule for each situation listed.
    """

    rule: Rule
    source: RuleSource = Source.GENERAL
    fluid: Code | None = None
    medium: Medium | None = Field(None, description="what the fluid is on the car, whatever code")
    system: Code | None = None
    any_of: AnyOf | None = None
    criterion: Text | None = None
    reference: Text = "common practice"
    relaxed_by: RelaxedBy = Field(
        RelaxedBy.WORKSHOP, description="the lowest source that may allow less than this rule"
    )

    @model_validator(mode="after")
    def _one_way(self) -> KindRule:
        if self.any_of is not None and (self.fluid or self.medium or self.system):
            raise ValueError("give 'any_of', or 'fluid', 'medium' and 'system', not both")
        if not self.situations:
            raise ValueError("'any_of' names no situation, so the rule would never hold")
        return self

    @property
    def situations(self) -> tuple[Where, ...]:
        """Where it holds, each as fluid, medium and system (None: any)."""
        if self.any_of is None:
            return (Where(self.fluid, self.medium, self.system),)
        return (
            *(Where(fluid=code) for code in self.any_of.fluids),
            *(Where(medium=code) for code in self.any_of.media),
            *(Where(system=code) for code in self.any_of.systems),
        )


class Kind(Entry):
    """A kind of item with its general rules."""

    code: Code
    name: Name
    also: Also = ()
    family: ItemFamily
    threaded: bool = False
    general_torque: bool = Field(
        True, description="whether a figure of a general thread table may ever stand in"
    )
    rubber: KindRubber | None = Field(
        None,
        description="made of: its material and age have to be known; touches: its medium has to;"
        " where nothing is said, rings are made of it, and consumables measured in ml or g touch it"
        " (not what locks threads, nor a bead)",
    )
    locks_threads: bool = Field(
        False, description="whether it holds a thread, put on it or as a coating when new"
    )
    chance: Annotated[float, Field(ge=0, le=1)] | None = Field(
        None, description="assumed chance of failing an inspection, until findings say better"
    )
    classes: tuple[BoltClass, BoltClass] | None = Field(
        None, description="the weakest and the strongest property class that it is made in"
    )
    rules: tuple[KindRule, ...] = ()
    dry: tuple[Elastomer, ...] = Field(
        (), description="materials that go on dry, unless the maker names a lubricant"
    )
    tools: tuple[Code, ...] = ()
    cautions: tuple[Code, ...] = ()
    systems: tuple[Code, ...] = Field(
        (), description="what it always belongs to: it brings their cautions and licences anywhere"
    )

    @property
    def weakest_class(self) -> str | None:
        """The weakest property class that it is made in."""
        return self.classes and self.classes[0]

    @property
    def strongest_class(self) -> str | None:
        """The strongest property class that it is made in."""
        return self.classes and self.classes[1]

    @model_validator(mode="after")
    def _classes_in_turn(self) -> Kind:
        order = list(PROPERTY_CLASSES)
        if self.classes and order.index(self.classes[0]) > order.index(self.classes[1]):
            raise ValueError("give the weakest property class first")
        return self
