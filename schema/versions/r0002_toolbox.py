"""Toolboxes and tools; where fasteners sit and how they are reached.

Revision: 0002, after 0001
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

# Plain ALTER TABLE, the same on both engines: rebuilding a table in SQLite would drop it, and with
# it, by ON DELETE CASCADE, every row that it owns.
_NEW_COLUMNS = (
    "ALTER TABLE fit ADD COLUMN access VARCHAR(20)"
    " CONSTRAINT ck_fit_access_known CHECK (access IN ('open', 'side', 'angled'))",
    "ALTER TABLE fit ADD COLUMN protrusion BIGINT"
    " CONSTRAINT ck_fit_protrusion_positive CHECK (protrusion > 0)",
    "ALTER TABLE fit ADD COLUMN threaded_into VARCHAR(20)"
    " CONSTRAINT ck_fit_threaded_into_known"
    " CHECK (threaded_into IN ('steel', 'aluminium', 'plastic'))",
    "ALTER TABLE joint ADD COLUMN front VARCHAR(200)",
    "ALTER TABLE kind ADD COLUMN general_torque BOOLEAN NOT NULL DEFAULT true",
)


def upgrade() -> None:
    op.create_table(
        "tool_offer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("supplier", sa.String(length=200), nullable=False),
        sa.Column("way", sa.String(length=20), nullable=False),
        sa.Column("price", sa.BigInteger(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.CheckConstraint(
            "way IN ('buy', 'hire', 'borrow')", name=op.f("ck_tool_offer_way_known")
        ),
        sa.CheckConstraint("length(currency) = 3", name=op.f("ck_tool_offer_currency_iso_4217")),
        sa.CheckConstraint("price >= 0", name=op.f("ck_tool_offer_price_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tool_offer")),
        sa.UniqueConstraint("code", name=op.f("uq_tool_offer_code")),
    )
    op.create_table(
        "toolbox",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_toolbox")),
        sa.UniqueConstraint("code", name=op.f("uq_toolbox_code")),
    )
    op.create_table(
        "tool",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("toolbox_id", sa.Integer(), nullable=True),
        sa.Column("offer_id", sa.Integer(), nullable=True),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("sort", sa.String(length=20), nullable=False),
        sa.Column("turns", sa.String(length=20), nullable=True),
        sa.Column("turns_size", sa.String(length=20), nullable=True),
        sa.Column("takes", sa.String(length=20), nullable=True),
        sa.Column("gives", sa.String(length=20), nullable=True),
        sa.Column("length", sa.BigInteger(), nullable=True),
        sa.Column("depth", sa.BigInteger(), nullable=True),
        sa.Column("points", sa.Integer(), nullable=True),
        sa.Column("offset", sa.BigInteger(), nullable=True),
        sa.Column("grip", sa.BigInteger(), nullable=True),
        sa.Column("low", sa.BigInteger(), nullable=True),
        sa.Column("high", sa.BigInteger(), nullable=True),
        sa.Column("torque_unit", sa.String(length=20), nullable=True),
        sa.Column("deviation", sa.BigInteger(), nullable=True),
        sa.Column("clockwise_only", sa.Boolean(), nullable=False),
        sa.Column("calibrated_to", sa.Date(), nullable=True),
        sa.Column("cycles", sa.Integer(), nullable=True),
        sa.Column("general_id", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("lent_to", sa.String(length=200), nullable=True),
        sa.Column("back_on", sa.Date(), nullable=True),
        sa.CheckConstraint(
            "(sort = 'general') = (general_id IS NOT NULL)", name=op.f("ck_tool_general_is_named")
        ),
        sa.CheckConstraint(
            "(state = 'lent') = (lent_to IS NOT NULL)", name=op.f("ck_tool_lent_to_somebody")
        ),
        sa.CheckConstraint(
            "sort IN ('socket', 'bit', 'key', 'crowfoot', 'ratchet', 'bar', 'adaptor', 'extension', 'universal joint', 'torque wrench', 'angle gauge', 'general')",
            name=op.f("ck_tool_sort_known"),
        ),
        sa.CheckConstraint(
            "state IN ('here', 'lent', 'at calibration', 'broken')",
            name=op.f("ck_tool_state_known"),
        ),
        sa.CheckConstraint(
            "torque_unit IN ('N·m', 'lbf·ft', 'lbf·in', 'kgf·m', 'kgf·cm')",
            name=op.f("ck_tool_torque_unit_known"),
        ),
        sa.CheckConstraint(
            "(low IS NULL) = (high IS NULL) AND (low IS NULL) = (torque_unit IS NULL)",
            name=op.f("ck_tool_scale_complete"),
        ),
        sa.CheckConstraint(
            "(toolbox_id IS NULL) <> (offer_id IS NULL)", name=op.f("ck_tool_one_owner")
        ),
        sa.CheckConstraint(
            "(turns IS NULL) = (turns_size IS NULL)", name=op.f("ck_tool_head_complete")
        ),
        sa.CheckConstraint("depth > 0", name=op.f("ck_tool_depth_positive")),
        sa.CheckConstraint("deviation > 0", name=op.f("ck_tool_deviation_positive")),
        sa.CheckConstraint("grip > 0", name=op.f("ck_tool_grip_positive")),
        sa.CheckConstraint("length > 0", name=op.f("ck_tool_length_positive")),
        sa.CheckConstraint("low >= 0 AND low < high", name=op.f("ck_tool_scale_rises")),
        sa.ForeignKeyConstraint(
            ["general_id"],
            ["general_tool.id"],
            name=op.f("fk_tool_general_id_general_tool"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["offer_id"],
            ["tool_offer.id"],
            name=op.f("fk_tool_offer_id_tool_offer"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["toolbox_id"],
            ["toolbox.id"],
            name=op.f("fk_tool_toolbox_id_toolbox"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tool")),
    )
    for name, owner in (("uq_tool_in_box", "toolbox_id"), ("uq_tool_in_offer", "offer_id")):
        here = sa.text(f"{owner} IS NOT NULL")
        op.create_index(
            name, "tool", [owner, "code"], unique=True, sqlite_where=here, postgresql_where=here
        )

    op.create_table(
        "joint_order",
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("hole", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["joint_id"],
            ["joint.id"],
            name=op.f("fk_joint_order_joint_id_joint"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("joint_id", "place", name=op.f("pk_joint_order")),
        sa.UniqueConstraint("joint_id", "hole", name=op.f("uq_joint_order_joint_id_hole")),
    )
    op.create_table(
        "hole",
        sa.Column("fit_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("x", sa.BigInteger(), nullable=False),
        sa.Column("y", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["fit_id"], ["fit.id"], name=op.f("fk_hole_fit_id_fit"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("fit_id", "seq", name=op.f("pk_hole")),
    )
    for statement in _NEW_COLUMNS:
        op.execute(statement)


def downgrade() -> None:
    op.execute("ALTER TABLE kind DROP COLUMN general_torque")
    op.execute("ALTER TABLE joint DROP COLUMN front")
    for column in ("threaded_into", "protrusion", "access"):
        op.execute(f"ALTER TABLE fit DROP COLUMN {column}")
    op.drop_table("hole")
    op.drop_table("joint_order")
    op.drop_table("tool")
    op.drop_table("toolbox")
    op.drop_table("tool_offer")
