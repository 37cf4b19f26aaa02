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
    by that day is what comes.
    """

    registration: str
    jobs: tuple[str, ...]
    on: date
    assumed: Mapping[str, str] = field(default_factory=dict)
    kit: KitRecord | None = None


@dataclass(frozen=True, slots=True)
class ToolRequest:
    """A plan that some toolboxes shall do (all boxes if none is named).

    `policy` says which part of a wrench's scale counts; `currency` (ISO 4217) which offers may be
    bought, None where all offers are in one.
    """

    plan: PlanRequest
    boxes: tuple[str, ...] = ()
    policy: RangePolicy = RangePolicy.MARKED
    currency: str | None = None
