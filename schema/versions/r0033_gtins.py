"""Numbers by which packets of items are scanned.

Revision: 0033, after 0032
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0033"
down_revision = "0032"
branch_labels = None
depends_on = None

# Who may read items may read by which numbers they are scanned; who keeps them keeps these.
_GRANT = """
DO $$
DECLARE granted record;
BEGIN
  FOR granted IN
    SELECT acl.grantee::regrole::text AS who, acl.privilege_type AS what
    FROM pg_class, aclexplode(relacl) AS acl
    WHERE pg_class.oid = 'item'::regclass AND acl.grantee <> 0
      AND acl.privilege_type IN ('SELECT', 'INSERT', 'UPDATE', 'DELETE')
      AND acl.grantee <> pg_class.relowner
  LOOP
    EXECUTE 'GRANT ' || granted.what || ' ON item_gtin TO ' || granted.who;
  END LOOP;
END $$
"""


def upgrade() -> None:
    op.create_table(
        "item_gtin",
        sa.Column("gtin", sa.String(length=14), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_item_gtin_item_id_item"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("gtin", name=op.f("pk_item_gtin")),
    )
    op.create_index(op.f("ix_item_gtin_item_id"), "item_gtin", ["item_id"])
    if op.get_bind().dialect.name != "sqlite":
        op.execute(_GRANT)


def downgrade() -> None:
    op.drop_table("item_gtin")
