"""How far threads are engaged, turning back by an angle, and systems that a kind belongs to.

Revision: 0024, after 0023

Magnesium is another thing that a thread may be cut into.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None


def _known(words: str) -> None:
    """What a thread may be cut into. Other rows refer to fits, so that no table is copied."""
    listed = ", ".join(f"'{word}'" for word in words.split())
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            "ALTER TABLE fit ADD COLUMN cut_into VARCHAR(20)"
            f" CONSTRAINT ck_fit_threaded_into_known CHECK (cut_into IN ({listed}))"
        )
        op.execute("UPDATE fit SET cut_into = threaded_into")
        op.execute("ALTER TABLE fit DROP COLUMN threaded_into")
        op.execute("ALTER TABLE fit RENAME COLUMN cut_into TO threaded_into")
    else:
        op.drop_constraint(op.f("ck_fit_threaded_into_known"), "fit")
        op.create_check_constraint(
            op.f("ck_fit_threaded_into_known"), "fit", f"threaded_into IN ({listed})"
        )


def upgrade() -> None:
    # Written out: both engines take a named CHECK with a new column.
    op.execute(
        "ALTER TABLE fit ADD COLUMN engagement BIGINT"
        " CONSTRAINT ck_fit_engagement_positive CHECK (engagement > 0)"
    )
    off = sa.false().compile(dialect=op.get_bind().dialect)
    op.execute(
        f"ALTER TABLE stage ADD COLUMN back BOOLEAN DEFAULT {off} NOT NULL"
        " CONSTRAINT ck_stage_back_by_angle CHECK (NOT back OR angle IS NOT NULL)"
    )
    op.create_table(
        "kind_system",
        sa.Column("kind_id", sa.Integer(), nullable=False),
        sa.Column("system_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["kind_id"], ["kind.id"], name=op.f("fk_kind_system_kind_id_kind"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["system_id"],
            ["system.id"],
            name=op.f("fk_kind_system_system_id_system"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("kind_id", "system_id", name=op.f("pk_kind_system")),
    )
    _known("steel aluminium magnesium plastic")


def downgrade() -> None:
    # The former revision would turn on where it is turned back: without all of its stages nobody
    # has a figure, which it says.
    op.execute("DELETE FROM stage WHERE fit_id IN (SELECT fit_id FROM stage WHERE back)")
    # It cannot tell magnesium: what the thread is cut into is not stated then.
    op.execute("UPDATE fit SET threaded_into = NULL WHERE threaded_into = 'magnesium'")
    _known("steel aluminium plastic")
    op.drop_table("kind_system")
    if op.get_bind().dialect.name == "sqlite":
        op.execute("ALTER TABLE stage DROP COLUMN back")
        op.execute("ALTER TABLE fit DROP COLUMN engagement")
    else:
        op.drop_constraint(op.f("ck_stage_back_by_angle"), "stage")
        op.drop_column("stage", "back")
        op.drop_constraint(op.f("ck_fit_engagement_positive"), "fit")
        op.drop_column("fit", "engagement")
