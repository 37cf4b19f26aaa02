"""Findings of which nobody knows yet which of several items it was.

Revision: 0037, after 0036
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0037"
down_revision = "0036"
branch_labels = None
depends_on = None


def _item_needed(needed: bool) -> None:
    if op.get_bind().dialect.name != "sqlite":
        op.alter_column("finding", "item_id", nullable=not needed)
        return
    # The table is copied, and with the former one the rows that belong to it would go.
    op.execute("CREATE TEMPORARY TABLE kept_correction AS SELECT * FROM finding_correction")
    with op.batch_alter_table("finding") as table:
        table.alter_column("item_id", existing_type=sa.Integer(), nullable=not needed)
    op.execute("DELETE FROM finding_correction")
    op.execute("INSERT INTO finding_correction SELECT * FROM kept_correction")
    op.execute("DROP TABLE kept_correction")


def upgrade() -> None:
    _item_needed(False)


def downgrade() -> None:
    # The former program cannot say that it is not known which item was looked at.
    op.execute("DELETE FROM finding WHERE item_id IS NULL")
    _item_needed(True)
