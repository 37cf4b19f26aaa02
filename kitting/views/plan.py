"""A plan: what a strip-down asks for, line by line, with the reasons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.stages import Stage
from kitting.facts.words import ThreadState, ToolAskSort

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
    hours: Thousandths
    needs: tuple[str, ...]
    stopped_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepView:
    """An access step, once, whoever asks for it, in the order of stripping down."""

    code: str
    name: str
    unit: str
    hours: Thousandths
    needs: tuple[str, ...]
    asked_by: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HoursView:
    """`apart` is the sum of the jobs done one by one, `total` together, `saved` the difference."""

    total: Thousandths
    apart: Thousandths
    saved: Thousandths


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
    hazards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PositionView:
    """Where one item of a line sits: joint, position, and the end named by something visible.

    `lubricant` is a product, DRY, or None where nobody says.
    """

    joint: str
    position: str
    end: str | None
    quantity: Thousandths
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
    of what may go back, which is only wanted if the inspection fails. `group` names positions
    that are all renewed if one fails. A line is `held_by` variants that are not settled: nothing
    of it is ordered, picked or labelled.
    """

    item: str
    name: str
    kind: str
    family: str
    rule: str
    quantity: Thousandths
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
    to_take: Thousandths
    pack: Thousandths | None
    packs: int | None
    bin: str | None
    size: str | None
    material: str | None
    colour: str | None
    notes: tuple[str, ...]
    hazards: tuple[str, ...]
    held_by: tuple[str, ...]
    ring: RingView | None = None


@dataclass(frozen=True, slots=True)
class UseView:
    """A consumable over all joints and steps of the plan; `how` says how the amount arose."""

    item: str
    name: str
    kind: str
    quantity: Thousandths
    unit: str
    pack: Thousandths | None
    packs: int | None
    bin: str | None
    how: tuple[str, ...]
    reasons: tuple[ReasonView, ...]
    covered: tuple[CoverView, ...]
    to_take: Thousandths
    notes: tuple[str, ...]
    hazards: tuple[str, ...]
    held_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TighteningView:
    """How the fasteners of one position are tightened.

    `stages` are as published; empty when no figure is known.
    """

    joint: str
    position: str
    item: str
    quantity: int
    rule: str
    head: str | None
    stages: tuple[Stage, ...]
    thread_state: ThreadState
    pattern: str | None
    source: str | None
    held_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToolView:
    """Something that the toolbox needs, and the places that need it."""

    sort: ToolAskSort
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
class ContactView:
    """How the rubber of one position stands a fluid, its lubricant or the heat.

    `state` is clash (certain: held back), ask (doubtful, or an opinion only), unknown or suits;
    `rating` and `certainty` are the source's, `because` names it, `instead` what would do.
    """

    joint: str
    position: str
    end: str | None
    item: str
    elastomer: str
    against: str
    what: str
    state: str
    rating: str
    certainty: str
    because: str
    instead: tuple[str, ...]

    @property
    def told(self) -> str:
        """The contact in a sentence: what on what, where, who says so, what would do instead."""
        joined = (self.what, "on", self.elastomer)
        if self.against != "lubricant":
            joined = (self.elastomer, "in", self.what)
        instead = f". Instead: {' or '.join(self.instead)}" if self.instead else ""
        return f"{' '.join(joined)} at {self.position} ({self.item}): {self.because}{instead}"


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
    contacts: tuple[ContactView, ...] = ()

    @property
    def clashes(self) -> tuple[ContactView, ...]:
        """What is certain to go wrong, each with what would do instead."""
        return tuple(contact for contact in self.contacts if contact.state == "clash")
