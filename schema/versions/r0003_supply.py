"""Branches, suppliers, offers, orders; stock with its ledger; bookings and promises.

Revision: 0003, after 0002
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

# The ledger explains every balance: what it says may not be altered afterwards by anybody.
_KEEP_SQLITE = """
CREATE TRIGGER movement_kept_{event} BEFORE {event} ON movement
BEGIN SELECT RAISE(ABORT, 'movements are never altered or removed'); END
"""
_KEEP_POSTGRESQL = (
    """
CREATE FUNCTION refuse_movement_change() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'movements are never altered or removed'; END $$
""",
    """
CREATE TRIGGER movement_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON movement
FOR EACH STATEMENT EXECUTE FUNCTION refuse_movement_change()
""",
)


def upgrade() -> None:
    op.create_table(
        "branch",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("country", sa.String(length=2), nullable=True),
        sa.Column("subdivision", sa.String(length=20), nullable=True),
        sa.Column("van_cutoff", sa.String(length=5), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_branch")),
        sa.UniqueConstraint("code", name=op.f("uq_branch_code")),
    )
    op.create_table(
        "supplier",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("carriage", sa.BigInteger(), nullable=False),
        sa.Column("carriage_free", sa.BigInteger(), nullable=True),
        sa.Column("minimum_order", sa.BigInteger(), nullable=False),
        sa.Column("typical", sa.Integer(), nullable=False),
        sa.Column("late", sa.Integer(), nullable=False),
        sa.Column("country", sa.String(length=2), nullable=True),
        sa.Column("subdivision", sa.String(length=20), nullable=True),
        sa.Column("restocking", sa.BigInteger(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint("carriage >= 0", name=op.f("ck_supplier_carriage_not_negative")),
        sa.CheckConstraint(
            "carriage_free >= 0", name=op.f("ck_supplier_carriage_free_not_negative")
        ),
        sa.CheckConstraint("length(currency) = 3", name=op.f("ck_supplier_currency_iso_4217")),
        sa.CheckConstraint(
            "minimum_order >= 0", name=op.f("ck_supplier_minimum_order_not_negative")
        ),
        sa.CheckConstraint(
            "restocking BETWEEN 0 AND 100000", name=op.f("ck_supplier_restocking_is_share")
        ),
        sa.CheckConstraint(
            "typical >= 0 AND late >= typical", name=op.f("ck_supplier_lead_time_rises")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_supplier")),
        sa.UniqueConstraint("code", name=op.f("uq_supplier_code")),
    )
    op.create_table(
        "purchase_order",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=40), nullable=False),
        sa.Column("supplier_id", sa.Integer(), nullable=False),
        sa.Column("branch_id", sa.Integer(), nullable=False),
        sa.Column("placed_at", sa.DateTime(), nullable=False),
        sa.Column("carriage", sa.BigInteger(), nullable=False),
        sa.Column("due", sa.Date(), nullable=False),
        sa.Column("due_late", sa.Date(), nullable=False),
        sa.Column("cancelled_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("carriage >= 0", name=op.f("ck_purchase_order_carriage_not_negative")),
        sa.CheckConstraint("due_late >= due", name=op.f("ck_purchase_order_late_is_later")),
        sa.ForeignKeyConstraint(
            ["branch_id"],
            ["branch.id"],
            name=op.f("fk_purchase_order_branch_id_branch"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["supplier_id"],
            ["supplier.id"],
            name=op.f("fk_purchase_order_supplier_id_supplier"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_purchase_order")),
        sa.UniqueConstraint("number", name=op.f("uq_purchase_order_number")),
    )
    op.create_index(
        op.f("ix_purchase_order_branch_id"), "purchase_order", ["branch_id"], unique=False
    )
    op.create_table(
        "supplier_closing",
        sa.Column("supplier_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("reason", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(
            ["supplier_id"],
            ["supplier.id"],
            name=op.f("fk_supplier_closing_supplier_id_supplier"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("supplier_id", "day", name=op.f("pk_supplier_closing")),
    )
    op.create_table(
        "supplier_cutoff",
        sa.Column("supplier_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(length=5), nullable=False),
        sa.ForeignKeyConstraint(
            ["supplier_id"],
            ["supplier.id"],
            name=op.f("fk_supplier_cutoff_supplier_id_supplier"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("supplier_id", "at", name=op.f("pk_supplier_cutoff")),
    )
    op.create_table(
        "booking",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=40), nullable=False),
        sa.Column("branch_id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("fit_on", sa.Date(), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("override", sa.Text(), nullable=True),
        sa.Column("closed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint(
            "state IN ('provisional', 'confirmed', 'on the ramp', 'closed', 'cancelled')",
            name=op.f("ck_booking_state_known"),
        ),
        sa.ForeignKeyConstraint(
            ["branch_id"],
            ["branch.id"],
            name=op.f("fk_booking_branch_id_branch"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_booking_vehicle_id_vehicle"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_booking")),
        sa.UniqueConstraint("number", name=op.f("uq_booking_number")),
    )
    op.create_index(op.f("ix_booking_branch_id"), "booking", ["branch_id"], unique=False)
    op.create_index(op.f("ix_booking_vehicle_id"), "booking", ["vehicle_id"], unique=False)
    op.create_table(
        "lot",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("branch_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("bin", sa.String(length=20), nullable=True),
        sa.Column("made_on", sa.Date(), nullable=True),
        sa.Column("expires_on", sa.Date(), nullable=True),
        sa.Column("opened_on", sa.Date(), nullable=True),
        sa.Column("received_on", sa.Date(), nullable=False),
        sa.Column("on_hand", sa.BigInteger(), nullable=False),
        sa.Column("promised", sa.BigInteger(), nullable=False),
        sa.Column("held", sa.String(length=200), nullable=True),
        sa.CheckConstraint("on_hand >= 0", name=op.f("ck_lot_on_hand_not_negative")),
        sa.CheckConstraint(
            "promised >= 0 AND promised <= on_hand", name=op.f("ck_lot_promised_of_on_hand")
        ),
        sa.ForeignKeyConstraint(
            ["branch_id"], ["branch.id"], name=op.f("fk_lot_branch_id_branch"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_lot_item_id_item"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot")),
        sa.UniqueConstraint(
            "branch_id", "item_id", "code", name=op.f("uq_lot_branch_id_item_id_code")
        ),
    )
    op.create_index(op.f("ix_lot_item_id"), "lot", ["item_id"], unique=False)
    op.create_table(
        "offer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("supplier_id", sa.Integer(), nullable=False),
        sa.Column("part", sa.String(length=40), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=True),
        sa.Column("description", sa.String(length=200), nullable=True),
        sa.Column("pack", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(length=20), nullable=False),
        sa.Column("minimum", sa.Integer(), nullable=False),
        sa.Column("multiple", sa.Integer(), nullable=False),
        sa.Column("available", sa.Integer(), nullable=True),
        sa.Column("typical", sa.Integer(), nullable=True),
        sa.Column("late", sa.Integer(), nullable=True),
        sa.Column("returnable", sa.Boolean(), nullable=False),
        sa.Column("core", sa.BigInteger(), nullable=True),
        sa.Column("replaced_by", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("load", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "(typical IS NULL) = (late IS NULL)", name=op.f("ck_offer_lead_time_complete")
        ),
        sa.CheckConstraint("available >= 0", name=op.f("ck_offer_available_not_negative")),
        sa.CheckConstraint("core >= 0", name=op.f("ck_offer_core_not_negative")),
        sa.CheckConstraint("minimum > 0", name=op.f("ck_offer_minimum_positive")),
        sa.CheckConstraint("multiple > 0", name=op.f("ck_offer_multiple_positive")),
        sa.CheckConstraint("pack > 0", name=op.f("ck_offer_pack_positive")),
        sa.CheckConstraint(
            "typical >= 0 AND late >= typical", name=op.f("ck_offer_lead_time_rises")
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_offer_item_id_item"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["supplier_id"],
            ["supplier.id"],
            name=op.f("fk_offer_supplier_id_supplier"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_offer")),
        sa.UniqueConstraint("supplier_id", "part", name=op.f("uq_offer_supplier_id_part")),
    )
    op.create_index(op.f("ix_offer_item_id"), "offer", ["item_id"], unique=False)
    op.create_table(
        "order_line",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("part", sa.String(length=40), nullable=False),
        sa.Column("packs", sa.Integer(), nullable=False),
        sa.Column("price", sa.BigInteger(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.Column("received", sa.BigInteger(), nullable=False),
        sa.Column("lost", sa.BigInteger(), nullable=False),
        sa.Column("promised", sa.BigInteger(), nullable=False),
        sa.Column("returnable", sa.Boolean(), nullable=False),
        sa.Column("core", sa.BigInteger(), nullable=True),
        sa.CheckConstraint("core >= 0", name=op.f("ck_order_line_core_not_negative")),
        sa.CheckConstraint("lost >= 0", name=op.f("ck_order_line_lost_not_negative")),
        sa.CheckConstraint("packs > 0", name=op.f("ck_order_line_packs_positive")),
        sa.CheckConstraint("price >= 0", name=op.f("ck_order_line_price_not_negative")),
        sa.CheckConstraint(
            "promised >= 0 AND promised <= quantity - received - lost",
            name=op.f("ck_order_line_promised_of_coming"),
        ),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_order_line_quantity_positive")),
        sa.CheckConstraint(
            "received >= 0 AND received <= quantity", name=op.f("ck_order_line_received_of_ordered")
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_order_line_item_id_item"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["purchase_order.id"],
            name=op.f("fk_order_line_order_id_purchase_order"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_order_line")),
        sa.UniqueConstraint("order_id", "seq", name=op.f("uq_order_line_order_id_seq")),
    )
    op.create_index(op.f("ix_order_line_item_id"), "order_line", ["item_id"], unique=False)
    op.create_table(
        "booking_job",
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_booking_job_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("booking_id", "seq", name=op.f("pk_booking_job")),
    )
    op.create_table(
        "booking_need",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("rule", sa.String(length=20), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "rule IN ('renew', 'inspect', 'keep', 'use')", name=op.f("ck_booking_need_rule_known")
        ),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_booking_need_quantity_positive")),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_booking_need_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_booking_need_item_id_item"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_booking_need")),
        sa.UniqueConstraint(
            "booking_id", "item_id", "rule", name=op.f("uq_booking_need_booking_id_item_id_rule")
        ),
    )
    op.create_table(
        "finding",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=True),
        sa.Column("unit_id", sa.Integer(), nullable=True),
        sa.Column("joint", sa.String(length=200), nullable=False),
        sa.Column("position", sa.String(length=200), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.Column("found", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "found IN ('passed', 'failed', 'renewed without a look')",
            name=op.f("ck_finding_found_known"),
        ),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_finding_quantity_positive")),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_finding_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["unit_id"], ["unit.id"], name=op.f("fk_finding_unit_id_unit"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_finding_item_id_item"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding")),
    )
    op.create_index(op.f("ix_finding_booking_id"), "finding", ["booking_id"], unique=False)
    op.create_index(op.f("ix_finding_item_id"), "finding", ["item_id"], unique=False)
    op.create_table(
        "movement",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.Column("balance", sa.BigInteger(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "kind IN ('counted', 'received', 'picked', 'put back', 'scrapped', 'sent', 'arrived', 'opened')",
            name=op.f("ck_movement_kind_known"),
        ),
        sa.CheckConstraint("balance >= 0", name=op.f("ck_movement_balance_not_negative")),
        sa.CheckConstraint("quantity <> 0", name=op.f("ck_movement_something_moved")),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_movement_booking_id_booking"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["lot_id"], ["lot.id"], name=op.f("fk_movement_lot_id_lot"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_movement")),
    )
    op.create_index(op.f("ix_movement_booking_id"), "movement", ["booking_id"], unique=False)
    op.create_index(op.f("ix_movement_lot_id"), "movement", ["lot_id"], unique=False)
    op.create_table(
        "offer_price",
        sa.Column("offer_id", sa.Integer(), nullable=False),
        sa.Column("from_packs", sa.Integer(), nullable=False),
        sa.Column("price", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("from_packs > 0", name=op.f("ck_offer_price_from_packs_positive")),
        sa.CheckConstraint("price >= 0", name=op.f("ck_offer_price_price_not_negative")),
        sa.ForeignKeyConstraint(
            ["offer_id"],
            ["offer.id"],
            name=op.f("fk_offer_price_offer_id_offer"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("offer_id", "from_packs", name=op.f("pk_offer_price")),
    )
    op.create_table(
        "promise",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.Column("order_line_id", sa.Integer(), nullable=True),
        sa.Column("waiting", sa.BigInteger(), nullable=False),
        sa.Column("picked", sa.BigInteger(), nullable=False),
        sa.Column("used", sa.BigInteger(), nullable=False),
        sa.Column("returned", sa.BigInteger(), nullable=False),
        sa.Column("scrapped", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(lot_id IS NULL) <> (order_line_id IS NULL)", name=op.f("ck_promise_one_source")
        ),
        sa.CheckConstraint("picked >= 0", name=op.f("ck_promise_picked_not_negative")),
        sa.CheckConstraint(
            "used >= 0 AND returned >= 0 AND scrapped >= 0 AND used + returned + scrapped <= picked",
            name=op.f("ck_promise_accounted_of_picked"),
        ),
        sa.CheckConstraint("waiting + picked > 0", name=op.f("ck_promise_something_promised")),
        sa.CheckConstraint("waiting >= 0", name=op.f("ck_promise_waiting_not_negative")),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_promise_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_promise_item_id_item"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["lot_id"], ["lot.id"], name=op.f("fk_promise_lot_id_lot"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["order_line_id"],
            ["order_line.id"],
            name=op.f("fk_promise_order_line_id_order_line"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_promise")),
    )
    op.create_index(op.f("ix_promise_lot_id"), "promise", ["lot_id"], unique=False)
    op.create_index(op.f("ix_promise_order_line_id"), "promise", ["order_line_id"], unique=False)
    op.create_index("uq_promise_lot", "promise", ["booking_id", "lot_id"], unique=True)
    op.create_index(
        "uq_promise_order_line", "promise", ["booking_id", "order_line_id"], unique=True
    )
    op.create_table(
        "receipt",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_line_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("good", sa.BigInteger(), nullable=False),
        sa.Column("damaged", sa.BigInteger(), nullable=False),
        sa.Column("wrong", sa.BigInteger(), nullable=False),
        sa.Column("over", sa.BigInteger(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "good >= 0 AND damaged >= 0 AND wrong >= 0 AND over >= 0 AND good + damaged + wrong + over > 0",
            name=op.f("ck_receipt_something_came"),
        ),
        sa.ForeignKeyConstraint(
            ["order_line_id"],
            ["order_line.id"],
            name=op.f("fk_receipt_order_line_id_order_line"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_receipt")),
    )
    op.create_index(op.f("ix_receipt_order_line_id"), "receipt", ["order_line_id"], unique=False)
    op.create_table(
        "seal_count",
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("joint", sa.String(length=200), nullable=False),
        sa.Column("expected", sa.BigInteger(), nullable=False),
        sa.Column("counted", sa.BigInteger(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("counted >= 0", name=op.f("ck_seal_count_counted_not_negative")),
        sa.CheckConstraint("expected >= 0", name=op.f("ck_seal_count_expected_not_negative")),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_seal_count_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("booking_id", "joint", name=op.f("pk_seal_count")),
    )
    op.create_table(
        "transfer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("from_lot_id", sa.Integer(), nullable=False),
        sa.Column("to_lot_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.Column("sent_at", sa.DateTime(), nullable=False),
        sa.Column("due", sa.Date(), nullable=False),
        sa.Column("arrived_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("from_lot_id <> to_lot_id", name=op.f("ck_transfer_two_lots")),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_transfer_quantity_positive")),
        sa.ForeignKeyConstraint(
            ["from_lot_id"],
            ["lot.id"],
            name=op.f("fk_transfer_from_lot_id_lot"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["to_lot_id"], ["lot.id"], name=op.f("fk_transfer_to_lot_id_lot"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_transfer")),
    )

    op.create_table(
        "declined",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("job", sa.String(length=200), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_declined_vehicle_id_vehicle"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_declined")),
    )
    op.create_index(op.f("ix_declined_vehicle_id"), "declined", ["vehicle_id"])
    for owner in ("branch", "booking"):
        asked = [sa.Column("asked_by", sa.Text(), nullable=False)] if owner == "booking" else []
        op.create_table(
            f"{owner}_licence",
            sa.Column(f"{owner}_id", sa.Integer(), nullable=False),
            sa.Column("licence_id", sa.Integer(), nullable=False),
            *asked,
            sa.ForeignKeyConstraint(
                [f"{owner}_id"],
                [f"{owner}.id"],
                name=op.f(f"fk_{owner}_licence_{owner}_id_{owner}"),
                ondelete="CASCADE",
            ),
            sa.ForeignKeyConstraint(
                ["licence_id"],
                ["licence.id"],
                name=op.f(f"fk_{owner}_licence_licence_id_licence"),
                ondelete="RESTRICT",
            ),
            sa.PrimaryKeyConstraint(f"{owner}_id", "licence_id", name=op.f(f"pk_{owner}_licence")),
        )

    if op.get_bind().dialect.name == "sqlite":
        for event in ("UPDATE", "DELETE"):
            op.execute(_KEEP_SQLITE.format(event=event))
    else:
        for statement in _KEEP_POSTGRESQL:
            op.execute(statement)


def downgrade() -> None:
    for table in (
        "declined",
        "booking_licence",
        "branch_licence",
        "transfer",
        "seal_count",
        "receipt",
        "promise",
        "offer_price",
        "movement",
        "finding",
        "booking_need",
        "booking_job",
        "order_line",
        "offer",
        "lot",
        "booking",
        "supplier_cutoff",
        "supplier_closing",
        "purchase_order",
        "supplier",
        "branch",
    ):
        op.drop_table(table)
    if op.get_bind().dialect.name != "sqlite":
        op.execute("DROP FUNCTION refuse_movement_change()")
