"""The seal map of a kit: every seal of every joint, where it goes, what it is taken for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.seal_shapes import SealShape
from kitting.facts.verdicts import Doubt
from kitting.views.kit import AppliedView, EndLabel, PickLine
from kitting.views.plan import CautionView
from kitting.views.slot import SlotView


@dataclass(frozen=True, slots=True)
class HoleView:
    """The hole of a washer and its thickness (mm); nobody states how wide it is outside."""

    across: float
    thick: float


@dataclass(frozen=True, slots=True)
class SealPlaceView:
    """A seal where it goes: in which bag of its joint, and the code of that bag or of its end.

    `label` says what it is and how it goes in; `shape` is what to match where no ring is drawn;
    `rubber` says whether its material has to be known, `hole` is stated of a washer.
    """

    bag: int
    code: str
    label: EndLabel
    shape: SealShape
    rubber: bool = True
    hole: HoleView | None = None


@dataclass(frozen=True, slots=True)
class SealJointView:
    """A joint with its seals; `uses` is what else is applied there."""

    joint: str
    joint_name: str
    places: tuple[SealPlaceView, ...]
    uses: tuple[AppliedView, ...] = ()

    @property
    def bags(self) -> tuple[int, ...]:
        """In which bags its seals lie."""
        return tuple(sorted({place.bag for place in self.places}))


@dataclass(frozen=True, slots=True)
class SealMapView:
    """The seals of a kit in the order of refitting.

    `short` are the rows of the pick list of a booking that lack something, by item, of its seals;
    `also_short` counts those that are no seals. `doubts` says what is not fine, or left off.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    joints: tuple[SealJointView, ...]
    doubts: tuple[Doubt, ...]
    cautions: tuple[CautionView, ...]
    booking: str | None = None
    short: tuple[PickLine, ...] = ()
    also_short: int = 0
    slot: SlotView | None = None
    kit_in: str | None = None
    vehicle_shortened: str = ""
