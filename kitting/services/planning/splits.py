"""Variant splits of a car: settled by what is known of it, or still open."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import product

from kitting.calc.planning.variants import (
    Settled,
    SplitFacts,
    may_come_out,
    settle,
)
from kitting.calc.planning.ways import OpenOption, Ways
from kitting.facts.conditions import AnyOf, CarFacts, Condition, OptionChosen
from kitting.services.planning.facts import Car, PlanFacts


def settle_splits(car: Car) -> tuple[CarFacts, tuple[SplitFacts, ...]]:
    """The car with every split settled that can be, and those that are open."""
    known, still_open = car.facts, []
    for split in car.splits:
        answer = settle(split, car.facts)
        if isinstance(answer, Settled):
            known = known.settling(split.key, answer.option)
        else:
            still_open.append(split)
    return known, tuple(still_open)


class Options:
    """The options of a car's splits, by which it has some work, has it not, or may have it."""

    def __init__(self, car: Car) -> None:
        known, still_open = settle_splits(car)
        self._has = frozenset(known.settled.values())
        self._open = {
            option.key: OpenOption(split.key, option.key, keys)
            for split in (may_come_out(one, car.facts) for one in still_open)
            for keys in [tuple(one.key for one in split.options)]
            for option in split.options
        }

    def possible(self, option: int | None) -> bool:
        """Whether the car may have what asks for an option (its key; None asks for none)."""
        return option is None or option in self._has or option in self._open

    def undecided(self, option: int | None) -> OpenOption | None:
        """The option, where nobody knows whether the car has it."""
        return None if option is None else self._open.get(option)


def as_conditions(ways: Ways) -> tuple[Condition, ...]:
    """Ways as conditions of what is only there in one of them."""
    every = sorted(tuple(sorted((one.split, one.option) for one in way)) for way in ways)
    asked = tuple(tuple(OptionChosen(*one) for one in way) for way in every)
    return asked[0] if len(asked) == 1 else (AnyOf(asked),)


def split_codes(splits: Iterable[SplitFacts], ways: Iterable[Ways]) -> tuple[str, ...]:
    """The codes of the splits that some ways ask about, in their order."""
    asked = {one.split for some in ways for way in some for one in way}
    return tuple(split.code for split in splits if split.key in asked)


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
    """The ways of some conditions, each with all that it asks for: "sump/big and wash/yes"."""
    codes = {
        option.key: f"{split.code}/{option.code}"
        for split in still_open
        for option in split.options
    }
    found = []
    for conditions in asked:
        for way in product(*map(_ways_of, conditions)):
            named = {option for condition in way for one in condition for option in one.options}
            found.append(" and ".join(code for key, code in codes.items() if key in named))
    return tuple(dict.fromkeys(filter(None, found)))


def _ways_of(condition: Condition) -> Iterable[tuple[Condition, ...]]:
    return condition.ways if isinstance(condition, AnyOf) else ((condition,),)
