"""How many of the pieces at a position failed their look.

Revision: 0041, after 0040
"""

from __future__ import annotations

from alembic import op

revision = "0041"
down_revision = "0040"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Written out: both engines take a named CHECK with a new column. Older findings have no number:
    # all pieces of their position failed.
    for table in ("finding", "finding_correction"):
        op.execute(
            f"ALTER TABLE {table} ADD COLUMN failed BIGINT"
            f" CONSTRAINT ck_{table}_failed_positive CHECK (failed > 0)"
        )


def downgrade() -> None:
    # The former program knows a position as failed or not: all pieces count as failed there.
    for table in ("finding_correction", "finding"):
        op.execute(f"ALTER TABLE {table} DROP COLUMN failed")
