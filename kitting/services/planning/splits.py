"""Variant splits of a car: settled by what is known of it, or still open."""

from __future__ import annotations

from kitting.calc.planning.variants import Settled, SplitFacts, settle
from kitting.facts.conditions import CarFacts
from kitting.services.planning.facts import PlanFacts


def settle_splits(facts: PlanFacts) -> tuple[CarFacts, tuple[SplitFacts, ...]]:
    """The car with every split settled that can be, and those that are open."""
    known, still_open = facts.car.facts, []
    for split in facts.car.splits:
        answer = settle(split, facts.car.facts)
        if isinstance(answer, Settled):
            known = known.settling(split.key, answer.option)
        else:
            still_open.append(split)
    return known, tuple(still_open)
