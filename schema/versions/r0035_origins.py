"""Who wrote the files that the catalogue was loaded from.

Revision: 0035, after 0034
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0035"
down_revision = "0034"
branch_labels = None
depends_on = None

# Who may read or keep kinds may read or keep who wrote them.
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
    EXECUTE 'GRANT ' || granted.what || ' ON catalogue_origin, origin_of TO ' || granted.who;
    IF granted.what = 'INSERT' THEN
      EXECUTE 'GRANT USAGE ON SEQUENCE catalogue_origin_id_seq TO ' || granted.who;
    END IF;
  END LOOP;
END $$
"""


def upgrade() -> None:
    op.create_table(
        "catalogue_origin",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("version", sa.String(length=200), nullable=True),
        sa.Column("licence", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_catalogue_origin")),
    )
    op.create_table(
        "origin_of",
        sa.Column("section", sa.String(length=40), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("origin_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["origin_id"],
            ["catalogue_origin.id"],
            name=op.f("fk_origin_of_origin_id_catalogue_origin"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("section", "code", name=op.f("pk_origin_of")),
    )
    op.create_index(op.f("ix_origin_of_origin_id"), "origin_of", ["origin_id"])
    if op.get_bind().dialect.name != "sqlite":
        op.execute(_GRANT)


def downgrade() -> None:
    op.drop_table("origin_of")
    op.drop_table("catalogue_origin")
