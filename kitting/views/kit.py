"""The kit of a plan: pick list and labels."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.verdicts import Doubt
from kitting.facts.words import FindingResult, NeedRule
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

    @property
    def spare(self) -> bool:
        """Only needed if an inspection fails: up to so much."""
        return self.rule is NeedRule.INSPECT


@dataclass(frozen=True, slots=True)
class PickLine:
    """One row of the pick list.

    `covered` is what packets of the plan bring. For a booking, `sources` is from where to take it,
    `short` what nothing covers yet, and `trays` where its bags lie if the kit is split.
    """

    bin: str | None
    content: ContentView
    bags: tuple[int, ...]
    covered: tuple[CoverView, ...] = ()
    notes: tuple[Reason, ...] = ()
    sources: tuple[PromisedView, ...] = ()
    short: Thousandths = 0
    trays: tuple[int, ...] = ()


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

    `booking` is its number where it is of one, with everything that is short of it;
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
    shortages: tuple[ShortageView, ...] = ()
    slot: SlotView | None = None
    kit_in: str | None = None
    vehicle_shortened: str = ""


@dataclass(frozen=True, slots=True)
class BagLine:
    """One content of a bag, and where it goes.

    `lubricants` are products, or that it goes in dry; none where nobody says. For a booking, `lots`
    is what is promised to this bag or picked for it, `short` what nothing covers: what there is
    goes to the bags in the order of refitting.
    """

    content: ContentView
    positions: tuple[str, ...] = ()
    lubricants: tuple[Reason, ...] = ()
    notes: tuple[Reason, ...] = ()
    lots: tuple[PromisedView, ...] = ()
    short: Thousandths = 0

    @property
    def here(self) -> Thousandths:
        """How much of it lies in the bag, or waits on a shelf for it."""
        return self.content.quantity - self.short - awaited(self.lots)

    @property
    def goes_dry(self) -> bool:
        """Whether every position of it goes together dry: that is said on every label."""
        return bool(self.lubricants) and all(
            lubricant.code == LubricantReason.DRY for lubricant in self.lubricants
        )


@dataclass(frozen=True, slots=True)
class DiffersView:
    """A ring of the kit that could be fitted here by mistake.

    `ends` are where that one belongs, `size` and `material` what it is; `difference` is how this
    ring differs from it.
    """

    ends: tuple[str, ...]
    size: str | None
    material: str | None
    difference: Reason


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
    `lots` and `short` are as in `BagLine`. `differs` has every ring of the kit that could be fitted
    here by mistake, the nearest first.
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


@dataclass(frozen=True, slots=True)
class RemovalJointView:
    """A joint with its old seals: how many have to come out, from where, and how many did.

    `expected` and `counted` are pieces; `counted` is None until somebody counted. `bag` is None
    where nothing goes in: what goes in is stopped, and the old seals come out all the same.
    """

    bag: int | None
    joint: str
    joint_name: str
    expected: int
    counted: int | None
    positions: tuple[str, ...]

    @property
    def differs(self) -> bool:
        """Counted, and not as many as expected."""
        return self.counted is not None and self.counted != self.expected


@dataclass(frozen=True, slots=True)
class RemovalView:
    """The removal count of a booking: `withheld` says why each joint that differs is."""

    booking: str
    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    joints: tuple[RemovalJointView, ...]
    withheld: tuple[Reason, ...]
    cautions: tuple[CautionView, ...]
    slot: SlotView | None = None
    vehicle_shortened: str = ""


@dataclass(frozen=True, slots=True)
class InspectView:
    """One position to inspect: what it has to show to go back on, and what was recorded of it."""

    bag: int
    joint: str
    position: str
    item: str
    name: str
    quantity: Thousandths
    unit: str
    criterion: str | None
    said_by: str | Reason
    group: bool
    recorded: FindingResult | None
    recorded_reason: str | None


@dataclass(frozen=True, slots=True)
class FindingsView:
    """The findings sheet of a booking: every position that may go back, in refit order.

    It is by the catalogue and the history as they are now; `doubts` say where the booking was
    planned by others.
    """

    booking: str
    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    rows: tuple[InspectView, ...]
    cautions: tuple[CautionView, ...]
    doubts: tuple[Doubt, ...] = ()
    slot: SlotView | None = None
    vehicle_shortened: str = ""
