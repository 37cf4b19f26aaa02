"""The case of sourcing: offers, deliveries and needs in order, and a purchase in exact money.

Money is whole minor units, quantities are whole thousandths of the stock unit. Nothing is solved
here: `sourcing` looks for the purchase and has it counted by `settled`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from kitting.calc.purchasing.days import ROUNDING, Days, reaches
from kitting.errors import KittingError

# One delivery fewer weighs as much as a chance higher by so much.
FEWER = 1e-5


@dataclass(frozen=True, slots=True)
class Price:
    """From so many packs on, every pack of the line costs `minor` minor units (all-units break)."""

    from_packs: int
    minor: int


@dataclass(frozen=True, slots=True)
class Offer:
    """What a delivery can bring of an item.

    `pack` is in thousandths of the stock unit. Of an offer nothing is bought, or at least
    `minimum` packs, a multiple of `multiple`, at most `available` (None: no limit), and not fewer
    than the first price begins with. An offer without prices cannot be bought.
    """

    key: int
    item: int
    delivery: int
    pack: int
    prices: tuple[Price, ...]
    minimum: int = 1
    multiple: int = 1
    available: int | None = None


@dataclass(frozen=True, slots=True)
class Delivery:
    """One supplier's parcel, or a transfer from a branch; money in minor units.

    Carriage is paid once, and not at all from a goods value of `carriage_free` on. `minimum` is
    the least goods value that is delivered; `chance` is that of arriving in time. Deliveries of
    one `order` (with the same terms) pay carriage together and reach their limits together.
    """

    key: int
    carriage: int = 0
    carriage_free: int | None = None
    minimum: int = 0
    chance: float = 1.0
    order: int | None = None

    @property
    def paid_as(self) -> tuple[bool, int]:
        """What the delivery pays carriage with: its order, else itself."""
        return (False, self.key) if self.order is None else (True, self.order)


@dataclass(frozen=True, slots=True)
class Worth:
    """What is left of an item is worth `minor` per stock unit, up to `most` thousandths.

    Several of one item add up, the most valuable filled first (the next one on the shelf is worth
    nearly its price, the tenth next to nothing).
    """

    item: int
    minor: int
    most: int


@dataclass(frozen=True, slots=True)
class Limits:
    """Offers of which at least so many packs are bought (`forced`), and those that are not."""

    forced: Mapping[int, int] = field(default_factory=dict)
    barred: Collection[int] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """So many packs of an offer, and what they cost together in minor units."""

    offer: int
    packs: int
    minor: int


@dataclass(frozen=True, slots=True)
class Purchase:
    """A proven cheapest purchase; money in minor units.

    Lines by offer key; carriage paid per delivery used, by delivery key, also where it is 0 (of
    one order the first pays).
    `spent` is goods and carriage, `worth` what is left over (per item, rounded down to a whole
    minor unit), `cost` spent − worth; `chance` the product over the deliveries used.
    """

    lines: tuple[Line, ...]
    carriage: tuple[tuple[int, int], ...]
    spent: int
    worth: int
    cost: int
    chance: float


@dataclass(frozen=True, slots=True)
class Band:
    """An offer at one of its prices: `low` to `high` lots of `multiple` packs, if any."""

    offer: Offer
    minor: int
    low: int
    high: int

    @property
    def lot_price(self) -> int:
        return self.minor * self.offer.multiple

    @property
    def lot(self) -> int:
        return self.offer.pack * self.offer.multiple


@dataclass(frozen=True, slots=True)
class Case:
    """What is asked, checked and put in order; only offers and deliveries that can be used."""

    needs: Mapping[int, int]
    offers: Mapping[int, Offer]
    deliveries: Mapping[int, Delivery]
    bands: tuple[Band, ...]
    target: float
    worth: Mapping[int, tuple[Worth, ...]]  # the most valuable first
    forced: Mapping[int, int]
    days: Days | None = None


def checked(
    offers: Iterable[Offer], deliveries: Iterable[Delivery]
) -> tuple[list[Offer], dict[int, Delivery]]:
    """Both in order of their keys. Raises KittingError for what makes no sense."""
    ordered = sorted(offers, key=lambda offer: offer.key)
    listed = sorted(deliveries, key=lambda delivery: delivery.key)
    by_key = {delivery.key: delivery for delivery in listed}
    if len(by_key) < len(listed) or len({offer.key for offer in ordered}) < len(ordered):
        raise KittingError("Two offers or two deliveries have the same key. Give each its own")
    for delivery in listed:
        if not 0.0 <= delivery.chance <= 1.0 or delivery.carriage < 0:
            raise KittingError(
                f"Delivery {delivery.key}: chance {delivery.chance}, carriage {delivery.carriage}."
                " A chance is between 0 and 1, carriage is not negative"
            )
    for offer in ordered:
        if offer.delivery not in by_key:
            raise KittingError(
                "Offer {key} comes with delivery {delivery}, which is not there. Add the delivery"
                " or leave the offer out",
                key=offer.key,
                delivery=offer.delivery,
            )
        if offer.pack < 1 or offer.multiple < 1 or any(price.minor < 0 for price in offer.prices):
            raise KittingError(
                f"Offer {offer.key}: pack {offer.pack}, multiple {offer.multiple}, prices"
                f" {[price.minor for price in offer.prices]}. Packs and multiples are above 0,"
                " prices are not negative"
            )
    return ordered, by_key


def lateness(delivery: Delivery) -> float:
    """What a delivery costs in chance: summed up, less for a higher chance, then for fewer."""
    return FEWER - math.log(max(delivery.chance, 1e-9))


def timely(delivery: Delivery, target: float) -> bool:
    """Whether a delivery may be used: alone it reaches the target."""
    return reaches(delivery.chance, target)


def least_packs(offer: Offer) -> int:
    """The fewest packs that can be bought, if any are."""
    first = min((price.from_packs for price in offer.prices), default=1)
    return -(-max(1, offer.minimum, first) // offer.multiple) * offer.multiple


def most_packs(offer: Offer) -> float:
    """The most packs that can be bought: infinite without a limit, 0 if none can."""
    if not offer.prices:
        return 0
    if offer.available is None:
        return math.inf
    most = offer.available // offer.multiple * offer.multiple
    return most if most >= least_packs(offer) else 0


def fewest_packs(offer: Offer, amount: int) -> int:
    """The fewest packs that bring an amount (thousandths), with minimum and multiple."""
    lots = -(-amount // (offer.pack * offer.multiple))
    return max(least_packs(offer), lots * offer.multiple)


def stated(
    needs: Mapping[int, int],
    offers: Iterable[Offer],
    deliveries: Iterable[Delivery],
    target: float,
    worth: Sequence[Worth],
    limits: Limits,
) -> Case | None:
    """The case without what cannot be used; None where it is plain that nothing will do."""
    ordered, by_key = checked(offers, deliveries)
    needed = {item: need for item, need in sorted(needs.items()) if need > 0}
    tiers: dict[int, tuple[Worth, ...]] = {}
    for tier in sorted(worth, key=lambda tier: (tier.item, -tier.minor)):
        if tier.minor > 0 and tier.most > 0:
            tiers[tier.item] = (*tiers.get(tier.item, ()), tier)
    forced = {key: packs for key, packs in sorted(limits.forced.items()) if packs > 0}
    bands: list[Band] = []
    for offer in ordered:
        wanted = offer.item in needed or offer.item in tiers or offer.key in forced
        if not wanted or offer.key in limits.barred or not timely(by_key[offer.delivery], target):
            continue
        useful = needed.get(offer.item, 0) + sum(tier.most for tier in tiers.get(offer.item, ()))
        packs = max(-(-useful // offer.pack), forced.get(offer.key, 0))
        bands += _bands(offer, by_key[offer.delivery], packs)
    at_hand = {band.offer.key: band.offer for band in bands}
    if target > 1.0 + ROUNDING or not forced.keys() <= at_hand.keys():
        return None
    if not needed.keys() <= {offer.item for offer in at_hand.values()}:
        return None
    used = {offer.delivery for offer in at_hand.values()}
    coming = {key: delivery for key, delivery in by_key.items() if key in used}
    return Case(needed, at_hand, coming, tuple(bands), target, tiers, forced)


def _bands(offer: Offer, delivery: Delivery, useful: int) -> list[Band]:
    """The offer at each price, with the most that a cheapest purchase can contain at that price.

    Beyond `useful` packs more of the same price only raises the value of the goods: to the least
    order value, or to free carriage as long as that costs no more than the carriage. With few
    lots the programme is strong: a need of one pack links each offer to its delivery one to one.
    """
    bands: list[Band] = []
    prices = sorted(offer.prices, key=lambda price: price.from_packs)
    ends = [price.from_packs - 1 for price in prices[1:]]
    for price, end in zip(prices, [*ends, None], strict=True):
        low = -(-max(1, offer.minimum, price.from_packs) // offer.multiple)
        high = max(low, -(-useful // offer.multiple))
        lot_price = price.minor * offer.multiple
        if lot_price:
            high = max(high, -(-delivery.minimum // lot_price))
            if delivery.carriage_free is not None:
                enough = -(-delivery.carriage_free // lot_price)
                high = max(high, min(enough, high + delivery.carriage // lot_price))
        limits = [limit // offer.multiple for limit in (end, offer.available) if limit is not None]
        high = min([high, *limits])
        if low <= high:
            bands.append(Band(offer, price.minor, low, high))
    return bands


def settled(case: Case, packs: Mapping[int, int]) -> Purchase | None:
    """A purchase of so many packs per offer in exact money; None if anything forbids it."""
    lines: list[Line] = []
    left = {item: -need for item, need in case.needs.items()}
    goods: dict[tuple[bool, int], int] = {}
    used: dict[int, Delivery] = {}
    for key, count in sorted(packs.items()):
        offer = case.offers[key]
        price = price_each(offer, count)
        if price is None:
            return None
        lines.append(Line(key, count, count * price))
        left[offer.item] = left.get(offer.item, 0) + count * offer.pack
        delivery = case.deliveries[offer.delivery]
        used[delivery.key] = delivery
        goods[delivery.paid_as] = goods.get(delivery.paid_as, 0) + count * price
    if any(packs.get(key, 0) < least for key, least in case.forced.items()):
        return None
    chance = math.prod(used[key].chance for key in sorted(used))
    small = any(goods[delivery.paid_as] < delivery.minimum for delivery in used.values())
    if small or chance < case.target - ROUNDING or min(left.values(), default=0) < 0:
        return None
    pays = {used[key].paid_as: key for key in sorted(used, reverse=True)}
    carriage = tuple(
        (key, _carriage(used[key], goods[used[key].paid_as]) if key in pays.values() else 0)
        for key in sorted(used)
    )
    spent = sum(goods.values()) + sum(paid for _, paid in carriage)
    kept = sum(value_left(case.worth.get(item, ()), over) for item, over in left.items())
    return Purchase(tuple(lines), carriage, spent, kept, spent - kept, chance)


def price_each(offer: Offer, packs: int) -> int | None:
    """What each of so many packs costs, in minor units; None if so many cannot be bought."""
    if packs % offer.multiple or not least_packs(offer) <= packs <= most_packs(offer):
        return None
    reached = [price for price in offer.prices if price.from_packs <= packs]
    return max(reached, key=lambda price: price.from_packs).minor


def whole_packs(offer: Offer, amount: int) -> Line | None:
    """The cheapest line of one offer that brings at least an amount (thousandths), or None.

    As many packs more as reach a price break are taken where they cost less.

    >>> whole_packs(Offer(1, 1, 1, 1000, (Price(1, 42), Price(100, 31)), multiple=20), 80_000)
    Line(offer=1, packs=100, minor=3100)
    """
    if amount <= 0:
        return Line(offer.key, 0, 0)
    least = max(-(-amount // offer.pack), least_packs(offer))
    counts = [least, *(price.from_packs for price in offer.prices if price.from_packs > least)]
    found = []
    for count in counts:
        packs = -(-count // offer.multiple) * offer.multiple
        price = price_each(offer, packs)
        if price is not None:
            found.append((packs * price, packs))
    if not found:
        return None
    minor, packs = min(found)
    return Line(offer.key, packs, minor)


def _carriage(delivery: Delivery, goods: int) -> int:
    free = delivery.carriage_free
    return 0 if free is not None and goods >= free else delivery.carriage


def value_left(tiers: Sequence[Worth], over: int) -> int:
    """What so many thousandths left over of one item are worth, rounded down."""
    value = 0
    for tier in tiers:
        filled = min(over, tier.most)
        value += tier.minor * filled
        over -= filled
    return value // 1000
