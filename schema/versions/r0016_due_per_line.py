"""When a line of an order is due, where its part has a lead time of its own.

Revision: 0016, after 0015

One order of a supplier brings parts of several lead times. Of the lines of former orders, which
were one order for each lead time, the days are those of their order.
"""

from __future__ import annotations

from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE order_line ADD COLUMN due DATE")
    # Written out: both engines take a named CHECK with a new column.
    op.execute(
        "ALTER TABLE order_line ADD COLUMN due_late DATE CONSTRAINT ck_order_line_late_is_later"
        " CHECK ((due IS NULL) = (due_late IS NULL) AND (due IS NULL OR due_late >= due))"
    )


def downgrade() -> None:
    # An order was due when all of it was.
    op.execute(
        "UPDATE purchase_order SET due = (SELECT max(coalesce(order_line.due, purchase_order.due))"
        " FROM order_line WHERE order_line.order_id = purchase_order.id), due_late = (SELECT"
        " max(coalesce(order_line.due_late, purchase_order.due_late)) FROM order_line"
        " WHERE order_line.order_id = purchase_order.id)"
        " WHERE EXISTS (SELECT 1 FROM order_line WHERE order_line.order_id = purchase_order.id"
        " AND order_line.due IS NOT NULL)"
    )
    op.execute("ALTER TABLE order_line DROP COLUMN due_late")
    op.execute("ALTER TABLE order_line DROP COLUMN due")
