"""Holds of a batch, in every branch and for what arrives later; findings that are corrected.

Revision: 0021, after 0020

A hold names an item and a batch; it ends by a release that names it. A lot may be on a hold of its
own too, as more than was ordered: that one stays where it was, and its release is written down.
Neither is ever altered or removed. In the former revision whatever is on hold stays so, each lot
by itself. What a finding of a closed booking should have said stands beside it; in the former
revision it is what it says.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

_TABLES = ("batch_hold", "hold_release")
_KEEP_SQLITE = """
CREATE TRIGGER {table}_kept_{event} BEFORE {event} ON {table}
BEGIN SELECT RAISE(ABORT, 'holds and releases are never altered or removed'); END
"""
_REFUSE = """
CREATE FUNCTION refuse_hold_change() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'holds and releases are never altered or removed'; END $$
"""
_KEEP_POSTGRESQL = """
CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION refuse_hold_change()
"""
_EACH_BY_ITSELF = """
UPDATE lot SET held = (
  SELECT why FROM batch_hold
  WHERE batch_hold.item_id = lot.item_id AND {of_it} AND {open}
  ORDER BY batch_hold.id LIMIT 1
)
WHERE held IS NULL AND EXISTS (
  SELECT 1 FROM batch_hold WHERE batch_hold.item_id = lot.item_id AND {of_it} AND {open}
)
"""
_OF_IT = """
(batch_hold.batch = lot.code OR batch_hold.batch = lot.batch OR EXISTS (
  SELECT 1 FROM movement WHERE movement.lot_id = lot.id AND movement.kind = 'opened'
    AND movement.quantity > 0 AND movement.note = batch_hold.batch))
"""
_AS_CORRECTED = """
UPDATE finding SET (found, reason) = (
  SELECT found, reason FROM finding_correction
  WHERE finding_id = finding.id ORDER BY id DESC LIMIT 1
)
WHERE EXISTS (SELECT 1 FROM finding_correction WHERE finding_id = finding.id)
"""
_OPEN = "NOT EXISTS (SELECT 1 FROM hold_release WHERE hold_release.hold_id = batch_hold.id)"


def _sqlite() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def upgrade() -> None:
    op.create_table(
        "batch_hold",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("branch_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("batch", sa.String(length=40), nullable=False),
        sa.Column("why", sa.String(length=200), nullable=False),
        sa.Column("told_by", sa.String(length=200), nullable=True),
        sa.ForeignKeyConstraint(
            ["branch_id"], ["branch.id"], name=op.f("fk_batch_hold_branch_id_branch"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_batch_hold_item_id_item"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batch_hold")),
    )  # fmt: skip
    op.create_index(op.f("ix_batch_hold_branch_id"), "batch_hold", ["branch_id"])
    op.create_index(op.f("ix_batch_hold_item_id"), "batch_hold", ["item_id"])
    op.create_table(
        "hold_release",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("hold_id", sa.Integer(), nullable=True),
        sa.Column("was", sa.String(length=200), nullable=False),
        sa.Column("why", sa.Text(), nullable=True),
        sa.Column("told_by", sa.String(length=200), nullable=True),
        sa.ForeignKeyConstraint(
            ["lot_id"], ["lot.id"], name=op.f("fk_hold_release_lot_id_lot"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["hold_id"], ["batch_hold.id"], name=op.f("fk_hold_release_hold_id_batch_hold"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hold_release")),
        sa.UniqueConstraint("hold_id", name=op.f("uq_hold_release_hold_id")),
    )  # fmt: skip
    op.create_index(op.f("ix_hold_release_lot_id"), "hold_release", ["lot_id"])
    op.create_table(
        "finding_correction",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("finding_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("found", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("told_by", sa.String(length=200), nullable=True),
        sa.ForeignKeyConstraint(
            ["finding_id"], ["finding.id"], name=op.f("fk_finding_correction_finding_id_finding"),
            ondelete="CASCADE",
        ),
        sa.CheckConstraint(
            "found IN ('passed', 'failed', 'renewed without a look')",
            name=op.f("ck_finding_correction_found_known"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding_correction")),
    )  # fmt: skip
    op.create_index(op.f("ix_finding_correction_finding_id"), "finding_correction", ["finding_id"])
    if _sqlite():
        for table in _TABLES:
            for event in ("update", "delete"):
                op.execute(_KEEP_SQLITE.format(table=table, event=event))
        return
    op.execute(_REFUSE)
    for table in _TABLES:
        op.execute(_KEEP_POSTGRESQL.format(table=table))
    op.execute("ALTER TABLE finding_correction ENABLE ROW LEVEL SECURITY")
    op.execute(
        "CREATE POLICY own ON finding_correction FOR ALL USING"
        " (EXISTS (SELECT FROM finding WHERE finding.id = finding_correction.finding_id))"
    )


def downgrade() -> None:
    # What somebody put right is not lost: the finding says it.
    op.execute(_AS_CORRECTED)
    op.drop_table("finding_correction")
    op.execute(_EACH_BY_ITSELF.format(of_it=_OF_IT, open=_OPEN))
    for table in reversed(_TABLES):
        op.drop_table(table)
    if not _sqlite():
        op.execute("DROP FUNCTION refuse_hold_change()")
