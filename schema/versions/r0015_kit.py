"""The life of a kit: what was lost from it, came back, was lent or set aside; its trays.

Revision: 0015, after 0014

A piece that is gone is told from one that was scrapped when the booking was closed: only what lay
in the kit was there to be fitted. Kits of before have lost nothing that anybody wrote down.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

_KINDS = (
    "'gone', 'drawn', 'returned', 'lent', 'borrowed', 'set aside', 'taken up', 'told used',"
    " 'corrected'"
)
_WHYS = "'lost', 'dropped', 'damaged', 'faulty', 'extra'"
_OF_BOOKING = "EXISTS (SELECT FROM booking WHERE booking.id = {table}.booking_id)"
# A lot of another branch is nobody's own: what is written of a kit is of its own shelves.
_LOT = "(lot_id IS NULL OR EXISTS (SELECT FROM lot WHERE lot.id = kit_event.lot_id))"
# Who may pick may write what became of it: what is new is granted to the same roles.
_GRANT = """
DO $$
DECLARE who text;
BEGIN
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(pg_class.relacl) AS acl
    WHERE pg_class.oid = 'seal_count'::regclass AND acl.privilege_type = 'INSERT'
      AND acl.grantee NOT IN (0, pg_class.relowner)
  LOOP
    EXECUTE 'GRANT SELECT, INSERT ON kit_event TO ' || who;
    EXECUTE 'GRANT USAGE ON SEQUENCE kit_event_id_seq TO ' || who;
    EXECUTE 'GRANT SELECT, INSERT, DELETE ON kit_tray TO ' || who;
    EXECUTE 'GRANT UPDATE (lost) ON promise TO ' || who;
  END LOOP;
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(pg_class.relacl) AS acl
    WHERE pg_class.oid = 'seal_count'::regclass AND acl.privilege_type = 'SELECT'
      AND acl.grantee NOT IN (0, pg_class.relowner)
  LOOP
    EXECUTE 'GRANT SELECT ON kit_event, kit_tray TO ' || who;
  END LOOP;
END $$
"""


def _refers(
    table: str, column: str, to: str, ondelete: str = "RESTRICT"
) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}_{to}")
    return sa.ForeignKeyConstraint([column], [f"{to}.id"], name=name, ondelete=ondelete)


def upgrade() -> None:
    # With its own check: SQLite drops a column together with a check of that column alone.
    op.execute(
        "ALTER TABLE promise ADD COLUMN lost BIGINT DEFAULT 0 NOT NULL"
        " CONSTRAINT ck_promise_lost_of_picked"
        " CHECK (lost >= 0 AND used + returned + scrapped + lost <= picked)"
    )
    op.create_table(
        "kit_event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=True),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.Column("quantity", sa.BigInteger(), nullable=True),
        sa.Column("in_kit", sa.BigInteger(), nullable=True),
        sa.Column("other_id", sa.Integer(), nullable=True),
        sa.Column("why", sa.String(length=20), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("told_by", sa.String(length=200), nullable=True),
        sa.Column("place", sa.String(length=200), nullable=True),
        sa.Column("until", sa.Date(), nullable=True),
        sa.CheckConstraint(f"kind IN ({_KINDS})", name=op.f("ck_kit_event_kind_known")),
        sa.CheckConstraint(f"why IN ({_WHYS})", name=op.f("ck_kit_event_why_known")),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_kit_event_quantity_positive")),
        sa.CheckConstraint("in_kit >= 0", name=op.f("ck_kit_event_in_kit_not_negative")),
        sa.CheckConstraint(
            "kind <> 'gone' OR (item_id IS NOT NULL AND lot_id IS NOT NULL"
            " AND quantity IS NOT NULL AND why IS NOT NULL)",
            name=op.f("ck_kit_event_gone_is_told"),
        ),
        sa.CheckConstraint(
            "kind <> 'set aside' OR place IS NOT NULL",
            name=op.f("ck_kit_event_set_aside_somewhere"),
        ),
        _refers("kit_event", "booking_id", "booking", "CASCADE"),
        _refers("kit_event", "item_id", "item"),
        _refers("kit_event", "lot_id", "lot"),
        _refers("kit_event", "other_id", "booking"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kit_event")),
    )
    for column in ("booking_id", "item_id", "lot_id", "other_id"):
        op.create_index(op.f(f"ix_kit_event_{column}"), "kit_event", [column])
    op.create_table(
        "kit_tray",
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("joint", sa.String(length=200), nullable=False),
        sa.Column("tray", sa.Integer(), nullable=False),
        sa.CheckConstraint("tray > 0", name=op.f("ck_kit_tray_tray_positive")),
        _refers("kit_tray", "booking_id", "booking", "CASCADE"),
        sa.PrimaryKeyConstraint("booking_id", "joint", name=op.f("pk_kit_tray")),
    )
    if op.get_bind().dialect.name == "postgresql":
        checked = {"kit_event": f" WITH CHECK ({{own}} AND {_LOT})", "kit_tray": ""}
        for table, more in checked.items():
            own = _OF_BOOKING.format(table=table)
            op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
            op.execute(f"CREATE POLICY own ON {table} FOR ALL USING ({own}){more.format(own=own)}")
        op.execute(_GRANT)


def downgrade() -> None:
    op.drop_table("kit_tray")
    op.drop_table("kit_event")
    # For the former program what is gone was scrapped.
    op.execute("UPDATE promise SET scrapped = scrapped + lost, lost = 0")
    op.execute("ALTER TABLE promise DROP COLUMN lost")
