"""What a kind has to do with rubber, and where the car's own lubricant goes on.

Revision: 0011, after 0009

A grease of an unknown medium is in doubt where it touches rubber, and a seal that is made of rubber
where nobody states which. What the maker of a car names for a fluid went on at every position that
holds it; now it goes on where the position asks for it, and is told where it does not.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Written out: a batch would copy the table, and other rows refer to it.
    op.execute(
        "ALTER TABLE kind ADD COLUMN rubber VARCHAR(20)"
        " CONSTRAINT ck_kind_rubber_known CHECK (rubber IN ('made of', 'touches'))"
    )
    off = sa.false().compile(dialect=op.get_bind().dialect)
    op.execute(
        f"ALTER TABLE fit ADD COLUMN lubricant_cars_own BOOLEAN DEFAULT {off} NOT NULL"
        " CONSTRAINT ck_fit_cars_own_lubricant"
        " CHECK (NOT lubricant_cars_own OR lubricant_id IS NOT NULL)"
    )


def downgrade() -> None:
    for table, column, check in (
        ("fit", "lubricant_cars_own", "cars_own_lubricant"),
        ("kind", "rubber", "rubber_known"),
    ):
        if op.get_bind().dialect.name == "sqlite":
            op.execute(f"ALTER TABLE {table} DROP COLUMN {column}")
        else:
            op.drop_constraint(op.f(f"ck_{table}_{check}"), table)
            op.drop_column(table, column)
