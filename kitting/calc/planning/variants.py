"""Variants: which side of a split this car has, or which check would decide it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class OptionFacts:
    """One side of a split and the conditions under which a car has it."""

    key: int
    code: str
    name: str
    built_from: date | None = None
    built_before: date | None = None
    equipment: str | None = None
    without: str | None = None
    seen: str | None = None


@dataclass(frozen=True, slots=True)
class SplitFacts:
    """A question that decides which parts a car takes."""

    key: int
    unit: int
    code: str
    question: str
    check: str
    options: tuple[OptionFacts, ...]


@dataclass(frozen=True, slots=True)
class CarFacts:
    """What is known of a car: equipment not named is unknown, `settled` is split → option key."""

    build_date: date | None
    equipment: Mapping[str, bool]
    settled: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class Settled:
    """The option a car has, and how that is known."""

    option: int
    because: str


@dataclass(frozen=True, slots=True)
class Open:
    """Not known, and why."""

    because: str


def settle(split: SplitFacts, car: CarFacts) -> Settled | Open:
    """Decide a split from what was seen at the car, else from build date and equipment.

    An option is taken only when its conditions are all met and no other option is possible:
    nothing unknown counts as fine.
    """
    if split.key in car.settled:
        return Settled(car.settled[split.key], "seen at the car")
    states = [(option, _matches(option, car)) for option in split.options]
    certain = [option for option, state in states if state is True]
    possible = [option for option, state in states if state is not False]
    if len(certain) == 1 and len(possible) == 1:
        return Settled(certain[0].key, _grounds(certain[0], car))
    if not possible:
        return Open(f"no option fits what is known of this car ({_known(split.options, car)})")
    if len(certain) > 1:
        return Open(f"more than one option fits ({_known(split.options, car)})")
    return Open(_missing(possible, car))


def _matches(option: OptionFacts, car: CarFacts) -> bool | None:
    """True, False, or None for unknown: a condition that cannot be judged leaves it open."""
    found: list[bool | None] = []
    if option.built_from or option.built_before:
        found.append(_in_span(option, car.build_date))
    if option.equipment is not None:
        found.append(car.equipment.get(option.equipment))
    if option.without is not None:
        present = car.equipment.get(option.without)
        found.append(None if present is None else not present)
    if False in found:
        return False
    return True if found and None not in found else None


def _in_span(option: OptionFacts, built: date | None) -> bool | None:
    if built is None:
        return None
    return (option.built_from is None or built >= option.built_from) and (
        option.built_before is None or built < option.built_before
    )


def _grounds(option: OptionFacts, car: CarFacts) -> str:
    grounds = []
    if option.built_from or option.built_before:
        grounds.append(f"built {car.build_date}")
    if option.equipment is not None:
        grounds.append(f"with {option.equipment}")
    if option.without is not None:
        grounds.append(f"without {option.without}")
    return ", ".join(grounds)


def _known(options: Sequence[OptionFacts], car: CarFacts) -> str:
    known = [f"built {car.build_date}"] if car.build_date else []
    asked = {code for o in options for code in (o.equipment, o.without) if code is not None}
    for code in sorted(asked & set(car.equipment)):
        known.append(f"{'with' if car.equipment[code] else 'without'} {code}")
    return ", ".join(known) or "nothing"


def _missing(options: Sequence[OptionFacts], car: CarFacts) -> str:
    missing = []
    if car.build_date is None and any(o.built_from or o.built_before for o in options):
        missing.append("the build date is not known")
    asked = {code for o in options for code in (o.equipment, o.without) if code is not None}
    missing.extend(
        f"whether the car has {code} is not known" for code in sorted(asked - set(car.equipment))
    )
    return " and ".join(missing) or "only a look at the car decides"
