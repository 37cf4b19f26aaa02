"""What stands for the items that joints ask for: themselves, or what replaces them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from kitting.facts.words import NeedRule, OldStock, Word
from kitting.services.planning.facts import ItemFacts

ONE_FOR_ONE = 1000


class HowItStands(Word):
    """Why an item stands where it does."""

    ASKED_FOR = "asked for"
    REPLACES = "replaces"
    CHOSEN = "chosen"


@dataclass(frozen=True, slots=True)
class KitRecord:
    """What a booking has settled of its kit.

    `stands` has the keys of what stands for an item under a rule (nothing named: the item itself);
    `failed` are the positions (joint, position, as a plan names them) that did not pass. `opened`
    are the joints, as a plan names them, of which somebody counted or looked at something: they are
    open, whatever the jobs ask for.
    """

    stands: Mapping[tuple[int, NeedRule], tuple[int, ...]] = field(default_factory=dict)
    failed: frozenset[tuple[str, str]] = frozenset()
    opened: frozenset[str] = frozenset()

    @property
    def items(self) -> frozenset[int]:
        """Everything that stands for something."""
        return frozenset(key for keys in self.stands.values() for key in keys)


@dataclass(frozen=True, slots=True)
class StandIn:
    """An item that stands for another, `amount` thousandths of it for each one."""

    item: ItemFacts
    amount: int = ONE_FOR_ONE
    how: HowItStands = HowItStands.ASKED_FOR


@dataclass(frozen=True, slots=True)
class Replacements:
    """What replaces an item in the end, in thousandths of each; `in_a_ring`: nobody can tell."""

    by: tuple[tuple[ItemFacts, int], ...]
    old_stock: OldStock
    in_a_ring: bool = False


def replacements(item: ItemFacts, items: Mapping[int, ItemFacts], on: date) -> Replacements | None:
    """What replaces an item at a date, over several replacements; None where nothing does yet."""
    if item.succession is None or not item.succession.in_force(on):
        return None
    ends: dict[int, int] = defaultdict(int)
    ahead = [(item, ONE_FOR_ONE, frozenset([item.key]))]
    while ahead:
        here, amount, path = ahead.pop()
        for key, each in here.succession.by if here.succession else ():
            if key in path:
                return Replacements((), item.succession.old_stock, in_a_ring=True)
            other, scaled = items[key], amount * each // ONE_FOR_ONE
            if other.succession is not None and other.succession.in_force(on):
                ahead.append((other, scaled, path | {key}))
            else:
                ends[key] += scaled
    found = tuple((items[key], amount) for key, amount in sorted(ends.items()))
    return Replacements(found, item.succession.old_stock)


@dataclass(frozen=True, slots=True)
class StandIns:
    """What stands for each item at a date, in a kit where there is one."""

    items: Mapping[int, ItemFacts]
    on: date
    kit: KitRecord | None = None

    def of(self, item: ItemFacts, rule: NeedRule) -> tuple[StandIn, ...]:
        """What is fetched for an item; what goes back stands for itself."""
        found = replacements(item, self.items, self.on)
        replaced = dict(found.by) if found else {}
        recorded = self.kit.stands.get((item.key, rule)) if self.kit else None
        if recorded is not None:
            return tuple(_stand_in(item, self.items[key], replaced) for key in recorded)
        if not replaced or rule is NeedRule.KEEP or self.kit is not None:
            return (StandIn(item),)
        if found is not None and found.old_stock is OldStock.USE_UP:
            return (StandIn(item),)
        return tuple(_stand_in(item, other, replaced) for other in replaced)

    def may_come(self, item: ItemFacts) -> tuple[StandIn, ...]:
        """What comes instead where old stock is used up and may not be enough."""
        found = replacements(item, self.items, self.on)
        if self.kit is not None or found is None or found.old_stock is not OldStock.USE_UP:
            return ()
        return tuple(StandIn(other, amount, HowItStands.REPLACES) for other, amount in found.by)

    def in_a_ring(self, item: ItemFacts) -> bool:
        """Whether what replaces an item runs in a ring, so that nobody can tell what comes."""
        found = replacements(item, self.items, self.on)
        return found is not None and found.in_a_ring


def _stand_in(asked: ItemFacts, item: ItemFacts, replaced: Mapping[ItemFacts, int]) -> StandIn:
    if item.key == asked.key:
        return StandIn(item)
    if item in replaced:
        return StandIn(item, replaced[item], HowItStands.REPLACES)
    return StandIn(item, ONE_FOR_ONE, HowItStands.CHOSEN)
