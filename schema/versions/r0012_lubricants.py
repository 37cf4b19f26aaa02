"""Where the car's own lubricant goes on.

Revision: 0012, after 0011

What the maker of a car names for a fluid went on at every position that holds it; now it goes on
where the position asks for it, and is told where it does not.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Written out: a batch would copy the table, and other rows refer to it.
    off = sa.false().compile(dialect=op.get_bind().dialect)
    op.execute(
        f"ALTER TABLE fit ADD COLUMN lubricant_cars_own BOOLEAN DEFAULT {off} NOT NULL"
        " CONSTRAINT ck_fit_cars_own_lubricant"
        " CHECK (NOT lubricant_cars_own OR lubricant_id IS NOT NULL)"
    )


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        op.execute("ALTER TABLE fit DROP COLUMN lubricant_cars_own")
    else:
        op.drop_constraint(op.f("ck_fit_cars_own_lubricant"), "fit")
        op.drop_column("fit", "lubricant_cars_own")
