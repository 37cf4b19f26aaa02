"""Photos of parts that were noted at a car; what else people call any word of the vocabulary.

Revision: 0036, after 0035
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0036"
down_revision = "0035"
branch_labels = None
depends_on = None

_ONE_THING = "ck_photo_of_one_thing"
_NOTED = "fk_photo_found_part_id_found_part"
_CALLED = ("kind", "fluid", "system", "caution", "licence", "general_tool")

# Who may read or keep words of one table may read or keep those of the other.
_GRANT = """
DO $$
DECLARE granted record;
BEGIN
  FOR granted IN
    SELECT acl.grantee::regrole::text AS who, acl.privilege_type AS what
    FROM pg_class, aclexplode(relacl) AS acl
    WHERE pg_class.oid = '{former}'::regclass AND acl.grantee <> 0
      AND acl.privilege_type IN ('SELECT', 'INSERT', 'UPDATE', 'DELETE')
      AND acl.grantee <> pg_class.relowner
  LOOP
    EXECUTE 'GRANT ' || granted.what || ' ON {table} TO ' || granted.who;
    {more}
  END LOOP;
END $$
"""
_NUMBERS = """
    IF granted.what = 'INSERT' THEN
      EXECUTE 'GRANT USAGE ON SEQUENCE other_word_id_seq TO ' || granted.who;
    END IF;
"""


def _one_of(*columns: str) -> str:
    """That exactly one of some columns is given."""
    return " + ".join(f"(CASE WHEN {c} IS NULL THEN 0 ELSE 1 END)" for c in columns) + " = 1"


def _owned(table: str, owner: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [f"{owner}_id"],
        [f"{owner}.id"],
        name=op.f(f"fk_{table}_{owner}_id_{owner}"),
        ondelete="CASCADE",
    )


def _grant(former: str, table: str, more: str = "") -> None:
    if op.get_bind().dialect.name != "sqlite":
        op.execute(_GRANT.format(former=former, table=table, more=more))


def upgrade() -> None:
    with op.batch_alter_table("photo") as table:
        table.add_column(sa.Column("found_part_id", sa.Integer(), nullable=True))
        table.create_foreign_key(
            op.f(_NOTED), "found_part", ["found_part_id"], ["id"], ondelete="CASCADE"
        )
        table.drop_constraint(op.f(_ONE_THING), type_="check")
        table.create_check_constraint(
            op.f(_ONE_THING), sa.text(_one_of("item", "joint", "found_part_id"))
        )
        table.create_index(op.f("ix_photo_found_part_id"), ["found_part_id"])
    owners = [f"{one}_id" for one in _CALLED]
    op.create_table(
        "other_word",
        sa.Column("id", sa.Integer(), nullable=False),
        *(sa.Column(owner, sa.Integer(), nullable=True) for owner in owners),
        sa.Column("word", sa.String(length=200), nullable=False),
        sa.CheckConstraint(_one_of(*owners), name=op.f("ck_other_word_of_one_thing")),
        *(_owned("other_word", one) for one in _CALLED),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_other_word")),
        *(
            sa.UniqueConstraint(owner, "word", name=op.f(f"uq_other_word_{owner}_word"))
            for owner in owners
        ),
    )
    op.execute("INSERT INTO other_word (kind_id, word) SELECT kind_id, word FROM kind_word")
    _grant("kind_word", "other_word", _NUMBERS)
    op.drop_table("kind_word")


def downgrade() -> None:
    # The former program knows no photo of a note, and what else people call kinds only.
    op.create_table(
        "kind_word",
        sa.Column("kind_id", sa.Integer(), nullable=False),
        sa.Column("word", sa.String(length=200), nullable=False),
        _owned("kind_word", "kind"),
        sa.PrimaryKeyConstraint("kind_id", "word", name=op.f("pk_kind_word")),
    )
    op.execute(
        "INSERT INTO kind_word (kind_id, word)"
        " SELECT kind_id, word FROM other_word WHERE kind_id IS NOT NULL"
    )
    _grant("other_word", "kind_word")
    op.drop_table("other_word")
    op.execute("DELETE FROM photo WHERE found_part_id IS NOT NULL")
    with op.batch_alter_table("photo") as table:
        table.drop_index(op.f("ix_photo_found_part_id"))
        table.drop_constraint(op.f(_ONE_THING), type_="check")
        table.create_check_constraint(
            op.f(_ONE_THING), sa.text("(item IS NULL) <> (joint IS NULL)")
        )
        table.drop_constraint(op.f(_NOTED), type_="foreignkey")
        table.drop_column("found_part_id")
