"""Opened packs: what is left of a pack that a kit was taken from keeps only so long."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from kitting.services.stock.ledger import post
from kitting.tables.items import Item
from kitting.tables.stock import Lot


def open_pack(session: Session, lot: Lot, item: Item, taken: int, at: datetime) -> None:
    """After part of a pack was taken, tell its remainder from the packs that are whole.

    The remainder becomes a lot of its own with the day of opening; where nothing else is left, the
    lot itself gets that day. A remainder that is promised stays with its lot.
    """
    over = taken % item.pack if item.pack else 0
    if not item.opened_life_days or lot.opened_on is not None or not over or item.pack is None:
        return
    remainder = item.pack - over
    on_hand, promised = session.execute(
        select(Lot.on_hand, Lot.promised).where(Lot.id == lot.id)
    ).one()
    if 0 < on_hand <= remainder:
        session.execute(update(Lot).where(Lot.id == lot.id).values(opened_on=at.date()))
    elif on_hand - promised >= remainder:
        post(session, lot.id, "opened", -remainder, at)
        post(session, _opened_lot(session, lot, at), "opened", remainder, at, note=lot.code)


def _opened_lot(session: Session, lot: Lot, at: datetime) -> int:
    code = f"{lot.code[:24]}-OPEN-{at:%y%m%d}"
    there = session.scalar(
        select(Lot.id).where(
            Lot.branch_id == lot.branch_id, Lot.item_id == lot.item_id, Lot.code == code
        )
    )
    if there is not None:
        return there
    opened = Lot(
        branch_id=lot.branch_id, item_id=lot.item_id, code=code, bin=lot.bin, made_on=lot.made_on,
        expires_on=lot.expires_on, opened_on=at.date(), received_on=lot.received_on, on_hand=0,
        promised=0, held=lot.held, inspected_on=lot.inspected_on, inspection=lot.inspection,
    )  # fmt: skip
    session.add(opened)
    session.flush()
    return opened.id
