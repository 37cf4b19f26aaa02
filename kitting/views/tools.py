"""Tools: what is there, whether it can do the work, what to buy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from kitting.facts.amounts import Thousandths
from kitting.facts.heads import Head
from kitting.facts.money import Money
from kitting.facts.reasons import Reason
from kitting.facts.tool_reasons import TrainNote
from kitting.facts.tool_words import (
    FigureVerdict,
    RangePolicy,
    ToolOfferWay,
    ToolSort,
    ToolState,
    ToolTask,
    ToolVerdict,
    WrenchClass,
    WrenchDirection,
)
from kitting.facts.units import Torque
from kitting.facts.verdicts import Verdict, tally, weakest
from kitting.views.plan import CautionView


@dataclass(frozen=True, slots=True)
class MarkedScale:
    """The ends of a scale as they are marked, in one unit."""

    low: Torque
    high: Torque


@dataclass(frozen=True, slots=True)
class ToolListing:
    """A tool as lists show it; `takes` and `gives` are square drives in inches ("3/8")."""

    box: str
    code: str
    name: str
    sort: ToolSort
    turns: Head | None
    takes: str | None
    gives: str | None
    scale: MarkedScale | None
    calibrated_to: date | None
    state: ToolState
    lent_to: str | None
    back_on: date | None
    resolution: Torque | None = None

    @property
    def lacks_steps(self) -> bool:
        """Whether it is a torque wrench with a scale of which nobody states the steps."""
        wrench = self.sort is ToolSort.TORQUE_WRENCH
        return wrench and self.scale is not None and self.resolution is None


@dataclass(frozen=True, slots=True)
class ToolStateView:
    """What was recorded of a tool."""

    box: str
    code: str
    state: ToolState
    lent_to: str | None
    back_on: date | None


@dataclass(frozen=True, slots=True)
class TrainView:
    """A complete drive train: tools from hand to head, where they are, what the wrench is set to.

    `setting` is in the unit of the wrench's own scale, at one of its marks where its `resolution`
    is stated; None where there is no wrench. `read` says that the wrench is not set to it, but
    shows it.
    """

    tools: tuple[str, ...]
    boxes: tuple[str, ...]
    setting: Torque | None = None
    note: Reason | None = None
    read: bool = False
    resolution: Torque | None = None

    @property
    def corrected(self) -> bool:
        """Whether the setting is not the torque at the fastener, for a crowfoot."""
        return self.note is not None and self.note.code is TrainNote.CROWFOOT_STRAIGHT


@dataclass(frozen=True, slots=True)
class RequirementView:
    """What has to be done: a task on a head, or a general tool to have (`tool`).

    `torque` is the figure as published with its `tolerance` in the same unit; None where the task
    has none or nobody states it. `head` is None where it is not stated.
    """

    task: ToolTask
    head: Head | None = None
    left_hand: bool = False
    torque: Torque | None = None
    tolerance: Decimal | None = None
    tool: str | None = None


@dataclass(frozen=True, slots=True)
class NeedView:
    """One requirement for all places that ask the same, and whether the toolbox meets it.

    `state` is unknown where something is not recorded, so that nothing can be proven, and stopped
    while a variant is open that decides whether it is asked at all. Trains of an unknown state do
    it if the scale of the wrench has the mark. `assumed` says what it was judged by that nobody
    stated.
    """

    what: RequirementView
    places: tuple[str, ...]
    state: ToolVerdict
    trains: tuple[TrainView, ...]
    reasons: tuple[Reason, ...]
    assumed: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class ScaleView:
    """A torque wrench on the range chart, in N·m; `away` says why it cannot be used."""

    code: str
    box: str
    low: float
    high: float
    scale: MarkedScale
    calibrated_to: date | None
    away: Reason | None
    resolution: Torque | None = None

    @property
    def lacks_steps(self) -> bool:
        """Whether nobody states how far the marks of its scale are apart."""
        return self.resolution is None


@dataclass(frozen=True, slots=True)
class FigureView:
    """A torque figure on the range chart, in N·m and as published."""

    newton_metres: float
    published: Torque
    state: FigureVerdict


_VERDICTS = {
    ToolVerdict.GAP: Verdict.NO,
    ToolVerdict.STOPPED: Verdict.STOPPED,
    ToolVerdict.UNKNOWN: Verdict.UNKNOWN,
    ToolVerdict.HAVE: Verdict.FINE,
}


@dataclass(frozen=True, slots=True)
class LayOutView:
    """A tool to lay out, where it is, and for how many tasks of which sort it is the first choice.

    `settings` are what a torque wrench is set to, or shows.
    """

    box: str
    code: str
    name: str
    tasks: Mapping[ToolTask, int]
    settings: tuple[TrainView, ...] = ()

    @property
    def count(self) -> int:
        """For how many tasks it is wanted."""
        return sum(self.tasks.values())


@dataclass(frozen=True, slots=True)
class ToolCheckView:
    """Can these boxes do the jobs of a plan?

    `cover` is the cheapest purchase that closes the gaps; None where it was not asked for, there is
    no gap, or no purchase is named, for the reason `no_cover`. `stopped` are the variants that jobs
    wait for: with any, what is asked of the tools is not all known. `lay_out` is every tool that
    the work takes, each once. `booking` is its number where the plan is of one.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    boxes: tuple[str, ...]
    policy: RangePolicy
    needs: tuple[NeedView, ...]
    scales: tuple[ScaleView, ...]
    figures: tuple[FigureView, ...]
    cautions: tuple[CautionView, ...]
    cover: BuyView | None = None
    no_cover: Reason | None = None
    stopped: tuple[Reason, ...] = ()
    lay_out: tuple[LayOutView, ...] = ()
    booking: str | None = None
    vehicle_shortened: str = ""

    @property
    def tally(self) -> dict[Verdict, int]:
        """How many requirements come to which verdict."""
        return tally(_VERDICTS[need.state] for need in self.needs)

    @property
    def verdict(self) -> Verdict:
        """The worst of them: fine where everything can be done for certain."""
        waiting = [Verdict.STOPPED] if self.stopped else []
        return weakest((*waiting, *(_VERDICTS[need.state] for need in self.needs)))

    @property
    def gaps(self) -> tuple[NeedView, ...]:
        """What the boxes cannot do."""
        return tuple(need for need in self.needs if need.state == ToolVerdict.GAP)


@dataclass(frozen=True, slots=True)
class ToolSpecView:
    """What a tool on offer is: offers of the same thing have the same; lengths in mm.

    `deviation` is how far a reading may be off, in percent, `resolution` from one mark of its scale
    to the next, `wrench_class` its class of ISO 6789;
    `calibrated_to` is None of a new wrench. `general` names a general tool.
    """

    sort: ToolSort
    general: str | None = None
    turns: Head | None = None
    takes: str | None = None
    gives: str | None = None
    scale: MarkedScale | None = None
    length: Thousandths | None = None
    depth: Thousandths | None = None
    offset: Thousandths | None = None
    grip: Thousandths | None = None
    points: int | None = None
    direction: WrenchDirection | None = None
    wrench_class: WrenchClass | None = None
    deviation: Decimal | None = None
    resolution: Torque | None = None
    calibrated_to: date | None = None


@dataclass(frozen=True, slots=True)
class GapView:
    """Something that the boxes cannot do; `number` distinguishes those that read the same.

    `unproven` says that they perhaps can, and only nobody can prove it.
    """

    what: RequirementView
    number: int = 1
    unproven: bool = False


@dataclass(frozen=True, slots=True)
class BoughtView:
    """One purchase, and in `closes` what could not be done without it."""

    offer: str
    name: str
    supplier: str
    way: ToolOfferWay
    price: Money
    brings: tuple[ToolSpecView, ...]
    closes: tuple[GapView, ...]


@dataclass(frozen=True, slots=True)
class LeftOutView:
    """An offer that was not compared: its price is in another currency."""

    offer: str
    name: str
    supplier: str
    price: Money


@dataclass(frozen=True, slots=True)
class BuyView:
    """The cheapest way to close every gap that can be closed, proven.

    What cannot be proven with the boxes is a gap as well. `total` is the price of all;
    `next_cheapest` what the best other choice costs, None if there is none. `not_closed` are gaps
    that no offer closes, `not_proven` what no offer proves, or is stopped. `left_out` are offers in
    other currencies than the one asked for, which are not compared.
    """

    bought: tuple[BoughtView, ...]
    total: Money | None
    next_cheapest: Money | None
    next_offers: tuple[str, ...]
    closed: tuple[GapView, ...]
    not_closed: tuple[GapView, ...]
    left_out: tuple[LeftOutView, ...] = ()
    not_proven: tuple[NeedView, ...] = ()


@dataclass(frozen=True, slots=True)
class ToolOfferView:
    """An offer by code and name, and whether it is bought, hired or borrowed."""

    code: str
    name: str
    way: ToolOfferWay


@dataclass(frozen=True, slots=True)
class OpeningView:
    """An offer, or a gap that no offer closes: the jobs it alone would open, and those it helps."""

    offer: ToolOfferView | None
    gap: GapView | None
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
