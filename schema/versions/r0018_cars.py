"""Cars told at the garage, notes on them, and their owners kept apart.

Revision: 0018, after 0017

Until now a car came with a catalogue file. What is told and noted is only added; owners are personal
data, which go when they are to be forgotten: the former revision has no place for any of them.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

_FACTS = "'model', 'VIN', 'build date', 'units', 'equipment'"
_KEPT = ("car_told", "car_note")
_KEEP_SQLITE = """
CREATE TRIGGER {table}_kept_{event} BEFORE {event} ON {table}
BEGIN SELECT RAISE(ABORT, 'what is told of cars is never altered or removed'); END
"""
_REFUSE = """
CREATE FUNCTION refuse_car_change() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'what is told of cars is never altered or removed'; END $$
"""
_KEEP_POSTGRESQL = """
CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION refuse_car_change()
"""
# Who may book tells of cars and calls their owners, who keeps the catalogue tells of cars; others
# read what is no personal data.
_GRANT = """
DO $$
DECLARE who text;
BEGIN
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(pg_class.relacl) AS acl
    WHERE pg_class.oid = 'booking'::regclass AND acl.privilege_type = 'INSERT'
      AND acl.grantee NOT IN (0, pg_class.relowner)
  LOOP
    EXECUTE 'GRANT INSERT ON car_told, car_note TO ' || who;
    EXECUTE 'GRANT USAGE ON SEQUENCE car_told_id_seq, car_note_id_seq, vehicle_id_seq TO ' || who;
    EXECUTE 'GRANT INSERT, UPDATE (model_id, vin, build_date) ON vehicle TO ' || who;
    EXECUTE 'GRANT INSERT, DELETE ON vehicle_unit TO ' || who;
    EXECUTE 'GRANT INSERT, UPDATE (present) ON equipment TO ' || who;
    EXECUTE 'GRANT SELECT, INSERT, UPDATE, DELETE ON car_owner TO ' || who;
  END LOOP;
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(pg_class.relacl) AS acl
    WHERE pg_class.oid = 'vehicle'::regclass AND acl.privilege_type = 'SELECT'
      AND acl.grantee NOT IN (0, pg_class.relowner)
  LOOP
    EXECUTE 'GRANT SELECT ON car_told, car_note TO ' || who;
  END LOOP;
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_class, aclexplode(pg_class.relacl) AS acl
    WHERE pg_class.oid = 'vehicle'::regclass AND acl.privilege_type = 'DELETE'
      AND acl.grantee NOT IN (0, pg_class.relowner)
  LOOP
    EXECUTE 'GRANT INSERT, UPDATE, DELETE ON car_told, car_note TO ' || who;
    EXECUTE 'GRANT USAGE ON SEQUENCE car_told_id_seq, car_note_id_seq TO ' || who;
  END LOOP;
END $$
"""


def _vehicle(table: str, ondelete: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_vehicle_id_vehicle")
    return sa.ForeignKeyConstraint(["vehicle_id"], ["vehicle.id"], name=name, ondelete=ondelete)


def upgrade() -> None:
    op.create_table(
        "car_told",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("told_by", sa.String(length=200), nullable=True),
        sa.Column("fact", sa.String(length=20), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=True),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=True),
        sa.CheckConstraint(f"fact IN ({_FACTS})", name=op.f("ck_car_told_fact_known")),
        _vehicle("car_told", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_car_told")),
    )
    op.create_table(
        "car_note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("told_by", sa.String(length=200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        _vehicle("car_note", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_car_note")),
    )
    op.create_table(
        "car_owner",
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("telephone", sa.String(length=200), nullable=True),
        sa.Column("at", sa.DateTime(), nullable=False),
        _vehicle("car_owner", "CASCADE"),
        sa.PrimaryKeyConstraint("vehicle_id", name=op.f("pk_car_owner")),
    )
    for table in _KEPT:
        op.create_index(op.f(f"ix_{table}_vehicle_id"), table, ["vehicle_id"])
    if op.get_bind().dialect.name == "sqlite":
        for table in _KEPT:
            for event in ("UPDATE", "DELETE"):
                op.execute(_KEEP_SQLITE.format(table=table, event=event))
        return
    op.execute(_REFUSE)
    for table in _KEPT:
        op.execute(_KEEP_POSTGRESQL.format(table=table))
    op.execute(_GRANT)


def downgrade() -> None:
    for table in ("car_owner", *reversed(_KEPT)):
        op.drop_table(table)
    if op.get_bind().dialect.name != "sqlite":
        op.execute("DROP FUNCTION refuse_car_change()")
