"""Work: steps, what they need and open, and the jobs that ask for them."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Name,
    Position,
    Thousandths,
    owned_by,
    positive,
    refers_to,
)


class Step(Base):
    """Something off and on again. Hours are thousandths of an hour."""

    __tablename__ = "step"
    __table_args__ = (
        UniqueConstraint("unit_id", "code"),
        CheckConstraint("hours >= 0", name="hours_not_negative"),
        Index(None, "code"),
    )

    id: Mapped[Identity]
    unit_id: Mapped[int] = mapped_column(owned_by("unit"))
    code: Mapped[Code]
    seq: Mapped[Position]
    name: Mapped[Name]
    hours: Mapped[Thousandths]
    licence_id: Mapped[int | None] = mapped_column(refers_to("licence"))


class StepOption(Base):
    """The option that a car has to have for a step to be done on it."""

    __tablename__ = "step_option"

    step_id: Mapped[int] = mapped_column(owned_by("step"), primary_key=True)
    option_id: Mapped[int] = mapped_column(refers_to("split_option"))


class StepNeed(Base):
    """A step that has to come first.

    Named by code, not by row: an engine asks for "undertray off", and which undertray that is
    depends on the body the car has. The plan looks in the step's own unit, then in the others.
    """

    __tablename__ = "step_need"

    step_id: Mapped[int] = mapped_column(owned_by("step"), primary_key=True)
    code: Mapped[Code] = mapped_column(primary_key=True)


class Opening(Base):
    """A joint that a step opens, and how often more after a test run."""

    __tablename__ = "opening"
    __table_args__ = (
        positive("times"),
        CheckConstraint("reopened >= 0", name="reopened_not_negative"),
        Index(None, "joint_id"),
    )

    step_id: Mapped[int] = mapped_column(owned_by("step"), primary_key=True)
    joint_id: Mapped[int] = mapped_column(owned_by("joint"), primary_key=True)
    times: Mapped[int]
    reopened: Mapped[int]


class StepTool(Base):
    """A general tool that a step asks for."""

    __tablename__ = "step_tool"

    step_id: Mapped[int] = mapped_column(owned_by("step"), primary_key=True)
    tool_id: Mapped[int] = mapped_column(refers_to("general_tool"), primary_key=True)


class StepCaution(Base):
    """A caution that comes with a step."""

    __tablename__ = "step_caution"

    step_id: Mapped[int] = mapped_column(owned_by("step"), primary_key=True)
    caution_id: Mapped[int] = mapped_column(refers_to("caution"), primary_key=True)


class Use(Base):
    """A consumable that a joint or a step takes, by exactly one of four measures.

    `amount` in thousandths of the item's unit; bead and film sizes in thousandths of mm and mm²;
    `drops_thread` names the thread and `drops_count` how many threads.
    """

    __tablename__ = "use"
    __table_args__ = (
        CheckConstraint("(joint_id IS NULL) <> (step_id IS NULL)", name="one_owner"),
        # A consumable measured in two ways at once would be counted twice.
        CheckConstraint(
            "(amount IS NOT NULL AND bead_diameter IS NULL AND film_area IS NULL"
            " AND drops_thread IS NULL)"
            " OR (amount IS NULL AND bead_diameter IS NOT NULL AND film_area IS NULL"
            " AND drops_thread IS NULL)"
            " OR (amount IS NULL AND bead_diameter IS NULL AND film_area IS NOT NULL"
            " AND drops_thread IS NULL)"
            " OR (amount IS NULL AND bead_diameter IS NULL AND film_area IS NULL"
            " AND drops_thread IS NOT NULL)",
            name="one_measure",
        ),
        CheckConstraint("(bead_diameter IS NULL) = (bead_length IS NULL)", name="bead_complete"),
        CheckConstraint("(film_area IS NULL) = (film_thickness IS NULL)", name="film_complete"),
        CheckConstraint("(drops_thread IS NULL) = (drops_count IS NULL)", name="drops_complete"),
        Index(None, "joint_id"),
        Index(None, "step_id"),
        Index(None, "item_id"),
    )

    id: Mapped[Identity]
    joint_id: Mapped[int | None] = mapped_column(owned_by("joint"))
    step_id: Mapped[int | None] = mapped_column(owned_by("step"))
    seq: Mapped[Position]
    item_id: Mapped[int] = mapped_column(refers_to("item"))
    option_id: Mapped[int | None] = mapped_column(refers_to("split_option"))
    amount: Mapped[Thousandths | None]
    bead_diameter: Mapped[Thousandths | None]
    bead_length: Mapped[Thousandths | None]
    film_area: Mapped[Thousandths | None]
    film_thickness: Mapped[Thousandths | None]
    drops_thread: Mapped[Code | None]
    drops_count: Mapped[int | None]
    note: Mapped[LongText | None]


class Job(Base):
    """What the customer asks for."""

    __tablename__ = "job"
    __table_args__ = (UniqueConstraint("unit_id", "code"),)

    id: Mapped[Identity]
    unit_id: Mapped[int] = mapped_column(owned_by("unit"))
    code: Mapped[Code]
    seq: Mapped[Position]
    name: Mapped[Name]


class JobNeed(Base):
    """A step that a job needs in the end, named by code as in StepNeed."""

    __tablename__ = "job_need"

    job_id: Mapped[int] = mapped_column(owned_by("job"), primary_key=True)
    code: Mapped[Code] = mapped_column(primary_key=True)


class JobRenewal(Base):
    """What a job renews by its own wish, of the joints that it opens.

    By kind, by item, or by joint (of the unit of the job) with or without a position.
    """

    __tablename__ = "job_renewal"
    __table_args__ = (
        CheckConstraint(
            "(kind_id IS NOT NULL AND item_id IS NULL AND joint_id IS NULL)"
            " OR (kind_id IS NULL AND item_id IS NOT NULL AND joint_id IS NULL)"
            " OR (kind_id IS NULL AND item_id IS NULL AND joint_id IS NOT NULL)",
            name="one_way",
        ),
        CheckConstraint("position IS NULL OR joint_id IS NOT NULL", name="position_of_a_joint"),
        Index(None, "kind_id"),
        Index(None, "item_id"),
        Index(None, "joint_id"),
    )

    job_id: Mapped[int] = mapped_column(owned_by("job"), primary_key=True)
    seq: Mapped[Position] = mapped_column(primary_key=True)
    kind_id: Mapped[int | None] = mapped_column(refers_to("kind"))
    item_id: Mapped[int | None] = mapped_column(refers_to("item"))
    joint_id: Mapped[int | None] = mapped_column(owned_by("joint"))
    position: Mapped[Name | None]


class JobService(Base):
    """Work bought from outside after a job."""

    __tablename__ = "job_service"

    job_id: Mapped[int] = mapped_column(owned_by("job"), primary_key=True)
    name: Mapped[Name] = mapped_column(primary_key=True)
    timing: Mapped[Name]
    licence_id: Mapped[int | None] = mapped_column(refers_to("licence"))
    option_id: Mapped[int | None] = mapped_column(refers_to("split_option"))
