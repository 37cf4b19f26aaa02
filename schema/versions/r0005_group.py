"""A group on one server: who works for which branch, rows kept apart, requests done once.

Revision: 0005, after 0004

On PostgreSQL every table whose rows belong to a branch gets row-level security. It binds every
login but the owner of the tables (and superusers), so a database with one login works as before.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

# Evaluated once per statement (an InitPlan), not once per row.
_OWN = "= ANY ((SELECT own_branches())::integer[])"
_OF_BOOKING = "EXISTS (SELECT FROM booking WHERE booking.id = {table}.booking_id)"
_LOT = "EXISTS (SELECT FROM lot WHERE lot.id = {table}.lot_id)"
_LINE = "EXISTS (SELECT FROM order_line WHERE order_line.id = {table}.order_line_id)"

# (table, command, what is seen or may be changed, what may be written). A row that hangs on a
# parent is seen with it: the parent's own policy holds inside the EXISTS.
_POLICIES: tuple[tuple[str, str, str | None, str | None], ...] = (
    *((table, "ALL", f"branch_id {_OWN}", None) for table in ("lot", "booking", "purchase_order")),
    ("handled", "ALL", f"branch_id {_OWN}", None),
    *(
        (table, "ALL", _OF_BOOKING, None)
        for table in (
            "booking_job",
            "booking_licence",
            "booking_clash",
            "booking_need",
            "seal_count",
        )
    ),
    # What is promised lies in the own branch or comes to it.
    (
        "promise",
        "ALL",
        _OF_BOOKING,
        f"{_OF_BOOKING} AND (lot_id IS NULL OR {_LOT}) AND (order_line_id IS NULL OR {_LINE})",
    ),
    (
        "order_line",
        "ALL",
        "EXISTS (SELECT FROM purchase_order WHERE purchase_order.id = {table}.order_id)",
        None,
    ),
    ("receipt", "ALL", _LINE, None),
    ("movement", "SELECT", _LOT, None),
    ("movement", "INSERT", None, f"{_LOT} AND (booking_id IS NULL OR {_OF_BOOKING})"),
    # Both ends see what is on the way; who sent it may not say that it arrived.
    ("transfer", "SELECT", f"from_branch_id {_OWN} OR to_branch_id {_OWN}", None),
    (
        "transfer",
        "INSERT",
        None,
        f"from_branch_id {_OWN} AND arrived_at IS NULL"
        " AND EXISTS (SELECT FROM lot WHERE lot.id = {table}.from_lot_id)",
    ),
    (
        "transfer",
        "UPDATE",
        f"to_branch_id {_OWN} AND arrived_at IS NULL",
        f"to_branch_id {_OWN} AND arrived_at IS NOT NULL",
    ),
    # Findings of before, which no booking here made, are knowledge of the whole group.
    ("finding", "SELECT", f"booking_id IS NULL OR {_OF_BOOKING}", None),
    ("finding", "INSERT", None, _OF_BOOKING),
    ("finding", "DELETE", _OF_BOOKING, None),
    ("branch_member", "SELECT", "login = current_user", None),
)

# Every function that runs with the owner's rights has a fixed search path, the temporary schema
# last: nobody can slip a table of his own under it.
_FUNCTIONS = (
    # Inside such a function current_user is the owner; this is who asked, SET ROLE respected.
    """
CREATE FUNCTION asking_login() RETURNS text LANGUAGE sql STABLE
SET search_path = {schema}, pg_temp AS
$$ SELECT CASE current_setting('role') WHEN 'none' THEN session_user::text
   ELSE current_setting('role') END $$
""",
    """
CREATE FUNCTION own_branches() RETURNS integer[] LANGUAGE sql STABLE SECURITY DEFINER
SET search_path = {schema}, pg_temp AS
$$ SELECT coalesce(array_agg(branch_id), '{{}}') FROM branch_member
   WHERE login = asking_login() $$
""",
    # Numbers are drawn for the whole group, of which a branch sees only its own part.
    """
CREATE FUNCTION newest_id(of_table text) RETURNS integer LANGUAGE sql STABLE SECURITY DEFINER
SET search_path = {schema}, pg_temp AS
$$ SELECT CASE of_table
   WHEN 'booking' THEN (SELECT max(id) FROM booking)
   WHEN 'purchase_order' THEN (SELECT max(id) FROM purchase_order) END $$
""",
    # What is sent arrives in the same lot of another branch, made if need be, with nothing in it.
    """
CREATE FUNCTION lot_in_branch(origin integer, target integer, received date)
RETURNS TABLE (there integer, looked_over boolean) LANGUAGE plpgsql SECURITY DEFINER
SET search_path = {schema}, pg_temp AS
$$
DECLARE here lot%ROWTYPE;
BEGIN
  SELECT * INTO here FROM lot WHERE id = origin;
  IF NOT FOUND OR NOT (
    here.branch_id = ANY (own_branches())
    OR pg_has_role(asking_login(), (SELECT relowner FROM pg_class WHERE oid = 'lot'::regclass), 'USAGE')
  ) THEN
    RAISE insufficient_privilege USING MESSAGE = 'row-level security: the lot is of another branch';
  END IF;
  INSERT INTO lot (branch_id, item_id, code, bin, made_on, expires_on, opened_on, received_on,
                   on_hand, promised, held, inspected_on, inspection)
  VALUES (target, here.item_id, here.code, here.bin, here.made_on, here.expires_on, here.opened_on,
          received, 0, 0, here.held, here.inspected_on, here.inspection)
  ON CONFLICT (branch_id, item_id, code) DO NOTHING;
  RETURN QUERY SELECT lot.id, lot.inspected_on IS NOT NULL FROM lot
  WHERE lot.branch_id = target AND lot.item_id = here.item_id AND lot.code = here.code;
END $$
""",
)
_SIGNATURES = (
    "lot_in_branch(integer, integer, date)",
    "newest_id(text)",
    "own_branches()",
    "asking_login()",
)


def _branch_column(name: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        sa.Column(name, sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            [name], ["branch.id"], name=op.f(f"fk_transfer_{name}_branch"), ondelete="RESTRICT"
        ),
    )


def _transfer(name: str, *more: sa.Column[int] | sa.ForeignKeyConstraint) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("from_lot_id", sa.Integer(), nullable=False),
        sa.Column("to_lot_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.Column("sent_at", sa.DateTime(), nullable=False),
        sa.Column("due", sa.Date(), nullable=False),
        sa.Column("arrived_at", sa.DateTime(), nullable=True),
        *more,
        sa.CheckConstraint("from_lot_id <> to_lot_id", name=op.f("ck_transfer_two_lots")),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_transfer_quantity_positive")),
        sa.ForeignKeyConstraint(
            ["from_lot_id"],
            ["lot.id"],
            name=op.f("fk_transfer_from_lot_id_lot"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["to_lot_id"], ["lot.id"], name=op.f("fk_transfer_to_lot_id_lot"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_transfer")),
    )


_BRANCHES = (
    "(SELECT branch_id FROM lot WHERE lot.id = from_lot_id),"
    " (SELECT branch_id FROM lot WHERE lot.id = to_lot_id)"
)
_PLAIN = "id, from_lot_id, to_lot_id, quantity, sent_at, due, arrived_at"


def _ends_of_transfers() -> None:
    """Each end names its branch: who sees only one of the two lots still knows the other end."""
    if op.get_bind().dialect.name == "sqlite":
        # SQLite adds no NOT NULL column that refers to something; nothing refers to this table.
        _transfer(
            "transfer_new", *_branch_column("from_branch_id"), *_branch_column("to_branch_id")
        )
        op.execute(
            f"INSERT INTO transfer_new ({_PLAIN}, from_branch_id, to_branch_id)"  # noqa: S608
            f" SELECT {_PLAIN}, {_BRANCHES} FROM transfer"
        )
        op.drop_table("transfer")
        op.rename_table("transfer_new", "transfer")
        return
    for name in ("from_branch_id", "to_branch_id"):
        op.execute(
            f"ALTER TABLE transfer ADD COLUMN {name} INTEGER CONSTRAINT fk_transfer_{name}_branch"
            " REFERENCES branch (id) ON DELETE RESTRICT"
        )
    op.execute(
        f"UPDATE transfer SET (from_branch_id, to_branch_id) = (SELECT {_BRANCHES})"  # noqa: S608
    )
    for name in ("from_branch_id", "to_branch_id"):
        op.execute(f"ALTER TABLE transfer ALTER COLUMN {name} SET NOT NULL")


def _of_branch(table: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        sa.Column("branch_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["branch_id"],
            ["branch.id"],
            name=op.f(f"fk_{table}_branch_id_branch"),
            ondelete="CASCADE",
        ),
    )


def upgrade() -> None:
    op.create_table(
        "branch_member",
        sa.Column("login", sa.String(length=63), nullable=False),
        *_of_branch("branch_member"),
        sa.PrimaryKeyConstraint("login", "branch_id", name=op.f("pk_branch_member")),
    )
    op.create_index(op.f("ix_branch_member_branch_id"), "branch_member", ["branch_id"])
    op.create_table(
        "handled",
        sa.Column("token", sa.String(length=40), nullable=False),
        *_of_branch("handled"),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("told", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("token", name=op.f("pk_handled")),
    )
    op.create_index(op.f("ix_handled_branch_id"), "handled", ["branch_id"])
    _ends_of_transfers()
    if op.get_bind().dialect.name == "sqlite":
        return
    schema = op.get_bind().scalar(sa.text("SELECT quote_ident(current_schema())"))
    for function in _FUNCTIONS:
        op.execute(function.format(schema=schema))
    for signature in _SIGNATURES:
        op.execute(f"REVOKE ALL ON FUNCTION {signature} FROM PUBLIC")
    for table in dict.fromkeys(table for table, *_ in _POLICIES):
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
    for table, command, using, check in _POLICIES:
        name = "own" if command == "ALL" else f"own_{command.lower()}"
        op.execute(
            f"CREATE POLICY {name} ON {table} FOR {command}"
            + (f" USING ({using.format(table=table)})" if using else "")
            + (f" WITH CHECK ({check.format(table=table)})" if check else "")
        )


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        _transfer("transfer_old")
        op.execute(f"INSERT INTO transfer_old ({_PLAIN}) SELECT {_PLAIN} FROM transfer")  # noqa: S608
        op.drop_table("transfer")
        op.rename_table("transfer_old", "transfer")
    else:
        for table in dict.fromkeys(table for table, *_ in _POLICIES):
            for command in ("", "_select", "_insert", "_update", "_delete"):
                op.execute(f"DROP POLICY IF EXISTS own{command} ON {table}")
            # Made by 'kitting group roles' beside those above.
            op.execute(f"DROP POLICY IF EXISTS keeper_insert ON {table}")
            op.execute(f"ALTER TABLE {table} DISABLE ROW LEVEL SECURITY")
        for signature in _SIGNATURES:
            op.execute(f"DROP FUNCTION {signature}")
        for name in ("from_branch_id", "to_branch_id"):
            op.execute(f"ALTER TABLE transfer DROP COLUMN {name}")
    op.drop_table("handled")
    op.drop_table("branch_member")
