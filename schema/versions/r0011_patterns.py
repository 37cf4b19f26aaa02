"""What tightening is checked by: from where holes are seen, the classes of a kind, laying speeds.

Revision: 0011, after 0010

A drawing from above is mirrored from below, so that a joint may say from where its holes are seen.
A kind of fastener may say between which property classes it is made: a figure is checked by them
where the item states none. A product may state how fast its bead is laid, and at what
temperature its times hold.
"""

from __future__ import annotations

from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

_CLASSES = "'4.6', '4.8', '5.6', '5.8', '6.8', '8.8', '9.8', '10.9', '12.9'"
# Each with its own check: SQLite drops a column together with a check of that column alone.
_COLUMNS = (
    ("joint", "seen_from", "VARCHAR(200)"),
    (
        "kind",
        "weakest_class",
        f"VARCHAR(20) CONSTRAINT ck_kind_weakest_class_known CHECK (weakest_class IN ({_CLASSES}))",
    ),
    (
        "kind",
        "strongest_class",
        "VARCHAR(20) CONSTRAINT ck_kind_strongest_class_known"
        f" CHECK (strongest_class IN ({_CLASSES}))",
    ),
    (
        "item",
        "laying_speed",
        "INTEGER CONSTRAINT ck_item_laying_speed_positive CHECK (laying_speed > 0)",
    ),
    ("item", "times_celsius", "INTEGER"),
)


def upgrade() -> None:
    for table, column, kind in _COLUMNS:
        op.execute(f"ALTER TABLE {table} ADD COLUMN {column} {kind}")


def downgrade() -> None:
    for table, column, _ in reversed(_COLUMNS):
        op.execute(f"ALTER TABLE {table} DROP COLUMN {column}")
