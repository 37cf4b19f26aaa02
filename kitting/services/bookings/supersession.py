"""Supersession: what is fetched today where a part has been replaced."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import free_on
from kitting.facts.words import NeedRule, OldStock
from kitting.services.bookings.coverage import coverage
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.facts import ItemFacts
from kitting.services.planning.judged import Draft
from kitting.services.planning.stand_ins import KitRecord, Replacements, replacements
from kitting.services.stock.lots import read_shelves

Needs = Mapping[tuple[int, NeedRule], int]
"""What is needed of an item under a rule, in thousandths."""


def stand_ins(
    session: Session, booking: BookingFacts, asked: Draft, needs: Needs, before: KitRecord
) -> KitRecord:
    """What stands for each item that is needed.

    What somebody chose before stays chosen. Old stock that may be used up and is enough finishes
    the job; else all of the new set is taken, nothing is mixed. What is replaced in a ring stays.
    `asked` is the draft by what the joints ask for.
    """
    items = asked.contents.items
    found = {
        key: found
        for key in dict.fromkeys(key for key, _ in needs)
        if (found := replacements(items[key], items, asked.on)) is not None
    }
    usable = _usable(session, booking, found)
    stands: dict[tuple[int, NeedRule], tuple[int, ...]] = {}
    # What has to be there comes before spares: old stock is counted once.
    for (key, rule), amount in sorted(
        needs.items(), key=lambda need: need[0][1] is NeedRule.INSPECT
    ):
        chosen = _chosen(items[key], before.stands.get((key, rule), ()), found.get(key))
        if chosen:
            stands[key, rule] = chosen
            continue
        replaced = found.get(key)
        if replaced is None or not replaced.by or usable[key] >= amount:
            usable[key] -= amount
        else:
            stands[key, rule] = tuple(sorted(item.key for item, _ in replaced.by))
    return KitRecord(stands, before.failed)


def _usable(
    session: Session, booking: BookingFacts, found: Mapping[int, Replacements]
) -> dict[int, int]:
    """Old stock that may be used up: free on the shelves, or set aside for this booking."""
    usable: dict[int, int] = defaultdict(int)
    old = [key for key, one in found.items() if one.old_stock is OldStock.USE_UP]
    if old:
        shelves = read_shelves(session, booking.branch_id, old, booking.shelf_policy)
        own = coverage(session, booking.id)
        for key in old:
            usable[key] = free_on(shelves.of(key), (), booking.fit_on) + own.get(key, 0)
    return usable


def _chosen(
    item: ItemFacts, before: tuple[int, ...], replaced: Replacements | None
) -> tuple[int, ...]:
    """What somebody chose to stand for an item: neither the item nor what replaces it."""
    known = {item.key} | ({one.key for one, _ in replaced.by} if replaced else set())
    return before if before and not known & set(before) else ()
