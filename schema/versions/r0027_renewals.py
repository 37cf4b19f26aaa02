"""What a job renews by its own wish.

Revision: 0027, after 0026
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None

_OTHERS = ("kind", "item", "joint")


def upgrade() -> None:
    op.create_table(
        "job_renewal",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("kind_id", sa.Integer(), nullable=True),
        sa.Column("item_id", sa.Integer(), nullable=True),
        sa.Column("joint_id", sa.Integer(), nullable=True),
        sa.Column("position", sa.String(length=200), nullable=True),
        sa.CheckConstraint(
            "(kind_id IS NOT NULL AND item_id IS NULL AND joint_id IS NULL)"
            " OR (kind_id IS NULL AND item_id IS NOT NULL AND joint_id IS NULL)"
            " OR (kind_id IS NULL AND item_id IS NULL AND joint_id IS NOT NULL)",
            name=op.f("ck_job_renewal_one_way"),
        ),
        sa.CheckConstraint(
            "position IS NULL OR joint_id IS NOT NULL",
            name=op.f("ck_job_renewal_position_of_a_joint"),
        ),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_job_renewal_job_id_job"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["kind_id"], ["kind.id"], name=op.f("fk_job_renewal_kind_id_kind"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_job_renewal_item_id_item"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["joint_id"],
            ["joint.id"],
            name=op.f("fk_job_renewal_joint_id_joint"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("job_id", "seq", name=op.f("pk_job_renewal")),
    )
    for other in _OTHERS:
        op.create_index(op.f(f"ix_job_renewal_{other}_id"), "job_renewal", [f"{other}_id"])


def downgrade() -> None:
    op.drop_table("job_renewal")
