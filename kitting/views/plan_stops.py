"""What stops a plan: variants nobody has settled, and rubbers that something would spoil."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.plan_reasons import ContactPlace
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.words import Certainty, ContactAgainst, ContactState, Rating


@dataclass(frozen=True, slots=True)
class OptionView:
    """One answer to an open variant: what it looks like and what it would ask for."""

    code: str
    name: str
    seen: str | None
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnresolvedView:
    """A variant split nobody has settled: the question, the check that decides, who waits."""

    split: str
    unit: str
    question: str
    check: str
    why_open: Reason
    options: tuple[OptionView, ...]
    joints: tuple[str, ...]
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ContactView:
    """How the rubber of one position stands a fluid, its lubricant or the heat.

    `state` is clash (certain: it stops), ask (doubtful, or an opinion only), unknown or suits;
    `rating` and `certainty` are the source's, `because` names it, `instead` what would do.
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

    @property
    def reason(self) -> Reason:
        """The contact as a reason: what on what, where, who says so, what would do instead."""
        on_rubber = self.against == ContactAgainst.LUBRICANT
        values: dict[str, Value] = {
            "rubber": self.elastomer,
            "what": self.what,
            "position": self.position,
            "item": self.item,
            "why": self.because,
        }
        if self.instead:
            code = ContactPlace.ON_RUBBER_INSTEAD if on_rubber else ContactPlace.IN_FLUID_INSTEAD
            return because(code, **values, instead=self.instead)
        return because(ContactPlace.ON_RUBBER if on_rubber else ContactPlace.IN_FLUID, **values)
