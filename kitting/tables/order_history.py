"""What happened to an order after it was placed: only added to, never overwritten.

A new date, a receipt taken back, a claim against the supplier and what it credited are rows of
their own; what holds now follows from all of them.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, exists
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.words import ClaimKind
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Minor,
    Thousandths,
    not_negative,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class OrderNotice(Base):
    """A date that the supplier announced for an order line; the newest of a line holds.

    `again` (thousandths) is what it sends again of what came unusable or was given up.
    """

    __tablename__ = "order_notice"
    __table_args__ = (
        CheckConstraint("due_late >= due", name="late_is_later"),
        not_negative("again"),
        Index(None, "order_line_id"),
    )

    id: Mapped[Identity]
    order_line_id: Mapped[int] = mapped_column(owned_by("order_line"))
    at: Mapped[datetime]
    due: Mapped[date]
    due_late: Mapped[date]
    again: Mapped[Thousandths] = mapped_column(default=0)
    why: Mapped[LongText | None]


class ReceiptGoods(Base):
    """Where a receipt went, so that it can be taken back; of older programs it is not known.

    `item_id` is what came where that was a substitute. `lot_id` and `over_lot_id` are the lots of
    what was good and of what was too much; `lost` is by how much the line's own changed.
    """

    __tablename__ = "receipt_goods"

    receipt_id: Mapped[int] = mapped_column(owned_by("receipt"), primary_key=True)
    item_id: Mapped[int | None] = mapped_column(refers_to("item"))
    lot_id: Mapped[int | None] = mapped_column(refers_to("lot"))
    over_lot_id: Mapped[int | None] = mapped_column(refers_to("lot"))
    lost: Mapped[Thousandths]


class ReceiptUndone(Base):
    """That a receipt was recorded wrongly and is taken back, with the reason."""

    __tablename__ = "receipt_undone"

    receipt_id: Mapped[int] = mapped_column(owned_by("receipt"), primary_key=True)
    at: Mapped[datetime]
    why: Mapped[LongText]


class Claim(Base):
    """What the supplier owes for a line: goods sent back, a core handed in, a part that failed.

    `quantity` is in thousandths of the item's unit, `expected` in minor units, None where nobody
    knows it. `lot_id` is the lot that it is of, `booking_id` the car that it was fitted to.
    """

    __tablename__ = "claim"
    __table_args__ = (
        one_of("kind", ClaimKind),
        positive("quantity"),
        not_negative("expected"),
        Index(None, "order_line_id"),
    )

    id: Mapped[Identity]
    order_line_id: Mapped[int] = mapped_column(owned_by("order_line"))
    at: Mapped[datetime]
    kind: Mapped[ClaimKind]
    quantity: Mapped[Thousandths]
    expected: Mapped[Minor | None]
    lot_id: Mapped[int | None] = mapped_column(refers_to("lot"))
    booking_id: Mapped[int | None] = mapped_column(refers_to("booking"))
    why: Mapped[LongText]


class CreditNote(Base):
    """What the supplier credited for a claim, in minor units; 0 where it refused, with the reason.

    `document` is the number on its paper.
    """

    __tablename__ = "credit_note"
    __table_args__ = (
        not_negative("amount"),
        CheckConstraint("amount > 0 OR why IS NOT NULL", name="refusal_has_reason"),
        Index(None, "claim_id"),
    )

    id: Mapped[Identity]
    claim_id: Mapped[int] = mapped_column(owned_by("claim"))
    at: Mapped[datetime]
    amount: Mapped[Minor]
    document: Mapped[Code]
    why: Mapped[LongText | None]


class CreditUndone(Base):
    """A credit note that was booked wrongly: it counts as nothing, and stays on record."""

    __tablename__ = "credit_undone"

    note_id: Mapped[int] = mapped_column(owned_by("credit_note"), primary_key=True)
    at: Mapped[datetime]
    why: Mapped[LongText]


# Of a row with a credit note: that it was not taken back.
CREDIT_HOLDS = ~exists().where(CreditUndone.note_id == CreditNote.id)
