"""What a car weighs, with what that is of it, and what a ramp lifts.

Revision: 0028, after 0027
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0028"
down_revision = "0027"
branch_labels = None
depends_on = None

_FACTS = "'model', 'VIN', 'build date', 'units', 'equipment'"
_KEEP_SQLITE = """
CREATE TRIGGER car_told_kept_{event} BEFORE {event} ON car_told
BEGIN SELECT RAISE(ABORT, 'what is told of cars is never altered or removed'); END
"""
_EVENTS = ("UPDATE", "DELETE")
# Who may tell of a car when it was built may tell what it weighs.
_GRANT = """
DO $$
DECLARE who text;
BEGIN
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_attribute, aclexplode(pg_attribute.attacl) AS acl
    WHERE attrelid = 'vehicle'::regclass AND attname = 'build_date'
      AND acl.privilege_type = 'UPDATE' AND acl.grantee <> 0
  LOOP
    EXECUTE 'GRANT UPDATE (weight, weight_is) ON vehicle TO ' || who;
  END LOOP;
END $$
"""


def _sqlite() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def _facts(known: str, before: str = "") -> None:
    """What may be told of a car. SQLite copies the table for it, which drops what guards it."""
    if _sqlite():
        for event in _EVENTS:
            op.execute(f"DROP TRIGGER car_told_kept_{event}")
    else:
        op.execute("ALTER TABLE car_told DISABLE TRIGGER car_told_kept")
    if before:
        op.execute(before)
    with op.batch_alter_table("car_told") as table:
        table.drop_constraint(op.f("ck_car_told_fact_known"), type_="check")
        table.create_check_constraint(op.f("ck_car_told_fact_known"), sa.text(f"fact IN ({known})"))
    if _sqlite():
        for event in _EVENTS:
            op.execute(_KEEP_SQLITE.format(event=event))
    else:
        op.execute("ALTER TABLE car_told ENABLE TRIGGER car_told_kept")


def upgrade() -> None:
    # Written out: a batch would copy the table, and other rows refer to it.
    op.execute(
        "ALTER TABLE vehicle ADD COLUMN weight BIGINT"
        " CONSTRAINT ck_vehicle_weight_positive CHECK (weight > 0)"
    )
    op.execute(
        "ALTER TABLE vehicle ADD COLUMN weight_is VARCHAR(20)"
        " CONSTRAINT ck_vehicle_weight_is_known CHECK (weight_is IN ('kerb', 'as it stands'))"
        " CONSTRAINT ck_vehicle_weight_of_something"
        " CHECK ((weight IS NULL) = (weight_is IS NULL))"
    )
    op.execute(
        "ALTER TABLE ramp ADD COLUMN lifts BIGINT"
        " CONSTRAINT ck_ramp_lifts_positive CHECK (lifts > 0)"
    )
    _facts(f"{_FACTS}, 'weight'")
    if not _sqlite():
        op.execute(_GRANT)


def downgrade() -> None:
    _facts(_FACTS, "DELETE FROM car_told WHERE fact = 'weight'")
    op.execute("ALTER TABLE ramp DROP COLUMN lifts")
    op.execute("ALTER TABLE vehicle DROP COLUMN weight_is")
    op.execute("ALTER TABLE vehicle DROP COLUMN weight")
