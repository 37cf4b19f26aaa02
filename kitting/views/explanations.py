"""Answers beside the plan: what else could be done meanwhile, and why a line is there."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.amounts import Thousandths
from kitting.views.plan import OverruledView, VehicleView


@dataclass(frozen=True, slots=True)
class AdditionView:
    """What another job would add to this strip-down.

    With a rate per hour: `cost_now` for parts and added hours, `cost_back` for the hours of coming
    back, and `worth_above`, the chance of failing before the next visit above which doing it now
    costs less. `declined` tells when it was offered before and declined.
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
    cost_now: str | None = None
    cost_back: str | None = None
    worth_above: float | None = None
    unpriced: tuple[str, ...] = ()
    declined: str | None = None


@dataclass(frozen=True, slots=True)
class MeanwhileView:
    """Other jobs of the car's units, the one of which most is done anyway first.

    `not_ranked` names jobs that cannot be planned on this car, with the reason.
    """

    vehicle: VehicleView
    jobs: tuple[str, ...]
    hours: Thousandths
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
