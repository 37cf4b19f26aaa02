"""Meanwhile: what another job would add to a strip-down that is planned anyway."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kitting.calc.access import StepNode, access


@dataclass(frozen=True, slots=True)
class Addition:
    """What one more job adds: thousandths of an hour, and the joints not opened anyway."""

    job: str
    hours_alone: int
    hours_added: int
    joints_added: tuple[int, ...]
    joints_opened_more: tuple[int, ...]


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
        new = tuple(j for j in both.opened if j not in now.opened)
        more = tuple(j for j, n in both.opened.items() if 0 < now.opened.get(j, 0) < n)
        found.append(Addition(job, both.alone[job], both.total - now.total, new, more))
    return sorted(found, key=lambda a: (_share(a), a.hours_added, a.job))


def _share(addition: Addition) -> float:
    return addition.hours_added / addition.hours_alone if addition.hours_alone else 0.0
