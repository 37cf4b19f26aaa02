"""Supersession: what is fetched today where a part has been replaced."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import free_on
from kitting.facts.words import NeedRule
from kitting.services.bookings.coverage import coverage
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.facts import ItemFacts
from kitting.services.planning.judged import Draft
from kitting.services.planning.stand_ins import (
    ONE_FOR_ONE,
    KitRecord,
    Replacements,
    replacements,
    usable_up,
)
from kitting.services.stock.lots import read_shelves

Needs = Mapping[tuple[int, NeedRule], int]
"""What is needed of an item under a rule, in thousandths."""


def stand_ins(
    session: Session, booking: BookingFacts, asked: Draft, needs: Needs, before: KitRecord
) -> KitRecord:
    """What stands for each item that is needed.

    What somebody chose before stays chosen; replaced by now, what replaces it stands there, as for
    what the joints ask for. Old stock that may be used up and is enough for all finishes the job,
    of the item first, then of each that replaces it in turn; else all of the next set is taken.
    What is replaced and what replaces it are never mixed for one need: a joint or group may have to
    be renewed as a set. What is replaced in a ring stays.
    `asked` is the draft by what the joints ask for.
    """
    items = asked.contents.items
    chosen = {need: _chosen(asked, need, before) for need in needs}
    stand = (other for others in chosen.values() for other in others)
    found = {
        key: found
        for key in dict.fromkeys((*(key for key, _ in needs), *stand))
        if (found := replacements(items[key], items, asked.on)) is not None
    }
    usable = _usable(session, booking, asked, found)
    stands: dict[tuple[int, NeedRule], tuple[int, ...]] = {}
    # What has to be there comes before spares: old stock is counted once.
    for (key, rule), amount in sorted(
        needs.items(), key=lambda need: need[0][1] is NeedRule.INSPECT
    ):
        others = chosen[key, rule]
        if others:
            stands[key, rule] = tuple(
                end for other in others for end in _ends(asked, other, amount, usable)
            )
            continue
        ends = _ends(asked, key, amount, usable)
        if ends != (key,):
            stands[key, rule] = ends
    return replace(before, stands=stands)


def _ends(asked: Draft, key: int, amount: int, usable: dict[int, int]) -> tuple[int, ...]:
    """What comes of an item of which so much is needed: itself, or what replaces it."""
    items = asked.contents.items

    def stays(item: ItemFacts, each: int) -> bool:
        wanted = amount * each // ONE_FOR_ONE
        if usable.get(item.key, 0) < wanted:
            return False
        usable[item.key] -= wanted
        return True

    if stays(items[key], ONE_FOR_ONE):
        return (key,)
    replaced = replacements(items[key], items, asked.on, stays)
    return tuple(item.key for item, _ in replaced.by) if replaced and replaced.by else (key,)


def _usable(
    session: Session, booking: BookingFacts, asked: Draft, found: Mapping[int, Replacements]
) -> dict[int, int]:
    """Old stock that may be used up: free on the shelves, or set aside for this booking."""
    items = asked.contents.items
    chain = dict.fromkeys(found)
    chain |= {one.key: None for each in found.values() for one, _ in each.on_the_way}
    old = [key for key in chain if usable_up(items[key], asked.on)]
    if not old:
        return {}
    shelves = read_shelves(session, booking.branch_id, old, booking.shelf_policy)
    own = coverage(session, booking.id)
    return {key: free_on(shelves.of(key), (), booking.fit_on) + own.get(key, 0) for key in old}


def _chosen(asked: Draft, need: tuple[int, NeedRule], before: KitRecord) -> tuple[int, ...]:
    """What somebody chose to stand for an item: neither the item nor what replaces it.

    Nothing, once it may not stand there any more.
    """
    key, items = need[0], asked.contents.items
    others = before.stands.get(need, ())
    replaced = replacements(items[key], items, asked.on)
    known = {key}
    if replaced:
        known |= {one.key for one, _ in (*replaced.by, *replaced.on_the_way)}
    if known & set(others):
        return ()
    return others if all(may_be_chosen(items[one], items, asked.on) for one in others) else ()


def may_be_chosen(item: ItemFacts, items: Mapping[int, ItemFacts], on: date) -> bool:
    """Whether an item may stand in for another: itself, or one for one what replaces it."""
    replaced = replacements(item, items, on)
    if replaced is None:
        return True
    return not replaced.in_a_ring and [amount for _, amount in replaced.by] == [ONE_FOR_ONE]
