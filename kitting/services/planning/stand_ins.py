"""What stands for the items that joints ask for: themselves, or what replaces them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from graphlib import CycleError, TopologicalSorter
from typing import TypeAlias

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
    `failed` are the positions (joint, position, as a plan names them) that did not pass, with how
    much of what is there failed, in thousandths (None: all of it); `passed` those that did.
    `opened` are the joints, as a plan names them, of which somebody counted or looked at something:
    they are open, whatever the jobs ask for. `chosen` is what its customer chose, split → option
    by key.
    """

    stands: Mapping[tuple[int, NeedRule], tuple[int, ...]] = field(default_factory=dict)
    failed: Mapping[tuple[str, str], int | None] = field(default_factory=dict)
    opened: frozenset[str] = frozenset()
    passed: frozenset[tuple[str, str]] = frozenset()
    chosen: Mapping[int, int] = field(default_factory=dict)

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
    """What replaces an item in the end, in thousandths of each; `in_a_ring`: nobody can tell.

    `on_the_way` are what would replace it were it not replaced itself.
    """

    by: tuple[tuple[ItemFacts, int], ...] = ()
    on_the_way: tuple[tuple[ItemFacts, int], ...] = ()
    in_a_ring: bool = False


Stays: TypeAlias = Callable[[ItemFacts, int], bool]
"""Whether what replaces an item stands there itself, for so many thousandths for each one."""


def none_stays(item: ItemFacts, amount: int) -> bool:
    """That what is replaced itself never stands for anything."""
    return False


def usable_up(item: ItemFacts, on: date) -> bool:
    """Whether an item is replaced at a date, and its old stock may be used up."""
    replaced = item.succession
    return replaced is not None and replaced.in_force(on) and replaced.old_stock is OldStock.USE_UP


def replacements(
    item: ItemFacts, items: Mapping[int, ItemFacts], on: date, stays: Stays = none_stays
) -> Replacements | None:
    """What replaces an item at a date, over several replacements; None where nothing does yet.

    Each in a chain is asked once, with all that is needed of it, whether it stays; of what stays
    nothing further comes.
    """
    if item.succession is None or not item.succession.in_force(on):
        return None
    order = _in_order(item, items, on)
    if order is None:
        return Replacements(in_a_ring=True)
    amounts: dict[int, int] = defaultdict(int, {item.key: ONE_FOR_ONE})
    ends, on_the_way = [], []
    for key in order:
        here, amount = items.get(key, item), amounts[key]
        onwards = _onwards(here, on)
        if not amount:
            continue
        if not onwards or (key != item.key and stays(here, amount)):
            ends.append((here, amount))
            continue
        if key != item.key:
            on_the_way.append((here, amount))
        for other, each in onwards:
            amounts[other] += amount * each // ONE_FOR_ONE
    by_key = sorted(ends, key=lambda one: one[0].key)
    return Replacements(tuple(by_key), tuple(on_the_way))


def _onwards(item: ItemFacts, on: date) -> tuple[tuple[int, int], ...]:
    """What replaces an item at a date itself, in thousandths of each."""
    if item.succession is None or not item.succession.in_force(on):
        return ()
    return item.succession.by


def _in_order(item: ItemFacts, items: Mapping[int, ItemFacts], on: date) -> list[int] | None:
    """An item and all that replaces it, each after what it replaces; None for a ring."""
    sorter: TopologicalSorter[int] = TopologicalSorter({item.key: ()})
    ahead, seen = [item.key], {item.key}
    while ahead:
        key = ahead.pop()
        for other, _ in _onwards(items[key], on):
            sorter.add(other, key)
            if other not in seen:
                seen.add(other)
                ahead.append(other)
    try:
        return list(sorter.static_order())
    except CycleError:
        return None


@dataclass(frozen=True, slots=True)
class StandIns:
    """What stands for each item at a date, in a kit where there is one."""

    items: Mapping[int, ItemFacts]
    on: date
    kit: KitRecord | None = None

    def of(self, item: ItemFacts, rule: NeedRule) -> tuple[StandIn, ...]:
        """What is fetched for an item; what goes back stands for itself."""
        recorded = self.kit.stands.get((item.key, rule)) if self.kit else None
        if recorded is not None:
            found = replacements(item, self.items, self.on, lambda one, _: one.key in recorded)
            replaced = dict(found.by) if found else {}
            return tuple(_stand_in(item, self.items[key], replaced) for key in recorded)
        if rule is NeedRule.KEEP or self.kit is not None or usable_up(item, self.on):
            return (StandIn(item),)
        found = replacements(item, self.items, self.on, lambda one, _: usable_up(one, self.on))
        if found is None or not found.by:
            return (StandIn(item),)
        return tuple(StandIn(other, amount, HowItStands.REPLACES) for other, amount in found.by)

    def may_come(self, item: ItemFacts) -> tuple[StandIn, ...]:
        """What comes instead where old stock is used up and may not be enough."""
        found = replacements(item, self.items, self.on)
        if self.kit is not None or found is None:
            return ()
        old = [(one, amount) for one, amount in found.on_the_way if usable_up(one, self.on)]
        if not usable_up(item, self.on):
            if not old:
                return ()
            first = {one.item.key for one in self.of(item, NeedRule.USE)}
            old = [(one, amount) for one, amount in old if one.key not in first]
        return tuple(
            StandIn(other, amount, HowItStands.REPLACES) for other, amount in (*old, *found.by)
        )

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
