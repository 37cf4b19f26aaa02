"""Ramps, technicians with licences and hours, what bookings take of them, and agreed prices.

Revision: 0019, after 0018

Bookings of before take no ramp and nobody, and nothing was agreed: all of that is unknown.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

_OF_BOOKING = ("booking_slot", "booking_technician", "booking_price")
_ALL = ("ramp", "technician", "technician_hours", "technician_licence", "absence", *_OF_BOOKING)
_BIG = sa.BigInteger()
_HOURS = "hours BETWEEN 0 AND 24000"


def _refers(
    table: str, column: str, target: str, ondelete: str = "CASCADE"
) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    name = op.f(f"fk_{table}_{column}_{target}")
    return (
        sa.Column(column, sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint([column], [f"{target}.id"], name=name, ondelete=ondelete),
    )


def _key(table: str, *columns: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint(*columns, name=op.f(f"pk_{table}"))


def _check(table: str, name: str, text: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(text, name=op.f(f"ck_{table}_{name}"))


def _identity() -> sa.Column[int]:
    return sa.Column("id", sa.Integer(), nullable=False)


def _code(name: str, nullable: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.String(length=40), nullable=nullable)


def _of_a_branch(table: str, *columns: sa.schema.SchemaItem) -> None:
    op.create_table(
        table,
        _identity(),
        *_refers(table, "branch_id", "branch"),
        _code("code"),
        *columns,
        _key(table, "id"),
        sa.UniqueConstraint("branch_id", "code", name=op.f(f"uq_{table}_branch_id_code")),
    )


def _of_a_technician(table: str, key: str, *columns: sa.schema.SchemaItem) -> None:
    op.create_table(
        table,
        *_refers(table, "technician_id", "technician"),
        *columns,
        _key(table, "technician_id", key),
    )


def upgrade() -> None:
    _of_a_branch(
        "ramp",
        sa.Column("takes", sa.String(length=200), nullable=True),
        sa.Column("hours", _BIG, nullable=True),
        _check("ramp", "hours_of_a_day", _HOURS),
    )
    _of_a_branch("technician")
    _of_a_technician(
        "technician_hours",
        "weekday",
        sa.Column("weekday", sa.Integer(), nullable=False),
        sa.Column("hours", _BIG, nullable=False),
        _check("technician_hours", "weekday_of_a_week", "weekday BETWEEN 0 AND 6"),
        _check("technician_hours", "hours_of_a_day", _HOURS),
    )
    _of_a_technician(
        "technician_licence",
        "licence_id",
        *_refers("technician_licence", "licence_id", "licence", "RESTRICT"),
        sa.Column("valid_until", sa.Date(), nullable=True),
    )
    _of_a_technician(
        "absence",
        "first_day",
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=False),
        _check("absence", "ends_after_it_begins", "last_day >= first_day"),
    )
    op.create_table(
        "booking_slot",
        *_refers("booking_slot", "booking_id", "booking"),
        sa.Column("starts", sa.String(length=5), nullable=True),
        _code("ramp", nullable=True),
        _key("booking_slot", "booking_id"),
    )
    op.create_table(
        "booking_technician",
        *_refers("booking_technician", "booking_id", "booking"),
        _code("technician"),
        _key("booking_technician", "booking_id", "technician"),
    )
    sums = ("agreed", "upper_limit", "deposit", "hour_price")
    op.create_table(
        "booking_price",
        _identity(),
        *_refers("booking_price", "booking_id", "booking"),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        *(sa.Column(name, _BIG, nullable=True) for name in sums),
        _key("booking_price", "id"),
        _check("booking_price", "currency_iso_4217", "length(currency) = 3"),
        *(_check("booking_price", f"{name}_not_negative", f"{name} >= 0") for name in sums),
    )
    op.create_index(op.f("ix_booking_price_booking_id"), "booking_price", ["booking_id"])
    if op.get_bind().dialect.name == "postgresql":
        for table in _OF_BOOKING:
            op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
            op.execute(
                f"CREATE POLICY own ON {table} FOR ALL USING"
                f" (EXISTS (SELECT FROM booking WHERE booking.id = {table}.booking_id))"
            )


def downgrade() -> None:
    for table in reversed(_ALL):
        op.drop_table(table)
