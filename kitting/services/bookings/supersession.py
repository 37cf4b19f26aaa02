"""Supersession: what is taken today where a part has been replaced."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import free_on
from kitting.facts.words import NeedRule, OldStock
from kitting.services.bookings.states import BookingFacts
from kitting.services.stock.lots import read_shelves
from kitting.tables.items import Item, Succession, Successor

_REPLACED = (
    select(
        Succession.item_id, Item.code, Succession.old_stock, Successor.by_item_id,
        Successor.quantity,
    )
    .join(Successor, Successor.item_id == Succession.item_id)
    .join(Item, Item.id == Succession.item_id)
    .where(
        Succession.item_id.in_(bindparam("items", expanding=True)),
        Succession.since.is_(None) | (Succession.since <= bindparam("day")),
    )
    .order_by(Succession.item_id, Successor.by_item_id)
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is needed of an item in thousandths, and what it stands in for."""

    item: int
    rule: NeedRule
    quantity: int
    note: str | None = None


@dataclass(frozen=True, slots=True)
class _Chain:
    """Who replaces whom: item → (successor, quantity each in thousandths)."""

    by: Mapping[int, Sequence[tuple[int, int]]]
    use_up: frozenset[int]
    codes: Mapping[int, str]


def replaced(session: Session, booking: BookingFacts, needs: Sequence[Wanted]) -> list[Wanted]:
    """Needs of a booking, with replaced items exchanged for what replaces them.

    Old stock that may be used up and is enough finishes the job; else all of the new set is taken,
    nothing is mixed. Parts that replace one another in a ring stay as they are, with a note.
    """
    chain = _read(session, {need.item for need in needs}, booking.fit_on)
    shelves = None
    if chain.by:
        shelves = read_shelves(session, booking.branch_id, list(chain.by), booking.shelf_policy)
    merged: dict[tuple[int, NeedRule], Wanted] = {}
    spoken_for: dict[int, int] = defaultdict(int)
    # What has to be there comes before spares: old stock is counted once.
    for need in sorted(needs, key=lambda need: need.rule is NeedRule.INSPECT):
        item, amount = need.item, need.quantity
        old_free = 0
        if shelves is not None and item in chain.use_up:
            old_free = free_on(shelves.of(item), (), booking.fit_on) - spoken_for[item]
        if item not in chain.by or (item in chain.use_up and old_free >= amount):
            code = chain.codes.get(item)
            spoken_for[item] += amount
            note = f"{code} is replaced; old stock is used up" if code else None
            found = [replace(need, note=note)]
        else:
            found = list(_followed(chain, need))
        for wanted in found:
            known = merged.get((wanted.item, wanted.rule))
            merged[wanted.item, wanted.rule] = replace(
                wanted,
                quantity=wanted.quantity + (known.quantity if known else 0),
                note=wanted.note or (known.note if known else None),
            )
    return list(merged.values())


def _followed(chain: _Chain, need: Wanted) -> Iterator[Wanted]:
    """What stands in for an item in the end, over several replacements."""
    code = chain.codes[need.item]
    ends: dict[int, int] = defaultdict(int)
    open_ends = [(need.item, need.quantity, frozenset([need.item]))]
    while open_ends:
        here, quantity, path = open_ends.pop()
        for other, each in chain.by.get(here, ()):
            if other in path:
                ring = (
                    f"{code} and its replacements run in a ring: ask the supplier which is current"
                )
                yield replace(need, note=ring)
                return
            if other in chain.by:
                open_ends.append((other, quantity * each // 1000, path | {other}))
            else:
                ends[other] += quantity * each // 1000
    for other, quantity in ends.items():
        yield Wanted(other, need.rule, quantity, f"stands in for {code}")


def _read(session: Session, items: Collection[int], fit_on: date) -> _Chain:
    by: dict[int, list[tuple[int, int]]] = {}
    use_up: set[int] = set()
    codes: dict[int, str] = {}
    ahead = set(items)
    seen: set[int] = set()
    while ahead - seen:
        now = ahead - seen
        seen |= now
        for item, code, old_stock, other, quantity in session.execute(
            _REPLACED, {"items": sorted(now), "day": fit_on}
        ):
            by.setdefault(item, []).append((other, quantity))
            codes[item] = code
            ahead.add(other)
            if old_stock is OldStock.USE_UP:
                use_up.add(item)
    return _Chain(by, frozenset(use_up), codes)
