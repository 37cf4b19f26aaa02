"""Stock: lots with their balances, and the ledger of movements that explains every balance."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Index,
    UniqueConstraint,
    and_,
    exists,
    func,
    or_,
    select,
)
from sqlalchemy.orm import Mapped, column_property, mapped_column

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
    printed date. `own_hold` says why nobody may take from this lot alone (more than was ordered,
    expired when it came); `held` says why nobody may take from it at all, its batch's holds
    included. `inspected_on` is when somebody looked the seals over so that their storage may be
    extended, with what was seen. `batch` is the code of the lot it came from, where it bears
    another one itself.
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
    own_hold: Mapped[Name | None] = mapped_column("held")
    inspected_on: Mapped[date | None]
    inspection: Mapped[LongText | None]
    batch: Mapped[Code | None]
    if TYPE_CHECKING:
        held: Mapped[str | None]  # see below, where holds are known


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


class BatchHold(Base):
    """A batch of an item that nobody may take from, in any branch, from a moment on.

    Never altered, never removed: a release ends it. `branch_id` is where it was said, `told_by` who
    said so if anybody is named.
    """

    __tablename__ = "batch_hold"
    __table_args__ = (Index(None, "branch_id"), Index(None, "item_id"))

    id: Mapped[Identity]
    at: Mapped[datetime]
    branch_id: Mapped[int] = mapped_column(refers_to("branch"))
    item_id: Mapped[int] = mapped_column(refers_to("item"))
    batch: Mapped[Code]
    why: Mapped[Name]
    told_by: Mapped[Name | None]


class HoldRelease(Base):
    """The end of a hold, said at a lot: of its batch (`hold_id`), else of that lot alone.

    `was` is why it was on hold. Never altered, never removed.
    """

    __tablename__ = "hold_release"
    __table_args__ = (
        # A hold ends once.
        UniqueConstraint("hold_id"),
        Index(None, "lot_id"),
    )

    id: Mapped[Identity]
    at: Mapped[datetime]
    lot_id: Mapped[int] = mapped_column(refers_to("lot"))
    hold_id: Mapped[int | None] = mapped_column(refers_to("batch_hold"))
    was: Mapped[Name]
    why: Mapped[LongText | None]
    told_by: Mapped[Name | None]


OPEN_HOLD = ~exists().where(HoldRelease.hold_id == BatchHold.id)


def holds(lot: Any, ended: bool = False) -> ColumnElement[bool]:
    """Condition: an open hold of a batch, or with `ended` any, is on a lot (its table's columns).

    Of former remainders only their movements tell which lot they were opened of.
    """
    moved = Movement.__table__.alias("moved")
    # One row is looked for: EXISTS might read every movement at once, to hash them.
    opened = (
        select(moved.c.id)
        .where(
            moved.c.lot_id == lot.id,
            moved.c.kind == MovementKind.OPENED,
            moved.c.quantity > 0,
            moved.c.note == BatchHold.batch,
        )
        .limit(1)
        .correlate_except(moved)
        .scalar_subquery()
    )
    of_it = or_(BatchHold.batch == lot.code, BatchHold.batch == lot.batch, opened.is_not(None))
    on_it = and_(BatchHold.item_id == lot.item_id, of_it)
    return on_it if ended else and_(on_it, OPEN_HOLD)


_of_lot = Lot.__table__.c
# Why nobody may take from a lot, by its table: its own hold, else the first of its batch.
HELD = func.coalesce(
    _of_lot.held,
    select(BatchHold.why)
    .where(holds(_of_lot))
    .order_by(BatchHold.id)
    .limit(1)
    .correlate(Lot.__table__)
    .scalar_subquery(),
)
Lot.held = column_property(HELD)


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
