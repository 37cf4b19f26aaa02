"""The kit of a plan: pick list and labels."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.reasons import Reason
from kitting.views.plan import CautionView, RingView, TighteningView


@dataclass(frozen=True, slots=True)
class PickLine:
    """One row of the pick list; the amount is ready to print ("4", "18.9 ml of a 70 ml pack").

    For a booking, `lots` tells from which lots to take it and how long they keep ("2 of lot
    SI-2411, keeps to 2034-12-31"), and `short` what nothing covers yet.
    """

    bin: str | None
    item: str
    name: str
    rule: str
    amount: str
    detail: str
    bags: tuple[int, ...]
    notes: tuple[str | Reason, ...]
    lots: tuple[str, ...] = ()
    short: str | None = None


@dataclass(frozen=True, slots=True)
class PickView:
    """The pick list of a plan, in bin order; `stopped` says what is left off and why.

    `booking` is its number where it is of one, with everything that is short of it.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    lines: tuple[PickLine, ...]
    stopped: tuple[str | Reason, ...]
    cautions: tuple[CautionView, ...]
    booking: str | None = None
    shortages: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BagLine:
    """One content of a bag; `lubricant` is a product, DRY, or None where nobody says."""

    item: str
    name: str
    rule: str
    amount: str
    position: str
    detail: str
    lubricant: str | Reason | None = None
    notes: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class EndLabel:
    """A ring on its own: position and end come first and largest.

    `differs` has a text for each ring of the kit that could be fitted here by mistake, the nearest
    first: where that one belongs, and how this one is told from it. `ring` is None where its size
    is not stated.
    """

    position: str
    end: str | None
    rule: str
    item: str
    size: str | None
    material: str | None
    colour: str | None
    lubricant: str | Reason
    quantity: str
    ring: RingView | None = None
    differs: tuple[str, ...] = ()
    kind: str | None = None


@dataclass(frozen=True, slots=True)
class Bag:
    """A bag of one joint, numbered in the order of refitting.

    A joint whose rings could be swapped has several, `part` 1 to `parts`; all but rings is in the
    first. `count_out` is how many old seals come out from where the seals of this bag go.
    """

    number: int
    code: str
    joint: str
    joint_name: str
    lines: tuple[BagLine, ...]
    ends: tuple[EndLabel, ...]
    tightening: tuple[TighteningView, ...]
    count_out: str | None
    hazards: tuple[str, ...]
    part: int = 1
    parts: int = 1

    @property
    def part_text(self) -> str:
        """ "bag 1 of 2 of this joint"; "" where it has only this one."""
        return f"bag {self.part} of {self.parts} of this joint" if self.parts > 1 else ""


@dataclass(frozen=True, slots=True)
class KitView:
    """All labels of a plan: one for the kit, one per bag, one per ring end."""

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    bags: tuple[Bag, ...]
    loose: tuple[BagLine, ...]
    stopped: tuple[str | Reason, ...]
    hazards: tuple[str, ...]
    cautions: tuple[CautionView, ...]
    booking: str | None = None
    shortages: tuple[str, ...] = ()
    keeps_to: date | None = None


@dataclass(frozen=True, slots=True)
class RemovalJointView:
    """A joint with its old seals: how many have to come out, from where, and how many did.

    `expected` and `counted` are pieces; `counted` is None until somebody counted.
    """

    bag: int
    joint: str
    joint_name: str
    expected: int
    counted: int | None
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RemovalView:
    """The removal count of a booking: `withheld` names each joint that differs."""

    booking: str
    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    joints: tuple[RemovalJointView, ...]
    withheld: tuple[str, ...]
    cautions: tuple[CautionView, ...]
