"""The language of a branch, and names of items in other languages.

Revision: 0039, after 0038
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0039"
down_revision = "0038"
branch_labels = None
depends_on = None

# Who may read items may read what they are called; who keeps them keeps that too.
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
    EXECUTE 'GRANT ' || granted.what || ' ON item_name TO ' || granted.who;
  END LOOP;
END $$
"""


def upgrade() -> None:
    op.add_column("branch", sa.Column("language", sa.String(length=6), nullable=True))
    op.create_table(
        "item_name",
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("language", sa.String(length=3), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_item_name_item_id_item"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("item_id", "language", name=op.f("pk_item_name")),
    )
    if op.get_bind().dialect.name != "sqlite":
        op.execute(_GRANT)


def downgrade() -> None:
    op.drop_table("item_name")
    op.drop_column("branch", "language")
