"""What bars a part from going back: rules by medium, licences by system, a reason for a variant.

Revision: 0008, after 0007

An own fluid that is petrol is barred as petrol is, so a rule may name the medium. The licence for
work follows the system of the joint, as cautions do. A variant that what is known of the car
speaks against is recorded with the reason only.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

_FORMERLY_PLAIN = "fluid_id IS NULL AND system_id IS NULL"
_PLAIN = "fluid_id IS NULL AND medium IS NULL AND system_id IS NULL"


def upgrade() -> None:
    op.add_column("kind_rule", sa.Column("medium", sa.String(length=40), nullable=True))
    op.add_column("settled_variant", sa.Column("reason", sa.Text(), nullable=True))
    _plain_rules_unique_where(_PLAIN)
    # Policy is numbered by itself, so that it stays where the general rules change.
    op.execute("UPDATE kind_rule SET seq = seq + 10000 WHERE source = 'workshop'")
    op.create_table(
        "system_licence",
        sa.Column("system_id", sa.Integer(), nullable=False),
        sa.Column("licence_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["licence_id"],
            ["licence.id"],
            name=op.f("fk_system_licence_licence_id_licence"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["system_id"],
            ["system.id"],
            name=op.f("fk_system_licence_system_id_system"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("system_id", "licence_id", name=op.f("pk_system_licence")),
    )


def downgrade() -> None:
    op.drop_table("system_licence")
    # A rule for a medium cannot be told there: without its medium it would hold for everything.
    op.execute("DELETE FROM kind_rule WHERE medium IS NOT NULL")
    _plain_rules_unique_where(_FORMERLY_PLAIN)
    op.execute("ALTER TABLE settled_variant DROP COLUMN reason")
    op.execute("ALTER TABLE kind_rule DROP COLUMN medium")


def _plain_rules_unique_where(condition: str) -> None:
    op.drop_index("uq_kind_rule_plain", "kind_rule")
    op.create_index(
        "uq_kind_rule_plain",
        "kind_rule",
        ["kind_id", "source"],
        unique=True,
        sqlite_where=sa.text(condition),
        postgresql_where=sa.text(condition),
    )
