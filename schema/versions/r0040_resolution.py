"""How close the scale of a torque wrench is read.

Revision: 0040, after 0039
"""

from __future__ import annotations

from alembic import op

revision = "0040"
down_revision = "0039"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Written out: both engines take a named CHECK with a new column.
    op.execute(
        "ALTER TABLE tool ADD COLUMN resolution BIGINT"
        " CONSTRAINT ck_tool_resolution_positive CHECK (resolution > 0)"
    )


def downgrade() -> None:
    op.execute("ALTER TABLE tool DROP COLUMN resolution")
