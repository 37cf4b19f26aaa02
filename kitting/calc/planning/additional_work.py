"""Meanwhile: what another job would add to a strip-down that is planned anyway."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kitting.calc.planning.access import StepNode, access
from kitting.errors import KittingError


@dataclass(frozen=True, slots=True)
class Addition:
    """What one more job adds: thousandths of an hour, and the joints not opened anyway."""

    job: str
    hours_alone: int
    hours_added: int
    joints_added: tuple[int, ...]


def additions(
    steps: Mapping[int, StepNode],
    planned: Mapping[str, Iterable[int]],
    others: Mapping[str, Iterable[int]],
) -> list[Addition]:
    """Rank other jobs by the share of their own hours that the planned strip-down saves.

    The job of which most is done anyway comes first; ties by the hours added, then by code.
    """
    now = access(steps, planned)
    found = []
    for job, wanted in others.items():
        both = access(steps, {**planned, job: wanted})
        found.append(
            Addition(
                job=job,
                hours_alone=both.alone[job],
                hours_added=both.total - now.total,
                joints_added=tuple(joint for joint in both.opened if joint not in now.opened),
            )
        )
    return sorted(found, key=lambda a: (_share(a), a.hours_added, a.job))


def threshold(cost_now: int, cost_of_return: int) -> float:
    """The chance of failing later above which renewing now pays, while everything is open anyway.

    c/(c + R), with `cost_now` (c) the part and the time it adds, `cost_of_return` (R) what taking
    it all apart again costs, both in minor units. What costs nothing now pays at any chance. It is
    something to offer, never to add unasked. Raises KittingError for a cost below 0.
    """
    if cost_now < 0 or cost_of_return < 0:
        raise KittingError("A cost of renewing now or of coming back cannot be below 0")
    return cost_now / (cost_now + cost_of_return) if cost_now else 0.0


def _share(addition: Addition) -> float:
    return addition.hours_added / addition.hours_alone if addition.hours_alone else 0.0
