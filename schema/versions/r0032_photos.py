"""Photos of items, joints and positions.

Revision: 0032, after 0031
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0032"
down_revision = "0031"
branch_labels = None
depends_on = None

# Who may note what was found at a car may add a photo, and remove one.
_GRANT = """
DO $$
DECLARE who text;
BEGIN
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(relacl) AS acl
    WHERE pg_class.oid = 'found_part'::regclass AND acl.privilege_type = 'SELECT'
      AND acl.grantee <> 0
  LOOP
    EXECUTE 'GRANT SELECT ON photo TO ' || who;
  END LOOP;
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(relacl) AS acl
    WHERE pg_class.oid = 'found_part'::regclass AND acl.privilege_type = 'INSERT'
      AND acl.grantee <> 0
  LOOP
    EXECUTE 'GRANT INSERT, DELETE ON photo TO ' || who;
    EXECUTE 'GRANT USAGE ON SEQUENCE photo_id_seq TO ' || who;
  END LOOP;
END $$
"""


def upgrade() -> None:
    op.create_table(
        "photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item", sa.String(length=40), nullable=True),
        sa.Column("unit", sa.String(length=40), nullable=True),
        sa.Column("joint", sa.String(length=40), nullable=True),
        sa.Column("position", sa.String(length=200), nullable=True),
        sa.Column("caption", sa.String(length=200), nullable=True),
        sa.Column("told_by", sa.String(length=200), nullable=True),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("jpeg", sa.LargeBinary(), nullable=False),
        sa.CheckConstraint("(item IS NULL) <> (joint IS NULL)", name=op.f("ck_photo_of_one_thing")),
        sa.CheckConstraint(
            "(joint IS NULL) = (unit IS NULL)", name=op.f("ck_photo_joint_of_a_unit")
        ),
        sa.CheckConstraint(
            "position IS NULL OR joint IS NOT NULL", name=op.f("ck_photo_position_of_a_joint")
        ),
        sa.CheckConstraint("width > 0", name=op.f("ck_photo_width_positive")),
        sa.CheckConstraint("height > 0", name=op.f("ck_photo_height_positive")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
    )
    op.create_index(op.f("ix_photo_item"), "photo", ["item"])
    op.create_index(op.f("ix_photo_unit_joint"), "photo", ["unit", "joint"])
    if op.get_bind().dialect.name != "sqlite":
        op.execute(_GRANT)


def downgrade() -> None:
    op.drop_table("photo")
