"""What happens to an order after it was placed: new dates, receipts undone, claims, credit notes.

Revision: 0017, after 0016

A receipt tells which lots it went to, so that it can be taken back; of former ones that stays
unknown. A lot may be a customer's own part, told beside it: SQLite makes no table anew that others
refer to. What was bought over the counter names its bill.
"""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

# A row that hangs on a parent is seen with it.
_PARENTS = {
    "order_notice": ("order_line", "order_line_id"),
    "receipt_goods": ("receipt", "receipt_id"),
    "receipt_undone": ("receipt", "receipt_id"),
    "claim": ("order_line", "order_line_id"),
    "credit_note": ("claim", "claim_id"),
    "customer_lot": ("lot", "lot_id"),
}
_BIG = sa.BigInteger()


def _refers(
    table: str, column: str, target: str, ondelete: str, nullable: bool = False
) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        sa.Column(column, sa.Integer(), nullable=nullable),
        sa.ForeignKeyConstraint(
            [column], [f"{target}.id"], name=op.f(f"fk_{table}_{column}_{target}"),
            ondelete=ondelete,
        ),
    )  # fmt: skip


def _key(table: str, column: str = "id") -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint(column, name=op.f(f"pk_{table}"))


def _check(table: str, name: str, text: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(text, name=op.f(f"ck_{table}_{name}"))


def _identity() -> sa.Column[int]:
    return sa.Column("id", sa.Integer(), nullable=False)


def _at() -> sa.Column[datetime]:
    return sa.Column("at", sa.DateTime(), nullable=False)


def upgrade() -> None:
    op.create_table(
        "order_notice",
        _identity(),
        *_refers("order_notice", "order_line_id", "order_line", "CASCADE"),
        _at(),
        sa.Column("due", sa.Date(), nullable=False),
        sa.Column("due_late", sa.Date(), nullable=False),
        sa.Column("again", _BIG, nullable=False),
        sa.Column("why", sa.Text(), nullable=True),
        _key("order_notice"),
        _check("order_notice", "late_is_later", "due_late >= due"),
        _check("order_notice", "again_not_negative", "again >= 0"),
    )
    op.create_index(op.f("ix_order_notice_order_line_id"), "order_notice", ["order_line_id"])
    op.create_table(
        "receipt_goods",
        *_refers("receipt_goods", "receipt_id", "receipt", "CASCADE"),
        *_refers("receipt_goods", "item_id", "item", "RESTRICT", nullable=True),
        *_refers("receipt_goods", "lot_id", "lot", "RESTRICT", nullable=True),
        *_refers("receipt_goods", "over_lot_id", "lot", "RESTRICT", nullable=True),
        sa.Column("lost", _BIG, nullable=False),
        _key("receipt_goods", "receipt_id"),
    )
    op.create_table(
        "receipt_undone",
        *_refers("receipt_undone", "receipt_id", "receipt", "CASCADE"),
        _at(),
        sa.Column("why", sa.Text(), nullable=False),
        _key("receipt_undone", "receipt_id"),
    )
    op.create_table(
        "claim",
        _identity(),
        *_refers("claim", "order_line_id", "order_line", "CASCADE"),
        _at(),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("quantity", _BIG, nullable=False),
        sa.Column("expected", _BIG, nullable=True),
        *_refers("claim", "lot_id", "lot", "RESTRICT", nullable=True),
        *_refers("claim", "booking_id", "booking", "RESTRICT", nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        _key("claim"),
        _check("claim", "kind_known", "kind IN ('return', 'core', 'warranty')"),
        _check("claim", "quantity_positive", "quantity > 0"),
        _check("claim", "expected_not_negative", "expected >= 0"),
    )
    op.create_index(op.f("ix_claim_order_line_id"), "claim", ["order_line_id"])
    op.create_table(
        "credit_note",
        _identity(),
        *_refers("credit_note", "claim_id", "claim", "CASCADE"),
        _at(),
        sa.Column("amount", _BIG, nullable=False),
        sa.Column("document", sa.String(length=40), nullable=False),
        sa.Column("why", sa.Text(), nullable=True),
        _key("credit_note"),
        _check("credit_note", "amount_not_negative", "amount >= 0"),
        _check("credit_note", "refusal_has_reason", "amount > 0 OR why IS NOT NULL"),
    )
    op.create_index(op.f("ix_credit_note_claim_id"), "credit_note", ["claim_id"])
    op.execute("ALTER TABLE purchase_order ADD COLUMN bill VARCHAR(40)")
    op.create_table(
        "customer_lot",
        *_refers("customer_lot", "lot_id", "lot", "CASCADE"),
        *_refers("customer_lot", "booking_id", "booking", "RESTRICT"),
        _key("customer_lot", "lot_id"),
    )
    op.create_index(op.f("ix_customer_lot_booking_id"), "customer_lot", ["booking_id"])
    if op.get_bind().dialect.name != "sqlite":
        for table, (parent, column) in _PARENTS.items():
            op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
            op.execute(
                f"CREATE POLICY own ON {table} FOR ALL USING"
                f" (EXISTS (SELECT FROM {parent} WHERE {parent}.id = {table}.{column}))"
            )


def downgrade() -> None:
    for table in reversed(_PARENTS):
        op.drop_table(table)
    op.execute("ALTER TABLE purchase_order DROP COLUMN bill")
