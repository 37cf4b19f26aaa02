"""Faults of splits: options named twice, steps that exclude each other, what a car may settle."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set

from kitting.errors import Problem
from kitting.facts.words import SettledBy
from kitting.files.catalogue.document import Unit
from kitting.files.catalogue.lines import Place
from kitting.files.catalogue.source import Source
from kitting.files.catalogue.vehicle_shapes import Vehicle
from kitting.services.catalogue.check_faults import missing, twice

Options = Mapping[str, Mapping[str, Set[str]]]  # by unit and split


def by_customers(unit: Unit) -> set[str]:
    """The splits of a unit that customers settle, as UNIT/SPLIT."""
    chosen = (split for split in unit.splits if split.settled_by is SettledBy.CUSTOMER)
    return {f"{unit.code}/{split.code}" for split in chosen}


def option_faults(source: Source, here: Place, unit: Unit) -> Iterator[Problem]:
    """An option that a split has twice, and steps that are never on the same car."""
    for number, split in enumerate(unit.splits):
        codes = [option.code for option in split.options]
        for index, code in enumerate(codes):
            if code in codes[:index]:
                place = (*here, "splits", number, "options", index)
                yield twice(source, place, f"split {split.code}", code)
    option_of = {step.code: step.option for step in unit.steps}
    for number, step in enumerate(unit.steps):
        for index, need in enumerate(step.needs):
            other = option_of.get(need)
            if step.option and other and _exclude(step.option, other):
                yield source.problem(
                    (*here, "steps", number, "needs", index),
                    f"unit {unit.code} step {step.code}",
                    f"it is done with {step.option} only, and needs {need}, which is done with"
                    f" {other} only: no car has both",
                    "Take the need out, or correct one of the options",
                )


def _exclude(one: str, other: str) -> bool:
    same_split = one.partition("/")[0] == other.partition("/")[0]
    return same_split and one != other


def settled_faults(
    source: Source, here: Place, vehicle: Vehicle, options: Options, chosen: Set[str]
) -> Iterator[Problem]:
    """What a car settles that no unit asks, or that its customer chooses for each booking."""
    known = [f"{unit}/{split}" for unit, splits in options.items() for split in splits]
    for split, option in vehicle.settled.items():
        unit, _, code = split.partition("/")
        place: Place = (*here, "settled", split)
        if code not in options.get(unit, {}):
            yield missing(source, place, "variant", split, known)
        elif option not in options[unit][code]:
            yield missing(source, place, "option", option, options[unit][code])
        elif split in chosen:
            yield source.problem(
                place,
                f"vehicle {vehicle.registration}",
                f"{split} is what the customer chooses, for each booking anew",
                "Take it out, and name the choice when the car is booked",
            )
