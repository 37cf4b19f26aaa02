"""Parts as they were found while a car was stripped.

Revision: 0031, after 0030
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0031"
down_revision = "0030"
branch_labels = None
depends_on = None

# Who may write a note on a car may note what was found on one.
_GRANT = """
DO $$
DECLARE who text;
BEGIN
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(relacl) AS acl
    WHERE pg_class.oid = 'car_note'::regclass AND acl.privilege_type = 'SELECT'
      AND acl.grantee <> 0
  LOOP
    EXECUTE 'GRANT SELECT ON found_part TO ' || who;
  END LOOP;
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(relacl) AS acl
    WHERE pg_class.oid = 'car_note'::regclass AND acl.privilege_type = 'INSERT'
      AND acl.grantee <> 0
  LOOP
    EXECUTE 'GRANT INSERT ON found_part TO ' || who;
    EXECUTE 'GRANT UPDATE (taken_back) ON found_part TO ' || who;
    EXECUTE 'GRANT USAGE ON SEQUENCE found_part_id_seq TO ' || who;
  END LOOP;
END $$
"""


def upgrade() -> None:
    op.create_table(
        "found_part",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("registration", sa.String(length=40), nullable=False),
        sa.Column("registration_key", sa.String(length=40), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("told_by", sa.String(length=200), nullable=True),
        sa.Column("joint", sa.String(length=200), nullable=False),
        sa.Column("position", sa.String(length=200), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=True),
        sa.Column("count", sa.Integer(), nullable=True),
        sa.Column("thread", sa.String(length=40), nullable=True),
        sa.Column("head", sa.String(length=200), nullable=True),
        sa.Column("figure", sa.Text(), nullable=True),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("size", sa.String(length=200), nullable=True),
        sa.Column("seen", sa.Text(), nullable=True),
        sa.Column("taken_back", sa.DateTime(), nullable=True),
        sa.CheckConstraint("count > 0", name=op.f("ck_found_part_count_positive")),
        sa.CheckConstraint(
            "figure IS NULL OR source IS NOT NULL", name=op.f("ck_found_part_figure_has_source")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_found_part")),
    )
    op.create_index(op.f("ix_found_part_registration_key"), "found_part", ["registration_key"])
    if op.get_bind().dialect.name != "sqlite":
        op.execute(_GRANT)


def downgrade() -> None:
    op.drop_table("found_part")
