"""What is asked of a plan, and of the toolboxes for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from kitting.facts.tool_words import RangePolicy
from kitting.services.planning.stand_ins import KitRecord


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """Some jobs on one car at a fitting date.

    `jobs` are CODE or UNIT/CODE; `assumed` settles variants for this answer only, by split code →
    option code. `kit` is what a booking has settled of its kit; without it, what replaces an item
    by that day is what comes. `model` (its code) stands for a car that nobody has named: then the
    registration is not read. `booking` is the number of the booking that it is asked for.
    """

    registration: str
    jobs: tuple[str, ...]
    on: date
    assumed: Mapping[str, str] = field(default_factory=dict)
    kit: KitRecord | None = None
    model: str | None = None
    booking: str | None = None


@dataclass(frozen=True, slots=True)
class ToolDay:
    """The day `on` which tools are needed, as seen from `today` (None: from that day)."""

    on: date
    today: date | None = None

    @property
    def known_on(self) -> date:
        """Whatever should have happened before this day and is not recorded has not happened."""
        return self.on if self.today is None else min(self.on, self.today)


@dataclass(frozen=True, slots=True)
class ToolRequest:
    """A plan that some toolboxes shall do (all boxes if none is named).

    `policy` says which part of a wrench's scale counts; `currency` (ISO 4217) which offers may be
    bought, None where all offers are in one. `today` is when it is asked, None
    for the fitting date.
    """

    plan: PlanRequest
    boxes: tuple[str, ...] = ()
    policy: RangePolicy = RangePolicy.MARKED
    currency: str | None = None
    today: date | None = None

    @property
    def day(self) -> ToolDay:
        """The day for which the tools are asked for."""
        return ToolDay(self.plan.on, self.today)
