"""Opened packs: what is left of a pack that a kit was taken from keeps only so long."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import count
from typing import Any

from sqlalchemy import bindparam, func, insert, or_, select, update
from sqlalchemy.orm import Session

from kitting.calc.stock.opened_life import left_of_opened, opened_part
from kitting.facts.shelf_life import days_on
from kitting.facts.words import MovementKind
from kitting.services.stock.ledger import Move, let_all_go, post_all
from kitting.services.stock.natures import NATURE, batch_of, numbered, takes
from kitting.services.stock.opened_shares import Parted, promise_shares, shares
from kitting.tables.items import Item
from kitting.tables.kit import KitEvent
from kitting.tables.stock import CustomerLot, Lot, Movement

_LOTS = select(Lot).where(Lot.id.in_(bindparam("keys", expanding=True)))
_BY_CODE = select(
    Lot.id, Lot.branch_id, Lot.item_id, Lot.code, Lot.batch, Lot.held,
    *(getattr(Lot, name) for name in NATURE),
).where(Lot.code.in_(bindparam("codes", expanding=True)))  # fmt: skip
_PACKS = select(Lot.id, Item.pack, Item.unit, Item.opened_life_days).join(
    Item, Lot.item_id == Item.id
).where(Lot.id.in_(bindparam("keys", expanding=True)))  # fmt: skip
_OWNERS = select(CustomerLot.lot_id, CustomerLot.booking_id).where(
    CustomerLot.lot_id.in_(bindparam("keys", expanding=True))
)
_emptied = (
    select(func.max(KitEvent.at))
    .where(
        KitEvent.booking_id == Movement.booking_id,
        KitEvent.lot_id == Movement.lot_id,
        KitEvent.in_kit == 0,
    )
    .correlate(Movement)
    .scalar_subquery()
)
# Condition: a movement into a kit is of what may lie in it still, since none of the lot was in it.
SINCE_EMPTY = or_(_emptied.is_(None), Movement.at >= _emptied)
_PICKED_AT = (
    select(Movement.lot_id, func.min(Movement.at).label("at"))
    .where(
        Movement.booking_id == bindparam("booking"),
        Movement.kind == MovementKind.PICKED,
        Movement.lot_id.in_(bindparam("keys", expanding=True)),
        SINCE_EMPTY,
    )
    .group_by(Movement.lot_id)
)
_table = Lot.metadata.tables["lot"]
_OPEN = (
    update(_table).where(_table.c.id == bindparam("key")).values(opened_on=bindparam("opened"))
)  # fmt: skip
# What a remainder has of the lot that it is opened from.
_KEPT = (
    "branch_id", "item_id", "bin", "made_on", "expires_on", "received_on", "inspected_on",
    "inspection",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Taken:
    """So much (thousandths) taken of a lot for a kit, of packs that keep so long once opened."""

    lot: int
    quantity: int
    pack: int | None
    opened_life_days: int | None
    opened: bool


def open_packs(session: Session, taken: Sequence[Taken], at: datetime) -> None:
    """After parts of packs were taken, tell their remainders from the packs that are whole.

    A remainder becomes a lot of its own with the day of opening, and what others are promised goes
    with it as far as it keeps for them; where nothing else is left, the lot itself gets that day.
    """
    begun = {
        one.lot: (one.quantity, one.pack, one.opened_life_days)
        for one in taken
        if one.pack and one.opened_life_days and not one.opened
    }
    if not begun:
        return
    rows = list(
        session.scalars(_LOTS.execution_options(populate_existing=True), {"keys": list(begun)})
    )
    left = {}
    for lot in rows:
        quantity, pack, _ = begun[lot.id]
        left[lot.id] = left_of_opened(quantity, lot.on_hand + quantity, pack)
    whole = [lot for lot in rows if 0 < lot.on_hand <= left[lot.id]]
    split = {lot.id: lot for lot in rows if 0 < left[lot.id] < lot.on_hand}
    if whole:
        session.connection().execute(_OPEN, [{"key": lot.id, "opened": at.date()} for lot in whole])
    if not split:
        return
    parted = [
        Parted(key, lot.on_hand - left[key], left[key], days_on(at.date(), begun[key][2]))
        for key, lot in split.items()
    ]
    shared = shares(session, parted)
    let_all_go(session, [(share.promise, share.quantity) for share in shared])
    into = _separate(session, [(lot, left[key], at.date()) for key, lot in split.items()], at)
    promise_shares(session, shared, into)


def keep_opened(
    session: Session, booking_id: int, returned: Mapping[int, int], at: datetime
) -> dict[int, tuple[int, int]]:
    """Part what came back opened (thousandths by lot) from the sealed packs that it was put to.

    It was opened on the day on which the booking took it; whole packs stay sealed. Returns, by the
    lot that it was put to, the lot that it is in now and how much of it.
    """
    back = _opened_then(session, booking_id, returned)
    parts = [(lot, amount, day) for lot, amount, day in back if _sealed(lot, day)]
    into = _separate(session, parts, at)
    return {lot.id: (into[lot.id], amount) for lot, amount, _ in parts}


def reach_opened(
    session: Session, booking_id: int, wanted: Mapping[int, tuple[int, int]], at: datetime
) -> None:
    """Before something leaves lots again: fetch first what of the same came back opened.

    By lot what leaves and what had come back, in thousandths.
    """
    then = _opened_then(session, booking_id, {lot: back for lot, (_, back) in wanted.items()})
    for lot, opened, day in then:
        left = min(opened, wanted[lot.id][0])
        for there in session.scalars(
            select(Lot)
            .where(
                Lot.branch_id == lot.branch_id, Lot.item_id == lot.item_id, Lot.id != lot.id,
                Lot.batch == batch_of(lot), Lot.opened_on == day,
            )
            .order_by(Lot.id)
            .execution_options(populate_existing=True)
        ):  # fmt: skip
            some = min(left, there.on_hand - there.promised)
            if some:
                out = Move(there.id, MovementKind.OPENED, -some)
                post_all(session, [out, Move(lot.id, MovementKind.OPENED, some)], at)
                left -= some


def _sealed(lot: Lot, day: date) -> bool:
    """Whether a lot is sealed, or opened later than on a day."""
    return lot.opened_on is None or lot.opened_on > day


def _opened_then(
    session: Session, booking_id: int, returned: Mapping[int, int]
) -> list[tuple[Lot, int, date]]:
    """The opened part of what came back to lots, and when it was opened."""
    asked = {"keys": sorted(key for key, amount in returned.items() if amount)}
    if not asked["keys"]:
        return []
    parts = {
        row.id: opened_part(returned[row.id], row.pack, pieces=row.unit == "each")
        for row in session.execute(_PACKS, asked)
        if row.opened_life_days
    }
    opened = {"keys": sorted(key for key, amount in parts.items() if amount)}
    if not opened["keys"]:
        return []
    days = {
        row.lot_id: row.at.date()
        for row in session.execute(_PICKED_AT, {**opened, "booking": booking_id})
    }
    lots = session.scalars(_LOTS.execution_options(populate_existing=True), opened)
    return [(lot, parts[lot.id], days[lot.id]) for lot in lots if lot.id in days]


def _separate(
    session: Session, parts: Sequence[tuple[Lot, int, date]], at: datetime
) -> dict[int, int]:
    """Move opened parts of lots into lots of their own, which are there already or are made.

    Returns the lots that they are in now, by the others' keys.
    """
    if not parts:
        return {}
    into = _opened_lots(session, [(lot, day) for lot, _, day in parts])
    post_all(session, [Move(lot.id, MovementKind.OPENED, -some) for lot, some, _ in parts], at)
    moves: dict[int, Move] = {}
    for lot, some, _ in parts:
        key, note = into[lot.id], lot.code
        if key in moves:
            some, note = some + moves[key].quantity, moves[key].note or note
        moves[key] = Move(key, MovementKind.OPENED, some, note=note)
    post_all(session, list(moves.values()), at)
    return into


def _opened_lots(session: Session, wanted: Sequence[tuple[Lot, date]]) -> dict[int, int]:
    """The lots for what was opened of others on a day, by the others' keys.

    Of another nature than the one that has such a code already, it gets a code of its own.
    """
    found: dict[int, int] = {}
    for number in count(1):
        left = [(lot, day) for lot, day in wanted if lot.id not in found]
        if not left:
            break
        keys = {
            lot.id: (
                lot.branch_id, lot.item_id, numbered(f"{lot.code[:24]}-OPEN-{day:%y%m%d}", number),
            )
            for lot, day in left
        }  # fmt: skip
        there = _by_code(session, keys.values())
        new = {
            keys[lot.id]: {name: getattr(lot, name) for name in _KEPT}
            | {"held": lot.own_hold}
            | {"code": keys[lot.id][2], "batch": batch_of(lot), "opened_on": day}
            | {"on_hand": 0, "promised": 0}
            for lot, day in left
            if keys[lot.id] not in there
        }
        if new:
            session.execute(insert(_table), list(new.values()))
            there = _by_code(session, keys.values())
            made = {lot.id: there[keys[lot.id]].id for lot, _ in left if keys[lot.id] in new}
            _keep_owners(session, made)
        for lot, day in left:
            if takes(there[keys[lot.id]], lot, lot.own_hold, opened_on=day):
                found[lot.id] = there[keys[lot.id]].id
    return found


def _keep_owners(session: Session, made: Mapping[int, int]) -> None:
    """What was opened of a customer's own is theirs too; the new lots by those they come from."""
    owners = session.execute(_OWNERS, {"keys": sorted(made)}).all()
    if owners:
        rows = [{"lot_id": made[row.lot_id], "booking_id": row.booking_id} for row in owners]
        session.execute(insert(CustomerLot), rows)


def _by_code(
    session: Session, keys: Iterable[tuple[int, int, str]]
) -> dict[tuple[int, int, str], Any]:
    rows = session.execute(_BY_CODE, {"codes": sorted({code for *_, code in keys})})
    return {(row.branch_id, row.item_id, row.code): row for row in rows}
