"""The work that is described for a car: steps, jobs, what these need and renew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kitting.calc.planning.access import StepNode
from kitting.calc.planning.needs import FitFacts
from kitting.calc.planning.ways import OpenOption


@dataclass(frozen=True, slots=True)
class LicenceFacts:
    """A qualification that work asks for."""

    code: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class StepFacts:
    """What a step is called and asks for beside joints."""

    key: int
    unit: int
    code: str
    name: str
    hours: int
    licence: LicenceFacts | None


@dataclass(frozen=True, slots=True)
class ServiceFacts:
    """Work from outside that a job asks for; `option` is an open one that decides whether."""

    name: str
    timing: str
    licence: LicenceFacts | None
    option: OpenOption | None = None


@dataclass(frozen=True, slots=True)
class RenewalFacts:
    """What a job renews by its own wish: by key of a kind, an item or a joint (and position)."""

    kind: int | None = None
    item: int | None = None
    joint: int | None = None
    position: str | None = None

    def names(self, fit: FitFacts, kind: int) -> bool:
        """Whether it means a position with an item of a kind."""
        if self.joint is not None:
            return fit.joint == self.joint and self.position in (None, fit.position)
        return fit.item == self.item if self.item is not None else kind == self.kind


@dataclass(frozen=True, slots=True)
class JobFacts:
    """A job described for one of the car's units.

    `needs` are step keys (none where all of them are for other variants),
    `missing` the codes of steps that no unit of the car has; `renews` is
    what it is there to renew of the joints that it opens.
    """

    key: int
    unit: int
    code: str
    name: str
    needs: tuple[int, ...]
    services: tuple[ServiceFacts, ...]
    missing: tuple[str, ...]
    renews: tuple[RenewalFacts, ...] = ()


@dataclass(frozen=True, slots=True)
class Work:
    """The jobs of the car's units, and the steps but those that are for other variants.

    `missing`: step codes that no unit of it has.
    """

    steps: Mapping[int, StepFacts]
    nodes: Mapping[int, StepNode]
    jobs: tuple[JobFacts, ...]
    missing: Mapping[int, tuple[str, ...]]
