"""By which delivery note goods came: its number, so that it is taken in once.

Revision: 0025, after 0024
"""

from __future__ import annotations

from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE receipt ADD COLUMN document VARCHAR(40)")


def downgrade() -> None:
    op.execute("ALTER TABLE receipt DROP COLUMN document")
