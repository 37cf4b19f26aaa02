"""What stops a plan: variants nobody has settled, and rubbers that something would spoil."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kitting.facts.plan_reasons import ContactPlace, InsteadReason
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.words import (
    Certainty,
    ContactAgainst,
    ContactState,
    Rating,
    SettledBy,
)

# How a contact is said: plainly, and with what would do instead.
_ON_RUBBER = (ContactPlace.ON_RUBBER, ContactPlace.ON_RUBBER_INSTEAD)
_PLACES: Mapping[ContactAgainst, tuple[ContactPlace, ContactPlace]] = {
    ContactAgainst.FLUID: (ContactPlace.IN_FLUID, ContactPlace.IN_FLUID_INSTEAD),
    ContactAgainst.LUBRICANT: _ON_RUBBER,
    ContactAgainst.USE: _ON_RUBBER,
    ContactAgainst.TEMPERATURE: (ContactPlace.AT_HEAT, ContactPlace.AT_HEAT_INSTEAD),
}


def contact_place(against: ContactAgainst) -> ContactPlace:
    """The reason that names a contact at its place."""
    return _PLACES[against][0]


def named_instead(certain: Iterable[str], perhaps: Iterable[str]) -> tuple[Reason, ...]:
    """What would do instead, each with how sure that is, the certain first."""
    return (
        *(because(InsteadReason.CERTAIN, item=item) for item in certain),
        *(because(InsteadReason.OF_MEDIUM_CERTAINTY, item=item) for item in perhaps),
    )


@dataclass(frozen=True, slots=True)
class OptionView:
    """One answer to an open variant: what it looks like and what it would ask for.

    `steps` and `services` are those that are only done, or asked for, with it.
    """

    code: str
    name: str
    seen: str | None
    items: tuple[str, ...]
    steps: tuple[str, ...] = ()
    services: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UnresolvedView:
    """A variant split nobody has settled: the question, the check that decides, who waits.

    `settled_by` is who has to: somebody at the car, or the customer. `only_looks`: all that waits
    goes back if it passes its look, so that only spares of it are not known.
    """

    split: str
    unit: str
    question: str
    check: str
    why_open: Reason
    options: tuple[OptionView, ...]
    joints: tuple[str, ...]
    stops: tuple[str, ...]
    settled_by: SettledBy = SettledBy.CAR
    only_looks: bool = False


@dataclass(frozen=True, slots=True)
class ContactView:
    """How the rubber of one position stands a fluid, its lubricant or the heat.

    `state` is clash (certain: it stops), ask (doubtful, or an opinion only), unknown or suits;
    `rating` and `certainty` are the source's, `because` names it, `instead` what would do, and
    `perhaps` what would by an opinion of medium certainty. `packet` is what brings it there.
    """

    joint: str
    position: str
    end: str | None
    item: str
    elastomer: str
    against: ContactAgainst
    what: str
    state: ContactState
    rating: Rating
    certainty: Certainty
    because: Reason
    instead: tuple[str, ...]
    perhaps: tuple[str, ...] = ()
    packet: str | None = None

    @property
    def reason(self) -> Reason:
        """The contact as a reason: what on what, where, who says so, what would do instead."""
        plain, instead = _PLACES[self.against]
        values: dict[str, Value] = {
            "rubber": self.elastomer,
            "what": self.what,
            "position": self.position,
            "item": self.item,
            "why": self.because,
        }
        if self.instead or self.perhaps:
            return because(instead, **values, instead=named_instead(self.instead, self.perhaps))
        return because(plain, **values)
