"""What is on its way to bookings: orders that they wait for, and transfers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths


@dataclass(frozen=True, slots=True)
class AwaitedView:
    """An order that is on its way, and the chance that it is here in time.

    The chance is None where it is not known: the order is later than the supplier's lead time says
    anything of. `late` says that it is not relied on for the day that was asked for.
    """

    order: str
    due: date
    due_late: date
    chance: float | None
    late: bool


@dataclass(frozen=True, slots=True)
class VanComingView:
    """A transfer to the branch that is on its way and covers so much of an item, in thousandths.

    `due` is the day on which its van is here: no chance of that is known. Of `seen` vans from there
    so many were `punctual`.
    """

    transfer: int
    item: str
    unit: str
    quantity: Thousandths
    branch: str
    due: date
    seen: int = 0
    punctual: int = 0
