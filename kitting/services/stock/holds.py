"""Holds: a batch that nobody may take from, in every branch, until its own hold is let go.

A lot may also be on a hold of its own, as more than was ordered. Who held or released what, when
and why stays on record.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import BindParameter, Engine, bindparam, func, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.names import natural_key
from kitting.services.db.sync import chunks
from kitting.services.stock.natures import of_batch
from kitting.services.stock.over_goods import require_settled
from kitting.services.stock.shelves import LotName, find_lot
from kitting.store import writing
from kitting.tables.stock import BatchHold, HoldRelease, Lot, Transfer, holds
from kitting.tables.supply import Branch
from kitting.views.stock import GoingView, HeldLotView, HoldEventView, HoldView

OWN = "own"  # names a hold that is on one lot alone

_OPEN = select(BatchHold).join(Lot, Lot.id == bindparam("lot")).where(holds(Lot)).order_by(
    BatchHold.id
)  # fmt: skip
_LOTS: BindParameter[Any] = bindparam("keys", expanding=True)
_OF_BATCH = select(Lot.id, BatchHold.why).join(BatchHold, holds(Lot)).where(Lot.id.in_(_LOTS))
_OF_LOT = select(Lot.id, Lot.own_hold).where(Lot.id.in_(_LOTS), Lot.own_hold.is_not(None))
_COVERED = (
    select(Branch.code.label("branch"), Lot.id, Lot.code, Lot.held)
    .join(Branch, Lot.branch_id == Branch.id)
    .where(Lot.item_id == bindparam("item"), Lot.on_hand > 0, of_batch(bindparam("batch")))
)
_HOLDS = (
    select(BatchHold.at, BatchHold.batch, BatchHold.why, BatchHold.told_by, Branch.code)
    .join(Branch, BatchHold.branch_id == Branch.id)
    .where(BatchHold.id.in_(bindparam("keys", expanding=True)))
    .order_by(BatchHold.id)
)
_RELEASES = (
    select(
        HoldRelease.at, HoldRelease.hold_id, HoldRelease.was, HoldRelease.why, HoldRelease.told_by,
        Lot.code.label("lot"), Branch.code,
    )
    .outerjoin(Lot, HoldRelease.lot_id == Lot.id)
    .outerjoin(Branch, Lot.branch_id == Branch.id)
    .order_by(HoldRelease.id)
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Said:
    """Why a lot is put on hold or released, and who says so if anybody is named."""

    why: str | None = None
    told_by: str | None = None

    def __post_init__(self) -> None:
        for name in ("why", "told_by"):
            text: str | None = getattr(self, name)
            object.__setattr__(self, name, " ".join(text.split()) or None if text else None)


def put_on_hold(engine: Engine, name: LotName, said: Said | str, at: datetime) -> HoldView:
    """Put a batch on hold: a lot, what comes from it, and its like in every branch.

    What of it is on the way or comes later is on hold too. Raises KittingError without a reason.
    """
    said = Said(said) if isinstance(said, str) else said
    if said.why is None:
        raise KittingError("a reason is required: say why the lot is on hold")
    with writing(engine) as session:
        lot, item = find_lot(session, name)
        hold = BatchHold(
            at=at, branch_id=lot.branch_id, item_id=lot.item_id, batch=lot.code, why=said.why,
            told_by=said.told_by,
        )  # fmt: skip
        session.add(hold)
        session.flush()
        view = _view(session, lot, item.unit, hold)
        session.commit()
        return view


def release(
    engine: Engine, name: LotName, at: datetime, said: Said = Said(), hold: str | None = None
) -> HoldView:
    """End a hold that a lot is on, for all that it holds; what is on another hold stays so.

    `hold` is its number, OWN for one on this lot alone. Raises KittingError for a lot that is on
    no hold, or on several where none is named, and for the own hold of what came too much, while
    some of it is neither kept nor sent back.
    """
    with writing(engine) as session:
        lot, item = find_lot(session, name)
        found = session.scalars(_OPEN, {"lot": lot.id}).all()
        ended = _meant(lot, found, hold)
        if ended is None:
            require_settled(session, lot, item)
        was = lot.own_hold if ended is None else ended.why
        session.add(
            HoldRelease(
                at=at, lot_id=lot.id, hold_id=None if ended is None else ended.id, was=was,
                why=said.why, told_by=said.told_by,
            )
        )  # fmt: skip
        if ended is None:
            lot.own_hold = None
        session.flush()
        session.expire(lot, ["held"])
        view = _view(session, lot, item.unit, ended)
        session.commit()
        return view


def on_hold_for(session: Session, lots: Sequence[int]) -> Mapping[int, set[str]]:
    """Why some lots are on hold, by key: for each hold that is on one, its own and its batch's."""
    found: dict[int, set[str]] = defaultdict(set)
    for some in chunks(lots):
        keys = {"keys": list(some)}
        for lot, why in (*session.execute(_OF_BATCH, keys), *session.execute(_OF_LOT, keys)):
            found[lot].add(why)
    return found


def _meant(lot: Lot, found: Sequence[BatchHold], number: str | None) -> BatchHold | None:
    """The hold that is meant, None for the lot's own."""
    known: dict[str, BatchHold | None] = {} if lot.own_hold is None else {OWN: None}
    known |= {str(hold.id): hold for hold in found}
    if not known:
        raise KittingError(
            "lot {code} is not on hold", code=lot.code, then=[next_step(Action.LIST_STOCK)]
        )
    why = {key: lot.own_hold if hold is None else hold.why for key, hold in known.items()}
    listed = "; ".join(f"{key}: {why[key]}" for key in known)
    if number is None and len(known) > 1:
        raise KittingError(
            "lot {code} is on {count_of_known} holds ({listed}). Name the one that ends",
            code=lot.code,
            count_of_known=len(known),
            listed=listed,
            then=[next_step(Action.NAME_HOLD)],
        )
    if number is not None and number not in known:
        raise KittingError(
            "lot {code} is not on hold {number!r}. It is on {listed}",
            code=lot.code,
            number=number,
            listed=listed,
        )
    return known[next(iter(known)) if number is None else number]


def _view(session: Session, lot: Lot, unit: str, hold: BatchHold | None) -> HoldView:
    """What a hold is on, or was: the lots of it with something on hand, and what is on the way."""
    rows = (
        session.execute(_COVERED, {"item": lot.item_id, "batch": hold.batch}).all() if hold else []
    )
    others = [
        HeldLotView(row.branch, row.code, row.held) for row in rows if row.id != lot.id
    ]  # fmt: skip
    return HoldView(
        number=None if hold is None else hold.id,
        lot=lot.code,
        unit=unit,
        on_hold=lot.held,
        others=tuple(sorted(others, key=lambda one: (one.branch, natural_key(one.lot)))),
        on_the_way=_going(session, lot.item_id, hold.batch) if hold else (),
    )


def _going(session: Session, item_id: int, batch: str) -> tuple[GoingView, ...]:
    """What of a batch has left a branch and not arrived."""
    sent = (
        select(Branch.code, func.sum(Transfer.quantity).label("quantity"))
        .join(Branch, Transfer.to_branch_id == Branch.id)
        .join(Lot, Transfer.from_lot_id == Lot.id)
        .where(Lot.item_id == item_id, of_batch(batch), Transfer.arrived_at.is_(None))
        .group_by(Branch.code)
        .order_by(Branch.code)
    )
    return tuple(GoingView(row.code, int(row.quantity)) for row in session.execute(sent))


def hold_events(session: Session, lots: Sequence[int]) -> tuple[HoldEventView, ...]:
    """Every hold of some lots, and every release, in the order in which they were said."""
    held = select(BatchHold.id).join(Lot, Lot.id.in_(lots)).where(holds(Lot, ended=True))
    keys = session.scalars(held.distinct()).all()
    found = [
        HoldEventView(row.at, row.code, row.batch, True, row.why, None, row.told_by)
        for row in session.execute(_HOLDS, {"keys": keys})
    ]
    ends = _RELEASES.where(HoldRelease.hold_id.in_(keys) | HoldRelease.lot_id.in_(lots))
    found += [
        HoldEventView(row.at, row.code, row.lot, False, row.was, row.why, row.told_by)
        for row in session.execute(ends)
    ]
    return tuple(sorted(found, key=lambda event: (event.at, not event.held)))
