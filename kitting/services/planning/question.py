"""What is judged of a part: a position, what it asks for, and what stands there."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.calc.planning.needs import FitFacts
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import Rule
from kitting.services.planning.facts import ItemFacts, PlanFacts
from kitting.services.planning.stand_ins import StandIn


@dataclass(frozen=True, slots=True)
class Question:
    """What is judged: a position, what it asks for, what stands there, what it waits for.

    `by_maker` says that the maker stated its rule, `locked` that something locks its thread,
    `contradiction` how what is put on it does not go with the state for which its figure was given.
    """

    facts: PlanFacts
    fit: FitFacts
    rule: Rule
    asked: ItemFacts
    stand_in: StandIn
    variants: tuple[str, ...] = ()
    locked: bool = False
    contradiction: Reason | None = None
    by_maker: bool = False

    @property
    def item(self) -> ItemFacts:
        """What stands there."""
        return self.stand_in.item

    @property
    def exchanged(self) -> bool:
        """Whether that is another item than the joint asks for."""
        return self.item.key != self.asked.key

    @property
    def where(self) -> dict[str, Value]:
        """The place and the item, for a reason."""
        return {
            "joint": self.facts.names.joints[self.fit.joint],
            "position": self.fit.position,
            "item": self.item.code,
        }


def unknown_of(aspect: Aspect, code: DoubtReason, question: Question, **more: Value) -> Doubt:
    """That something is unknown of what stands at the place."""
    return Doubt(Verdict.UNKNOWN, aspect, because(code, **question.where, **more))
