"""Variants: which side of a split this car has, or which check would decide it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from kitting.facts.conditions import Answer, CarFacts, Condition, ConditionReason
from kitting.facts.plan_reasons import VariantReason
from kitting.facts.reasons import Reason, ReasonCode, because

_ORDER: dict[ReasonCode, int] = {code: place for place, code in enumerate(ConditionReason)}


@dataclass(frozen=True, slots=True)
class OptionFacts:
    """One side of a split and the conditions under which a car has it."""

    key: int
    code: str
    name: str
    conditions: tuple[Condition, ...] = ()
    seen: str | None = None


@dataclass(frozen=True, slots=True)
class SplitFacts:
    """A question that decides which parts a car takes; `by_customer`: he chooses."""

    key: int
    unit: int
    code: str
    question: str
    check: str
    options: tuple[OptionFacts, ...]
    by_customer: bool = False


@dataclass(frozen=True, slots=True)
class Settled:
    """The option a car has, and how that is known."""

    option: int
    because: Reason


@dataclass(frozen=True, slots=True)
class Open:
    """Not known, and why."""

    because: Reason


def settle(split: SplitFacts, car: CarFacts) -> Settled | Open:
    """Decide a split from what was seen at the car, else by asking the conditions of its options.

    What the customer settles is open until somebody says what was chosen: nothing of the car does.

    An option is taken only when its conditions are all met and no other option is possible:
    nothing unknown counts as fine.
    """
    if split.key in car.settled:
        how = VariantReason.CHOSEN if split.by_customer else VariantReason.SEEN
        return Settled(car.settled[split.key], because(how))
    if split.by_customer:
        return Open(because(VariantReason.NOT_CHOSEN))
    answers = {
        option.key: [condition.ask(car) for condition in option.conditions]
        for option in split.options
    }
    certain = [key for key, given in answers.items() if given and all(a.holds for a in given)]
    possible = [key for key, given in answers.items() if all(a.holds is not False for a in given)]
    if len(certain) == 1 and len(possible) == 1:
        return Settled(
            certain[0], because(VariantReason.MATCHES, known=_reasons(answers[certain[0]]))
        )
    every = [answer for given in answers.values() for answer in given]
    known = _reasons(answer for answer in every if answer.holds is not None)
    if not possible:
        if not known:
            return Open(because(VariantReason.NO_OPTION_FITS_NOTHING_KNOWN))
        return Open(because(VariantReason.NO_OPTION_FITS, known=known))
    if len(certain) > 1:
        return Open(because(VariantReason.SEVERAL_FIT, known=known))
    missing = _reasons(a for key in possible for a in answers[key] if a.holds is None)
    if missing:
        return Open(because(VariantReason.NOT_KNOWN, missing=missing))
    return Open(because(VariantReason.ONLY_INSPECTION))


def may_come_out(split: SplitFacts, car: CarFacts) -> SplitFacts:
    """An open split with the options that the car may have.

    All of them where fewer than two are left: then what is known of the car contradicts itself, or
    a look has to confirm what is left.
    """
    left = tuple(one for one in split.options if not speaks_against(split, one.key, car))
    return replace(split, options=left) if len(left) > 1 and not split.by_customer else split


def speaks_against(split: SplitFacts, option: int, car: CarFacts) -> tuple[Reason, ...]:
    """What is known of a car by which it cannot have an option; () if nothing is."""
    (asked,) = (one for one in split.options if one.key == option)
    answers = (condition.ask(car) for condition in asked.conditions)
    return _reasons(answer for answer in answers if answer.holds is False)


def _reasons(answers: Iterable[Answer]) -> tuple[Reason, ...]:
    """What they say, each once, the build date before equipment by name."""
    found = {answer.because for answer in answers}
    return tuple(sorted(found, key=lambda reason: (_ORDER[reason.code], str(reason.values))))
