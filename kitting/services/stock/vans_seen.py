"""The vans between branches that were seen: how many of them kept their day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sqlalchemy import BindParameter, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.van_record import VanRecord, van_record
from kitting.tables.stock import Transfer

_TO: BindParameter[Any] = bindparam("branches", expanding=True)
# What went on one van on one day is one van, here when the last of it was.
_SEEN = select(
    Transfer.from_branch_id, Transfer.to_branch_id, Transfer.due, Transfer.arrived_at
).where(Transfer.to_branch_id.in_(_TO), Transfer.arrived_at.is_not(None))


def vans_seen(session: Session, branches: Sequence[int]) -> Mapping[tuple[int, int], VanRecord]:
    """What was seen of the vans to some branches, by where each came from and went, at once."""
    vans: dict[tuple[int, int], dict[date, date]] = defaultdict(dict)
    for source, to, due, at in session.execute(_SEEN, {"branches": list(branches)}):
        here = vans[source, to]
        if at is not None:
            here[due] = max(at.date(), here.get(due, at.date()))
    return {way: van_record(days.items()) for way, days in vans.items()}
