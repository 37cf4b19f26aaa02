"""The kit of a plan: pick list and labels."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.amounts import Thousandths
from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.verdicts import Doubt
from kitting.facts.words import NeedRule
from kitting.views.bookings import ElsewhereView, PromisedView, SourceKind
from kitting.views.plan import CautionView, CoverView, RingView, TighteningView
from kitting.views.slot import SlotView


class LeftOff(ReasonCode):
    """Why something of a plan is not in its kit, or not to be relied on."""

    STOPPED = "stopped"
    CLASH = "clash"
    SEALS_NOT_COUNTED = "seals not counted"
    NOT_READY = "not ready"


class SealReason(ReasonCode):
    """Why a joint is not refitted: its old seals are not as many as were in it."""

    STILL_IN_THERE = "still in there"
    TOO_MANY = "too many"
    NOT_COUNTED = "not counted"


@dataclass(frozen=True, slots=True)
class ContentView:
    """So much of an item, and what it is: packs, size and material, colour as supplied.

    `packs` None where packs do not matter; `pack` is what one holds, in thousandths of `unit`.
    `passed`: what was there was looked at, and goes back.
    """

    item: str
    name: str
    rule: NeedRule
    quantity: Thousandths
    unit: str
    packs: int | None = None
    pack: Thousandths | None = None
    size: str | None = None
    material: str | None = None
    colour: str | None = None
    passed: bool = False

    @property
    def spare(self) -> bool:
        """Only needed if an inspection fails: up to so much."""
        return self.rule is NeedRule.INSPECT and not self.passed


@dataclass(frozen=True, slots=True)
class ShareView:
    """So much of an item goes into a bag, by its number (thousandths of the item's unit)."""

    bag: int
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class PickLine:
    """One row of the pick list: an item, and the place (`bin`) from which it is taken.

    `covered` is what packets of the plan bring, `shares` how much goes into which bag, where that
    is known. For a booking, `sources` is what covers it here, what expires first to the front, and
    `trays` where its bags lie if the kit is split. `lacks` is what has to be there and nothing
    covers, `spares_lacking` what is wanted in case only and nothing covers, `short` both together
    and `elsewhere` who has it; `awaited` is on its way, `unfit` is here and may not be fitted.
    `picked_at` is when something of it was last picked, `picked_by` who drew it, if anybody is
    named.
    """

    bin: str | None
    content: ContentView
    bags: tuple[int, ...]
    covered: tuple[CoverView, ...] = ()
    notes: tuple[Reason, ...] = ()
    sources: tuple[PromisedView, ...] = ()
    short: Thousandths = 0
    trays: tuple[int, ...] = ()
    shares: tuple[ShareView, ...] = ()
    lacks: Thousandths = 0
    spares_lacking: Thousandths = 0
    elsewhere: tuple[ElsewhereView, ...] = ()
    picked_at: datetime | None = None
    picked_by: str | None = None
    awaited: Thousandths = 0
    unfit: Thousandths = 0

    @property
    def complete(self) -> bool:
        """Whether all of it is here that has to be, and may be fitted."""
        return not (self.lacks or self.awaited or self.unfit)

    @property
    def lots(self) -> tuple[PromisedView, ...]:
        """The lots that are promised to it, here, and may be fitted."""
        return tuple(
            source
            for source in self.sources
            if source.kind is SourceKind.LOT and source.may_be_fitted
        )

    @property
    def take(self) -> Thousandths:
        """What is the booking's to take now: promised to it, here, and not picked yet."""
        return sum(source.quantity - source.picked for source in self.lots)

    @property
    def picked(self) -> Thousandths:
        """What of it lies in the kit and may be fitted."""
        return sum(source.picked for source in self.lots)

    @property
    def out(self) -> Thousandths:
        """What of it lies in the kit and may not be fitted: it has to come out."""
        return sum(
            source.picked
            for source in self.sources
            if source.kind is SourceKind.LOT and not source.may_be_fitted
        )


@dataclass(frozen=True, slots=True)
class ShortageView:
    """What a booking lacks of an item, and who has it."""

    item: str
    quantity: Thousandths
    unit: str
    elsewhere: tuple[ElsewhereView, ...] = ()


@dataclass(frozen=True, slots=True)
class PickView:
    """The pick list of a plan, in bin order; `doubts` says what is not fine, or left off, and why.

    `booking` is its number where it is of one: only then is anything promised to it.
    `kit_in` is the branch or van in which its kit lies, where that is not its own branch.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    lines: tuple[PickLine, ...]
    doubts: tuple[Doubt, ...]
    cautions: tuple[CautionView, ...]
    booking: str | None = None
    slot: SlotView | None = None
    kit_in: str | None = None
    vehicle_shortened: str = ""

    @property
    def short_lines(self) -> tuple[PickLine, ...]:
        """The rows that lack what has to be there and nothing covers."""
        return tuple(line for line in self.lines if line.lacks)


@dataclass(frozen=True, slots=True)
class BagLine:
    """One content of a bag, and where it goes.

    `lubricants` are products, or that it goes in dry; none where nobody says, `unstated` where
    nobody says so of some of its positions. For a booking, `lots`
    is what is promised to this bag or picked for it, `short` what nothing covers: what there is
    goes to the bags in the order of refitting. `missing` is how many of its spares are not in the
    kit and need not be, for they were not taken. `kept` is how much of what was there passed its
    look where the rest failed: it goes back.
    """

    content: ContentView
    positions: tuple[str, ...] = ()
    lubricants: tuple[Reason, ...] = ()
    notes: tuple[Reason, ...] = ()
    lots: tuple[PromisedView, ...] = ()
    short: Thousandths = 0
    missing: Thousandths = 0
    unstated: bool = False
    kept: Thousandths = 0

    @property
    def here(self) -> Thousandths:
        """How much of it lies in the bag, or waits on a shelf for it."""
        return self.content.quantity - self.short - awaited(self.lots)

    @property
    def goes_dry(self) -> bool:
        """Whether every position of it goes together dry: that is said on every label."""
        said = bool(self.lubricants) and not self.unstated
        return said and all(one.code == LubricantReason.DRY for one in self.lubricants)


@dataclass(frozen=True, slots=True)
class DiffersView:
    """A ring of the kit that could be fitted here by mistake.

    `ends` are where that one belongs, `size`, `material` and `item` what it is; `difference` is how
    this ring differs from it.
    """

    ends: tuple[str, ...]
    size: str | None
    material: str | None
    difference: Reason
    item: str = ""


def awaited(lots: Iterable[PromisedView]) -> Thousandths:
    """How much of what is promised is still to come with an order."""
    return sum(lot.quantity for lot in lots if lot.kind is SourceKind.ORDER)


@dataclass(frozen=True, slots=True)
class HazardView:
    """A word of warning, and the caution that it comes of by title: "POISONOUS", "Coolant"."""

    word: str
    of: str


@dataclass(frozen=True, slots=True)
class EndLabel:
    """A ring where it goes.

    `code` is of its label: like rings of a bag, which may be fitted one for another, share one.
    `lots`, `short` and `missing` are as in `BagLine`. `differs` has every ring of the kit that
    could be fitted here by mistake, the nearest first.
    `lubricant` is a product, that it goes in dry, or None where nobody says. `elastomer` is a code
    of ISO 1629; `ring` is None where its size is not stated.
    """

    position: str
    end: str | None
    content: ContentView
    lubricant: Reason | None
    elastomer: str | None = None
    hardness: int | None = None
    ring: RingView | None = None
    differs: tuple[DiffersView, ...] = ()
    kind: str | None = None
    lubricant_sourced: bool = True
    code: str = ""
    lots: tuple[PromisedView, ...] = ()
    short: Thousandths = 0
    missing: Thousandths = 0


@dataclass(frozen=True, slots=True)
class AppliedView:
    """A consumable that is applied where a bag goes; it lies loose in the kit.

    Without `positions` it is for the whole joint.
    """

    item: str
    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bag:
    """A bag of one joint, numbered in the order of refitting.

    A joint whose rings could be swapped has several, `part` 1 to `parts`; all but rings is in the
    first. `count_out` is how many old seals come out from where the seals of this bag go; None
    where it holds none; those of what is left off count in the first. `uses` is what else is
    applied there than what its lines name, `left_off` what belongs there and is not in the kit,
    `tray` on which tray it lies if the kit of a booking is split. `warnings` are the `hazards` with
    what they come of.
    """

    number: int
    code: str
    joint: str
    joint_name: str
    lines: tuple[BagLine, ...]
    ends: tuple[EndLabel, ...]
    tightening: tuple[TighteningView, ...]
    count_out: int | None
    hazards: tuple[str, ...]
    part: int = 1
    parts: int = 1
    uses: tuple[AppliedView, ...] = ()
    left_off: tuple[BagLine, ...] = ()
    tray: int | None = None
    warnings: tuple[HazardView, ...] = ()


@dataclass(frozen=True, slots=True)
class KitView:
    """All labels of a plan: one for the kit, one per bag, one per ring end.

    `doubts` says what is not fine, or left off, and why. `kit_in` is the branch or van in which the
    kit of a booking lies, where that is not its own branch. `model` and `plate` are of the car that
    `vehicle` names, `warnings` the `hazards` with what they come of.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    bags: tuple[Bag, ...]
    loose: tuple[BagLine, ...]
    doubts: tuple[Doubt, ...]
    hazards: tuple[str, ...]
    cautions: tuple[CautionView, ...]
    booking: str | None = None
    shortages: tuple[ShortageView, ...] = ()
    keeps_to: date | None = None
    kit_in: str | None = None
    vehicle_shortened: str = ""
    model: str = ""
    plate: str = ""
    plate_shortened: str = ""
    warnings: tuple[HazardView, ...] = ()
