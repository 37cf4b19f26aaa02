"""Frozen results that screen, JSON and paper share.

Amounts are whole thousandths of the named unit (`each`, `ml`, `g`, `mm`); hours are whole
thousandths of an hour; dates are ISO 8601 in JSON. The field names are the keys of the JSON
output and are documented in README.md: changing one is a breaking change.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

RULES = ("renew", "inspect", "keep")


@dataclass(frozen=True, slots=True)
class VehicleView:
    """One car as the sheets name it."""

    registration: str
    model: str
    vin: str | None
    build_date: date | None
    units: tuple[str, ...]

    @property
    def public_name(self) -> str:
        """Model and the last three characters of the registration, for labels seen by anyone."""
        return f"{self.model} …{self.registration.replace(' ', '')[-3:]}"


@dataclass(frozen=True, slots=True)
class JobView:
    """A job with the steps it needs in the end, and its hours done alone.

    `stopped_by` names the variants that must be settled before it goes on.
    """

    code: str
    name: str
    unit: str
    hours: int
    needs: tuple[str, ...]
    stopped_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepView:
    """An access step, once, whoever asks for it, in the order of stripping down."""

    code: str
    name: str
    unit: str
    hours: int
    needs: tuple[str, ...]
    asked_by: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HoursView:
    """`apart` is the sum of the jobs done one by one, `total` together, `saved` the difference."""

    total: int
    apart: int
    saved: int


@dataclass(frozen=True, slots=True)
class JointView:
    """A joint that the plan opens, `opened` times (reopenings after a test run included)."""

    code: str
    name: str
    unit: str
    system: str
    fluids: tuple[str, ...]
    opened: int
    opened_by: tuple[str, ...]
    asked_by: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PositionView:
    """Where one item of a line sits: joint, position, and the end named by something visible.

    `lubricant` is a product, DRY, or None where nobody says.
    """

    joint: str
    position: str
    end: str | None
    quantity: int
    lubricant: str | None


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

    source: str
    rule: str
    said_by: str
    because: str


@dataclass(frozen=True, slots=True)
class CoverView:
    """A packet on this plan that brings some of the line (thousandths of the line's unit)."""

    packet: str
    quantity: int


@dataclass(frozen=True, slots=True)
class LineView:
    """One item under one verdict.

    `quantity` is what the positions take; `covered` is brought by packets of the plan; `to_take`
    is what has to come from the shelf or a supplier: all that is renewed and not covered; nothing
    of what may go back, which is only wanted if the inspection fails. `group` names positions
    that are all renewed if one fails. A line is `held_by` variants that are not settled: nothing
    of it is ordered, picked or labelled.
    """

    item: str
    name: str
    kind: str
    family: str
    rule: str
    quantity: int
    unit: str
    positions: tuple[PositionView, ...]
    source: str
    said_by: str
    criterion: str | None
    overruled: tuple[OverruledView, ...]
    chance: float | None
    group: str | None
    reasons: tuple[ReasonView, ...]
    covered: tuple[CoverView, ...]
    to_take: int
    pack: int | None
    packs: int | None
    bin: str | None
    size: str | None
    material: str | None
    colour: str | None
    notes: tuple[str, ...]
    hazards: tuple[str, ...]
    held_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UseView:
    """A consumable over all joints and steps of the plan; `how` says how the amount arose."""

    item: str
    name: str
    kind: str
    quantity: int
    unit: str
    pack: int | None
    packs: int | None
    bin: str | None
    how: tuple[str, ...]
    reasons: tuple[ReasonView, ...]
    covered: tuple[CoverView, ...]
    to_take: int
    notes: tuple[str, ...]
    hazards: tuple[str, ...]
    held_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TighteningView:
    """How the fasteners of one position are tightened.

    `stages` are as published ("20 N·m", "+90°"); empty when no figure is known. `second` is the
    same row in the other unit. `thread_state` is dry, oiled, locked, or unknown.
    """

    joint: str
    position: str
    item: str
    quantity: int
    rule: str
    head: str | None
    stages: tuple[str, ...]
    second: tuple[str, ...]
    thread_state: str
    pattern: str | None
    source: str | None
    held_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToolView:
    """Something the toolbox must hold. `sort` is turn, drive, torque, angle or general."""

    sort: str
    tool: str
    wanted_for: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ServiceView:
    """Work bought from outside after the job."""

    name: str
    timing: str
    licence: str | None
    asked_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CautionView:
    """Planning information, never a procedure; `applies_to` names steps, joints and items."""

    code: str
    title: str
    text: str
    applies_to: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LicenceView:
    """A qualification the law or the maker asks for before a step is done."""

    code: str
    name: str
    text: str
    asked_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OptionView:
    """One answer to an open variant: what it looks like and what it would ask for."""

    code: str
    name: str
    seen: str | None
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnresolvedView:
    """A variant split nobody has settled: the question, the check that decides, who waits."""

    split: str
    unit: str
    question: str
    check: str
    why_open: str
    options: tuple[OptionView, ...]
    joints: tuple[str, ...]
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnknownFigureView:
    """A figure nobody published to us. Printed as NO FIGURE: LOOK IT UP, never as 0."""

    joint: str
    position: str
    item: str
    what: str


@dataclass(frozen=True, slots=True)
class PlanView:
    """The complete answer for some jobs on one car at one fitting date."""

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


@dataclass(frozen=True, slots=True)
class PickLine:
    """One row of the pick list; the amount is ready to print ("4", "18.9 ml of a 70 ml pack")."""

    bin: str | None
    item: str
    name: str
    rule: str
    amount: str
    detail: str
    bags: tuple[int, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PickView:
    """The pick list of a plan, in bin order; `stopped` says what is left off and why."""

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    lines: tuple[PickLine, ...]
    stopped: tuple[str, ...]
    cautions: tuple[CautionView, ...]


@dataclass(frozen=True, slots=True)
class BagLine:
    """One content of a bag; `lubricant` is a product, DRY, or None where nobody says."""

    item: str
    name: str
    rule: str
    amount: str
    position: str
    detail: str
    lubricant: str | None = None


@dataclass(frozen=True, slots=True)
class EndLabel:
    """A ring on its own: position and end come first and largest."""

    position: str
    end: str | None
    rule: str
    item: str
    size: str | None
    material: str | None
    colour: str | None
    lubricant: str
    quantity: str


@dataclass(frozen=True, slots=True)
class Bag:
    """The bag of one joint, numbered in the order of refitting."""

    number: int
    code: str
    joint: str
    joint_name: str
    lines: tuple[BagLine, ...]
    ends: tuple[EndLabel, ...]
    tightening: tuple[str, ...]
    count_out: str | None
    hazards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KitView:
    """All labels of a plan: one for the kit, one per bag, one per ring end."""

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    bags: tuple[Bag, ...]
    loose: tuple[BagLine, ...]
    stopped: tuple[str, ...]
    hazards: tuple[str, ...]
    cautions: tuple[CautionView, ...]


@dataclass(frozen=True, slots=True)
class AdditionView:
    """What another job would add to this strip-down."""

    code: str
    name: str
    unit: str
    hours_alone: int
    hours_added: int
    joints_added: tuple[str, ...]
    items_added: tuple[str, ...]
    parts_added: int
    stopped_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeanwhileView:
    """Other jobs of the car's units, the one of which most is done anyway first.

    `not_ranked` names jobs that cannot be planned on this car, with the reason.
    """

    vehicle: VehicleView
    jobs: tuple[str, ...]
    hours: int
    additions: tuple[AdditionView, ...]
    not_ranked: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChainView:
    """One way from a job to a thing: the steps in between, the joint, the positions."""

    job: str
    steps: tuple[str, ...]
    joint: str
    opened: int
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhyView:
    """Why one line of a plan is there, who decided, and what would change it."""

    subject: str
    said: str
    decided_by: str
    overruled: tuple[OverruledView, ...]
    chains: tuple[ChainView, ...]
    changes: tuple[str, ...]


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
    """A torque figure on the range chart, in N·m, and whether some wrench can do it."""

    newton_metres: float
    published: str
    state: str


@dataclass(frozen=True, slots=True)
class ToolCheckView:
    """Can these boxes do the jobs of a plan?"""

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

    @property
    def gaps(self) -> tuple[NeedView, ...]:
        """What the boxes cannot do."""
        return tuple(need for need in self.needs if need.state == "gap")


@dataclass(frozen=True, slots=True)
class BoughtView:
    """One purchase and what it closes."""

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
class ReachView:
    """A missing tool and the jobs that it alone would open, or that wait for it among others."""

    tool: str
    opens: tuple[str, ...]
    waits: tuple[str, ...]
