"""Indexes for the questions of every day: what a joint carries, whom an item is promised to.

Revision: 0006, after 0005

Every plan asks for fits by joint, and the partial indexes of positions cannot answer that; every
booking asks who holds an item; rings are looked for by size. No question asks for a job by code
alone.
"""

from __future__ import annotations

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

_MADE = (
    ("ix_fit_joint_id", "fit", ["joint_id"]),
    ("ix_promise_item_id", "promise", ["item_id"]),
    ("ix_item_ring_inside_ring_section", "item", ["ring_inside", "ring_section"]),
    ("ix_lot_code", "lot", ["code"]),
)


def upgrade() -> None:
    for name, table, columns in _MADE:
        op.create_index(name, table, columns)
    op.drop_index("ix_job_code", "job")


def downgrade() -> None:
    op.create_index("ix_job_code", "job", ["code"])
    for name, table, _columns in reversed(_MADE):
        op.drop_index(name, table)
