"""Who settles a split, steps and services of one option, and what a customer chose for a booking.

Revision: 0030, after 0029
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0030"
down_revision = "0029"
branch_labels = None
depends_on = None

_SERVICE_OPTION = "fk_job_service_option_id_split_option"
_OF_BOOKING = "EXISTS (SELECT FROM booking WHERE booking.id = booking_choice.booking_id)"


def _refers(table: str, column: str, to: str, ondelete: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}_{to}")
    return sa.ForeignKeyConstraint([column], [f"{to}.id"], name=name, ondelete=ondelete)


def upgrade() -> None:
    # Written out: a batch would copy the table, and other rows refer to it.
    op.execute(
        "ALTER TABLE split ADD COLUMN settled_by VARCHAR(20) DEFAULT 'car' NOT NULL"
        " CONSTRAINT ck_split_settled_by_known CHECK (settled_by IN ('car', 'customer'))"
    )
    with op.batch_alter_table("job_service") as table:
        table.add_column(sa.Column("option_id", sa.Integer(), nullable=True))
        table.create_foreign_key(
            op.f(_SERVICE_OPTION), "split_option", ["option_id"], ["id"], ondelete="RESTRICT"
        )
    op.create_table(
        "step_option",
        sa.Column("step_id", sa.Integer(), nullable=False),
        sa.Column("option_id", sa.Integer(), nullable=False),
        _refers("step_option", "step_id", "step", "CASCADE"),
        _refers("step_option", "option_id", "split_option", "RESTRICT"),
        sa.PrimaryKeyConstraint("step_id", name=op.f("pk_step_option")),
    )
    op.create_table(
        "booking_choice",
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("split_id", sa.Integer(), nullable=False),
        sa.Column("option_id", sa.Integer(), nullable=False),
        _refers("booking_choice", "booking_id", "booking", "CASCADE"),
        _refers("booking_choice", "split_id", "split", "RESTRICT"),
        _refers("booking_choice", "option_id", "split_option", "RESTRICT"),
        sa.PrimaryKeyConstraint("booking_id", "split_id", name=op.f("pk_booking_choice")),
    )
    if op.get_bind().dialect.name != "sqlite":
        op.execute("ALTER TABLE booking_choice ENABLE ROW LEVEL SECURITY")
        op.execute(f"CREATE POLICY own ON booking_choice FOR ALL USING ({_OF_BOOKING})")


def downgrade() -> None:
    op.drop_table("booking_choice")
    op.drop_table("step_option")
    with op.batch_alter_table("job_service") as table:
        table.drop_constraint(op.f(_SERVICE_OPTION), type_="foreignkey")
        table.drop_column("option_id")
    op.execute("ALTER TABLE split DROP COLUMN settled_by")
