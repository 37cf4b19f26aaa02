"""What is counted and looked at while a joint is open: old seals out, parts that may go back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason
from kitting.facts.verdicts import Doubt
from kitting.facts.words import FindingResult
from kitting.views.plan import CautionView
from kitting.views.slot import SlotView


@dataclass(frozen=True, slots=True)
class RemovalPlaceView:
    """A position with its old seals, in pieces, and the bag of what goes in; None: in none."""

    position: str
    pieces: int = 1
    bag: int | None = None


@dataclass(frozen=True, slots=True)
class RemovalJointView:
    """A joint with its old seals: how many have to come out, from where, and how many did.

    `expected` and `counted` are pieces; `counted` is None until somebody counted. `bag` is None
    where nothing goes in: what goes in is stopped, and the old seals come out all the same; it is
    the first where `places` says that what goes in lies in several bags. `positions` are the
    `places` by name.
    """

    bag: int | None
    joint: str
    joint_name: str
    expected: int
    counted: int | None
    positions: tuple[str, ...]
    places: tuple[RemovalPlaceView, ...] = ()

    @property
    def bags(self) -> dict[int, int]:
        """How many seals go in out of each bag, where they lie in more than one."""
        found: dict[int, int] = {}
        for place in self.places:
            if place.bag is not None:
                found[place.bag] = found.get(place.bag, 0) + place.pieces
        return found if len(found) > 1 else {}

    @property
    def differs(self) -> bool:
        """Counted, and not as many as expected."""
        return self.counted is not None and self.counted != self.expected


@dataclass(frozen=True, slots=True)
class RemovalView:
    """The removal count of a booking, joint by joint: what comes off first is first.

    `withheld` says why each joint that differs is; `doubts` are of the kit, on its sheet.
    """

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
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True, slots=True)
class InspectView:
    """One position to inspect: what it has to show to go back on, and what was recorded of it.

    `quantity` is what sits there, to be looked at piece by piece; `recorded_quantity` is of how
    much of it something was recorded, `recorded_failed` how much of that failed, where that is not
    all (thousandths of `unit`).
    """

    bag: int
    bag_code: str
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
    recorded_quantity: Thousandths | None = None
    recorded_failed: Thousandths | None = None

    @property
    def pieces(self) -> int:
        """How many are looked at one by one; 1 of what is not counted in pieces."""
        return max(1, self.quantity // 1000) if self.unit == "each" else 1


@dataclass(frozen=True, slots=True)
class FindingsView:
    """The findings sheet of a booking: every position that may go back, in refit order.

    It is by the catalogue and the history as they are now; `doubts` are of the kit, also where the
    booking was planned by others.
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
