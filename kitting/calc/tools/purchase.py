"""Buying tools: the cheapest purchase that closes every gap, proven by search or by a solver.

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
    taken only if it is needed. Small cases are searched within exact bounds, others solved by HiGHS
    to a gap of nothing. Raises KittingError if the solver stops without a proof.
    """
    known_sets = list(without)
    if not all(known_sets):  # buying nothing is known already, and every purchase contains it
        return None
    if not gaps:
        return Purchase((), 0)
    ordered = sorted(offers, key=lambda offer: offer.code)
    asked = _asked(gaps.values(), ordered)
    if not all(asked):
        return None
    if not known_sets:
        ordered = _worth_asking(ordered, asked)
    found = _cheapest_of(ordered, asked, known_sets)
    if found is None:
        return None
    chosen = _needed(found, gaps)
    return Purchase(tuple(offer.code for offer in chosen), sum(offer.cost for offer in chosen))


def _asked(gaps: Iterable[Ways], offers: Sequence[ToolOffer]) -> list[Ways]:
    """The gaps in a fixed order, each once: the shortest ways that can be bought at all."""
    brought = frozenset[str]().union(*(offer.brings for offer in offers))
    bought = ([way for way in ways if way <= brought] for ways in gaps)
    asked = {tuple(_minimal(ways)) for ways in bought}
    open_ones = [ways for ways in asked if frozenset() not in ways]
    return sorted(open_ones, key=lambda ways: (len(ways), [sorted(way) for way in ways]))


def _worth_asking(offers: Sequence[ToolOffer], gaps: Sequence[Ways]) -> list[ToolOffer]:
    """The offers of which no other brings as much of what is asked for as little money.

    Of offers that bring the same at the same price, the first is kept.
    """
    asked = frozenset[str]().union(*(way for ways in gaps for way in ways))
    brings = {offer.code: offer.brings & asked for offer in offers}
    kept: list[ToolOffer] = []
    for offer in sorted(offers, key=lambda o: (o.cost, -len(brings[o.code]))):
        brought = brings[offer.code]
        if brought and not any(brought <= brings[other.code] for other in kept):
            kept.append(offer)
    return sorted(kept, key=lambda offer: offer.code)


def _cheapest_of(
    offers: Sequence[ToolOffer], gaps: Sequence[Ways], known_sets: Sequence[frozenset[str]]
) -> list[ToolOffer] | None:
    """By trying columns of offers where they are few, by the solver where they are many."""
    from kitting.calc.tools.column_search import Search
    from kitting.calc.tools.columns import Cover, TooManyError

    if not gaps:
        return []
    number = {offer.code: n for n, offer in enumerate(offers)}
    barred = [sum(1 << number[code] for code in known) for known in known_sets]
    prices, brings = [offer.cost for offer in offers], [offer.brings for offer in offers]
    try:
        found = Search(Cover(prices, brings, gaps, barred)).run()
    except TooManyError:
        return _solved(offers, gaps, known_sets)
    return None if found is None else [offers[n] for n in found]


def _solved(
    offers: Sequence[ToolOffer], gaps: Sequence[Ways], known_sets: Sequence[frozenset[str]]
) -> list[ToolOffer] | None:
    """The cheapest purchase as a mixed-integer programme."""
    model = new_model()
    taken = {o.code: model.addBinary(obj=float(o.cost), name=f"offer {o.code}") for o in offers}
    brought: dict[str, list[Any]] = {}
    for offer in offers:
        for tool in offer.brings:
            brought.setdefault(tool, []).append(taken[offer.code])
    joint: dict[frozenset[str], Any] = {}
    for ways in gaps:
        # An offer that closes a gap in two ways still counts once; two are as good as one.
        model.addConstr(total(_closing(model, ways, brought, joint)) >= 1)
    for known in known_sets:
        model.addConstr(total([taken[code] for code in sorted(known)]) <= len(known) - 1)
    if not prove(model, "the cheapest purchase"):
        return None
    return [o for o in offers if model.val(taken[o.code]) > 0.5]


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
    """The variables of which any one at 1 closes a gap."""
    closing: list[Any] = []
    for way in ways:
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
