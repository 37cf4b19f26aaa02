"""Sourcing: what to buy from whom at least cost, so that all of it arrives in time by some chance.

Sets of deliveries are bounded from below first (`supplier_sets`); what that leaves open is solved
as a mixed-integer programme (`programme`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

from kitting.calc.purchasing.programme import Programme
from kitting.calc.purchasing.sourcing_case import (
    Case,
    Delivery,
    Limits,
    Line,
    Offer,
    Price,
    Purchase,
    Worth,
    checked,
    least_packs,
    most_packs,
    settled,
    stated,
    timely,
)

__all__ = [
    "Delivery",
    "Limits",
    "Line",
    "Offer",
    "Price",
    "Purchase",
    "Worth",
    "best_chance",
    "lacking",
    "source",
]

NO_LIMITS = Limits()


def source(
    needs: Mapping[int, int],
    offers: Iterable[Offer],
    deliveries: Iterable[Delivery],
    target: float = 0.0,
    worth: Sequence[Worth] = (),
    limits: Limits = NO_LIMITS,
) -> Purchase | None:
    """The purchase of least cost that meets every need in time with chance `target`, or None.

    `needs` are thousandths per item. An item that is neither needed nor worth anything is not
    bought. With the offers of one supplier barred by `limits`, the answer is what the next best
    would cost. With a target above 0 a delivery of chance 0 is not used.

    Among purchases of equal cost the one with the higher chance is taken (a difference below one
    in 100 000 counts as none), then the one of fewer deliveries; packs that cost nothing and are
    worth nothing are left out. What is still equal is decided by the search, which is given
    everything in order of its keys, so that the same offers give the same purchase in whatever
    order they come.

    Raises KittingError for offers that make no sense or if the solver stops without a proof.
    """
    case = stated(needs, offers, deliveries, target, worth, limits)
    if case is None:
        return None
    found = _best(case)
    return None if found is None else bare(case, found)


def best_chance(
    needs: Mapping[int, int],
    offers: Iterable[Offer],
    deliveries: Iterable[Delivery],
    worth: Sequence[Worth] = (),
    barred: Collection[int] = (),
) -> float:
    """The highest chance with which every need can be met in time, whatever it costs.

    0.0 if the needs cannot be met at all. `worth` only says which items may be bought besides
    those needed, to reach a least order value. Raises KittingError as `source` does.
    """
    ordered, by_key = checked(offers, deliveries)
    possible = [offer for offer in ordered if by_key[offer.delivery].chance > 0.0]
    case = stated(needs, possible, by_key.values(), 0.0, worth, Limits(barred=barred))
    return 0.0 if case is None else Programme(case).best_chance()


def lacking(
    needs: Mapping[int, int],
    offers: Iterable[Offer],
    deliveries: Iterable[Delivery],
    target: float = 0.0,
    barred: Collection[int] = (),
) -> tuple[int, ...]:
    """Items, in order, of which the usable offers together cannot bring what is needed.

    An offer is usable if it has a price, enough is available for its least quantity and its
    delivery alone reaches the target. An empty answer does not promise a purchase: least order
    values and the product of several chances are left to `source`.
    """
    ordered, by_key = checked(offers, deliveries)
    brought: dict[int, float] = {}
    for offer in ordered:
        if offer.key in barred or not timely(by_key[offer.delivery], target):
            continue
        most = most_packs(offer)
        brought[offer.item] = brought.get(offer.item, 0) + most * offer.pack
    return tuple(i for i, need in sorted(needs.items()) if need > brought.get(i, 0))


def _best(case: Case) -> Purchase | None:
    """By the bounds of sets of deliveries, and by the solver among the sets they leave open."""
    from kitting.calc.purchasing.supplier_sets import by_sets

    if not case.bands:
        return settled(case, {})
    decided = by_sets(case)
    if decided is not None and not decided.open:
        return decided.best
    programme = Programme(case)
    if decided is not None:
        known = decided.best.carriage if decided.best else ()
        programme.only([*decided.open, *([[key for key, _ in known]] if decided.best else [])])
    first = programme.cheapest()
    return None if first is None else programme.of_highest_chance(first)


def bare(
    case: Case, found: Purchase, enough: Callable[[Mapping[int, int]], bool] = lambda _: True
) -> Purchase:
    """The purchase without packs that cost nothing and are worth nothing, if it stays `enough`."""
    for line in reversed(found.lines):
        packs = {bought.offer: bought.packs for bought in found.lines}
        offer = case.offers[line.offer]
        others = sum(
            count * case.offers[key].pack
            for key, count in packs.items()
            if key != line.offer and case.offers[key].item == offer.item
        )
        short = case.needs.get(offer.item, 0) - others
        least = -(-max(short, 1) // offer.pack)
        lots = max(least_packs(offer), -(-least // offer.multiple) * offer.multiple)
        without = {key: count for key, count in packs.items() if key != line.offer}
        for fewer in (without, packs | {line.offer: lots}):
            tried = settled(case, fewer)
            cheap = tried is not None and tried.cost <= found.cost
            if tried and cheap and sum(fewer.values()) < sum(packs.values()) and enough(fewer):
                found = tried
                break
    return found
