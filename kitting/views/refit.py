"""The refit sheet: joint by joint, in the order of refitting, what goes in and how it is closed."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from datetime import date

from kitting.facts.reasons import Reason
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Doubt, Verdict
from kitting.views.kit import AppliedView, BagLine, EndLabel, ShortageView
from kitting.views.plan import CautionView
from kitting.views.slot import SlotView
from kitting.views.tightening import PutOnView, TightenJointView, stage_verdicts


@dataclass(frozen=True, slots=True)
class RefitEndView:
    """A ring end with the code of its label."""

    code: str
    label: EndLabel


@dataclass(frozen=True, slots=True)
class StepUseView:
    """What a step uses up by itself, how the amount arose, and whether its source is stated.

    `left_off` says that nobody may use it yet; `doubts` is what is not fine of it.
    """

    step: str
    step_name: str
    item: str
    name: str
    amount: Quantity
    how: Reason
    sourced: bool = True
    left_off: bool = False
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True, slots=True)
class RefitBagView:
    """What a technician needs at one bag; everything but rings is told at the first of a joint.

    `bag` is None where nothing goes in and the joint is only closed: then `code` is "". `ports`
    says that the joint holds a fluid back, so that its ports were plugged. `seals` are those that
    are no rings, `parts` what is neither seal nor tightened; `tightening` is None where nothing is
    tightened. `doubts` is what is not fine of what goes in here; `left_off` what belongs here and
    is not in the kit. `tray` is the one on which the bag lies if the kit of a booking is split.
    `short` is what a booking lacks of what lies in this bag, `step_uses` what the steps use that
    open the joint and are put back from here on.
    """

    bag: int | None
    code: str
    joint: str
    joint_name: str
    part: int = 1
    parts_of_joint: int = 1
    times: int = 1
    ports: bool = False
    cautions: tuple[CautionView, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    left_off: tuple[BagLine, ...] = ()
    ends: tuple[RefitEndView, ...] = ()
    seals: tuple[BagLine, ...] = ()
    uses: tuple[AppliedView, ...] = ()
    parts: tuple[BagLine, ...] = ()
    tightening: TightenJointView | None = None
    tray: int | None = None
    short: tuple[ShortageView, ...] = ()
    step_uses: tuple[StepUseView, ...] = ()

    @property
    def used(self) -> frozenset[str]:
        """The items that are used up here: they lie loose in the kit."""
        here: tuple[AppliedView | StepUseView, ...] = (*self.uses, *self.step_uses)
        return frozenset(use.item for use in here)


@dataclass(frozen=True, slots=True)
class RefitView:
    """The refit sheet of a plan, or of a booking with what it lacks.

    `put_on` is what has to set where nothing is tightened; `fillings` is what is filled in at the
    end, `step_uses` what steps use that open no joint.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    boxes: tuple[str, ...]
    bags: tuple[RefitBagView, ...]
    doubts: tuple[Doubt, ...]
    cautions: tuple[CautionView, ...]
    put_on: tuple[PutOnView, ...] = ()
    booking: str | None = None
    shortages: tuple[ShortageView, ...] = ()
    slot: SlotView | None = None
    vehicle_shortened: str = ""
    fillings: tuple[StepUseView, ...] = ()
    step_uses: tuple[StepUseView, ...] = ()

    @property
    def tools(self) -> dict[Verdict, int]:
        """How many stages come to which verdict with the tools of the boxes."""
        return stage_verdicts(bag.tightening for bag in self.bags if bag.tightening is not None)

    def short_of(self, items: Container[str]) -> tuple[ShortageView, ...]:
        """What the whole kit of a booking lacks of some items."""
        return tuple(short for short in self.shortages if short.item in items)
