"""Buying tools: the cheapest purchase that closes every gap, proven by a mixed-integer programme.

Each gap is closed by any one of several sets of tools (complete drive trains, less what is there).
With sets of one tool each this is weighted set covering.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from kitting.calc.solver import new_model, prove, total

Ways = Sequence[frozenset[str]]
_G = TypeVar("_G")


@dataclass(frozen=True, slots=True)
class ToolOffer:
    """Something that can be bought, hired or borrowed: its cost in minor units, what it brings."""

    code: str
    cost: int
    brings: frozenset[str]


@dataclass(frozen=True, slots=True)
class Purchase:
    """A proven cheapest purchase: offer codes and their cost in minor units."""

    offers: tuple[str, ...]
    cost: int


def cheapest(
    offers: Sequence[ToolOffer],
    gaps: Mapping[_G, Ways],
    without: Iterable[frozenset[str]] = (),
) -> Purchase | None:
    """The least costly set of offers that closes every gap; None where none does.

    `gaps` gives, per requirement, the sets of tools any one of which closes it. All costs are in
    one currency. `without` are sets of offers already known, which must not be bought again as a
    whole: with the cheapest one there, the answer is the next cheapest. What costs nothing is
    taken only if it is needed. Solved by HiGHS to a gap of nothing. Raises KittingError if the
    solver stops without a proof.
    """
    known_sets = list(without)
    if not all(known_sets):  # buying nothing is known already, and every purchase contains it
        return None
    if not gaps:
        return Purchase((), 0)
    model = new_model()
    ordered = sorted(offers, key=lambda offer: offer.code)
    taken = {o.code: model.addBinary(obj=float(o.cost), name=f"offer {o.code}") for o in ordered}
    brought: dict[str, list[Any]] = {}
    for offer in ordered:
        for tool in offer.brings:
            brought.setdefault(tool, []).append(taken[offer.code])
    joint: dict[frozenset[str], Any] = {}
    for ways in gaps.values():
        closing = _closing(model, ways, brought, joint)
        if not closing:
            return None
        # An offer that closes a gap in two ways still counts once; two are as good as one.
        model.addConstr(total(closing) >= 1)
    for known in known_sets:
        model.addConstr(total([taken[code] for code in sorted(known)]) <= len(known) - 1)
    if not prove(model, "the cheapest purchase"):
        return None
    chosen = _needed([o for o in ordered if model.val(taken[o.code]) > 0.5], gaps)
    return Purchase(tuple(offer.code for offer in chosen), sum(offer.cost for offer in chosen))


def _needed(chosen: Sequence[ToolOffer], gaps: Mapping[_G, Ways]) -> list[ToolOffer]:
    """The offers without those that can be left out: at the optimum, free ones only."""
    needed = list(chosen)
    for offer in reversed(chosen):
        others = [other for other in needed if other is not offer]
        brought = frozenset[str]().union(*(other.brings for other in others))
        if all(any(way <= brought for way in ways) for ways in gaps.values()):
            needed = others
    return needed


def _minimal(ways: Ways) -> list[frozenset[str]]:
    """Ways that contain no other way, in a fixed order."""
    kept: list[frozenset[str]] = []
    for way in sorted(set(ways), key=lambda way: (len(way), sorted(way))):
        if not any(smaller <= way for smaller in kept):
            kept.append(way)
    return kept


def _closing(
    model: Any, ways: Ways, brought: Mapping[str, list[Any]], joint: dict[Any, Any]
) -> list[Any]:
    """The variables of which any one at 1 closes a gap; none where no offer brings a way."""
    closing: list[Any] = []
    for way in _minimal(ways):
        if any(tool not in brought for tool in way):
            continue
        if len(way) == 1:
            closing += brought[next(iter(way))]
        else:
            closing.append(_all_of(model, way, brought, joint))
    return closing


def _all_of(
    model: Any, way: frozenset[str], brought: Mapping[str, list[Any]], joint: dict[Any, Any]
) -> Any:
    """A variable that can be 1 only if every tool of a way is brought."""
    if way not in joint:
        variable = model.addVariable(lb=0.0, ub=1.0)
        for tool in sorted(way):
            model.addConstr(variable <= total(brought[tool]))
        joint[way] = variable
    return joint[way]
