"""Photos: pictures of items, joints and positions, kept in the database with their hash."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, Index, LargeBinary, String
from sqlalchemy.orm import Mapped, mapped_column

from kitting.tables.base import Base, Code, Identity, Name, one_given, owned_by, positive


class Photo(Base):
    """A picture of an item, a joint or one position of it, named by code, or of a part noted.

    A catalogue that is loaded anew takes no picture with it: it refers to no row of one.
    """

    __tablename__ = "photo"
    __table_args__ = (
        # What a picture is of is an item, a joint or a note, and never two of them.
        one_given(("item", "joint", "found_part_id"), "of_one_thing"),
        CheckConstraint("(joint IS NULL) = (unit IS NULL)", name="joint_of_a_unit"),
        CheckConstraint("position IS NULL OR joint IS NOT NULL", name="position_of_a_joint"),
        positive("width"),
        positive("height"),
        Index(None, "item"),
        Index(None, "unit", "joint"),
        Index(None, "found_part_id"),
    )

    id: Mapped[Identity]
    item: Mapped[Code | None]
    unit: Mapped[Code | None]
    joint: Mapped[Code | None]
    position: Mapped[Name | None]
    found_part_id: Mapped[int | None] = mapped_column(owned_by("found_part"))
    caption: Mapped[Name | None]
    told_by: Mapped[Name | None]
    at: Mapped[datetime]
    width: Mapped[int]
    height: Mapped[int]
    sha256: Mapped[str] = mapped_column(String(64))
    jpeg: Mapped[bytes] = mapped_column(LargeBinary)
