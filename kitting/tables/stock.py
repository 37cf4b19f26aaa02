"""Stock: lots with their balances, and the ledger of movements that explains every balance."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, UniqueConstraint, exists
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.words import MovementKind
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Name,
    Thousandths,
    Word,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class Lot(Base):
    """Stock of an item in a branch that came in together; amounts are thousandths of its unit.

    `made_on` is the cure or making date (the last day of what was stated), `expires_on` the
    printed date. `held` says why nobody may take from it (quarantine). `inspected_on` is when
    somebody looked the seals over so that their storage may be extended, with what was seen.
    `batch` is the code of the lot it came from, where it bears another one itself.
    """

    __tablename__ = "lot"
    __table_args__ = (
        UniqueConstraint("branch_id", "item_id", "code"),
        # A shelf cannot hold less than nothing, and nothing on it is promised twice.
        CheckConstraint("on_hand >= 0", name="on_hand_not_negative"),
        CheckConstraint("promised >= 0 AND promised <= on_hand", name="promised_of_on_hand"),
        CheckConstraint(
            "(inspected_on IS NULL) = (inspection IS NULL)", name="inspection_complete"
        ),
        Index(None, "item_id"),
        # A recall names a batch, wherever it lies.
        Index(None, "code"),
        Index(None, "batch"),
    )

    id: Mapped[Identity]
    branch_id: Mapped[int] = mapped_column(refers_to("branch"))
    item_id: Mapped[int] = mapped_column(refers_to("item"))
    code: Mapped[Code]
    bin: Mapped[Word | None]
    made_on: Mapped[date | None]
    expires_on: Mapped[date | None]
    opened_on: Mapped[date | None]
    received_on: Mapped[date]
    on_hand: Mapped[Thousandths] = mapped_column(default=0)
    promised: Mapped[Thousandths] = mapped_column(default=0)
    held: Mapped[Name | None]
    inspected_on: Mapped[date | None]
    inspection: Mapped[LongText | None]
    batch: Mapped[Code | None]


class CustomerLot(Base):
    """A lot that the customer of a booking brought: it is theirs, and for nobody else."""

    __tablename__ = "customer_lot"
    __table_args__ = (Index(None, "booking_id"),)

    lot_id: Mapped[int] = mapped_column(owned_by("lot"), primary_key=True)
    booking_id: Mapped[int] = mapped_column(refers_to("booking"))


# Of a row with a lot: that it is no customer's.
OURS = ~exists().where(CustomerLot.lot_id == Lot.id)


class Movement(Base):
    """A change of a lot's balance: never altered, never removed (a trigger refuses it)."""

    __tablename__ = "movement"
    __table_args__ = (
        one_of("kind", MovementKind),
        CheckConstraint("quantity <> 0", name="something_moved"),
        CheckConstraint("balance >= 0", name="balance_not_negative"),
        Index(None, "lot_id"),
        Index(None, "booking_id"),
    )

    id: Mapped[Identity]
    at: Mapped[datetime]
    lot_id: Mapped[int] = mapped_column(refers_to("lot"))
    kind: Mapped[MovementKind]
    quantity: Mapped[Thousandths]
    balance: Mapped[Thousandths]
    booking_id: Mapped[int | None] = mapped_column(refers_to("booking"))
    note: Mapped[LongText | None]


class Transfer(Base):
    """Goods on the way between branches: on neither shelf until they arrive.

    Each end names its branch: whoever may see only one of the two lots still knows the other end.
    """

    __tablename__ = "transfer"
    __table_args__ = (
        positive("quantity"),
        # What arrives nowhere else is no transfer.
        CheckConstraint("from_lot_id <> to_lot_id", name="two_lots"),
    )

    id: Mapped[Identity]
    from_lot_id: Mapped[int] = mapped_column(refers_to("lot"))
    to_lot_id: Mapped[int] = mapped_column(refers_to("lot"))
    from_branch_id: Mapped[int] = mapped_column(refers_to("branch"))
    to_branch_id: Mapped[int] = mapped_column(refers_to("branch"))
    quantity: Mapped[Thousandths]
    sent_at: Mapped[datetime]
    due: Mapped[date]
    arrived_at: Mapped[datetime | None]
