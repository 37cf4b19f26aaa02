"""Answers beside the plan: what else could be done meanwhile, and why a line is there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.money import Money
from kitting.facts.reasons import Reason
from kitting.facts.words import EntryKind
from kitting.views.plan import OverruledView
from kitting.views.vehicle import VehicleView


@dataclass(frozen=True, slots=True)
class DeclinedView:
    """When a job was offered before and declined, and what the customer said."""

    on: date
    reason: str | None


@dataclass(frozen=True, slots=True)
class AdditionView:
    """What another job would add to this strip-down.

    With a rate per hour: `cost_now` for parts and added hours, `cost_back` for the hours of coming
    back, and `worth_above`, the chance of failing before the next visit above which doing it now
    costs less; `unpriced` are parts that nobody prices. `declined` tells the last time it was
    offered and declined.
    """

    code: str
    name: str
    unit: str
    hours_alone: Thousandths
    hours_added: Thousandths
    joints_added: tuple[str, ...]
    items_added: tuple[str, ...]
    parts_added: Thousandths
    stopped_by: tuple[str, ...]
    cost_now: Money | None = None
    cost_back: Money | None = None
    worth_above: float | None = None
    unpriced: tuple[str, ...] = ()
    declined: DeclinedView | None = None


@dataclass(frozen=True, slots=True)
class NotRankedView:
    """A job that cannot be planned on this car: `missing` are steps that no unit of it has."""

    code: str
    name: str
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeanwhileView:
    """Other jobs of the car's units, the one of which most is done anyway first."""

    vehicle: VehicleView
    jobs: tuple[str, ...]
    hours: Thousandths
    additions: tuple[AdditionView, ...]
    not_ranked: tuple[NotRankedView, ...]


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
    """Why one entry of a plan is there, who decided, and what would change it.

    A tool has no code, only its name.
    """

    kind: EntryKind
    code: str | None
    name: str
    answer: Reason
    decided_by: Reason
    overruled: tuple[OverruledView, ...] = ()
    chains: tuple[ChainView, ...] = ()
    changes: tuple[Reason, ...] = ()
