"""What else people call kinds.

Revision: 0034, after 0033
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0034"
down_revision = "0033"
branch_labels = None
depends_on = None

# Who may read or keep kinds may read or keep their words.
_GRANT = """
DO $$
DECLARE granted record;
BEGIN
  FOR granted IN
    SELECT acl.grantee::regrole::text AS who, acl.privilege_type AS what
    FROM pg_class, aclexplode(relacl) AS acl
    WHERE pg_class.oid = 'kind'::regclass AND acl.grantee <> 0
      AND acl.privilege_type IN ('SELECT', 'INSERT', 'UPDATE', 'DELETE')
      AND acl.grantee <> pg_class.relowner
  LOOP
    EXECUTE 'GRANT ' || granted.what || ' ON kind_word TO ' || granted.who;
  END LOOP;
END $$
"""


def upgrade() -> None:
    op.create_table(
        "kind_word",
        sa.Column("kind_id", sa.Integer(), nullable=False),
        sa.Column("word", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(
            ["kind_id"], ["kind.id"], name=op.f("fk_kind_word_kind_id_kind"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("kind_id", "word", name=op.f("pk_kind_word")),
    )
    if op.get_bind().dialect.name != "sqlite":
        op.execute(_GRANT)


def downgrade() -> None:
    op.drop_table("kind_word")
