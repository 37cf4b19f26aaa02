"""What a kind has to do with rubber, and refits of positions that a closing renewed.

Revision: 0010, after 0009

A kind that is made of rubber needs its material and its age stated, one that touches rubber its
medium. What was renewed and opened again within a job has gone back since; what was renewed last
has gone back no time. What puts a closed booking right stands beside what it said, by its number.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Written out: a batch would copy the table, and other rows refer to it.
    op.execute(
        "ALTER TABLE kind ADD COLUMN rubber VARCHAR(20)"
        " CONSTRAINT ck_kind_rubber_known CHECK (rubber IN ('made of', 'touches'))"
    )
    with op.batch_alter_table("refit") as table:
        table.add_column(sa.Column("correction", sa.Integer(), nullable=False, server_default="0"))
        table.create_check_constraint(
            op.f("ck_refit_correction_not_negative"), sa.text("correction >= 0")
        )
    _times("positive", "not_negative", "times >= 0")
    _key(*_PLACE, "correction")
    # Each of them counted its openings, but what was renewed has not gone back.
    op.execute("UPDATE refit SET times = 0 WHERE outcome = 'renewed'")


def downgrade() -> None:
    # Told apart by the booking alone there.
    op.execute(
        "UPDATE refit SET booking = booking || '/' || correction, correction = 0"
        " WHERE correction > 0"
    )
    op.execute("UPDATE refit SET times = 1 WHERE times = 0")
    _key(*_PLACE)
    with op.batch_alter_table("refit") as table:
        table.drop_constraint(op.f("ck_refit_correction_not_negative"), type_="check")
        table.drop_column("correction")
    _times("not_negative", "positive", "times > 0")
    if op.get_bind().dialect.name == "sqlite":
        op.execute("ALTER TABLE kind DROP COLUMN rubber")
    else:
        op.drop_constraint(op.f("ck_kind_rubber_known"), "kind")
        op.drop_column("kind", "rubber")


_PLACE = ("vehicle_id", "joint_id", "position", "booking")


def _key(*columns: str) -> None:
    with op.batch_alter_table("refit") as table:
        table.drop_constraint(op.f("pk_refit"), type_="primary")
        table.create_primary_key(op.f("pk_refit"), list(columns))


def _times(old: str, new: str, rule: str) -> None:
    with op.batch_alter_table("refit") as table:
        table.drop_constraint(op.f(f"ck_refit_times_{old}"), type_="check")
        table.create_check_constraint(op.f(f"ck_refit_times_{new}"), sa.text(rule))
