"""A kit that lies in another branch or a van than that of its booking.

Revision: 0026, after 0025
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None

_FORMER = (
    "gone", "drawn", "returned", "lent", "borrowed", "set aside", "taken up", "told used",
    "corrected",
)  # fmt: skip
_PLACE = "ck_kit_event_moved_somewhere"


def _kinds(*words: str) -> None:
    """What may happen to a kit. Nothing refers to this table: where it must be, it is copied."""
    listed = ", ".join(f"'{word}'" for word in words)
    with op.batch_alter_table("kit_event") as table:
        table.drop_constraint(op.f("ck_kit_event_kind_known"), type_="check")
        table.create_check_constraint(
            op.f("ck_kit_event_kind_known"), sa.text(f"kind IN ({listed})")
        )


def upgrade() -> None:
    _kinds(*_FORMER, "moved")
    with op.batch_alter_table("kit_event") as table:
        table.create_check_constraint(op.f(_PLACE), sa.text("kind <> 'moved' OR place IS NOT NULL"))


def downgrade() -> None:
    # For the former program every kit lies in the branch of its booking.
    op.execute("DELETE FROM kit_event WHERE kind = 'moved'")
    with op.batch_alter_table("kit_event") as table:
        table.drop_constraint(op.f(_PLACE), type_="check")
    _kinds(*_FORMER)
