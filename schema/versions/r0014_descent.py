"""The batch of a lot that bears another code, and goods on the way that keep their nature.

Revision: 0014, after 0013

What is left of an opened pack, and what arrives where its code stands for goods of another age,
is a lot of its own: now it tells the code of the lot it came from. Of former remainders that is
known where all their movements name one lot; else it stays open.

On PostgreSQL what is sent finds or makes a lot of the same nature, and who receives it learns
whether it was put on hold meanwhile where it came from.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

_FILL = """
UPDATE lot SET batch = (
  SELECT CASE WHEN count(DISTINCT note) = 1 THEN min(note) END FROM movement
  WHERE movement.lot_id = lot.id AND kind = 'opened' AND quantity > 0
)
WHERE code LIKE '%-OPEN-%' AND EXISTS (
  SELECT 1 FROM lot AS stem JOIN movement ON movement.note = stem.code
  WHERE movement.lot_id = lot.id AND kind = 'opened' AND quantity > 0
    AND stem.branch_id = lot.branch_id AND stem.item_id = lot.item_id
)
"""
_GUARD = """
  IF NOT FOUND OR NOT (
    {branch} = ANY (own_branches())
    OR pg_has_role(asking_login(), (SELECT relowner FROM pg_class WHERE oid = 'lot'::regclass), 'USAGE')
  ) THEN
    RAISE insufficient_privilege USING MESSAGE = 'row-level security: the lot is of another branch';
  END IF;
"""
_HEAD = """
CREATE OR REPLACE FUNCTION lot_in_branch(origin integer, target integer, received date)
RETURNS TABLE (there integer, looked_over boolean) LANGUAGE plpgsql SECURITY DEFINER
SET search_path = {schema}, pg_temp AS
"""
# The twin of `kitting.services.stock.natures.found_or_made`.
_OF_ONE_NATURE = """
{head}
$$
DECLARE here lot%ROWTYPE; found_lot lot%ROWTYPE; stem text; hold text; label text; n integer := 1;
BEGIN
  SELECT * INTO here FROM lot WHERE id = origin;
{guard_sender}
  stem := coalesce(here.batch, here.code);
  SELECT held INTO hold FROM lot
  WHERE branch_id = target AND item_id = here.item_id AND code IN (here.code, stem)
    AND held IS NOT NULL
  ORDER BY id LIMIT 1;
  LOOP
    label := CASE n WHEN 1 THEN here.code ELSE left(here.code, 36) || '-' || n END;
    INSERT INTO lot (branch_id, item_id, code, batch, bin, made_on, expires_on, opened_on,
                     received_on, on_hand, promised, held, inspected_on, inspection)
    VALUES (target, here.item_id, label, CASE n WHEN 1 THEN here.batch ELSE stem END, here.bin,
            here.made_on, here.expires_on, here.opened_on, received, 0, 0,
            coalesce(here.held, hold), here.inspected_on, here.inspection)
    ON CONFLICT (branch_id, item_id, code) DO NOTHING;
    SELECT * INTO found_lot FROM lot
    WHERE branch_id = target AND item_id = here.item_id AND code = label;
    IF coalesce(found_lot.batch, found_lot.code) = stem
       AND (found_lot.made_on, found_lot.expires_on, found_lot.opened_on, found_lot.inspected_on)
           IS NOT DISTINCT FROM (here.made_on, here.expires_on, here.opened_on, here.inspected_on)
       AND (found_lot.held IS NOT NULL OR coalesce(here.held, hold) IS NULL) THEN
      RETURN QUERY SELECT found_lot.id, found_lot.inspected_on IS NOT NULL;
      RETURN;
    END IF;
    n := n + 1;
  END LOOP;
END $$
"""
_BY_CODE = """
{head}
$$
DECLARE here lot%ROWTYPE;
BEGIN
  SELECT * INTO here FROM lot WHERE id = origin;
{guard_sender}
  INSERT INTO lot (branch_id, item_id, code, bin, made_on, expires_on, opened_on, received_on,
                   on_hand, promised, held, inspected_on, inspection)
  VALUES (target, here.item_id, here.code, here.bin, here.made_on, here.expires_on, here.opened_on,
          received, 0, 0, here.held, here.inspected_on, here.inspection)
  ON CONFLICT (branch_id, item_id, code) DO NOTHING;
  RETURN QUERY SELECT lot.id, lot.inspected_on IS NOT NULL FROM lot
  WHERE lot.branch_id = target AND lot.item_id = here.item_id AND lot.code = here.code;
END $$
"""
_HELD = """
CREATE FUNCTION held_at_origin(number integer) RETURNS text LANGUAGE plpgsql STABLE SECURITY DEFINER
SET search_path = {schema}, pg_temp AS
$$
DECLARE sent transfer%ROWTYPE;
BEGIN
  SELECT * INTO sent FROM transfer WHERE id = number;
{guard_receiver}
  RETURN (SELECT held FROM lot WHERE id = sent.from_lot_id);
END $$
"""
# Who may send may receive: what is new is granted to the same roles.
_GRANT = """
DO $$
DECLARE who text;
BEGIN
  FOR who IN
    SELECT acl.grantee::regrole::text FROM pg_proc, aclexplode(pg_proc.proacl) AS acl
    WHERE pg_proc.oid = 'lot_in_branch(integer, integer, date)'::regprocedure
      AND acl.grantee NOT IN (0, pg_proc.proowner)
  LOOP
    EXECUTE 'GRANT EXECUTE ON FUNCTION held_at_origin(integer) TO ' || who;
    EXECUTE 'GRANT UPDATE (to_lot_id) ON transfer TO ' || who;
  END LOOP;
END $$
"""


def _server() -> bool:
    return op.get_bind().dialect.name == "postgresql"


def _make(function: str) -> None:
    schema = op.get_bind().scalar(sa.text("SELECT quote_ident(current_schema())"))
    text = function.format(
        head=_HEAD,
        guard_sender=_GUARD.format(branch="here.branch_id"),
        guard_receiver=_GUARD.format(branch="sent.to_branch_id"),
        schema="{schema}",
    )
    op.execute(text.format(schema=schema))


def upgrade() -> None:
    op.execute("ALTER TABLE lot ADD COLUMN batch VARCHAR(40)")
    op.create_index(op.f("ix_lot_batch"), "lot", ["batch"])
    op.execute(_FILL)
    if _server():
        _make(_OF_ONE_NATURE)
        _make(_HELD)
        op.execute("REVOKE ALL ON FUNCTION held_at_origin(integer) FROM PUBLIC")
        op.execute(_GRANT)


def downgrade() -> None:
    if _server():
        op.execute("DROP FUNCTION held_at_origin(integer)")
        _make(_BY_CODE)
    op.drop_index(op.f("ix_lot_batch"), "lot")
    op.execute("ALTER TABLE lot DROP COLUMN batch")
