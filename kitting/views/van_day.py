"""The day of a van: its stops, what to load, which tools are missing, what is unaccounted for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason
from kitting.facts.tool_words import ToolVerdict
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import BookingState
from kitting.views.slot import SlotView
from kitting.views.tools import RequirementView


@dataclass(frozen=True, slots=True)
class StopView:
    """A stop of the van's day; `doubts` is what keeps its kit from being fine."""

    booking: str
    registration: str
    vehicle: str
    jobs: tuple[str, ...]
    state: BookingState
    verdict: Verdict
    doubts: tuple[Doubt, ...]
    slot: SlotView | None = None


@dataclass(frozen=True, slots=True)
class LoadLineView:
    """An item to load once for several stops; `quantity` in thousandths of `unit`."""

    item: str
    name: str
    unit: str
    quantity: Thousandths
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VanGapView:
    """What the van's boxes cannot do for certain, why, and at which stops."""

    what: RequirementView
    reasons: tuple[Reason, ...]
    stops: tuple[str, ...]
    state: ToolVerdict


@dataclass(frozen=True, slots=True)
class UnaccountedView:
    """Picked for a booking, and neither used, back nor scrapped yet."""

    booking: str
    item: str
    unit: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class VanView:
    """The van's day: stops, what to load, tools that are missing, unaccounted parts."""

    branch: str
    on: date
    stops: tuple[StopView, ...]
    load: tuple[LoadLineView, ...]
    tools: tuple[VanGapView, ...]
    unaccounted: tuple[UnaccountedView, ...]
