"""The catalogue: vocabulary, items, units, work, vehicles.

Revision: 0001, the first
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "caution",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("word", sa.String(length=200), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_caution")),
        sa.UniqueConstraint("code", name=op.f("uq_caution_code")),
    )
    op.create_table(
        "fluid",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fluid")),
        sa.UniqueConstraint("code", name=op.f("uq_fluid_code")),
    )
    op.create_table(
        "general_tool",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_general_tool")),
        sa.UniqueConstraint("code", name=op.f("uq_general_tool_code")),
    )
    op.create_table(
        "kind",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("family", sa.String(length=20), nullable=False),
        sa.Column("threaded", sa.Boolean(), nullable=False),
        sa.Column("chance", sa.Double(), nullable=True),
        sa.CheckConstraint(
            "family IN ('ring', 'seal', 'fastener', 'clip', 'clamp', 'part', 'consumable')",
            name=op.f("ck_kind_family_known"),
        ),
        sa.CheckConstraint(
            "chance >= 0 AND chance <= 1", name=op.f("ck_kind_chance_is_probability")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kind")),
        sa.UniqueConstraint("code", name=op.f("uq_kind_code")),
    )
    op.create_table(
        "licence",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_licence")),
        sa.UniqueConstraint("code", name=op.f("uq_licence_code")),
    )
    op.create_table(
        "model",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_model")),
        sa.UniqueConstraint("code", name=op.f("uq_model_code")),
    )
    op.create_table(
        "system",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("general_torque", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_system")),
        sa.UniqueConstraint("code", name=op.f("uq_system_code")),
    )
    op.create_table(
        "unit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_unit")),
        sa.UniqueConstraint("code", name=op.f("uq_unit_code")),
    )
    op.create_table(
        "fluid_caution",
        sa.Column("fluid_id", sa.Integer(), nullable=False),
        sa.Column("caution_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["caution_id"],
            ["caution.id"],
            name=op.f("fk_fluid_caution_caution_id_caution"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["fluid_id"],
            ["fluid.id"],
            name=op.f("fk_fluid_caution_fluid_id_fluid"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("fluid_id", "caution_id", name=op.f("pk_fluid_caution")),
    )
    op.create_table(
        "item",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("kind_id", sa.Integer(), nullable=False),
        sa.Column("unit", sa.String(length=20), nullable=False),
        sa.Column("pack", sa.BigInteger(), nullable=True),
        sa.Column("sold_singly", sa.Boolean(), nullable=False),
        sa.Column("colour", sa.String(length=200), nullable=True),
        sa.Column("elastomer", sa.String(length=20), nullable=True),
        sa.Column("hardness", sa.Integer(), nullable=True),
        sa.Column("ring_inside", sa.BigInteger(), nullable=True),
        sa.Column("ring_section", sa.BigInteger(), nullable=True),
        sa.Column("head", sa.String(length=20), nullable=True),
        sa.Column("head_size", sa.String(length=20), nullable=True),
        sa.Column("thread", sa.String(length=20), nullable=True),
        sa.Column("length", sa.BigInteger(), nullable=True),
        sa.Column("property_class", sa.String(length=20), nullable=True),
        sa.Column("shelf_life_months", sa.Integer(), nullable=True),
        sa.Column("opened_life_days", sa.Integer(), nullable=True),
        sa.Column("nozzle_waste", sa.BigInteger(), nullable=True),
        sa.Column("bin", sa.String(length=200), nullable=True),
        sa.CheckConstraint("unit IN ('each', 'ml', 'g', 'mm')", name=op.f("ck_item_unit_known")),
        sa.CheckConstraint(
            "(head IS NULL) = (head_size IS NULL)", name=op.f("ck_item_head_complete")
        ),
        sa.CheckConstraint(
            "(ring_inside IS NULL) = (ring_section IS NULL)",
            name=op.f("ck_item_ring_size_complete"),
        ),
        sa.CheckConstraint("hardness BETWEEN 20 AND 100", name=op.f("ck_item_hardness_plausible")),
        sa.CheckConstraint("opened_life_days > 0", name=op.f("ck_item_opened_life_days_positive")),
        sa.CheckConstraint("pack > 0", name=op.f("ck_item_pack_positive")),
        sa.CheckConstraint("ring_inside > 0", name=op.f("ck_item_ring_inside_positive")),
        sa.CheckConstraint("ring_section > 0", name=op.f("ck_item_ring_section_positive")),
        sa.CheckConstraint(
            "shelf_life_months > 0", name=op.f("ck_item_shelf_life_months_positive")
        ),
        sa.ForeignKeyConstraint(
            ["kind_id"], ["kind.id"], name=op.f("fk_item_kind_id_kind"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_item")),
        sa.UniqueConstraint("code", name=op.f("uq_item_code")),
    )
    op.create_index(op.f("ix_item_kind_id"), "item", ["kind_id"], unique=False)
    op.create_table(
        "job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit_id"], ["unit.id"], name=op.f("fk_job_unit_id_unit"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        sa.UniqueConstraint("unit_id", "code", name=op.f("uq_job_unit_id_code")),
    )
    op.create_index(op.f("ix_job_code"), "job", ["code"], unique=False)
    op.create_table(
        "joint",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("system_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["system_id"],
            ["system.id"],
            name=op.f("fk_joint_system_id_system"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["unit_id"], ["unit.id"], name=op.f("fk_joint_unit_id_unit"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_joint")),
        sa.UniqueConstraint("unit_id", "code", name=op.f("uq_joint_unit_id_code")),
    )
    op.create_table(
        "kind_caution",
        sa.Column("kind_id", sa.Integer(), nullable=False),
        sa.Column("caution_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["caution_id"],
            ["caution.id"],
            name=op.f("fk_kind_caution_caution_id_caution"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["kind_id"], ["kind.id"], name=op.f("fk_kind_caution_kind_id_kind"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("kind_id", "caution_id", name=op.f("pk_kind_caution")),
    )
    op.create_table(
        "kind_rule",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("rule", sa.String(length=20), nullable=False),
        sa.Column("source", sa.String(length=20), nullable=False),
        sa.Column("fluid_id", sa.Integer(), nullable=True),
        sa.Column("system_id", sa.Integer(), nullable=True),
        sa.Column("criterion", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("relaxed_by", sa.String(length=20), nullable=False),
        sa.CheckConstraint(
            "relaxed_by IN ('workshop', 'leaflet', 'maker', 'nobody')",
            name=op.f("ck_kind_rule_relaxed_by_known"),
        ),
        sa.CheckConstraint(
            "rule IN ('renew', 'inspect', 'keep')", name=op.f("ck_kind_rule_rule_known")
        ),
        sa.CheckConstraint(
            "source IN ('general', 'workshop')", name=op.f("ck_kind_rule_source_known")
        ),
        sa.ForeignKeyConstraint(
            ["fluid_id"],
            ["fluid.id"],
            name=op.f("fk_kind_rule_fluid_id_fluid"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["kind_id"], ["kind.id"], name=op.f("fk_kind_rule_kind_id_kind"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["system_id"],
            ["system.id"],
            name=op.f("fk_kind_rule_system_id_system"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kind_rule")),
        sa.UniqueConstraint("kind_id", "seq", name=op.f("uq_kind_rule_kind_id_seq")),
    )
    op.create_index(
        "uq_kind_rule_plain",
        "kind_rule",
        ["kind_id", "source"],
        unique=True,
        sqlite_where=sa.text("fluid_id IS NULL AND system_id IS NULL"),
        postgresql_where=sa.text("fluid_id IS NULL AND system_id IS NULL"),
    )
    op.create_table(
        "kind_tool",
        sa.Column("kind_id", sa.Integer(), nullable=False),
        sa.Column("tool_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["kind_id"], ["kind.id"], name=op.f("fk_kind_tool_kind_id_kind"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["tool_id"],
            ["general_tool.id"],
            name=op.f("fk_kind_tool_tool_id_general_tool"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("kind_id", "tool_id", name=op.f("pk_kind_tool")),
    )
    op.create_table(
        "model_unit",
        sa.Column("model_id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["model_id"],
            ["model.id"],
            name=op.f("fk_model_unit_model_id_model"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["unit_id"], ["unit.id"], name=op.f("fk_model_unit_unit_id_unit"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("model_id", "unit_id", name=op.f("pk_model_unit")),
    )
    op.create_table(
        "split",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("check_text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit_id"], ["unit.id"], name=op.f("fk_split_unit_id_unit"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_split")),
        sa.UniqueConstraint("unit_id", "code", name=op.f("uq_split_unit_id_code")),
    )
    op.create_table(
        "step",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("hours", sa.BigInteger(), nullable=False),
        sa.Column("licence_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("hours >= 0", name=op.f("ck_step_hours_not_negative")),
        sa.ForeignKeyConstraint(
            ["licence_id"],
            ["licence.id"],
            name=op.f("fk_step_licence_id_licence"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["unit_id"], ["unit.id"], name=op.f("fk_step_unit_id_unit"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_step")),
        sa.UniqueConstraint("unit_id", "code", name=op.f("uq_step_unit_id_code")),
    )
    op.create_index(op.f("ix_step_code"), "step", ["code"], unique=False)
    op.create_table(
        "system_caution",
        sa.Column("system_id", sa.Integer(), nullable=False),
        sa.Column("caution_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["caution_id"],
            ["caution.id"],
            name=op.f("fk_system_caution_caution_id_caution"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["system_id"],
            ["system.id"],
            name=op.f("fk_system_caution_system_id_system"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("system_id", "caution_id", name=op.f("pk_system_caution")),
    )
    op.create_table(
        "vehicle",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("registration_key", sa.String(length=20), nullable=False),
        sa.Column("registration", sa.String(length=20), nullable=False),
        sa.Column("model_id", sa.Integer(), nullable=False),
        sa.Column("vin", sa.String(length=17), nullable=True),
        sa.Column("build_date", sa.Date(), nullable=True),
        sa.CheckConstraint("length(vin) = 17", name=op.f("ck_vehicle_vin_length")),
        sa.ForeignKeyConstraint(
            ["model_id"], ["model.id"], name=op.f("fk_vehicle_model_id_model"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vehicle")),
        sa.UniqueConstraint("registration_key", name=op.f("uq_vehicle_registration_key")),
        sa.UniqueConstraint("vin", name=op.f("uq_vehicle_vin")),
    )
    op.create_index(op.f("ix_vehicle_model_id"), "vehicle", ["model_id"], unique=False)
    op.create_table(
        "alternative",
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("other_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint("item_id <> other_id", name=op.f("ck_alternative_not_itself")),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_alternative_item_id_item"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["other_id"],
            ["item.id"],
            name=op.f("fk_alternative_other_id_item"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("item_id", "other_id", name=op.f("pk_alternative")),
        sa.UniqueConstraint("item_id", "seq", name=op.f("uq_alternative_item_id_seq")),
    )
    op.create_index(op.f("ix_alternative_other_id"), "alternative", ["other_id"], unique=False)
    op.create_table(
        "equipment",
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("present", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_equipment_vehicle_id_vehicle"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("vehicle_id", "code", name=op.f("pk_equipment")),
    )
    op.create_table(
        "item_caution",
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("caution_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["caution_id"],
            ["caution.id"],
            name=op.f("fk_item_caution_caution_id_caution"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_item_caution_item_id_item"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("item_id", "caution_id", name=op.f("pk_item_caution")),
    )
    op.create_table(
        "item_content",
        sa.Column("packet_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("packet_id <> item_id", name=op.f("ck_item_content_not_itself")),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_item_content_quantity_positive")),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_item_content_item_id_item"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["packet_id"],
            ["item.id"],
            name=op.f("fk_item_content_packet_id_item"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("packet_id", "item_id", name=op.f("pk_item_content")),
    )
    op.create_index(op.f("ix_item_content_item_id"), "item_content", ["item_id"], unique=False)
    op.create_table(
        "item_rule",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("source", sa.String(length=20), nullable=False),
        sa.Column("rule", sa.String(length=20), nullable=False),
        sa.Column("criterion", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "rule IN ('renew', 'inspect', 'keep')", name=op.f("ck_item_rule_rule_known")
        ),
        sa.CheckConstraint(
            "source IN ('maker', 'leaflet', 'workshop')", name=op.f("ck_item_rule_source_known")
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_item_rule_item_id_item"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_item_rule")),
        sa.UniqueConstraint("item_id", "source", name=op.f("uq_item_rule_item_id_source")),
    )
    op.create_table(
        "job_need",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_job_need_job_id_job"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("job_id", "code", name=op.f("pk_job_need")),
    )
    op.create_table(
        "job_service",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("timing", sa.String(length=200), nullable=False),
        sa.Column("licence_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_job_service_job_id_job"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["licence_id"],
            ["licence.id"],
            name=op.f("fk_job_service_licence_id_licence"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("job_id", "name", name=op.f("pk_job_service")),
    )
    op.create_table(
        "joint_caution",
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("caution_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["caution_id"],
            ["caution.id"],
            name=op.f("fk_joint_caution_caution_id_caution"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["joint_id"],
            ["joint.id"],
            name=op.f("fk_joint_caution_joint_id_joint"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("joint_id", "caution_id", name=op.f("pk_joint_caution")),
    )
    op.create_table(
        "joint_fluid",
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("fluid_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["fluid_id"],
            ["fluid.id"],
            name=op.f("fk_joint_fluid_fluid_id_fluid"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["joint_id"],
            ["joint.id"],
            name=op.f("fk_joint_fluid_joint_id_joint"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("joint_id", "fluid_id", name=op.f("pk_joint_fluid")),
    )
    op.create_table(
        "opening",
        sa.Column("step_id", sa.Integer(), nullable=False),
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.Column("reopened", sa.Integer(), nullable=False),
        sa.CheckConstraint("reopened >= 0", name=op.f("ck_opening_reopened_not_negative")),
        sa.CheckConstraint("times > 0", name=op.f("ck_opening_times_positive")),
        sa.ForeignKeyConstraint(
            ["joint_id"], ["joint.id"], name=op.f("fk_opening_joint_id_joint"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["step_id"], ["step.id"], name=op.f("fk_opening_step_id_step"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("step_id", "joint_id", name=op.f("pk_opening")),
    )
    op.create_index(op.f("ix_opening_joint_id"), "opening", ["joint_id"], unique=False)
    op.create_table(
        "removal",
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.String(length=200), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=False),
        sa.CheckConstraint(
            "outcome IN ('refitted', 'renewed')", name=op.f("ck_removal_outcome_known")
        ),
        sa.ForeignKeyConstraint(
            ["joint_id"], ["joint.id"], name=op.f("fk_removal_joint_id_joint"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_removal_vehicle_id_vehicle"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint(
            "vehicle_id", "joint_id", "position", "on_date", name=op.f("pk_removal")
        ),
    )
    op.create_index(op.f("ix_removal_joint_id"), "removal", ["joint_id"], unique=False)
    op.create_table(
        "split_option",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("split_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("built_from", sa.Date(), nullable=True),
        sa.Column("built_before", sa.Date(), nullable=True),
        sa.Column("equipment", sa.String(length=40), nullable=True),
        sa.Column("without", sa.String(length=40), nullable=True),
        sa.Column("seen", sa.Text(), nullable=True),
        sa.CheckConstraint("built_from < built_before", name=op.f("ck_split_option_build_span")),
        sa.ForeignKeyConstraint(
            ["split_id"],
            ["split.id"],
            name=op.f("fk_split_option_split_id_split"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_split_option")),
        sa.UniqueConstraint("split_id", "code", name=op.f("uq_split_option_split_id_code")),
    )
    op.create_table(
        "step_caution",
        sa.Column("step_id", sa.Integer(), nullable=False),
        sa.Column("caution_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["caution_id"],
            ["caution.id"],
            name=op.f("fk_step_caution_caution_id_caution"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["step_id"], ["step.id"], name=op.f("fk_step_caution_step_id_step"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("step_id", "caution_id", name=op.f("pk_step_caution")),
    )
    op.create_table(
        "step_need",
        sa.Column("step_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.ForeignKeyConstraint(
            ["step_id"], ["step.id"], name=op.f("fk_step_need_step_id_step"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("step_id", "code", name=op.f("pk_step_need")),
    )
    op.create_table(
        "step_tool",
        sa.Column("step_id", sa.Integer(), nullable=False),
        sa.Column("tool_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["step_id"], ["step.id"], name=op.f("fk_step_tool_step_id_step"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["tool_id"],
            ["general_tool.id"],
            name=op.f("fk_step_tool_tool_id_general_tool"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("step_id", "tool_id", name=op.f("pk_step_tool")),
    )
    op.create_table(
        "succession",
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("old_stock", sa.String(length=20), nullable=False),
        sa.Column("since", sa.Date(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "old_stock IN ('use up', 'scrap')", name=op.f("ck_succession_old_stock_known")
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_succession_item_id_item"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("item_id", name=op.f("pk_succession")),
    )
    op.create_table(
        "successor",
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("by_item_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("item_id <> by_item_id", name=op.f("ck_successor_not_itself")),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_successor_quantity_positive")),
        sa.ForeignKeyConstraint(
            ["by_item_id"],
            ["item.id"],
            name=op.f("fk_successor_by_item_id_item"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_successor_item_id_item"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("item_id", "by_item_id", name=op.f("pk_successor")),
    )
    op.create_index(op.f("ix_successor_by_item_id"), "successor", ["by_item_id"], unique=False)
    op.create_table(
        "vehicle_unit",
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit_id"], ["unit.id"], name=op.f("fk_vehicle_unit_unit_id_unit"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_vehicle_unit_vehicle_id_vehicle"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("vehicle_id", "unit_id", name=op.f("pk_vehicle_unit")),
    )
    op.create_table(
        "fit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.String(length=200), nullable=False),
        sa.Column("option_id", sa.Integer(), nullable=True),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.Column("end", sa.String(length=200), nullable=True),
        sa.Column("group_code", sa.String(length=40), nullable=True),
        sa.Column("heat", sa.String(length=20), nullable=True),
        sa.Column("refit_limit", sa.Integer(), nullable=True),
        sa.Column("dry", sa.Boolean(), nullable=False),
        sa.Column("lubricant_id", sa.Integer(), nullable=True),
        sa.Column("lubricant_amount", sa.BigInteger(), nullable=True),
        sa.Column("recess", sa.BigInteger(), nullable=True),
        sa.CheckConstraint("heat IN ('hot', 'cold')", name=op.f("ck_fit_heat_known")),
        sa.CheckConstraint(
            "(lubricant_id IS NULL) = (lubricant_amount IS NULL)",
            name=op.f("ck_fit_lubricant_complete"),
        ),
        sa.CheckConstraint(
            "NOT (dry AND lubricant_id IS NOT NULL)", name=op.f("ck_fit_dry_or_lubricated")
        ),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_fit_quantity_positive")),
        sa.CheckConstraint("refit_limit >= 0", name=op.f("ck_fit_refit_limit_counts")),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_fit_item_id_item"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["joint_id"], ["joint.id"], name=op.f("fk_fit_joint_id_joint"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["lubricant_id"],
            ["item.id"],
            name=op.f("fk_fit_lubricant_id_item"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["option_id"],
            ["split_option.id"],
            name=op.f("fk_fit_option_id_split_option"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fit")),
    )
    op.create_index(op.f("ix_fit_item_id"), "fit", ["item_id"], unique=False)
    op.create_index(
        "uq_fit_position",
        "fit",
        ["joint_id", "position"],
        unique=True,
        sqlite_where=sa.text("option_id IS NULL"),
        postgresql_where=sa.text("option_id IS NULL"),
    )
    op.create_index(
        "uq_fit_position_option",
        "fit",
        ["joint_id", "position", "option_id"],
        unique=True,
        sqlite_where=sa.text("option_id IS NOT NULL"),
        postgresql_where=sa.text("option_id IS NOT NULL"),
    )
    op.create_table(
        "settled_variant",
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("split_id", sa.Integer(), nullable=False),
        sa.Column("option_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["option_id"],
            ["split_option.id"],
            name=op.f("fk_settled_variant_option_id_split_option"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["split_id"],
            ["split.id"],
            name=op.f("fk_settled_variant_split_id_split"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_settled_variant_vehicle_id_vehicle"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("vehicle_id", "split_id", name=op.f("pk_settled_variant")),
    )
    op.create_table(
        "use",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("joint_id", sa.Integer(), nullable=True),
        sa.Column("step_id", sa.Integer(), nullable=True),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("option_id", sa.Integer(), nullable=True),
        sa.Column("amount", sa.BigInteger(), nullable=True),
        sa.Column("bead_diameter", sa.BigInteger(), nullable=True),
        sa.Column("bead_length", sa.BigInteger(), nullable=True),
        sa.Column("film_area", sa.BigInteger(), nullable=True),
        sa.Column("film_thickness", sa.BigInteger(), nullable=True),
        sa.Column("drops_thread", sa.String(length=40), nullable=True),
        sa.Column("drops_count", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(amount IS NOT NULL AND bead_diameter IS NULL AND film_area IS NULL AND drops_thread IS NULL) OR (amount IS NULL AND bead_diameter IS NOT NULL AND film_area IS NULL AND drops_thread IS NULL) OR (amount IS NULL AND bead_diameter IS NULL AND film_area IS NOT NULL AND drops_thread IS NULL) OR (amount IS NULL AND bead_diameter IS NULL AND film_area IS NULL AND drops_thread IS NOT NULL)",
            name=op.f("ck_use_one_measure"),
        ),
        sa.CheckConstraint(
            "(bead_diameter IS NULL) = (bead_length IS NULL)", name=op.f("ck_use_bead_complete")
        ),
        sa.CheckConstraint(
            "(drops_thread IS NULL) = (drops_count IS NULL)", name=op.f("ck_use_drops_complete")
        ),
        sa.CheckConstraint(
            "(film_area IS NULL) = (film_thickness IS NULL)", name=op.f("ck_use_film_complete")
        ),
        sa.CheckConstraint(
            "(joint_id IS NULL) <> (step_id IS NULL)", name=op.f("ck_use_one_owner")
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["item.id"], name=op.f("fk_use_item_id_item"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["joint_id"], ["joint.id"], name=op.f("fk_use_joint_id_joint"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["option_id"],
            ["split_option.id"],
            name=op.f("fk_use_option_id_split_option"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["step_id"], ["step.id"], name=op.f("fk_use_step_id_step"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_use")),
    )
    op.create_index(op.f("ix_use_item_id"), "use", ["item_id"], unique=False)
    op.create_index(op.f("ix_use_joint_id"), "use", ["joint_id"], unique=False)
    op.create_index(op.f("ix_use_step_id"), "use", ["step_id"], unique=False)
    op.create_table(
        "fit_rule",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("fit_id", sa.Integer(), nullable=False),
        sa.Column("source", sa.String(length=20), nullable=False),
        sa.Column("rule", sa.String(length=20), nullable=False),
        sa.Column("criterion", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "rule IN ('renew', 'inspect', 'keep')", name=op.f("ck_fit_rule_rule_known")
        ),
        sa.CheckConstraint(
            "source IN ('maker', 'leaflet', 'workshop')", name=op.f("ck_fit_rule_source_known")
        ),
        sa.ForeignKeyConstraint(
            ["fit_id"], ["fit.id"], name=op.f("fk_fit_rule_fit_id_fit"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fit_rule")),
        sa.UniqueConstraint("fit_id", "source", name=op.f("uq_fit_rule_fit_id_source")),
    )
    op.create_table(
        "tightening",
        sa.Column("fit_id", sa.Integer(), nullable=False),
        sa.Column("thread_state", sa.String(length=20), nullable=False),
        sa.Column("pattern", sa.Text(), nullable=True),
        sa.Column("source", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "thread_state IN ('dry', 'oiled', 'locked', 'unknown')",
            name=op.f("ck_tightening_thread_state_known"),
        ),
        sa.ForeignKeyConstraint(
            ["fit_id"], ["fit.id"], name=op.f("fk_tightening_fit_id_fit"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("fit_id", name=op.f("pk_tightening")),
    )
    op.create_table(
        "stage",
        sa.Column("fit_id", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("torque", sa.BigInteger(), nullable=True),
        sa.Column("torque_unit", sa.String(length=20), nullable=True),
        sa.Column("tolerance", sa.BigInteger(), nullable=True),
        sa.Column("angle", sa.BigInteger(), nullable=True),
        sa.CheckConstraint(
            "torque_unit IN ('N·m', 'lbf·ft', 'lbf·in', 'kgf·m', 'kgf·cm')",
            name=op.f("ck_stage_torque_unit_known"),
        ),
        sa.CheckConstraint(
            "(torque IS NULL) <> (angle IS NULL)", name=op.f("ck_stage_torque_or_angle")
        ),
        sa.CheckConstraint(
            "(torque IS NULL) = (torque_unit IS NULL)", name=op.f("ck_stage_torque_has_unit")
        ),
        sa.CheckConstraint("angle > 0", name=op.f("ck_stage_angle_positive")),
        sa.CheckConstraint("tolerance > 0", name=op.f("ck_stage_tolerance_positive")),
        sa.CheckConstraint("torque > 0", name=op.f("ck_stage_torque_positive")),
        sa.ForeignKeyConstraint(
            ["fit_id"],
            ["tightening.fit_id"],
            name=op.f("fk_stage_fit_id_tightening"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("fit_id", "seq", name=op.f("pk_stage")),
    )


def downgrade() -> None:
    op.drop_table("stage")
    op.drop_table("tightening")
    op.drop_table("fit_rule")
    op.drop_index(op.f("ix_use_step_id"), table_name="use")
    op.drop_index(op.f("ix_use_joint_id"), table_name="use")
    op.drop_index(op.f("ix_use_item_id"), table_name="use")
    op.drop_table("use")
    op.drop_table("settled_variant")
    op.drop_index(
        "uq_fit_position_option",
        table_name="fit",
        sqlite_where=sa.text("option_id IS NOT NULL"),
        postgresql_where=sa.text("option_id IS NOT NULL"),
    )
    op.drop_index(
        "uq_fit_position",
        table_name="fit",
        sqlite_where=sa.text("option_id IS NULL"),
        postgresql_where=sa.text("option_id IS NULL"),
    )
    op.drop_index(op.f("ix_fit_item_id"), table_name="fit")
    op.drop_table("fit")
    op.drop_table("vehicle_unit")
    op.drop_index(op.f("ix_successor_by_item_id"), table_name="successor")
    op.drop_table("successor")
    op.drop_table("succession")
    op.drop_table("step_tool")
    op.drop_table("step_need")
    op.drop_table("step_caution")
    op.drop_table("split_option")
    op.drop_index(op.f("ix_removal_joint_id"), table_name="removal")
    op.drop_table("removal")
    op.drop_index(op.f("ix_opening_joint_id"), table_name="opening")
    op.drop_table("opening")
    op.drop_table("joint_fluid")
    op.drop_table("joint_caution")
    op.drop_table("job_service")
    op.drop_table("job_need")
    op.drop_table("item_rule")
    op.drop_index(op.f("ix_item_content_item_id"), table_name="item_content")
    op.drop_table("item_content")
    op.drop_table("item_caution")
    op.drop_table("equipment")
    op.drop_index(op.f("ix_alternative_other_id"), table_name="alternative")
    op.drop_table("alternative")
    op.drop_index(op.f("ix_vehicle_model_id"), table_name="vehicle")
    op.drop_table("vehicle")
    op.drop_table("system_caution")
    op.drop_index(op.f("ix_step_code"), table_name="step")
    op.drop_table("step")
    op.drop_table("split")
    op.drop_table("model_unit")
    op.drop_table("kind_tool")
    op.drop_index(
        "uq_kind_rule_plain",
        table_name="kind_rule",
        sqlite_where=sa.text("fluid_id IS NULL AND system_id IS NULL"),
        postgresql_where=sa.text("fluid_id IS NULL AND system_id IS NULL"),
    )
    op.drop_table("kind_rule")
    op.drop_table("kind_caution")
    op.drop_table("joint")
    op.drop_index(op.f("ix_job_code"), table_name="job")
    op.drop_table("job")
    op.drop_index(op.f("ix_item_kind_id"), table_name="item")
    op.drop_table("item")
    op.drop_table("fluid_caution")
    op.drop_table("unit")
    op.drop_table("system")
    op.drop_table("model")
    op.drop_table("licence")
    op.drop_table("kind")
    op.drop_table("general_tool")
    op.drop_table("fluid")
    op.drop_table("caution")
