"""The life of a kit: what happened to it beside picking and closing, and on which trays it lies."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.words import KitEventKind, KitWhy
from kitting.tables.base import (
    Base,
    Identity,
    LongText,
    Name,
    Position,
    Thousandths,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class KitEvent(Base):
    """What happened to a kit: added, never altered.

    Of a piece: its item, lot and `quantity` (thousandths), and how much of that lot is `in_kit`
    afterwards. `other_id` is the kit that it was lent to or borrowed from. Of a kit that is set
    aside: the `place`, and `until` when if that is known; of one that was moved: the code of the
    branch that it lies in as its `place`. `told_by` is who said so, if anybody is
    named.
    """

    __tablename__ = "kit_event"
    __table_args__ = (
        one_of("kind", KitEventKind),
        one_of("why", KitWhy),
        positive("quantity"),
        CheckConstraint("in_kit >= 0", name="in_kit_not_negative"),
        # What is gone is accounted for by item and lot, and with a reason.
        CheckConstraint(
            "kind <> 'gone' OR (item_id IS NOT NULL AND lot_id IS NOT NULL"
            " AND quantity IS NOT NULL AND why IS NOT NULL)",
            name="gone_is_told",
        ),
        CheckConstraint("kind <> 'set aside' OR place IS NOT NULL", name="set_aside_somewhere"),
        CheckConstraint("kind <> 'moved' OR place IS NOT NULL", name="moved_somewhere"),
        Index(None, "booking_id"),
        Index(None, "item_id"),
        Index(None, "lot_id"),
        Index(None, "other_id"),
    )

    id: Mapped[Identity]
    booking_id: Mapped[int] = mapped_column(owned_by("booking"))
    at: Mapped[datetime]
    kind: Mapped[KitEventKind]
    item_id: Mapped[int | None] = mapped_column(refers_to("item"))
    lot_id: Mapped[int | None] = mapped_column(refers_to("lot"))
    quantity: Mapped[Thousandths | None]
    in_kit: Mapped[Thousandths | None]
    other_id: Mapped[int | None] = mapped_column(refers_to("booking"))
    why: Mapped[KitWhy | None]
    note: Mapped[LongText | None]
    told_by: Mapped[Name | None]
    place: Mapped[Name | None]
    until: Mapped[date | None]


class KitTray(Base):
    """On which tray the bags of a joint lie; where none is named, they lie on the first."""

    __tablename__ = "kit_tray"
    __table_args__ = (positive("tray"),)

    booking_id: Mapped[int] = mapped_column(owned_by("booking"), primary_key=True)
    joint: Mapped[Name] = mapped_column(primary_key=True)
    tray: Mapped[Position]
