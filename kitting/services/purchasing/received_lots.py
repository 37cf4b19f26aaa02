"""Lots of what was received: on the shelf, or on hold if it is expired or more than ordered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.storage import Content, judge, shelf_of
from kitting.errors import KittingError
from kitting.facts.words import MovementKind, ShelfPolicy
from kitting.services.stock.ledger import Move, post
from kitting.services.stock.lots import contents, stored_lot
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder

_LONGEST, _BIN = 40, 20  # characters of a lot's code and of a bin's
_OVER = "-OVER"
_LOT = select(Lot).where(
    Lot.branch_id == bindparam("branch"),
    Lot.item_id == bindparam("item"),
    Lot.code == bindparam("code"),
)


@dataclass(frozen=True, slots=True)
class Delivery:
    """Goods that come for a line of an order; `policy` judges the storage life of rubber."""

    order: PurchaseOrder
    line: OrderLine
    item: Item
    at: datetime
    policy: ShelfPolicy


@dataclass(frozen=True, slots=True)
class Packet:
    """What a packet says: its lot and dates; and the bin it goes into.

    `batch` is the lot that the packet says where it lies under another.
    """

    lot: str | None
    made: date | None
    expires: date | None
    bin: str | None
    batch: str | None = None


def may_be_fitted(lot: Lot, item: Item, policy: ShelfPolicy, fit_on: date) -> bool:
    """Whether a lot is good on a day: not on hold, and keeping until then."""
    return judge(stored_lot(lot, item), policy, fit_on).may_be_fitted


def own_lot(order: str, item: str) -> str:
    """The lot of what came without one: named by the number of its order."""
    return f"{order}-{item}"[:_LONGEST]


def put_on_shelf(session: Session, delivery: Delivery, packet: Packet, good: int) -> Lot:
    """The lot of what came, new or added to; one that is expired already is on hold at once.

    Raises KittingError for a packet of another age than the lot that is here.
    """
    order, item = delivery.order, delivery.item
    code = packet.lot or own_lot(order.number, item.code)
    lot = _known(session, delivery, code)
    if lot is None:
        lot = _new(session, delivery, packet, code, item.bin)
    else:
        _require_alike(lot, packet, item)
        if lot.own_hold is None:
            lot.own_hold = _past_its_day(lot, delivery)
            session.flush()
    post(session, Move(lot.id, MovementKind.RECEIVED, good, note=order.number), delivery.at)
    return lot


def put_over_on_hold(session: Session, delivery: Delivery, packet: Packet, over: int) -> Lot:
    """What came beyond the order is kept separate until somebody keeps it or sends it back."""
    order, item = delivery.order, delivery.item
    code = (packet.lot or own_lot(order.number, item.code))[: _LONGEST - len(_OVER)] + _OVER
    lot = _known(session, delivery, code)
    if lot is None:
        # A recall or a hold of what the packet says reaches it too.
        lot = _new(session, delivery, replace(packet, batch=packet.lot), code, None)
    else:
        _require_alike(lot, packet, item)
    received = Move(lot.id, MovementKind.RECEIVED, over, note=f"{order.number}, over")
    post(session, received, delivery.at)
    return lot


def ages(item: Item) -> bool:
    """Whether it keeps only so long, or something that it brings does, stated or not."""
    own = Content(item.elastomer, item.shelf_life_months, item.rubber, item.ages)
    return any(
        part.elastomer is not None or part.shelf_life_months is not None or part.rubber or part.ages
        for part in (own, *contents(item.contents_age))
    )


def dates_of(items: Mapping[str, Item], made: date | None) -> dict[str, date | None]:
    """When each item was made, where all that ages was made by a day.

    Raises KittingError where a day is stated and nothing of it ages.
    """
    found = {code: made if ages(item) else None for code, item in items.items()}
    if made is not None and not any(found.values()):
        raise KittingError(
            "made on {made}? Nothing that is to come of this order ages. Leave the date out, or"
            " name the item that it is of",
            made=made,
        )
    return found


def _require_alike(lot: Lot, packet: Packet, item: Item) -> None:
    """Refuses to add a packet to a lot that is here where either would pass for the other's age."""
    dates = ((packet.made, lot.made_on), (packet.expires, lot.expires_on))
    if any(said is not None and said != known for said, known in dates):
        raise KittingError(
            "{code}: lot {lot_code} is here with other dates. Give this packet a lot of its own",
            code=item.code,
            lot_code=lot.code,
        )
    if ages(item) and any(said is None and known is not None for said, known in dates):
        # Of unknown age it would pass for as fresh as what lies here.
        raise KittingError(
            "{code}: lot {lot_code} is here with {dates}, and this packet says less. State what"
            " is on it, or give it a lot of its own",
            code=item.code,
            lot_code=lot.code,
            dates=_dates(lot),
        )
    if lot.inspected_on is not None:
        # What comes now was not inspected with the rest, and would keep as long as it.
        raise KittingError(
            "{code}: lot {lot_code} was inspected on {inspected_on}, so it keeps longer. Give"
            " this packet a lot of its own",
            code=item.code,
            lot_code=lot.code,
            inspected_on=lot.inspected_on,
        )


def _dates(lot: Lot) -> str:
    stated = (("made on", lot.made_on), ("expires on", lot.expires_on))
    return " and ".join(f"{what} {day}" for what, day in stated if day is not None)


def _known(session: Session, delivery: Delivery, code: str) -> Lot | None:
    branch, item = delivery.order.branch_id, delivery.item.id
    return session.scalar(_LOT, {"branch": branch, "item": item, "code": code})


def _new(
    session: Session, delivery: Delivery, packet: Packet, code: str, usual_bin: str | None
) -> Lot:
    """A lot with nothing in it yet."""
    lot = Lot(
        branch_id=delivery.order.branch_id,
        item_id=delivery.item.id,
        code=code,
        batch=packet.batch,
        bin=packet.bin or (usual_bin and usual_bin[:_BIN]),
        made_on=packet.made,
        expires_on=packet.expires,
        received_on=delivery.at.date(),
        on_hand=0,
        promised=0,
    )
    lot.own_hold = _past_its_day(lot, delivery)
    session.add(lot)
    session.flush()
    return lot


def _past_its_day(lot: Lot, delivery: Delivery) -> str | None:
    """Why a lot goes on hold as it comes: it is past its day by the policy of the branch."""
    limit = shelf_of(stored_lot(lot, delivery.item), delivery.policy).limit
    if limit is None or limit >= delivery.at.date():
        return None
    return f"expired when it came: it kept to {limit}"
