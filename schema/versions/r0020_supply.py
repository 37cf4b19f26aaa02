"""The spares that were taken into a booking, and the chance that they were taken for.

Revision: 0020, after 0019

Former bookings took none.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

_OF_BOOKINGS = ("booking_sure", "booking_spare")
_BIG = sa.BigInteger()


def _refers(
    table: str, column: str, target: str, ondelete: str
) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        sa.Column(column, sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            [column], [f"{target}.id"], name=op.f(f"fk_{table}_{column}_{target}"),
            ondelete=ondelete,
        ),
    )  # fmt: skip


def _check(table: str, name: str, text: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(text, name=op.f(f"ck_{table}_{name}"))


def upgrade() -> None:
    op.create_table(
        "booking_sure",
        *_refers("booking_sure", "booking_id", "booking", "CASCADE"),
        sa.Column("target", _BIG, nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("booking_id", name=op.f("pk_booking_sure")),
        _check("booking_sure", "target_is_chance", "target > 0 AND target < 100000"),
    )
    op.create_table(
        "booking_spare",
        *_refers("booking_spare", "booking_id", "booking", "CASCADE"),
        *_refers("booking_spare", "item_id", "item", "RESTRICT"),
        sa.Column("quantity", _BIG, nullable=False),
        sa.Column("looked_at", _BIG, nullable=False),
        sa.PrimaryKeyConstraint("booking_id", "item_id", name=op.f("pk_booking_spare")),
        _check("booking_spare", "quantity_positive", "quantity > 0"),
        _check("booking_spare", "looked_at_positive", "looked_at > 0"),
    )
    if op.get_bind().dialect.name != "sqlite":
        for table in _OF_BOOKINGS:
            op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
            op.execute(
                f"CREATE POLICY own ON {table} FOR ALL USING"
                f" (EXISTS (SELECT FROM booking WHERE booking.id = {table}.booking_id))"
            )


def downgrade() -> None:
    for table in reversed(_OF_BOOKINGS):
        op.drop_table(table)
