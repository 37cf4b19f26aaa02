"""A plan: what a strip-down asks for, line by line, with the reasons."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason
from kitting.facts.stages import Stage
from kitting.facts.tool_words import ToolAskSort
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import (
    ContactState,
    ItemFamily,
    RelaxedBy,
    Rule,
    Source,
    StockUnit,
    ThreadState,
)
from kitting.views.plan_stops import ContactView, UnresolvedView
from kitting.views.vehicle import VehicleView

RULES = tuple(Rule)


@dataclass(frozen=True, slots=True)
class JobView:
    """A job with the steps it needs in the end, and its hours done alone.

    `stopped_by` names the variants that must be settled before it goes on.
    """

    code: str
    name: str
    unit: str
    hours: Thousandths
    needs: tuple[str, ...]
    stopped_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepView:
    """An access step, once, whoever asks for it, in the order of stripping down.

    While a variant of `stopped_by` is open it is not known whether it is done at all; its hours
    are in no sum.
    """

    code: str
    name: str
    unit: str
    hours: Thousandths
    needs: tuple[str, ...]
    asked_by: tuple[str, ...]
    cautions: tuple[str, ...]
    stopped_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HoursView:
    """`apart` is the sum of the jobs done one by one, `total` together, `saved` the difference."""

    total: Thousandths
    apart: Thousandths
    saved: Thousandths


@dataclass(frozen=True, slots=True)
class JointView:
    """A joint that is opened, `opened` times (reopenings included); `doubts` are of itself."""

    code: str
    name: str
    unit: str
    system: str
    fluids: tuple[str, ...]
    opened: int
    opened_by: tuple[str, ...]
    asked_by: tuple[str, ...]
    cautions: tuple[str, ...]
    hazards: tuple[str, ...]
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True, slots=True)
class PositionView:
    """Where one item of a line sits: joint, position, and the end named by something visible.

    `quantity` is what it takes over all openings of the joint, `holds` what sits there at once;
    `passed`: it was looked at, and goes back; `kept`: so much of it passed where the rest failed.
    `lubricant` is what it is assembled with, None where nobody says; `lubricant_sourced` says that
    a source is stated for it.
    """

    joint: str
    position: str
    end: str | None
    quantity: Thousandths
    holds: Thousandths
    lubricant: Reason | None
    lubricant_sourced: bool = True
    passed: bool = False
    kept: Thousandths = 0


@dataclass(frozen=True, slots=True)
class ReasonView:
    """Why: these jobs ask for this step, which opens this joint so often, at these positions."""

    jobs: tuple[str, ...]
    step: str
    joint: str
    opened: int
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OverruledView:
    """A source that spoke too and did not decide, with what it said and why it lost."""

    source: Source
    rule: Rule
    said_by: str | Reason
    because: Reason


@dataclass(frozen=True, slots=True)
class CoverView:
    """A packet on this plan that brings some of the line (thousandths of the line's unit)."""

    packet: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class RingView:
    """A ring as it is told apart: inside diameter and section in mm, rubber, hardness."""

    inside: float
    section: float
    elastomer: str | None
    hardness: int | None


@dataclass(frozen=True, slots=True)
class LineView:
    """One item under one verdict.

    `quantity` is what the positions take; `covered` is brought by packets of the plan; `to_take`
    is what has to come from the shelf or a supplier: all that is renewed and not covered; nothing
    of what may go back, which is only wanted if the inspection fails. `said_by` is the reference
    of the source, or a reason where it has none; `relaxed_by` is the lowest source that may allow
    less, of a general rule. `group` names positions that are all renewed if
    one fails. Of a line that is `stopped_by` something, nothing is ordered, picked or labelled.
    `verdict` is the weakest of its `doubts`, fine where there is none; `stands_for` is the item
    that the joints ask for where this one stands in for it.
    """

    item: str
    name: str
    kind: str
    family: ItemFamily
    rule: Rule
    quantity: Thousandths
    unit: StockUnit
    positions: tuple[PositionView, ...]
    source: Source
    relaxed_by: RelaxedBy | None
    said_by: str | Reason
    criterion: str | None
    overruled: tuple[OverruledView, ...]
    chance: float | None
    group: str | None
    reasons: tuple[ReasonView, ...]
    covered: tuple[CoverView, ...]
    to_take: Thousandths
    pack: Thousandths | None
    packs: int | None
    bin: str | None
    size: str | None
    material: str | None
    colour: str | None
    notes: tuple[Reason, ...]
    hazards: tuple[str, ...]
    stopped_by: tuple[Reason, ...]
    verdict: Verdict
    doubts: tuple[Doubt, ...]
    stands_for: str | None = None
    ring: RingView | None = None
    elastomer: str | None = None
    hardness: int | None = None

    @property
    def wanted(self) -> Thousandths:
        """What the kit has to hold: what is to be taken, or as spares what no packet brings."""
        if self.rule is Rule.INSPECT and not self.stopped_by:
            return self.quantity - sum(part.quantity for part in self.covered)
        return self.to_take


@dataclass(frozen=True, slots=True)
class UseView:
    """A consumable over all joints and steps of the plan; `how` says how the amount arose."""

    item: str
    name: str
    kind: str
    quantity: Thousandths
    unit: StockUnit
    pack: Thousandths | None
    packs: int | None
    bin: str | None
    how: tuple[Reason, ...]
    reasons: tuple[ReasonView, ...]
    covered: tuple[CoverView, ...]
    to_take: Thousandths
    notes: tuple[Reason, ...]
    hazards: tuple[str, ...]
    stopped_by: tuple[Reason, ...]
    verdict: Verdict
    doubts: tuple[Doubt, ...]
    stands_for: str | None = None


@dataclass(frozen=True, slots=True)
class TighteningView:
    """How the fasteners of one position are tightened.

    `stages` are as published; empty when no figure is known, or when it was given for another part
    than the one that is fitted (`withheld_for`, the part it was given for). `remarks` is what is
    odd about them.
    """

    joint: str
    position: str
    item: str
    quantity: int
    rule: Rule
    head: str | None
    stages: tuple[Stage, ...]
    thread_state: ThreadState
    pattern: str | None
    source: str | None
    stopped_by: tuple[str, ...]
    withheld_for: str | None = None
    left_hand: bool = False
    remarks: tuple[Reason, ...] = ()
    stage_order: str | None = None


@dataclass(frozen=True, slots=True)
class ToolView:
    """Something that the toolbox needs, and the places that need it."""

    sort: ToolAskSort
    tool: str
    wanted_for: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ServiceView:
    """Work bought from outside, not known to be asked for while `stopped_by` is open."""

    name: str
    timing: str
    licence: str | None
    asked_by: tuple[str, ...]
    stopped_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CautionView:
    """Planning information, never a procedure; `applies_to` names steps, joints and items.

    `word` stands on every label; None where the caution has none.
    """

    code: str
    title: str
    text: str
    applies_to: tuple[str, ...]
    word: str | None = None


@dataclass(frozen=True, slots=True)
class LicenceView:
    """A qualification the law or the maker asks for before a step is done."""

    code: str
    name: str
    text: str
    asked_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnknownFigureView:
    """A figure nobody published to us. Printed as NO FIGURE: LOOK IT UP, never as 0."""

    joint: str
    position: str
    item: str
    what: str


@dataclass(frozen=True, slots=True)
class PlanView:
    """The complete answer for some jobs on one car at one fitting date.

    `verdict` is the weakest of its lines, uses and joints, `tally` counts them by verdict, `doubts`
    says what keeps it from being fine, the worst first.
    """

    reference: str
    on: date
    vehicle: VehicleView
    jobs: tuple[JobView, ...]
    steps: tuple[StepView, ...]
    hours: HoursView
    joints: tuple[JointView, ...]
    lines: tuple[LineView, ...]
    uses: tuple[UseView, ...]
    tightenings: tuple[TighteningView, ...]
    tools: tuple[ToolView, ...]
    services: tuple[ServiceView, ...]
    cautions: tuple[CautionView, ...]
    licences: tuple[LicenceView, ...]
    unresolved: tuple[UnresolvedView, ...]
    unknown_figures: tuple[UnknownFigureView, ...]
    contacts: tuple[ContactView, ...] = ()
    verdict: Verdict = Verdict.FINE
    doubts: tuple[Doubt, ...] = ()
    tally: Mapping[Verdict, int] = field(default_factory=dict)

    @property
    def entries(self) -> tuple[LineView | UseView, ...]:
        """Everything that comes to a verdict: lines, then what is used up."""
        return (*self.lines, *self.uses)

    @property
    def clashes(self) -> tuple[ContactView, ...]:
        """What is certain to go wrong, each with what would do instead."""
        return tuple(contact for contact in self.contacts if contact.state == ContactState.CLASH)
