"""What touches rubber: media, what stands them, times of sealants, looks that extend storage.

Revision: 0004, after 0003
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

# Plain ALTER TABLE, the same on both engines: rebuilding a table in SQLite would drop it, and with
# it, by ON DELETE CASCADE, every row that it owns. A check of several columns comes with the last.
_NEW_COLUMNS = (
    ("fluid", "medium VARCHAR(40)"),
    ("item", "medium VARCHAR(40)"),
    (
        "item",
        "open_minutes INTEGER CONSTRAINT ck_item_open_minutes_positive CHECK (open_minutes > 0)",
    ),
    (
        "item",
        "cure_minutes INTEGER CONSTRAINT ck_item_cure_minutes_positive CHECK (cure_minutes > 0)",
    ),
    (
        "item",
        "times_source TEXT CONSTRAINT ck_item_times_have_source CHECK"
        " (times_source IS NOT NULL OR (open_minutes IS NULL AND cure_minutes IS NULL))",
    ),
    ("joint", "temperature INTEGER"),
    (
        "joint",
        "temperature_source TEXT CONSTRAINT ck_joint_temperature_has_source CHECK"
        " ((temperature IS NULL) = (temperature_source IS NULL))",
    ),
    (
        "fit",
        "lubricant_source VARCHAR(20) CONSTRAINT ck_fit_lubricant_source_known CHECK"
        " (lubricant_source IN ('maker', 'leaflet', 'workshop'))",
    ),
    (
        "fit",
        "lubricant_reference TEXT CONSTRAINT ck_fit_lubricant_source_complete CHECK"
        " ((lubricant_source IS NULL) = (lubricant_reference IS NULL))",
    ),
    ("lot", "inspected_on DATE"),
    (
        "lot",
        "inspection TEXT CONSTRAINT ck_lot_inspection_complete CHECK"
        " ((inspected_on IS NULL) = (inspection IS NULL))",
    ),
)
_TABLES = (
    "kind_dry",
    "item_medium",
    "fit_fluid",
    "joint_near",
    "model_fluid",
    "vehicle_fluid",
    "booking_clash",
)


def _owner(owner: str, table: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        sa.Column(f"{owner}_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            [f"{owner}_id"],
            [f"{owner}.id"],
            name=op.f(f"fk_{table}_{owner}_id_{owner}"),
            ondelete="CASCADE",
        ),
    )


def _fluid(table: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        sa.Column("fluid_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["fluid_id"], ["fluid.id"], name=op.f(f"fk_{table}_fluid_id_fluid"), ondelete="RESTRICT"
        ),
    )


def upgrade() -> None:
    for table, column in _NEW_COLUMNS:
        op.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
    op.create_table(
        "kind_dry",
        *_owner("kind", "kind_dry"),
        sa.Column("elastomer", sa.String(length=20), nullable=False),
        sa.PrimaryKeyConstraint("kind_id", "elastomer", name=op.f("pk_kind_dry")),
    )
    op.create_table(
        "booking_clash",
        *_owner("booking", "booking_clash"),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("booking_id", "seq", name=op.f("pk_booking_clash")),
    )
    op.create_table(
        "item_medium",
        *_owner("item", "item_medium"),
        sa.Column("medium", sa.String(length=40), nullable=False),
        sa.Column("source", sa.String(length=20), nullable=False),
        sa.Column("rating", sa.String(length=20), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "source IN ('maker', 'leaflet', 'workshop')", name=op.f("ck_item_medium_source_known")
        ),
        sa.CheckConstraint(
            "rating IN ('suitable', 'usually suitable', 'doubtful', 'not suitable')",
            name=op.f("ck_item_medium_rating_known"),
        ),
        sa.PrimaryKeyConstraint("item_id", "medium", "source", name=op.f("pk_item_medium")),
    )
    op.create_table(
        "fit_fluid",
        *_owner("fit", "fit_fluid"),
        *_fluid("fit_fluid"),
        sa.PrimaryKeyConstraint("fit_id", "fluid_id", name=op.f("pk_fit_fluid")),
    )
    op.create_table(
        "joint_near",
        *_owner("joint", "joint_near"),
        sa.Column("thing", sa.String(length=20), nullable=False),
        sa.CheckConstraint(
            "thing IN ('paint', 'exhaust sensor')", name=op.f("ck_joint_near_thing_known")
        ),
        sa.PrimaryKeyConstraint("joint_id", "thing", name=op.f("pk_joint_near")),
    )
    for owner in ("model", "vehicle"):
        table = f"{owner}_fluid"
        op.create_table(
            table,
            *_owner(owner, table),
            *_fluid(table),
            sa.Column("medium", sa.String(length=40), nullable=False),
            sa.Column("lubricant_id", sa.Integer(), nullable=True),
            sa.Column("reference", sa.Text(), nullable=False),
            sa.ForeignKeyConstraint(
                ["lubricant_id"],
                ["item.id"],
                name=op.f(f"fk_{table}_lubricant_id_item"),
                ondelete="RESTRICT",
            ),
            sa.PrimaryKeyConstraint(f"{owner}_id", "fluid_id", name=op.f(f"pk_{table}")),
        )


def downgrade() -> None:
    for table in reversed(_TABLES):
        op.drop_table(table)
    for table, column in reversed(_NEW_COLUMNS):
        op.execute(f"ALTER TABLE {table} DROP COLUMN {column.split()[0]}")
