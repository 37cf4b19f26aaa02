"""Tools: what is there, whether it can do the work, what to buy, how to tighten."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.reasons import Reason
from kitting.facts.stages import Stage
from kitting.views.plan import CautionView
from kitting.views.tightening import PutOnView


@dataclass(frozen=True, slots=True)
class ToolListing:
    """A tool as lists show it."""

    box: str
    code: str
    name: str
    sort: str
    turns: str | None
    takes: str | None
    gives: str | None
    scale: str | None
    calibrated_to: date | None
    state: str
    lent_to: str | None
    back_on: date | None


@dataclass(frozen=True, slots=True)
class TrainView:
    """A complete drive train: tools from hand to head, where they are, what the wrench is set to.

    `setting` is in the unit of the wrench's own scale ("19.6 N·m"); None where no wrench is set.
    """

    tools: tuple[str, ...]
    boxes: tuple[str, ...]
    setting: str | None
    note: str | None


@dataclass(frozen=True, slots=True)
class NeedView:
    """One thing the toolbox must be able to do, for all places that ask the same.

    `task` is undo, torque, angle or general; `state` is have, gap, or unknown (no figure or no head
    is stated, so nothing can be proven).
    """

    task: str
    what: str
    places: tuple[str, ...]
    state: str
    trains: tuple[TrainView, ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ScaleView:
    """A torque wrench on the range chart, in N·m; `away` says why it cannot be used."""

    code: str
    box: str
    low: float
    high: float
    scale: str
    calibrated_to: date | None
    away: str | None


@dataclass(frozen=True, slots=True)
class FigureView:
    """A torque figure on the range chart, in N·m.

    `state` is have; wrench, where a wrench covers it and another part of the train is missing; or
    gap, where no wrench does.
    """

    newton_metres: float
    published: str
    state: str


@dataclass(frozen=True, slots=True)
class ToolCheckView:
    """Can these boxes do the jobs of a plan?

    `cover` tells the cheapest purchase that closes the gaps, line by line; empty where it was not
    asked for or nothing is on offer.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    boxes: tuple[str, ...]
    policy: str
    needs: tuple[NeedView, ...]
    scales: tuple[ScaleView, ...]
    figures: tuple[FigureView, ...]
    cautions: tuple[CautionView, ...]
    cover: tuple[str, ...] = ()

    @property
    def gaps(self) -> tuple[NeedView, ...]:
        """What the boxes cannot do."""
        return tuple(need for need in self.needs if need.state == "gap")


@dataclass(frozen=True, slots=True)
class BoughtView:
    """One purchase, and in `closes` what could not be done without it."""

    offer: str
    name: str
    supplier: str
    way: str
    price: str
    brings: tuple[str, ...]
    closes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BuyView:
    """The cheapest way to close every gap that can be closed, proven.

    `total` is the price of all; `next_cheapest` what the best other choice costs, None if there is
    none. `not_closed` are gaps that no offer closes.
    """

    bought: tuple[BoughtView, ...]
    total: str | None
    next_cheapest: str | None
    next_offers: tuple[str, ...]
    closed: tuple[str, ...]
    not_closed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpeningView:
    """Something missing: the jobs that it alone would open, and those that wait for more.

    `way` is buy, hire or borrow; None for what is not on offer.
    """

    tool: str
    way: str | None
    opens: tuple[str, ...]
    waits: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CriticalView:
    """A tool of a box, and the jobs that could not be done without it."""

    tool: str
    box: str
    blocks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReachView:
    """What the jobs of the catalogue depend on; `possible` are those that can be done now."""

    jobs: int
    possible: tuple[str, ...]
    offers: tuple[OpeningView, ...]
    not_on_offer: tuple[OpeningView, ...]
    critical: tuple[CriticalView, ...]


@dataclass(frozen=True, slots=True)
class HoleView:
    """A numbered hole of a drawing: `x` and `y` in mm from any origin, y upwards.

    `row` is the place of its fastener's row among those of the joint, from 0; `fastener` names
    what goes in where the fasteners of a joint differ.
    """

    number: int
    x: float
    y: float
    row: int
    fastener: str | None


@dataclass(frozen=True, slots=True)
class DrawingView:
    """In which order the holes of a joint are tightened.

    `order` lists hole numbers; loosening is the reverse. `shape` is maker, circle or plate; any
    but the maker's is a general pattern and must be marked so. `front` says what the arrow points
    to (towards +y); None where nobody says.
    """

    holes: tuple[HoleView, ...]
    order: tuple[int, ...]
    shape: str
    front: str | None


@dataclass(frozen=True, slots=True)
class TightenStageView:
    """One stage, and how it is done.

    `wrench` is the train from hand to head; None with the `reason`
    where no toolbox can do it. `setting` is what the wrench is set to, in its own unit.
    """

    stage: Stage
    wrench: str | None
    setting: str | None
    note: str | None
    reason: str | None


@dataclass(frozen=True, slots=True)
class TightenRowView:
    """The fasteners of one position: `count` of them, each with a box to tick per stage.

    `bolt` says whether new ones go in: NEW, OLD or AFTER A LOOK. `unknown` is set instead of
    stages where no figure is known. `general` is a figure of the general thread table, never
    maker's data, None where it may not stand in; `why_not_general` says why.
    """

    position: str
    item: str
    name: str
    count: int
    thread: str | None
    left_hand: bool
    thread_state: str
    bolt: str
    stages: tuple[TightenStageView, ...]
    pattern: str | None
    source: str | None
    unknown: str | None
    general: str | None
    why_not_general: str | None


@dataclass(frozen=True, slots=True)
class TightenJointView:
    """A joint in the order of refitting, with its bag; `put_on` is what has to set there."""

    bag: int
    joint: str
    joint_name: str
    rows: tuple[TightenRowView, ...]
    drawing: DrawingView | None
    put_on: tuple[PutOnView, ...] = ()


@dataclass(frozen=True, slots=True)
class TightenView:
    """The tightening sheet of a plan; `boxes` are the toolboxes that the wrenches are chosen from.

    `stopped` names what is left off and why; `put_on` what is put on and has to set where nothing
    is tightened, in words, and `times_remark` what goes for all times (None where there are none).
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    boxes: tuple[str, ...]
    joints: tuple[TightenJointView, ...]
    stopped: tuple[Reason, ...]
    cautions: tuple[CautionView, ...]
    put_on: tuple[str | Reason, ...] = ()
    times_remark: str | None = None
