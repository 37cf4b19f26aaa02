"""What reading a plan ends in: frozen facts of the car, the work, and what its joints carry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from kitting.calc.planning.access import Access
from kitting.calc.planning.needs import FitFacts, JointFacts, Reach, UseFacts
from kitting.calc.planning.renewal import RuleStatement, SituationRule
from kitting.calc.planning.variants import SplitFacts
from kitting.calc.rubber.compatibility import SourceStatement
from kitting.calc.tightening.held import Held
from kitting.facts.conditions import CarFacts
from kitting.facts.stages import Stage
from kitting.facts.words import (
    ItemFamily,
    KindRubber,
    OldStock,
    StockUnit,
    ThreadState,
)
from kitting.services.planning.work_facts import JobFacts, LicenceFacts, Work


@dataclass(frozen=True, slots=True)
class CarFluid:
    """What a fluid is on a car, the item that its rings are assembled with, and who says so."""

    medium: str
    lubricant: int | None
    reference: str


@dataclass(frozen=True, slots=True)
class UnitFacts:
    """A unit that the car carries; `taken_from` is the source in the head of its file, if any."""

    key: int
    code: str
    name: str
    taken_from: str | None = None


@dataclass(frozen=True, slots=True)
class Car:
    """A car with its units in order, its variant splits and what is known of it.

    `refits` counts how often the item now in a position (joint key, position) has gone back. The
    registration is empty where only a model was named.
    """

    key: int
    registration: str
    model: str
    vin: str | None
    build_date: date | None
    units: tuple[UnitFacts, ...]
    splits: tuple[SplitFacts, ...]
    facts: CarFacts
    refits: Mapping[tuple[int, str], int]
    fluids: Mapping[str, CarFluid]

    @property
    def called(self) -> str:
        """The registration, or what stands for it: "any Ulvander Pell"."""
        return self.registration or f"any {self.model}"

    def unit(self, key: int) -> UnitFacts:
        """The unit with a key."""
        return next(unit for unit in self.units if unit.key == key)

    def split_called(self, split: SplitFacts) -> str:
        """The code of a split, as UNIT/CODE where another unit of the car has one of that code."""
        alike = sum(one.code == split.code for one in self.splits)
        return split.code if alike == 1 else f"{self.unit(split.unit).code}/{split.code}"


@dataclass(frozen=True, slots=True)
class KindFacts:
    """A kind of item. `chance` is the assumed share of those inspected that fail.

    `rubber` None: rings are of rubber, other families are not. `locks_threads` is true of what is
    put on a thread so that it holds. `weakest_class` and `strongest_class` are the property classes
    between which it is made.
    """

    key: int
    code: str
    name: str
    family: ItemFamily
    threaded: bool
    general_torque: bool
    rubber: KindRubber | None
    locks_threads: bool
    chance: float | None
    weakest_class: str | None = None
    strongest_class: str | None = None

    @property
    def of_rubber(self) -> bool:
        """Whether its material has to be known."""
        if self.rubber is None:
            return self.family is ItemFamily.RING
        return self.rubber is KindRubber.MADE_OF


@dataclass(frozen=True, slots=True)
class SuccessionFacts:
    """What replaces an item: (item key, thousandths) each; since ever where no day is stated."""

    by: tuple[tuple[int, int], ...]
    old_stock: OldStock
    note: str | None
    since: date | None = None

    def in_force(self, on: date) -> bool:
        """Whether it is replaced at a date."""
        return self.since is None or self.since <= on


@dataclass(frozen=True, slots=True)
class ItemFacts:
    """An item. Amounts and lengths are whole thousandths of its unit and of a millimetre.

    `laying_speed` is in mm a minute.
    """

    key: int
    code: str
    name: str
    unit: StockUnit
    pack: int | None
    sold_singly: bool
    colour: str | None
    elastomer: str | None
    hardness: int | None
    ring_inside: int | None
    ring_section: int | None
    head: str | None
    head_size: str | None
    thread: str | None
    length: int | None
    property_class: str | None
    nozzle_waste: int | None
    medium: str | None
    open_minutes: int | None
    cure_minutes: int | None
    laying_speed: int | None
    times_source: str | None
    times_celsius: int | None
    bin: str | None
    kind: KindFacts
    succession: SuccessionFacts | None = None

    @property
    def open_length(self) -> int | None:
        """How much bead can be laid within its open time, in thousandths of a mm; None: unknown."""
        if self.laying_speed is None or self.open_minutes is None:
            return None
        return 1000 * self.laying_speed * self.open_minutes

    def held_at(self, reach: Reach) -> Held:
        """What figures of it are checked by at a position."""
        return Held(
            thread=self.thread,
            property_class=self.property_class,
            weakest=self.kind.weakest_class,
            strongest=self.kind.strongest_class,
            ordinary=self.kind.general_torque,
            into=reach.into,
            kind=self.kind.code,
            engagement=reach.engagement,
        )


@dataclass(frozen=True, slots=True)
class TighteningFacts:
    """How a position is tightened; no stages means that no figure is known."""

    thread_state: ThreadState
    pattern: str | None
    stage_order: str | None
    source: str | None
    stages: tuple[Stage, ...]


@dataclass(frozen=True, slots=True)
class FluidFacts:
    """A fluid that a joint holds back; `medium` is what it is on this car, if somebody says so."""

    key: int
    code: str
    name: str
    medium: str | None


@dataclass(frozen=True, slots=True)
class SystemFacts:
    """The part of a car that a joint belongs to; whether a general torque may ever stand in."""

    key: int
    code: str
    name: str
    general_torque: bool


@dataclass(frozen=True, slots=True)
class CautionFacts:
    """A caution; `word` must reach every label."""

    code: str
    title: str
    text: str
    word: str | None


@dataclass(frozen=True, slots=True)
class Cautions:
    """Cautions by what carries them: ("fluid", key), ("step", key), … → caution codes."""

    texts: Mapping[str, CautionFacts]
    carried: Mapping[tuple[str, int], tuple[str, ...]]

    def of(self, carrier: str, keys: Iterable[int]) -> list[str]:
        """Codes carried by any of the keys, in order, each once."""
        found = [code for key in keys for code in self.carried.get((carrier, key), ())]
        return list(dict.fromkeys(found))

    def words(self, codes: Iterable[str]) -> tuple[str, ...]:
        """The words of cautions that must reach every label."""
        words = (self.texts[code].word for code in codes)
        return tuple(dict.fromkeys(word for word in words if word))


@dataclass(frozen=True, slots=True)
class Contents:
    """Everything that a set of joints and steps carries, by key (fluids and systems by code).

    `packets` gives the amount of each item by packet; `goes_dry` the materials of a kind that go on
    dry; `strict` the names of those systems of a kind for which no general torque may stand in;
    `closed` the positions (joint, position) of a group (unit, name) at joints that stay closed.
    """

    joints: Mapping[int, JointFacts]
    fluids: Mapping[str, FluidFacts]
    systems: Mapping[str, SystemFacts]
    fits: tuple[FitFacts, ...]
    tightenings: Mapping[int, TighteningFacts]
    uses: tuple[UseFacts, ...]
    items: Mapping[int, ItemFacts]
    packets: Mapping[int, Mapping[int, int]]
    kind_rules: Mapping[int, tuple[SituationRule, ...]]
    item_rules: Mapping[int, tuple[RuleStatement, ...]]
    media: Mapping[int, tuple[SourceStatement, ...]]
    goes_dry: frozenset[tuple[int, str]]
    kind_tools: Mapping[int, tuple[str, ...]]
    step_tools: Mapping[int, tuple[str, ...]]
    cautions: Cautions
    system_licences: Mapping[int, tuple[LicenceFacts, ...]]
    kind_licences: Mapping[int, tuple[LicenceFacts, ...]]
    strict: Mapping[int, tuple[str, ...]]
    closed: Mapping[tuple[int, str], tuple[tuple[str, str], ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Names:
    """How jobs, steps and joints are called: by code, or UNIT/CODE where two units share one."""

    jobs: Mapping[int, str]
    steps: Mapping[int, str]
    joints: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class PlanFacts:
    """Everything that was read for some jobs on a car at a date; `access` is of all of them."""

    on: date
    car: Car
    work: Work
    jobs: tuple[JobFacts, ...]
    names: Names
    access: Access
    contents: Contents

    def group_of(self, fit: FitFacts) -> tuple[int, str] | None:
        """The group that is renewed whole: by unit and name, whichever joints it reaches across."""
        if fit.group is None:
            return None
        return self.contents.joints[fit.joint].unit, fit.group

    def closed_of(self, fit: FitFacts) -> tuple[str, ...]:
        """The positions of a fit's group at joints that stay closed, as "joint: position"."""
        group = self.group_of(fit)
        places = () if group is None else self.contents.closed.get(group, ())
        return tuple(f"{joint}: {position}" for joint, position in places)

    def taken_from(self, joint: int | None, step: int | None = None) -> str | None:
        """What the file of the unit of a joint or a step is taken from, if it says so."""
        if joint is not None:
            return self.car.unit(self.contents.joints[joint].unit).taken_from
        return None if step is None else self.car.unit(self.work.steps[step].unit).taken_from

    def lubricant_sourced(self, fit: FitFacts) -> bool:
        """Whether it is stated where the lubricant of a position is from."""
        return fit.lubricant_sourced or self.taken_from(fit.joint) is not None

    def source_of(self, joint: int, known: TighteningFacts | None) -> str | None:
        """Where figures are published, or what the maker's words about their order are from."""
        if known is None:
            return None
        if known.source is not None:
            return known.source
        words = known.pattern is not None or known.stage_order is not None
        return self.taken_from(joint) if words else None
