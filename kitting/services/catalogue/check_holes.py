"""Faults of holes: two in one place, and an order that does not fit what is tightened."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import combinations

from kitting.errors import Problem
from kitting.files.catalogue.document import Fit, Joint
from kitting.files.catalogue.lines import Place
from kitting.files.catalogue.source import Source

# Two fasteners of which the middles are nearer than so many mm are one that was written twice.
_APART = 1.0


def hole_faults(
    source: Source, place: Place, thing: str, joint: Joint, tightened: Callable[[Fit], bool]
) -> Iterator[Problem]:
    """What is wrong with the holes of a joint; `tightened` says whether a fit's holes are.

    A hollow dowel may sit round a bolt: only what is alike in being tightened is compared.
    """
    numbered: list[tuple[int, Fit, tuple[float, float]]] = []
    for fit in joint.fits:
        numbered += [(len(numbered) + n, fit, hole) for n, hole in enumerate(fit.holes, 1)]
    for (one, first, here), (other, second, there) in combinations(numbered, 2):
        alike = tightened(first) == tightened(second) and _on_one_car(first, second)
        if alike and math.dist(here, there) < _APART:
            yield source.problem(
                (*place, "fits", joint.fits.index(second), "holes"),
                thing,
                f"holes {one} and {other} are in one place ({here[0]:g}, {here[1]:g})",
                "Give each fastener its own hole",
            )
    if not joint.order:
        return
    for number, fit, _ in numbered:
        if number in joint.order and not tightened(fit):
            yield source.problem(
                (*place, "order"),
                thing,
                f"the order names hole {number} ({fit.item}), where nothing is tightened",
                "Leave it out of the order; it keeps its number",
            )
        if number not in joint.order and tightened(fit):
            yield source.problem(
                (*place, "order"),
                thing,
                f"the order does not name hole {number} ({fit.item}), which is tightened",
                "Give the whole order as the maker has it, or leave it out",
            )


def _on_one_car(one: Fit, other: Fit) -> bool:
    """Whether a car may have both: not where they are two options of one split."""
    if one.option is None or other.option is None:
        return True
    split, split_of_other = (fit.option.partition("/")[0] for fit in (one, other) if fit.option)
    return one.option == other.option or split != split_of_other
