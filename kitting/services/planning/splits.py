"""Variant splits of a car: settled by what is known of it, or still open."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.calc.planning.variants import Settled, SplitFacts, settle
from kitting.facts.conditions import CarFacts, Condition
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


def options_of_fit(
    facts: PlanFacts, still_open: tuple[SplitFacts, ...], key: int
) -> tuple[str, ...]:
    """The options of open splits that a fit asks for: "sump/big"."""
    fits = facts.contents.fits
    return _options(still_open, (fit.conditions for fit in fits if fit.key == key))


def options_of_use(
    facts: PlanFacts, still_open: tuple[SplitFacts, ...], key: int | None
) -> tuple[str, ...]:
    """The options of open splits that a use asks for."""
    uses = facts.contents.uses
    return _options(still_open, (use.conditions for use in uses if use.key == key))


def _options(
    still_open: tuple[SplitFacts, ...], asked: Iterable[tuple[Condition, ...]]
) -> tuple[str, ...]:
    named = {
        option for conditions in asked for condition in conditions for option in condition.options
    }
    return tuple(
        f"{split.code}/{option.code}"
        for split in still_open
        for option in split.options
        if option.key in named
    )
