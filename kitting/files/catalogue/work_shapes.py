"""Steps and jobs of a catalogue file, and the consumables that joints and steps take."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from kitting.files.catalogue.shapes import (
    Area,
    BeadLength,
    Code,
    Entry,
    FilmThickness,
    Hours,
    Length,
    Name,
    PlainCode,
    Some,
    Text,
    ThreadText,
)

# Common practice, no source: a hand-laid bead is 1 to 6 mm, glass is bonded with up to 12 mm.
_THINNEST_BEAD, _THICKEST_BEAD = 500, 20_000


class Bead(Entry):
    """A round bead of sealant."""

    diameter: Length
    length: BeadLength

    @model_validator(mode="after")
    def _as_beads_are(self) -> Bead:
        if self.diameter < _THINNEST_BEAD:
            raise ValueError(
                "no bead is thinner than 0.5 mm; check the figure and its unit, a usual one is 3 mm"
            )
        if self.diameter > _THICKEST_BEAD:
            raise ValueError(
                "no bead is thicker than 20 mm; check the figure and its unit, a usual one is 3 mm"
            )
        return self


class Film(Entry):
    """An anaerobic film on a flange."""

    area: Area
    thickness: FilmThickness


class Drops(Entry):
    """Drops on threads; how many a thread takes follows from its size."""

    thread: ThreadText
    threads: Annotated[int, Field(ge=1, le=1000)]


class Use(Entry):
    """A consumable that a joint or step takes, by exactly one of the four measures."""

    item: Code
    role: Code | None = Field(None, description="the part of its joint's pattern that it is")
    amount: Some | None = None
    bead: Bead | None = None
    film: Film | None = None
    drops: Drops | None = None
    option: Code | None = None
    note: Text | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Use:
        given = [self.amount, self.bead, self.film, self.drops]
        if sum(measure is not None for measure in given) != 1:
            raise ValueError("give exactly one of amount, bead, film or drops")
        return self


class Opening(Entry):
    """A joint that a step opens, and how often more after a test run."""

    joint: Code
    times: Annotated[int, Field(ge=1, le=20)] = 1
    reopened: Annotated[int, Field(ge=0, le=20)] = 0


class Step(Entry):
    """Something off and on again."""

    code: Code
    name: Name
    sides: tuple[Name, ...] = Field(
        (), description="it is done on each of these, seen from the driver's seat"
    )
    hours: Hours
    needs: tuple[Code, ...] = ()
    opens: tuple[Code | Opening, ...] = ()
    uses: tuple[Use, ...] = ()
    tools: tuple[Code, ...] = ()
    cautions: tuple[Code, ...] = ()
    licence: Code | None = None
    option: Code | None = Field(
        None, description="SPLIT/OPTION: the step is done on cars with this option only"
    )

    @property
    def openings(self) -> tuple[Opening, ...]:
        """The joints opened, short and long spelling alike."""
        return tuple(
            opened if isinstance(opened, Opening) else Opening(joint=opened, times=1, reopened=0)
            for opened in self.opens
        )


class Service(Entry):
    """Work bought from outside after the job."""

    name: Name
    timing: Name = "after the job"
    licence: Code | None = None
    option: Code | None = Field(
        None, description="SPLIT/OPTION: asked for on cars with this option only"
    )


class Renewal(Entry):
    """What a job renews by its own wish, of the joints that it opens: by exactly one of three."""

    kind: Code | None = Field(None, description="every item of this kind")
    item: Code | None = Field(None, description="this item, wherever it is fitted")
    joint: Code | None = Field(None, description="everything of this joint, or one position of it")
    position: Name | None = None

    @model_validator(mode="after")
    def _one_way_to_name_it(self) -> Renewal:
        if sum(one is not None for one in (self.kind, self.item, self.joint)) != 1:
            raise ValueError("give exactly one of kind, item or joint")
        if self.position is not None and self.joint is None:
            raise ValueError("a position needs its joint: give both")
        return self


class Job(Entry):
    """What the customer asks for: the steps it needs in the end, and what it is there to renew."""

    code: PlainCode
    name: Name
    needs: Annotated[tuple[Code, ...], Field(min_length=1)]
    renews: tuple[Renewal, ...] = ()
    services: tuple[Service, ...] = ()
