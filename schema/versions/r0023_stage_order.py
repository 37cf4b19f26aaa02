"""How the stages of a tightening follow each other, apart from the order of its fasteners.

Revision: 0023, after 0022

Words of former catalogues stay what they were taken for: an order of the fasteners.
"""

from __future__ import annotations

from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE tightening ADD COLUMN stage_order TEXT")


def downgrade() -> None:
    # The former revision has one place for both, so that no words of a maker are lost.
    op.execute(
        "UPDATE tightening SET pattern = CASE WHEN pattern IS NULL THEN stage_order"
        " ELSE pattern || '; ' || stage_order END WHERE stage_order IS NOT NULL"
    )
    op.execute("ALTER TABLE tightening DROP COLUMN stage_order")
