"""Addresses of branches and suppliers, and the account number that a supplier gave.

Revision: 0038, after 0037
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0038"
down_revision = "0037"
branch_labels = None
depends_on = None

_COLUMNS = (
    ("branch", "address", sa.Text()),
    ("branch", "invoice_address", sa.Text()),
    ("supplier", "address", sa.Text()),
    ("supplier", "account", sa.String(length=200)),
)


def upgrade() -> None:
    for table, column, kind in _COLUMNS:
        op.add_column(table, sa.Column(column, kind, nullable=True))


def downgrade() -> None:
    for table, column, _ in reversed(_COLUMNS):
        op.drop_column(table, column)
