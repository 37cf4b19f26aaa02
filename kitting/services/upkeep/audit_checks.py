"""What the books must agree on, one statement per check; each returns nothing but faults.

A statement gives the columns of `COLUMNS`; amounts are thousandths of the item's unit. Rows that
hang on nothing are joined from the outside, so that a lost parent hides no fault.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Select,
    Subquery,
    and_,
    cast,
    func,
    literal,
    null,
    or_,
    select,
    union_all,
)
from sqlalchemy.orm import aliased

from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Movement, Transfer
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Receipt

COLUMNS = ("thing", "item", "lot", "place", "unit", "recorded", "recomputed", "told")
RESTORE = "restore the newest backup whose audit is clean: kitting restore FILE --replace"
_RECOUNT = (
    "hold the lot (kitting stock hold) and count it; then"
    f" {RESTORE}, and enter the count there (kitting stock count)"
)


@dataclass(frozen=True, slots=True)
class Check:
    """A check: `counted` is the table whose rows it looks at, named `of`."""

    name: str
    meaning: str
    counted: Any
    of: str
    faults: Callable[[], Select[Any]]
    next_step: str


def _sum(amount: Any) -> ColumnElement[int]:
    # PostgreSQL sums BIGINT to NUMERIC.
    return cast(func.coalesce(func.sum(amount), 0), BigInteger)


def _per(key: Any, amount: Any, *where: ColumnElement[bool]) -> Subquery:
    return (
        select(key.label("key"), _sum(amount).label("amount")).where(*where).group_by(key)
    ).subquery()


def _columns(*values: Any) -> list[Any]:
    return [value.label(name) for name, value in zip(COLUMNS, values, strict=True)]


def _of_lot(recorded: Any, recomputed: Any, told: str, thing: Any = None) -> Select[Any]:
    """Faults of lots; the caller adds what they are judged by."""
    named = literal("lot ") + Lot.code if thing is None else thing
    return (
        select(
            *_columns(
                named, Item.code, Lot.code, Branch.code, Item.unit, recorded, recomputed,
                literal(told),
            )
        )
        .select_from(Lot)
        .outerjoin(Item, Lot.item_id == Item.id)
        .outerjoin(Branch, Lot.branch_id == Branch.id)
    )  # fmt: skip


def _of_line(recorded: Any, recomputed: Any, told: str) -> Select[Any]:
    """Faults of order lines."""
    return (
        select(
            *_columns(
                literal("order ") + PurchaseOrder.number + ", part " + OrderLine.part, Item.code,
                null(), Branch.code, Item.unit, recorded, recomputed, literal(told),
            )
        )
        .select_from(OrderLine)
        .outerjoin(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .outerjoin(Item, OrderLine.item_id == Item.id)
        .outerjoin(Branch, PurchaseOrder.branch_id == Branch.id)
    )  # fmt: skip


def _balances() -> Select[Any]:
    moved = _per(Movement.lot_id, Movement.quantity)
    total = func.coalesce(moved.c.amount, 0)
    return (
        _of_lot(Lot.on_hand, total, "its balance is not the sum of its movements")
        .outerjoin(moved, moved.c.key == Lot.id)
        .where(Lot.on_hand != total)
        .order_by(Lot.id)
    )


def _running() -> Select[Any]:
    # By number, never by time: a clock that was set back must not change a balance.
    running = func.sum(Movement.quantity).over(
        partition_by=Movement.lot_id, order_by=Movement.id, rows=(None, 0)
    )
    run = select(
        Movement.id, Movement.lot_id, Movement.balance, cast(running, BigInteger).label("total")
    ).subquery()
    return (
        _of_lot(
            run.c.balance,
            run.c.total,
            "the balance written beside it is not the sum up to it",
            literal("movement ") + cast(run.c.id, Lot.code.type),
        )
        .join(run, run.c.lot_id == Lot.id)
        .where(run.c.balance != run.c.total)
        .order_by(run.c.id)
    )


def _promised() -> Select[Any]:
    waiting = _per(Promise.lot_id, Promise.waiting, Promise.lot_id.is_not(None))
    total = func.coalesce(waiting.c.amount, 0)
    return (
        _of_lot(Lot.promised, total, "what it says is promised is not what bookings wait for")
        .outerjoin(waiting, waiting.c.key == Lot.id)
        .where(Lot.promised != total)
        .order_by(Lot.id)
    )


def _there() -> Select[Any]:
    return (
        _of_lot(Lot.promised, Lot.on_hand, "less than nothing, or more promised than is there")
        .where(or_(Lot.on_hand < 0, Lot.promised < 0, Lot.promised > Lot.on_hand))
        .order_by(Lot.id)
    )


def _arrivals() -> Select[Any]:
    waiting = _per(Promise.order_line_id, Promise.waiting, Promise.order_line_id.is_not(None))
    total = func.coalesce(waiting.c.amount, 0)
    return (
        _of_line(OrderLine.promised, total, "what it promises is not what bookings wait for")
        .outerjoin(waiting, waiting.c.key == OrderLine.id)
        .where(OrderLine.promised != total)
        .order_by(OrderLine.id)
    )


def _goods_in() -> Select[Any]:
    came = _per(Receipt.order_line_id, Receipt.good)
    total = func.coalesce(came.c.amount, 0)
    return (
        _of_line(OrderLine.received, total, "what came is not the sum of its receipts")
        .outerjoin(came, came.c.key == OrderLine.id)
        .where(OrderLine.received != total)
        .order_by(OrderLine.id)
    )


def _orders() -> Select[Any]:
    spoken_for = OrderLine.received + OrderLine.lost + OrderLine.promised
    over = spoken_for > OrderLine.quantity
    cancelled = and_(PurchaseOrder.cancelled_at.is_not(None), OrderLine.promised > 0)
    told = "received, lost and promised come to more than was ordered, or it was cancelled"
    return (
        _of_line(spoken_for, OrderLine.quantity, told)
        .where(or_(over, cancelled, OrderLine.received < 0, OrderLine.lost < 0))
        .order_by(OrderLine.id)
    )


def _both(left: Select[Any], right: Select[Any], keys: int) -> Subquery:
    """Two sums by the same keys, joined so that neither side hides the other's rows."""
    rows = union_all(left, right).subquery()
    names = [rows.c[f"key{number}"] for number in range(keys)]
    recorded, recomputed = _sum(rows.c.recorded), _sum(rows.c.recomputed)
    return (
        select(*names, recorded.label("recorded"), recomputed.label("recomputed"))
        .group_by(*names)
        .having(recorded != recomputed)
    ).subquery()


def _side(amount: Any, recorded: bool, *keys: Any) -> Select[Any]:
    nothing = cast(literal(0), BigInteger)
    pair = (amount, nothing) if recorded else (nothing, amount)
    return select(
        *(key.label(f"key{number}") for number, key in enumerate(keys)),
        pair[0].label("recorded"),
        pair[1].label("recomputed"),
    )


def _kits() -> Select[Any]:
    told = _side(Promise.picked - Promise.returned, True, Promise.booking_id, Promise.lot_id).where(
        Promise.lot_id.is_not(None)
    )
    moved = _side(-Movement.quantity, False, Movement.booking_id, Movement.lot_id).where(
        Movement.kind.in_(("picked", "put back"))
    )
    kits = _both(told, moved, 2)
    words = "what lies in its kit is not what was taken from the lot less what was put back"
    thing = literal("booking ") + func.coalesce(Booking.number, "without a number")
    return (
        _of_lot(kits.c.recorded, kits.c.recomputed, words, thing)
        .join(kits, kits.c.key1 == Lot.id)
        .outerjoin(Booking, kits.c.key0 == Booking.id)
        .order_by(kits.c.key0, kits.c.key1)
    )


def _of_promise(recorded: Any, recomputed: Any, told: str) -> Select[Any]:
    return (
        select(
            *_columns(
                literal("booking ") + Booking.number, Item.code, Lot.code, Branch.code, Item.unit,
                recorded, recomputed, literal(told),
            )
        )
        .select_from(Promise)
        .join(Booking, Promise.booking_id == Booking.id)
        .outerjoin(Lot, Promise.lot_id == Lot.id)
        .outerjoin(Item, Promise.item_id == Item.id)
        .outerjoin(Branch, Booking.branch_id == Branch.id)
        .order_by(Promise.id)
    )  # fmt: skip


def _states() -> Select[Any]:
    ended = Promise.used + Promise.returned + Promise.scrapped
    over = Booking.state.in_(("closed", "cancelled"))
    return _of_promise(
        ended, Promise.picked, "what became of its kit does not fit its state"
    ).where(
        or_(
            and_(over, or_(Promise.waiting != 0, ended != Promise.picked)),
            and_(Booking.state == "cancelled", Promise.returned != Promise.picked),
            and_(~over, ended != 0),
            # Nothing is picked from a parcel that has not come.
            and_(Promise.order_line_id.is_not(None), Promise.picked != 0),
            Promise.waiting < 0,
            Promise.picked < 0,
        )
    )


def _places() -> Select[Any]:
    told = "promised from another branch, or of another item than it says"
    return (
        _of_promise(null(), null(), told)
        .outerjoin(OrderLine, Promise.order_line_id == OrderLine.id)
        .outerjoin(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(
            or_(
                Lot.item_id != Promise.item_id,
                Lot.branch_id != Booking.branch_id,
                OrderLine.item_id != Promise.item_id,
                PurchaseOrder.branch_id != Booking.branch_id,
            )
        )
    )


def _sent() -> Select[Any]:
    way = (literal("sent"), literal("arrived"))
    told = union_all(
        _side(Transfer.quantity, True, Transfer.from_lot_id, way[0]),
        _side(Transfer.quantity, True, Transfer.to_lot_id, way[1]).where(
            Transfer.arrived_at.is_not(None)
        ),
    ).subquery()
    moved = _side(func.abs(Movement.quantity), False, Movement.lot_id, Movement.kind).where(
        Movement.kind.in_(("sent", "arrived"))
    )
    differing = _both(select(told), moved, 2)
    words = "what transfers say was sent or arrived is not what was moved"
    return (
        _of_lot(
            differing.c.recorded, differing.c.recomputed, words,
            literal("transfers ") + differing.c.key1,
        )
        .join(differing, differing.c.key0 == Lot.id)
        .order_by(differing.c.key0, differing.c.key1)
    )  # fmt: skip


def _ends() -> Select[Any]:
    origin, target = aliased(Lot), aliased(Lot)
    return (
        select(
            *_columns(
                literal("transfer ") + cast(Transfer.id, Lot.code.type), Item.code, origin.code,
                Branch.code, Item.unit, null(), null(),
                literal("its two lots are not one item in the two branches that it names"),
            )
        )
        .select_from(Transfer)
        .join(origin, Transfer.from_lot_id == origin.id)
        .join(target, Transfer.to_lot_id == target.id)
        .outerjoin(Item, origin.item_id == Item.id)
        .outerjoin(Branch, Transfer.from_branch_id == Branch.id)
        .where(
            or_(
                origin.item_id != target.item_id,
                origin.branch_id != Transfer.from_branch_id,
                target.branch_id != Transfer.to_branch_id,
            )
        )
        .order_by(Transfer.id)
    )  # fmt: skip


def _opened() -> Select[Any]:
    left = (
        select(Lot.branch_id, Lot.item_id, _sum(Movement.quantity).label("amount"))
        .join(Lot, Movement.lot_id == Lot.id)
        .where(Movement.kind == "opened")
        .group_by(Lot.branch_id, Lot.item_id)
        .having(_sum(Movement.quantity) != 0)
    ).subquery()
    return (
        select(
            *_columns(
                literal("opened packs"), Item.code, null(), Branch.code, Item.unit, left.c.amount,
                literal(0), literal("what was opened in one lot did not come into another"),
            )
        )
        .select_from(left)
        .outerjoin(Item, left.c.item_id == Item.id)
        .outerjoin(Branch, left.c.branch_id == Branch.id)
        .order_by(left.c.branch_id, left.c.item_id)
    )  # fmt: skip


CHECKS: tuple[Check, ...] = (
    Check("balances", "a lot holds the sum of its movements", Lot, "lots", _balances, _RECOUNT),
    Check(
        "running balances", "each movement bears the sum up to it, by number", Movement,
        "movements", _running, _RECOUNT,
    ),
    Check("promised", "a lot promises what bookings wait for", Lot, "lots", _promised, RESTORE),
    Check("there", "nothing is promised that is not there", Lot, "lots", _there, _RECOUNT),
    Check(
        "arrivals", "an order line promises what bookings wait for", OrderLine, "order lines",
        _arrivals, RESTORE,
    ),
    Check(
        "goods in", "what came is the sum of its receipts", OrderLine, "order lines", _goods_in,
        f"compare the delivery notes, then {RESTORE}",
    ),
    Check(
        "orders", "received, lost and promised stay within what was ordered", OrderLine,
        "order lines", _orders, f"compare the delivery notes, then {RESTORE}",
    ),
    Check(
        "kits", "a kit holds what was picked less what was put back", Promise, "promises", _kits,
        f"look into the kit, then {RESTORE}",
    ),
    Check(
        "states", "a kit that is over is accounted for, an open one is not yet", Promise,
        "promises", _states, f"look into the kit, then {RESTORE}",
    ),
    Check(
        "places", "bookings are promised their own items in their own branch", Promise,
        "promises", _places, RESTORE,
    ),
    Check(
        "transfers", "what was sent and arrived was moved", Transfer, "transfers", _sent,
        f"ask both branches, then {RESTORE}",
    ),
    Check(
        "ends of transfers", "one item in two branches", Transfer, "transfers", _ends,
        f"ask both branches, then {RESTORE}",
    ),
    Check(
        "opened packs", "what leaves a lot as opened comes into another", Movement, "movements",
        _opened, _RECOUNT,
    ),
)  # fmt: skip
