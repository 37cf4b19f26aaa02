"""Conditions: what of a car decides whether it has an option, or whether it takes a part.

Everything else asks a condition. A new kind is a class here with the same two questions and its
columns, and the words of its reasons in `kitting.wording.plan`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Protocol

from kitting.facts.reasons import Reason, ReasonCode, because


class ConditionReason(ReasonCode):
    """What is known of a car that a condition asks about, or what is not."""

    BUILT = "built"
    BUILD_DATE_UNKNOWN = "build date unknown"
    WITH = "with"
    WITHOUT = "without"
    EQUIPMENT_UNKNOWN = "equipment unknown"
    OPTION = "option"
    OPTION_UNKNOWN = "option unknown"


@dataclass(frozen=True, slots=True)
class CarFacts:
    """What is known of a car: equipment not named is unknown, `settled` is split → option key."""

    build_date: date | None
    equipment: Mapping[str, bool]
    settled: Mapping[int, int]

    def settling(self, split: int, option: int) -> CarFacts:
        """The same car with one split settled."""
        return replace(self, settled={**self.settled, split: option})


@dataclass(frozen=True, slots=True)
class Answer:
    """Whether a condition holds (None: not known), and what is known or missing."""

    holds: bool | None
    because: Reason


class Condition(Protocol):
    """Something of a car that holds, does not, or is not known."""

    @property
    def options(self) -> tuple[int, ...]:
        """The options of splits that have to be settled before it can be answered."""
        ...

    def ask(self, car: CarFacts) -> Answer:
        """Whether it holds for a car."""
        ...


@dataclass(frozen=True, slots=True)
class BuildDate:
    """Built from a day on, before a day, or both."""

    since: date | None = None
    before: date | None = None

    @property
    def options(self) -> tuple[int, ...]:
        """It waits for no split."""
        return ()

    def ask(self, car: CarFacts) -> Answer:
        """By the build date; the day of a change is the first of what is new."""
        built = car.build_date
        if built is None:
            return Answer(None, because(ConditionReason.BUILD_DATE_UNKNOWN))
        inside = (self.since is None or built >= self.since) and (
            self.before is None or built < self.before
        )
        return Answer(inside, because(ConditionReason.BUILT, day=built))

    @classmethod
    def of_row(cls, row: Mapping[str, Any]) -> Iterable[Condition]:
        """The condition of a row of an option, if it has one."""
        if row["built_from"] or row["built_before"]:
            yield cls(row["built_from"], row["built_before"])


@dataclass(frozen=True, slots=True)
class Equipment:
    """The car has something, or has it not."""

    code: str
    present: bool = True

    @property
    def options(self) -> tuple[int, ...]:
        """It waits for no split."""
        return ()

    def ask(self, car: CarFacts) -> Answer:
        """By what the car is known to have; what is not listed is not known."""
        known = car.equipment.get(self.code)
        if known is None:
            return Answer(None, because(ConditionReason.EQUIPMENT_UNKNOWN, equipment=self.code))
        code = ConditionReason.WITH if known else ConditionReason.WITHOUT
        return Answer(known == self.present, because(code, equipment=self.code))

    @classmethod
    def of_row(cls, row: Mapping[str, Any]) -> Iterable[Condition]:
        """The conditions of a row of an option, if it has any."""
        if row["equipment"] is not None:
            yield cls(row["equipment"])
        if row["without"] is not None:
            yield cls(row["without"], present=False)


@dataclass(frozen=True, slots=True)
class OptionChosen:
    """A split of the car is settled to one of its options."""

    split: int
    option: int

    @property
    def options(self) -> tuple[int, ...]:
        """The option itself."""
        return (self.option,)

    def ask(self, car: CarFacts) -> Answer:
        """By what is settled; an open split leaves it open."""
        settled = car.settled.get(self.split)
        if settled is None:
            return Answer(None, because(ConditionReason.OPTION_UNKNOWN))
        return Answer(settled == self.option, because(ConditionReason.OPTION))


@dataclass(frozen=True, slots=True)
class AnyOf:
    """One of several ways holds, each of them conditions that hold together."""

    ways: tuple[tuple[Condition, ...], ...]

    @property
    def options(self) -> tuple[int, ...]:
        """The options that any of the ways waits for, each once."""
        named = (option for way in self.ways for one in way for option in one.options)
        return tuple(dict.fromkeys(named))

    def ask(self, car: CarFacts) -> Answer:
        """By the first way that holds; not known while one of them may."""
        answers = [_together(way, car) for way in self.ways]
        held = next((answer for answer in answers if answer.holds), None)
        return held or next((answer for answer in answers if answer.holds is None), answers[0])


def _together(way: Iterable[Condition], car: CarFacts) -> Answer:
    """The answer of conditions that have to hold together: the first that fails, or is unknown."""
    answers = [condition.ask(car) for condition in way]
    failed = next((answer for answer in answers if answer.holds is False), None)
    return failed or next((answer for answer in answers if answer.holds is None), answers[0])


# The columns of an option that hold its conditions, and the kinds that read them.
COLUMNS = ("built_from", "built_before", "equipment", "without")
KINDS = (BuildDate, Equipment)


def conditions_of_row(row: Mapping[str, Any]) -> tuple[Condition, ...]:
    """The conditions of a row with COLUMNS."""
    return tuple(condition for kind in KINDS for condition in kind.of_row(row))


def hold(conditions: Iterable[Condition], car: CarFacts) -> bool:
    """Whether all of them hold for certain; no condition holds for every car."""
    return all(condition.ask(car).holds for condition in conditions)
