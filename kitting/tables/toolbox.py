"""Toolboxes, tools, and offers of tools. Lengths are thousandths of a millimetre."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.tool_words import (
    ToolOfferWay,
    ToolSort,
    ToolState,
    WrenchClass,
    WrenchDirection,
)
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    Name,
    Thousandths,
    UniqueWhere,
    Word,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class Toolbox(Base):
    """The tools of a person or a place."""

    __tablename__ = "toolbox"
    __table_args__ = (UniqueConstraint("code"),)

    id: Mapped[Identity]
    code: Mapped[Code]


class ToolOffer(Base):
    """Tools that can be bought, hired or borrowed together, at a price in minor units."""

    __tablename__ = "tool_offer"
    __table_args__ = (
        UniqueConstraint("code"),
        one_of("way", ToolOfferWay),
        CheckConstraint("price >= 0", name="price_not_negative"),
        CheckConstraint("length(currency) = 3", name="currency_iso_4217"),
    )

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]
    supplier: Mapped[Name]
    way: Mapped[ToolOfferWay]
    price: Mapped[Thousandths]
    currency: Mapped[str] = mapped_column(String(3))


class Tool(Base):
    """A tool in a toolbox, or one that an offer would bring.

    `low`, `high` and `resolution` (from one mark of the scale to the next) are thousandths of
    `torque_unit`, as marked on the scale; `deviation` is thousandths of a percent. `direction` says
    which ways a torque wrench measures, NULL where nobody states it, and `wrench_class` its class
    of ISO 6789. `state` and whom it is lent to are recorded at work.
    """

    __tablename__ = "tool"
    __table_args__ = (
        one_of("sort", ToolSort),
        one_of("state", ToolState),
        one_of("wrench_class", WrenchClass),
        one_of("direction", WrenchDirection),
        one_of("torque_unit", ("N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm")),
        # A tool is in a box or in an offer: in both it would be counted as there and not there.
        CheckConstraint("(toolbox_id IS NULL) <> (offer_id IS NULL)", name="one_owner"),
        CheckConstraint("(turns IS NULL) = (turns_size IS NULL)", name="head_complete"),
        # A scale without an end or without a unit proves nothing about a figure.
        CheckConstraint(
            "(low IS NULL) = (high IS NULL) AND (low IS NULL) = (torque_unit IS NULL)",
            name="scale_complete",
        ),
        CheckConstraint("low >= 0 AND low < high", name="scale_rises"),
        CheckConstraint("(state = 'lent') = (lent_to IS NOT NULL)", name="lent_to_somebody"),
        CheckConstraint("(sort = 'general') = (general_id IS NOT NULL)", name="general_is_named"),
        positive("deviation"),
        positive("resolution"),
        positive("length"),
        positive("depth"),
        positive("grip"),
    )
    __unique_where__ = (
        UniqueWhere("uq_tool_in_box", ("toolbox_id", "code"), "toolbox_id IS NOT NULL"),
        UniqueWhere("uq_tool_in_offer", ("offer_id", "code"), "offer_id IS NOT NULL"),
    )

    id: Mapped[Identity]
    toolbox_id: Mapped[int | None] = mapped_column(owned_by("toolbox"))
    offer_id: Mapped[int | None] = mapped_column(owned_by("tool_offer"))
    code: Mapped[Code]
    name: Mapped[Name]
    sort: Mapped[ToolSort]
    turns: Mapped[Word | None]
    turns_size: Mapped[Word | None]
    takes: Mapped[Word | None]
    gives: Mapped[Word | None]
    length: Mapped[Thousandths | None]
    depth: Mapped[Thousandths | None]
    points: Mapped[int | None]
    offset: Mapped[Thousandths | None]
    grip: Mapped[Thousandths | None]
    low: Mapped[Thousandths | None]
    high: Mapped[Thousandths | None]
    torque_unit: Mapped[Word | None]
    resolution: Mapped[Thousandths | None]
    deviation: Mapped[Thousandths | None]
    wrench_class: Mapped[WrenchClass | None]
    direction: Mapped[WrenchDirection | None]
    calibrated_to: Mapped[date | None]
    cycles: Mapped[int | None]
    general_id: Mapped[int | None] = mapped_column(refers_to("general_tool"))
    state: Mapped[ToolState] = mapped_column(default=ToolState.HERE)
    lent_to: Mapped[Name | None]
    back_on: Mapped[date | None]
