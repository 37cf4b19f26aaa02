"""What a branch judges and counts by: its currency, its table of storage life; a booking's own.

Revision: 0007, after 0006

The storage-life policy belongs to the branch, and may be set for one booking: passed from command to
command it was lost on the way. So does the currency in which a branch plans and counts.
"""

from __future__ import annotations

from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

_POLICY = "CONSTRAINT ck_{table}_shelf_policy_known CHECK (shelf_policy IN ({words}))"
_WORDS = "'ISO 2230', 'ARP5316', 'packet'"

# Written out: both engines take a named CHECK with a new column, and SQLite need not rebuild tables
# that others refer to.
_COLUMNS = (
    (
        "branch",
        "currency VARCHAR(3) DEFAULT 'GBP' NOT NULL"
        " CONSTRAINT ck_branch_currency_iso_4217 CHECK (length(currency) = 3)",
    ),
    (
        "branch",
        "shelf_policy VARCHAR(20) DEFAULT 'ISO 2230' NOT NULL "
        + _POLICY.format(table="branch", words=_WORDS),
    ),
    ("booking", "shelf_policy VARCHAR(20) " + _POLICY.format(table="booking", words=_WORDS)),
)


def upgrade() -> None:
    op.execute("ALTER TABLE handled RENAME COLUMN told TO answer")
    for table, column in _COLUMNS:
        op.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
    # Suppliers that all count in one currency say what the branches count in.
    op.execute(
        "UPDATE branch SET currency = (SELECT min(currency) FROM supplier)"
        " WHERE (SELECT count(DISTINCT currency) FROM supplier) = 1"
    )


def downgrade() -> None:
    for table, column in reversed(_COLUMNS):
        op.execute(f"ALTER TABLE {table} DROP COLUMN {column.split()[0]}")
    op.execute("ALTER TABLE handled RENAME COLUMN answer TO told")
