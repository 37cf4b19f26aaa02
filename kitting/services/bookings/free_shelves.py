"""What of some shelves is free for a day, less what others will have opened too long before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from kitting.services.stock.lots import Shelves
from kitting.services.stock.opened_life import OpenedLife, read_opened_life


def opened_of(session: Session, shelves: Sequence[Shelves]) -> OpenedLife:
    """How bookings share the packs of some shelves and arrivals; two statements at most."""
    lots = {
        lot.key for one in shelves for some in one.lots.values() for lot in some if lot.promised
    }
    lines = {
        line.key for one in shelves for some in one.arrivals.values() for line in some
        if line.promised
    }  # fmt: skip
    return read_opened_life(session, lots, lines)


def free_for(shelves: Shelves, opened: OpenedLife, on: date) -> Shelves:
    """The shelves with what of them can be promised for a day."""
    return Shelves(
        {
            item: [
                replace(lot, quantity=lot.promised + opened.free_of_lot(lot.key, on, lot.free))
                for lot in some
            ]
            for item, some in shelves.lots.items()
        },
        {
            item: [
                replace(line, quantity=line.promised + opened.free_of_arrival(line.key, on, free))
                for line in some
                if (free := line.quantity - line.promised) > 0
            ]
            for item, some in shelves.arrivals.items()
        },
    )
