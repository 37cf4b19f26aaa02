"""What a kind has to do with rubber, and refits of positions that a closing renewed.

Revision: 0010, after 0009

A kind that is made of rubber needs its material and its age stated, one that touches rubber its
medium. What was renewed and opened again within a job has gone back since; what was renewed last
has gone back no time.
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
    _times("positive", "not_negative", "times >= 0")
    # Each of them counted its openings, but what was renewed has not gone back.
    op.execute("UPDATE refit SET times = 0 WHERE outcome = 'renewed'")


def downgrade() -> None:
    op.execute("UPDATE refit SET times = 1 WHERE times = 0")
    _times("not_negative", "positive", "times > 0")
    if op.get_bind().dialect.name == "sqlite":
        op.execute("ALTER TABLE kind DROP COLUMN rubber")
    else:
        op.drop_constraint(op.f("ck_kind_rubber_known"), "kind")
        op.drop_column("kind", "rubber")


def _times(old: str, new: str, rule: str) -> None:
    with op.batch_alter_table("refit") as table:
        table.drop_constraint(op.f(f"ck_refit_times_{old}"), type_="check")
        table.create_check_constraint(op.f(f"ck_refit_times_{new}"), sa.text(rule))
