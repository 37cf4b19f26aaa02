"""Supplier choice and tool buying against two general optimisers on the same instances."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from kitting.calc.purchasing.sourcing import Delivery, Offer, Price, source
from kitting.calc.tools.purchase import ToolOffer, cheapest

from . import optimisers
from .harness import Name, Row, by_turns, seconds, timed
from .setting import Setting, lacks

GOAL = 1.0
TARGET = 0.9
PEERS = (
    ("pulp", "PuLP with its CBC", optimisers.buy_pulp, optimisers.tools_pulp),
    ("ortools", "OR-Tools CP-SAT", optimisers.buy_cpsat, optimisers.tools_cpsat),
)


@dataclass(frozen=True, slots=True)
class Market:
    """What is needed, and who offers it at what price."""

    needs: Mapping[int, int]
    offers: Sequence[Offer]
    deliveries: Sequence[Delivery]


def market(items: int, suppliers: int, seed: int) -> Market:
    """Everybody offers most items, in packs, with a break; carriage is free from a limit on."""
    rng = random.Random(seed)
    deliveries = [
        Delivery(
            n,
            carriage=rng.choice((0, 495, 695, 1200)),
            carriage_free=rng.choice((None, 5_000, 12_000)),
            chance=rng.choice((1.0, 0.999, 0.97, 0.94)),
        )
        for n in range(suppliers)
    ]
    # One is sure, so that the target can be met.
    deliveries[0] = Delivery(0, carriage=1500, chance=1.0)
    offers = []
    for item in range(items):
        usual = rng.randint(40, 6000)
        for supplier in range(suppliers):
            if supplier and rng.random() < 0.3:
                continue
            price, pack = round(usual * rng.uniform(0.8, 1.3)) + 1, rng.choice((1, 1, 1, 5, 10))
            prices = [Price(1, price * pack)]
            if rng.random() < 0.4:
                prices.append(Price(rng.randint(2, 8), round(price * pack * 0.88)))
            offers.append(
                Offer(len(offers), item, supplier, pack * 1000, tuple(prices), available=40)
            )
    needs = {item: rng.randint(1, 12) * 1000 for item in range(items)}
    return Market(needs, offers, deliveries)


def bought(case: Market) -> int:
    """What our purchase costs."""
    found = source(case.needs, case.offers, case.deliveries, TARGET)
    assert found is not None
    return found.cost


@dataclass(frozen=True, slots=True)
class Shop:
    """Tools on offer, and per gap the sets of tools any one of which closes it."""

    offers: Sequence[ToolOffer]
    gaps: Mapping[str, Sequence[frozenset[str]]]


def shop(offers: int, tools: int, gaps: int, seed: int) -> Shop:
    """Sets of one to six tools at random; each gap can be closed in six ways."""
    rng = random.Random(seed)
    return Shop(
        [
            ToolOffer(
                f"o{n}",
                rng.randint(500, 9_000),
                frozenset(f"t{rng.randrange(tools)}" for _ in range(rng.randint(1, 6))),
            )
            for n in range(offers)
        ],
        {
            f"g{n}": [
                frozenset(f"t{rng.randrange(tools)}" for _ in range(rng.randint(1, 3)))
                for _ in range(6)
            ]
            for n in range(gaps)
        },
    )


def covered(case: Shop) -> int:
    """What our purchase of tools costs."""
    found = cheapest(case.offers, case.gaps)
    assert found is not None
    return found.cost


def _compare(
    setting: Setting, ours: Callable[[], list[int]], other: Callable[[], list[int]], what: str,
    size: str, against: str,
) -> Row:  # fmt: skip
    try:
        theirs = other()
    except optimisers.GaveUpError:
        took = timed(ours).wall
        told = f"no proof in {optimisers.LIMIT:g} s for one; ours took {seconds(took)} for all"
        return Row(what, size, against, skipped=told)
    mine = ours()
    if mine != theirs:
        raise AssertionError(f"{what}, {size}: {mine} against {theirs} of {against}")
    pairs = by_turns(ours, other, min(setting.runs, 3), warm=False)
    return pairs.row(what, size, against, GOAL)


MARKETS, SHOPS = ((8, 3), (25, 5), (60, 8)), ((60, 40, 20), (150, 80, 40))


def _markets(setting: Setting) -> Iterator[tuple[str, int, int]]:
    for items, suppliers in ((4, 2),) if setting.quick else MARKETS:
        yield f"5 × {items} items, {suppliers} suppliers", items, suppliers


def _shops(setting: Setting) -> Iterator[tuple[str, int, int, int]]:
    for offers, tools, gaps in ((20, 12, 5),) if setting.quick else SHOPS:
        yield f"5 × {offers} offers, {gaps} gaps", offers, tools, gaps


def names(setting: Setting) -> Iterator[Name]:
    """What the rows are called."""
    for what, sizes in (("supplier choice", _markets(setting)), ("tool buying", _shops(setting))):
        for size, *_ in sizes:
            for _, against, _, _ in PEERS:
                yield what, size, against


def run(setting: Setting) -> Iterator[Row]:
    """Five instances of each size; the costs are equal, or nothing is told."""
    for size, items, suppliers in _markets(setting):
        cases = [market(items, suppliers, seed) for seed in range(5)]
        for package, against, buy, _ in PEERS:
            if (missing := lacks(package)) is not None:
                yield Row("supplier choice", size, against, skipped=missing)
                continue
            yield _compare(
                setting,
                lambda cases=cases: [bought(case) for case in cases],  # type: ignore[misc]
                lambda cases=cases, buy=buy: [  # type: ignore[misc]
                    buy(case.needs, case.offers, case.deliveries, TARGET) for case in cases
                ],
                "supplier choice",
                size,
                against,
            )
    for size, offers, tools, gaps in _shops(setting):
        shops = [shop(offers, tools, gaps, seed) for seed in range(5)]
        for package, against, _, cover in PEERS:
            if (missing := lacks(package)) is not None:
                yield Row("tool buying", size, against, skipped=missing)
                continue
            yield _compare(
                setting,
                lambda shops=shops: [covered(one) for one in shops],  # type: ignore[misc]
                lambda shops=shops, cover=cover: [  # type: ignore[misc]
                    cover([(o.cost, o.brings) for o in one.offers], list(one.gaps.values()))
                    for one in shops
                ],
                "tool buying",
                size,
                against,
            )
