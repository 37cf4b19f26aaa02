"""Credit notes that were booked wrongly are taken back, and stay on record.

Revision: 0029, after 0028
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0029"
down_revision = "0028"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "credit_undone",
        sa.Column("note_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["note_id"],
            ["credit_note.id"],
            name=op.f("fk_credit_undone_note_id_credit_note"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("note_id", name=op.f("pk_credit_undone")),
    )
    if op.get_bind().dialect.name != "sqlite":
        op.execute("ALTER TABLE credit_undone ENABLE ROW LEVEL SECURITY")
        op.execute(
            "CREATE POLICY own ON credit_undone FOR ALL USING"
            " (EXISTS (SELECT FROM credit_note WHERE credit_note.id = credit_undone.note_id))"
        )


def downgrade() -> None:
    # The former revision knows no credit note that counts as nothing.
    op.execute("DELETE FROM credit_note WHERE id IN (SELECT note_id FROM credit_undone)")
    op.drop_table("credit_undone")
