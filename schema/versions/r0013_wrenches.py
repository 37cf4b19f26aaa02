"""Which ways a torque wrench measures and its class of ISO 6789; which kinds lock threads.

Revision: 0013, after 0012

A wrench of which nobody stated the direction was kept like one that measures both ways. What was
kept as "not clockwise only" is therefore not stated now: a left-hand thread asks for it.
"""

from __future__ import annotations

from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

_CLASSES = (
    "'I A', 'I B', 'I C', 'I D', 'I E', 'II A', 'II B', 'II C', 'II D', 'II E', 'II F', 'II G'"
)
_NEW = {"wrench_class": _CLASSES, "direction": "'both', 'clockwise'"}


def upgrade() -> None:
    # Written out: both engines take a named CHECK with a new column.
    for column, words in _NEW.items():
        op.execute(
            f"ALTER TABLE tool ADD COLUMN {column} VARCHAR(20)"
            f" CONSTRAINT ck_tool_{column}_known CHECK ({column} IN ({words}))"
        )
    op.execute("UPDATE tool SET direction = 'clockwise' WHERE clockwise_only")
    op.execute("ALTER TABLE tool DROP COLUMN clockwise_only")
    op.execute("ALTER TABLE kind ADD COLUMN locks_threads BOOLEAN DEFAULT FALSE NOT NULL")


def downgrade() -> None:
    op.execute("ALTER TABLE kind DROP COLUMN locks_threads")
    op.execute("ALTER TABLE tool ADD COLUMN clockwise_only BOOLEAN DEFAULT FALSE NOT NULL")
    op.execute("UPDATE tool SET clockwise_only = TRUE WHERE direction = 'clockwise'")
    for column in _NEW:
        op.execute(f"ALTER TABLE tool DROP COLUMN {column}")
