"""Trays: the bags of a kit put apart by their joints."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Engine, bindparam, delete, insert, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.names import nearest
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.services.kit.bags import bags_of
from kitting.store import writing
from kitting.tables.kit import KitTray
from kitting.views.kit_life import TrayView

_MOST = 99
_TRAYS = select(KitTray.joint, KitTray.tray).where(KitTray.booking_id == bindparam("booking"))
_table = KitTray.metadata.tables["kit_tray"]
_FORGET = delete(_table).where(
    _table.c.booking_id == bindparam("booking"), _table.c.joint == bindparam("at_joint")
)


def read_trays(session: Session, booking: BookingFacts) -> Mapping[str, int]:
    """On which tray the bags of each joint lie; empty where the kit is not split."""
    return dict(session.execute(_TRAYS, {"booking": booking.id}).all())


def tray_views(session: Session, booking: BookingFacts) -> tuple[TrayView, ...]:
    """The trays of a kit with their bags; what nobody named lies on the first."""
    trays = read_trays(session, booking)
    found: dict[int, dict[int, str]] = {}
    for bag in bags_of(plan_of(session, booking)):
        found.setdefault(trays.get(bag.joint, 1), {})[bag.number] = bag.joint
    return tuple(
        TrayView(tray=tray, bags=tuple(bags), joints=tuple(dict.fromkeys(bags.values())))
        for tray, bags in sorted(found.items())
    )


def split(engine: Engine, number: str, trays: Mapping[str, int]) -> tuple[TrayView, ...]:
    """Put the bags of some joints on trays; a joint again is put elsewhere.

    Raises UnknownNameError for a joint that has no bag in this kit, KittingError for a tray that is
    no number from 1 to 99.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_open(booking, "its kit is not split")
        joints = list(dict.fromkeys(bag.joint for bag in bags_of(plan_of(session, booking))))
        for joint, tray in trays.items():
            if joint not in joints:
                known = ", ".join(nearest(joint, joints) or joints)
                raise UnknownNameError(
                    f"{booking.number} has no bag for {joint!r}. Known: {known or 'none'}"
                )
            if not 1 <= tray <= _MOST:
                raise KittingError(
                    "tray {tray} of {joint}: number trays from 1 to {most}",
                    tray=tray,
                    joint=joint,
                    most=_MOST,
                )
        _write(session, booking, trays)
        view = tray_views(session, booking)
        session.commit()
        return view


def _write(session: Session, booking: BookingFacts, trays: Mapping[str, int]) -> None:
    if not trays:
        return
    keys: list[dict[str, Any]] = [{"booking": booking.id, "at_joint": joint} for joint in trays]
    session.connection().execute(_FORGET, keys)
    session.execute(
        insert(KitTray),
        [{"booking_id": booking.id, "joint": joint, "tray": tray} for joint, tray in trays.items()],
    )
