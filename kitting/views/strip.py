"""The strip sheet: what comes off, step by step, in the order of stripping down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.strip_down import ComesOut
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Doubt
from kitting.facts.words import PatternShape, Rule
from kitting.views.plan import CautionView
from kitting.views.slot import SlotView


class PhotoOf(ReasonCode):
    """What to photograph before it is taken apart, as far as the catalogue tells."""

    ENDS = "ends"
    LENGTHS = "lengths"
    RUNS = "runs"


@dataclass(frozen=True, slots=True)
class ComesOffView:
    """What comes off at positions alike, how much in all, and what becomes of it.

    `thread` is as in the catalogue, `length` in mm. `left_hand` is None where it has a thread that
    nobody states. `rule` is renew where a new one goes in first. `only_with` are the options of
    open variants with which it is there at all.
    """

    positions: tuple[str, ...]
    item: str
    name: str
    amount: Quantity
    rule: Rule
    thread: str | None = None
    length: float | None = None
    left_hand: bool | None = False
    only_with: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UndoView:
    """In which order fasteners are loosened: the reverse of the order of tightening.

    `order` has hole numbers as drawn on the tightening sheet, `shape` where the order of tightening
    comes from; without an order, `in_words` is what the maker says of tightening.
    """

    order: tuple[int, ...]
    shape: PatternShape
    in_words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BagTagView:
    """The number and the code of a bag."""

    number: int
    code: str


@dataclass(frozen=True, slots=True)
class StripJointView:
    """A joint that a step opens, `opened` times in all; `before` is the step that did so already.

    `bags` hold what goes in there, none where nothing does. `seals` is how many old seals come out,
    0 where it holds none; `counted` how many did, None until somebody counted. `holds_unknown`: it
    has seals, and nobody says what they hold back. `seals_depend`: how many of the seals are there
    depends on an open variant, and there are no more than so many.
    """

    joint: str
    name: str
    bags: tuple[BagTagView, ...]
    off: tuple[ComesOffView, ...]
    seals: int
    undo: UndoView | None
    opened: int = 1
    before: str | None = None
    holds_unknown: bool = False
    seals_depend: bool = False
    counted: int | None = None


@dataclass(frozen=True, slots=True)
class RefillView:
    """So much of an item is filled in again."""

    item: str
    name: str
    amount: Quantity


@dataclass(frozen=True, slots=True)
class FluidOutView:
    """A fluid that comes out at a step: `hazards` are the words and titles of its cautions.

    `refills` is what this step fills in again, `drained_at` the earlier step that drained it.
    """

    fluid: str
    comes_out: ComesOut
    hazards: tuple[str, ...]
    refills: tuple[RefillView, ...] = ()
    drained_at: str | None = None


@dataclass(frozen=True, slots=True)
class StripStepView:
    """A step in the order of stripping down, with the joints that it opens.

    `licences` are those that it or the system of one of its joints asks for.
    `open_ends`: something may come in or out; `closers` is how many caps and plugs are stated for
    that, None where nobody says. While
    a variant of `waits_for` is open it is not known whether the step is done at all; `doubts` are
    of its joints.
    """

    number: int
    code: str
    name: str
    asked_by: tuple[str, ...]
    licences: tuple[str, ...]
    tools: tuple[str, ...]
    cautions: tuple[CautionView, ...]
    joints: tuple[StripJointView, ...]
    fluids: tuple[FluidOutView, ...]
    open_ends: bool
    closers: int | None
    photos: tuple[Reason, ...]
    waits_for: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True, slots=True)
class StripView:
    """The strip sheet of a plan, or of a booking with its number.

    `doubts` are what has to be known before anything is taken apart, `other_doubts` those of what
    goes in, which other sheets tell.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    steps: tuple[StripStepView, ...]
    doubts: tuple[Doubt, ...]
    other_doubts: tuple[Doubt, ...]
    cautions: tuple[CautionView, ...]
    booking: str | None = None
    slot: SlotView | None = None
    vehicle_shortened: str = ""
