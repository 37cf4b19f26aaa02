"""Tightening and curing: how every fastener is tightened, what is put on and has to set.

Times are whole minutes, by the product's own data; None where nobody states them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason
from kitting.facts.stages import Stage
from kitting.facts.units import Quantity, Torque
from kitting.facts.verdicts import Doubt, Verdict, tally
from kitting.facts.words import CureVerdict, PatternShape, Rule, ThreadState
from kitting.views.plan import CautionView
from kitting.views.slot import SlotView
from kitting.views.tools import TrainView


@dataclass(frozen=True, slots=True)
class CureTimes:
    """How long a product may be worked and must be left, at how many °C, and who states it."""

    open_minutes: int | None
    cure_minutes: int | None
    source: str | None
    celsius: int | None = None


@dataclass(frozen=True, slots=True)
class LaidView:
    """Where a product is put on: a joint or a step by code and name, how the amount arose.

    `laying` is whether a bead can be laid within the open time; None for no bead. `sourced` says
    that it is stated where the amount is from.
    """

    where: str
    name: str
    how: Reason
    quantity: Thousandths
    laying: Reason | None = None


@dataclass(frozen=True, slots=True)
class ProductView:
    """A product of a plan that has to set; `verdict` is None where no parking time was asked."""

    item: str
    name: str
    kind: str
    unit: str
    quantity: Thousandths
    places: tuple[LaidView, ...]
    open_minutes: int | None
    cure_minutes: int | None
    source: str | None
    verdict: CureVerdict | None
    celsius: int | None = None

    @property
    def times(self) -> CureTimes:
        """Both times with their source, and the temperature that they hold at."""
        return CureTimes(self.open_minutes, self.cure_minutes, self.source, self.celsius)


@dataclass(frozen=True, slots=True)
class CuringView:
    """What has to set on a plan, and whether the car stands long enough for it.

    `parked_minutes` is how long it can stand after the last joint is closed; without it `verdict`
    is unknown or None; otherwise it is the worst of the products'. `stopped` names jobs whose
    products are not known yet: with any, nothing is enough.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    products: tuple[ProductView, ...]
    parked_minutes: int | None
    verdict: CureVerdict | None
    stopped: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class PutOnView:
    """A product as the tightening sheet prints it; `where` is the joint or step by code.

    `laying` is whether a bead can be laid within the open time; None for no bead.
    """

    where: str
    item: str
    name: str
    how: Reason
    amount: Quantity
    times: CureTimes
    laying: Reason | None = None
    sourced: bool = True


@dataclass(frozen=True, slots=True)
class HoleView:
    """A numbered hole of a drawing: `x` and `y` in mm from any origin, y upwards.

    `row` is the place of its fastener's row among those of the joint, from 0, None where nothing is
    tightened; `fastener` names what goes in where that differs.
    """

    number: int
    x: float
    y: float
    row: int | None
    fastener: str | None


@dataclass(frozen=True, slots=True)
class CircleView:
    """A circle that holes lie on: centre and radius in mm, as theirs."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class DrawingView:
    """In which order the holes of a joint are tightened.

    `order` lists hole numbers; none where no order can be given, and `remarks` says why. Any
    `shape` but the maker's is a general pattern and must be marked so. `front` says what the arrow
    points to (towards +y), `seen_from` from where one looks (from the other side the holes are
    mirrored); None where nobody says. `circles` are those that the holes lie on.
    """

    holes: tuple[HoleView, ...]
    order: tuple[int, ...]
    shape: PatternShape
    front: str | None
    seen_from: str | None = None
    circles: tuple[CircleView, ...] = ()
    remarks: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class TightenStageView:
    """One stage with the drive train for it; without one, the `reasons` why no tool does it.

    `verdict` is that of the tool check. A train that is not proven is there only where a look at
    its scale tells whether it does it; then the `reasons` say what is not stated.
    """

    stage: Stage
    train: TrainView | None
    reasons: tuple[Reason, ...]
    verdict: Verdict = Verdict.FINE

    @property
    def proven(self) -> bool:
        """Whether there is a train, and nothing that is not stated keeps it from doing it."""
        return self.train is not None and not self.reasons


@dataclass(frozen=True, slots=True)
class GeneralTorqueView:
    """A figure of the general thread table, never maker's data, and what it holds for."""

    torque: Torque
    property_class: str
    thread_state: ThreadState


@dataclass(frozen=True, slots=True)
class TightenRowView:
    """The fasteners of one position: `count` of them, tightened `times` times.

    Each has a box to tick per stage and time. `rule` says whether new ones go in; `renewed` go in
    at another opening beside those that are looked at, at the first if `new_first`. `passed`: they
    were looked at and go back; `failed`: only so many did not pass, and are new. No `stages`
    means that no figure is known: then `general` is what the general thread table gives, None where
    it may not stand in, for the reason `why_not_general`. `remarks` is what is odd about the
    figures; `stage_order` is how the stages follow each other, in the maker's words. `put_on` is
    what has to set on its own thread, `lubricant` what it goes together with, or that it goes
    together dry; None where nobody says.
    """

    position: str
    item: str
    name: str
    count: int
    thread: str | None
    left_hand: bool
    thread_state: ThreadState
    rule: Rule
    stages: tuple[TightenStageView, ...]
    pattern: str | None
    source: str | None
    times: int = 1
    renewed: int = 0
    new_first: bool = False
    passed: bool = False
    failed: int | None = None
    general: GeneralTorqueView | None = None
    why_not_general: Reason | None = None
    remarks: tuple[Reason, ...] = ()
    stage_order: str | None = None
    put_on: tuple[PutOnView, ...] = ()
    lubricant: Reason | None = None
    lubricant_sourced: bool = True


@dataclass(frozen=True, slots=True)
class BareBagView:
    """A bag at whose joint no figure is asked."""

    bag: int
    joint_name: str


@dataclass(frozen=True, slots=True)
class TightenJointView:
    """A joint in the order of refitting, with its bag.

    `put_on` is what has to set there and is not for the thread of one row.
    """

    bag: int
    joint: str
    joint_name: str
    rows: tuple[TightenRowView, ...]
    drawing: DrawingView | None
    put_on: tuple[PutOnView, ...] = ()


def stage_verdicts(joints: Iterable[TightenJointView]) -> dict[Verdict, int]:
    """How many stages of joints come to which verdict with the tools of the boxes."""
    return tally(stage.verdict for joint in joints for row in joint.rows for stage in row.stages)


@dataclass(frozen=True, slots=True)
class TightenView:
    """The tightening sheet of a plan; `boxes` are the toolboxes that the wrenches are chosen from.

    `doubts` says what is not fine, or left off, and why; `put_on` is what has to set where nothing
    is tightened; `bare` are the bags without a figure. `booking` is its number where it is of one.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    boxes: tuple[str, ...]
    joints: tuple[TightenJointView, ...]
    doubts: tuple[Doubt, ...]
    cautions: tuple[CautionView, ...]
    put_on: tuple[PutOnView, ...] = ()
    slot: SlotView | None = None
    bare: tuple[BareBagView, ...] = ()
    booking: str | None = None
    vehicle_shortened: str = ""

    @property
    def tools(self) -> dict[Verdict, int]:
        """How many stages come to which verdict with the tools of the boxes."""
        return stage_verdicts(self.joints)

    @property
    def sets(self) -> bool:
        """Whether anything that is put on has to set."""
        rows = (row for joint in self.joints for row in joint.rows)
        return (
            bool(self.put_on)
            or any(joint.put_on for joint in self.joints)
            or any(row.put_on for row in rows)
        )
