"""By which delivery note goods came: its number, so that it is taken in once.

Revision: 0026, after 0023
"""

from __future__ import annotations

from alembic import op

revision = "0026"
down_revision = "0023"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE receipt ADD COLUMN document VARCHAR(40)")


def downgrade() -> None:
    op.execute("ALTER TABLE receipt DROP COLUMN document")
