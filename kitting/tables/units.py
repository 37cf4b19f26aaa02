"""Units: their variant splits, joints, fits, uses and tightenings."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint, false
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.rubber_media import SPOILED
from kitting.facts.words import (
    STATED_SOURCES,
    FastenerAccess,
    Heat,
    Rule,
    SettledBy,
    Source,
    ThreadedInto,
    ThreadState,
)
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Name,
    Position,
    Thousandths,
    UniqueWhere,
    Word,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class Unit(Base):
    """An assembly that several vehicle models may carry."""

    __tablename__ = "unit"
    __table_args__ = (UniqueConstraint("code"),)

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]


class Split(Base):
    """A question that decides which parts a car takes, and who settles it."""

    __tablename__ = "split"
    __table_args__ = (UniqueConstraint("unit_id", "code"), one_of("settled_by", SettledBy))

    id: Mapped[Identity]
    unit_id: Mapped[int] = mapped_column(owned_by("unit"))
    code: Mapped[Code]
    question: Mapped[LongText]
    check_text: Mapped[LongText]
    settled_by: Mapped[SettledBy] = mapped_column(server_default=SettledBy.CAR)


class SplitOption(Base):
    """One side of a split: who has it, and how it looks."""

    __tablename__ = "split_option"
    __table_args__ = (
        UniqueConstraint("split_id", "code"),
        # A span that ends before it begins would match no car.
        CheckConstraint("built_from < built_before", name="build_span"),
    )

    id: Mapped[Identity]
    split_id: Mapped[int] = mapped_column(owned_by("split"))
    code: Mapped[Code]
    seq: Mapped[Position]
    name: Mapped[Name]
    built_from: Mapped[date | None]
    built_before: Mapped[date | None]
    equipment: Mapped[Code | None]
    without: Mapped[Code | None]
    seen: Mapped[LongText | None]


class Joint(Base):
    """A place where components meet and are sealed or held.

    `front` says what the drawing's arrow points to, `seen_from` from where its holes are seen (from
    the other side they are mirrored), both in words; `temperature` is the hottest that it
    runs, in °C, with the source that says so.
    """

    __tablename__ = "joint"
    __table_args__ = (
        UniqueConstraint("unit_id", "code"),
        CheckConstraint(
            "(temperature IS NULL) = (temperature_source IS NULL)", name="temperature_has_source"
        ),
    )

    id: Mapped[Identity]
    unit_id: Mapped[int] = mapped_column(owned_by("unit"))
    code: Mapped[Code]
    seq: Mapped[Position]
    name: Mapped[Name]
    temperature: Mapped[int | None]
    temperature_source: Mapped[LongText | None]
    system_id: Mapped[int] = mapped_column(refers_to("system"))
    front: Mapped[Name | None]
    seen_from: Mapped[Name | None]


class JointOrder(Base):
    """The maker's order of tightening: the number of the hole that comes at a place."""

    __tablename__ = "joint_order"
    __table_args__ = (UniqueConstraint("joint_id", "hole"),)

    joint_id: Mapped[int] = mapped_column(owned_by("joint"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)
    hole: Mapped[int]


class JointFluid(Base):
    """A fluid that a joint holds back (one on each side, perhaps)."""

    __tablename__ = "joint_fluid"

    joint_id: Mapped[int] = mapped_column(owned_by("joint"), primary_key=True)
    fluid_id: Mapped[int] = mapped_column(refers_to("fluid"), primary_key=True)


class JointNear(Base):
    """Something near a joint that a medium may spoil."""

    __tablename__ = "joint_near"
    __table_args__ = (one_of("thing", SPOILED),)

    joint_id: Mapped[int] = mapped_column(owned_by("joint"), primary_key=True)
    thing: Mapped[Word] = mapped_column(primary_key=True)


class JointCaution(Base):
    """A caution that comes with a joint."""

    __tablename__ = "joint_caution"

    joint_id: Mapped[int] = mapped_column(owned_by("joint"), primary_key=True)
    caution_id: Mapped[int] = mapped_column(refers_to("caution"), primary_key=True)


class Fit(Base):
    """One item in one position of a joint, for all cars or for one option of a split."""

    __tablename__ = "fit"
    __table_args__ = (
        positive("quantity"),
        one_of("heat", Heat),
        one_of("access", FastenerAccess),
        one_of("threaded_into", ThreadedInto),
        positive("protrusion"),
        positive("engagement"),
        # Assembled dry and with a lubricant at once is a contradiction.
        CheckConstraint("NOT (dry AND lubricant_id IS NOT NULL)", name="dry_or_lubricated"),
        CheckConstraint(
            "(lubricant_id IS NULL) = (lubricant_amount IS NULL)", name="lubricant_complete"
        ),
        CheckConstraint("refit_limit >= 0", name="refit_limit_counts"),
        one_of("lubricant_source", STATED_SOURCES),
        # Who names a product is only worth knowing with the place where it is written.
        CheckConstraint(
            "(lubricant_source IS NULL) = (lubricant_reference IS NULL)",
            name="lubricant_source_complete",
        ),
        # Without a product of its own it asks for none of the car's.
        CheckConstraint(
            "NOT lubricant_cars_own OR lubricant_id IS NOT NULL", name="cars_own_lubricant"
        ),
        Index(None, "item_id"),
        Index(None, "joint_id"),  # every plan asks by joint; a partial index cannot answer
    )
    # NULLs are distinct in a unique constraint: two partial indexes keep positions single.
    __unique_where__ = (
        UniqueWhere("uq_fit_position", ("joint_id", "position"), "option_id IS NULL"),
        UniqueWhere(
            "uq_fit_position_option", ("joint_id", "position", "option_id"), "option_id IS NOT NULL"
        ),
    )

    id: Mapped[Identity]
    joint_id: Mapped[int] = mapped_column(owned_by("joint"))
    position: Mapped[Name]
    option_id: Mapped[int | None] = mapped_column(refers_to("split_option"))
    seq: Mapped[Position]
    item_id: Mapped[int] = mapped_column(refers_to("item"))
    quantity: Mapped[Thousandths]
    end: Mapped[Name | None]
    group_code: Mapped[Code | None]
    heat: Mapped[Heat | None]
    refit_limit: Mapped[int | None]
    dry: Mapped[bool]
    lubricant_id: Mapped[int | None] = mapped_column(refers_to("item"))
    lubricant_amount: Mapped[Thousandths | None]
    lubricant_source: Mapped[Source | None]
    lubricant_reference: Mapped[LongText | None]
    lubricant_cars_own: Mapped[bool] = mapped_column(server_default=false())
    recess: Mapped[Thousandths | None]
    access: Mapped[FastenerAccess | None]
    protrusion: Mapped[Thousandths | None]
    threaded_into: Mapped[ThreadedInto | None]
    engagement: Mapped[Thousandths | None]


class FitFluid(Base):
    """A fluid that the item of one position touches, where the joint holds back several."""

    __tablename__ = "fit_fluid"

    fit_id: Mapped[int] = mapped_column(owned_by("fit"), primary_key=True)
    fluid_id: Mapped[int] = mapped_column(refers_to("fluid"), primary_key=True)


class Hole(Base):
    """Where one fastener of a fit sits, in thousandths of a mm from any origin, y upwards."""

    __tablename__ = "hole"

    fit_id: Mapped[int] = mapped_column(owned_by("fit"), primary_key=True)
    seq: Mapped[int] = mapped_column(primary_key=True)
    x: Mapped[Thousandths]
    y: Mapped[Thousandths]


class FitRule(Base):
    """What a source says about one position."""

    __tablename__ = "fit_rule"
    __table_args__ = (
        # One statement per source: two would contradict each other.
        UniqueConstraint("fit_id", "source"),
        one_of("rule", Rule),
        one_of("source", STATED_SOURCES),
    )

    id: Mapped[Identity]
    fit_id: Mapped[int] = mapped_column(owned_by("fit"))
    source: Mapped[Source]
    rule: Mapped[Rule]
    criterion: Mapped[LongText | None]
    reference: Mapped[LongText]


class Tightening(Base):
    """How the fasteners of a position are tightened; one row per fit.

    `pattern` is the maker's order of the fasteners in words, `stage_order` how the stages follow
    each other: it is no order of fasteners.
    """

    __tablename__ = "tightening"
    __table_args__ = (one_of("thread_state", ThreadState),)

    fit_id: Mapped[int] = mapped_column(owned_by("fit"), primary_key=True)
    thread_state: Mapped[ThreadState]
    pattern: Mapped[LongText | None]
    stage_order: Mapped[LongText | None]
    source: Mapped[LongText | None]


class Stage(Base):
    """One stage of a tightening, the figure kept as published; `back` turns back by its angle."""

    __tablename__ = "stage"
    __table_args__ = (
        positive("torque"),
        positive("tolerance"),
        positive("angle"),
        one_of("torque_unit", ("N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm")),
        # A stage turns to a torque or by an angle, never both, never neither.
        CheckConstraint("(torque IS NULL) <> (angle IS NULL)", name="torque_or_angle"),
        CheckConstraint("(torque IS NULL) = (torque_unit IS NULL)", name="torque_has_unit"),
        CheckConstraint("NOT back OR angle IS NOT NULL", name="back_by_angle"),
    )

    fit_id: Mapped[int] = mapped_column(
        ForeignKey("tightening.fit_id", ondelete="CASCADE"), primary_key=True
    )
    seq: Mapped[int] = mapped_column(primary_key=True)
    torque: Mapped[Thousandths | None]
    torque_unit: Mapped[Word | None]
    tolerance: Mapped[Thousandths | None]
    angle: Mapped[Thousandths | None]
    back: Mapped[bool] = mapped_column(server_default=false())
