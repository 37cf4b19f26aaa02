"""Time zones of branches and suppliers, and what they state of tax.

Revision: 0022, after 0021

Of former places neither is stated.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

_PLACES = ("branch", "supplier")


def upgrade() -> None:
    for place in _PLACES:
        op.execute(f"ALTER TABLE {place} ADD COLUMN zone VARCHAR(40)")
        tax = f"{place}_tax"
        op.create_table(
            tax,
            sa.Column(f"{place}_id", sa.Integer(), nullable=False),
            sa.Column("valid_from", sa.Date(), nullable=False),
            sa.Column("rate", sa.BigInteger(), nullable=False),
            sa.ForeignKeyConstraint(
                [f"{place}_id"], [f"{place}.id"], name=op.f(f"fk_{tax}_{place}_id_{place}"),
                ondelete="CASCADE",
            ),
            sa.PrimaryKeyConstraint(f"{place}_id", "valid_from", name=op.f(f"pk_{tax}")),
            sa.CheckConstraint(
                "rate BETWEEN 0 AND 100000", name=op.f(f"ck_{tax}_rate_is_share")
            ),
        )  # fmt: skip
    op.execute("ALTER TABLE supplier ADD COLUMN tax_included BOOLEAN")


def downgrade() -> None:
    op.execute("ALTER TABLE supplier DROP COLUMN tax_included")
    for place in _PLACES:
        op.drop_table(f"{place}_tax")
        op.execute(f"ALTER TABLE {place} DROP COLUMN zone")
