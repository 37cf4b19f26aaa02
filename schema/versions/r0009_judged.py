"""What a booking was judged by: what stands for what, what is in doubt, which catalogue it knew.

Revision: 0009, after 0008

Clashes were sentences; doubts have a verdict and the reason as data. A need said in a sentence what
it stands in for; now the items say so. Bookings of before have no record of what they were planned
from, so that they have to be planned once more.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

_VERDICTS = "'no', 'stopped', 'cannot be proven', 'fine'"
_ASPECTS = (
    "'variant', 'replacement', 'rubber', 'size', 'head', 'figure', 'stock', 'age', 'hold',"
    " 'licence', 'finding', 'catalogue'"
)
_RULES = "'renew', 'inspect', 'keep', 'use'"
_STANDS_IN = "stands in for "
_OF_BOOKING = "EXISTS (SELECT FROM booking WHERE booking.id = {table}.booking_id)"
_NEW = ("booking_doubt", "booking_stand_in")


def _owner(table: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f(f"fk_{table}_booking_id_booking"),
            ondelete="CASCADE",
        ),
    )


def _item(table: str, column: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        sa.Column(column, sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            [column], ["item.id"], name=op.f(f"fk_{table}_{column}_item"), ondelete="RESTRICT"
        ),
    )


def _known(table: str, column: str, words: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(f"{column} IN ({words})", name=op.f(f"ck_{table}_{column}_known"))


def _shared(tables: tuple[str, ...]) -> None:
    """What hangs on a booking is seen with it."""
    if op.get_bind().dialect.name == "sqlite":
        return
    for table in tables:
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
        op.execute(
            f"CREATE POLICY own ON {table} FOR ALL USING ({_OF_BOOKING.format(table=table)})"
        )


def upgrade() -> None:
    op.create_table(
        "catalogue_edition",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_catalogue_edition")),
    )
    op.create_table(
        "booking_doubt",
        *_owner("booking_doubt"),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("item", sa.String(length=40), nullable=True),
        sa.Column("verdict", sa.String(length=20), nullable=False),
        sa.Column("aspect", sa.String(length=20), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("booking_id", "seq", name=op.f("pk_booking_doubt")),
        _known("booking_doubt", "verdict", _VERDICTS),
        _known("booking_doubt", "aspect", _ASPECTS),
    )
    op.create_table(
        "booking_stand_in",
        *_owner("booking_stand_in"),
        *_item("booking_stand_in", "asked_id"),
        sa.Column("rule", sa.String(length=20), nullable=False),
        *_item("booking_stand_in", "item_id"),
        sa.PrimaryKeyConstraint(
            "booking_id", "asked_id", "rule", "item_id", name=op.f("pk_booking_stand_in")
        ),
        _known("booking_stand_in", "rule", _RULES),
    )
    _refit()
    op.execute("ALTER TABLE booking ADD COLUMN edition INTEGER")
    op.execute("ALTER TABLE booking ADD COLUMN planned TEXT")
    _shared(_NEW)
    op.execute(
        "INSERT INTO booking_doubt (booking_id, seq, verdict, aspect, reason)"
        " SELECT booking_id, seq, 'no', 'rubber', text FROM booking_clash"
    )
    _stand_ins_of_notes()
    op.execute("ALTER TABLE booking_need DROP COLUMN note")
    _drop("booking_clash")


def _refit() -> None:
    op.create_table(
        "refit",
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.String(length=200), nullable=False),
        sa.Column("booking", sa.String(length=40), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_refit_vehicle_id_vehicle"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["joint_id"], ["joint.id"], name=op.f("fk_refit_joint_id_joint"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint(
            "vehicle_id", "joint_id", "position", "booking", name=op.f("pk_refit")
        ),
        _known("refit", "outcome", "'refitted', 'renewed'"),
        sa.CheckConstraint("times > 0", name=op.f("ck_refit_times_positive")),
    )
    op.create_index(op.f("ix_refit_joint_id"), "refit", ["joint_id"])


def _stand_ins_of_notes() -> None:
    bind = op.get_bind()
    items = {code: key for key, code in bind.execute(sa.text("SELECT id, code FROM item"))}
    found = bind.execute(
        sa.text(
            "SELECT booking_id, item_id, rule, note FROM booking_need"
            " WHERE note LIKE 'stands in for %'"
        )
    ).all()
    rows = [
        {"booking": booking, "asked": items[asked], "rule": rule, "item": item}
        for booking, item, rule, note in found
        if (asked := note.removeprefix(_STANDS_IN)) in items
    ]
    if rows:
        bind.execute(
            sa.text(
                "INSERT INTO booking_stand_in (booking_id, asked_id, rule, item_id)"
                " VALUES (:booking, :asked, :rule, :item)"
            ),
            rows,
        )


def _drop(table: str) -> None:
    if op.get_bind().dialect.name != "sqlite":
        op.execute(f"DROP POLICY IF EXISTS own ON {table}")
    op.drop_table(table)


def downgrade() -> None:
    op.create_table(
        "booking_clash",
        *_owner("booking_clash"),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("booking_id", "seq", name=op.f("pk_booking_clash")),
    )
    _shared(("booking_clash",))
    op.execute(
        "INSERT INTO booking_clash (booking_id, seq, text)"
        " SELECT booking_id, seq, reason FROM booking_doubt WHERE verdict = 'no'"
    )
    op.execute("ALTER TABLE booking_need ADD COLUMN note TEXT")
    op.execute(
        "UPDATE booking_need SET note = (SELECT 'stands in for ' || item.code FROM booking_stand_in"
        " JOIN item ON item.id = booking_stand_in.asked_id"
        " WHERE booking_stand_in.booking_id = booking_need.booking_id"
        " AND booking_stand_in.item_id = booking_need.item_id"
        " AND booking_stand_in.rule = booking_need.rule"
        " AND booking_stand_in.asked_id <> booking_stand_in.item_id)"
    )
    for table in _NEW:
        _drop(table)
    for column in ("planned", "edition"):
        op.execute(f"ALTER TABLE booking DROP COLUMN {column}")
    op.drop_table("refit")
    op.drop_table("catalogue_edition")
