"""Reading tools for the search: those of some boxes as they are at a date, and those on offer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.tools import toolkit
from kitting.facts.heads import Head
from kitting.facts.torque_tools import CALIBRATION_CYCLES
from kitting.facts.units import Torque
from kitting.services.tools.toolboxes import find_boxes
from kitting.tables.toolbox import Tool, Toolbox, ToolOffer
from kitting.tables.vocabulary import GeneralTool


@dataclass(frozen=True, slots=True)
class OwnedTools:
    """The tools of some boxes as they are at a date.

    `box_of` and `rows` are by tool key; `general_names` names general tools by their own key.
    """

    boxes: tuple[str, ...]
    tools: tuple[toolkit.Tool, ...]
    rows: Mapping[int, Tool]
    box_of: Mapping[int, str]
    general_names: Mapping[int, str]

    def general_all(self, name: str) -> list[toolkit.Tool]:
        """The general tools of a name, here or away."""
        return [
            tool
            for tool in self.tools
            if self.general_names.get(self.rows[tool.key].general_id or 0) == name
        ]

    def general_here(self, name: str) -> list[toolkit.Tool]:
        """The general tools of a name that are here."""
        return [tool for tool in self.general_all(name) if tool.away is None]


@dataclass(frozen=True, slots=True)
class OfferedTools:
    """Every offer with the tools it brings; tools that are alike share a code."""

    offers: Mapping[int, ToolOffer]
    tools: tuple[toolkit.Tool, ...]
    brings: Mapping[int, frozenset[str]]
    general: Mapping[str, int]


def read_owned(session: Session, boxes: Sequence[str], on: date) -> OwnedTools:
    """The tools of the boxes (all boxes if none is named) as they are at a date.

    Raises UnknownNameError for a box that is not there.
    """
    found = {box.id: box.code for box in find_boxes(session, boxes)}
    rows = session.scalars(
        select(Tool).where(Tool.toolbox_id.in_(found)).order_by(Tool.toolbox_id, Tool.code)
    ).all()
    return OwnedTools(
        boxes=tuple(found.values()),
        tools=tuple(as_tool(row, away=away_at(row, on)) for row in rows),
        rows={row.id: row for row in rows},
        box_of={row.id: found[row.toolbox_id or 0] for row in rows},
        general_names=dict(session.execute(select(GeneralTool.id, GeneralTool.name)).all()),
    )


def read_owned_if_any(session: Session, on: date) -> OwnedTools:
    """The tools of all boxes as they are at a date; nothing where no box is described."""
    if session.scalar(select(Toolbox.id).limit(1)) is None:
        return OwnedTools((), (), {}, {}, {})
    return read_owned(session, (), on)


def read_offered(session: Session) -> OfferedTools:
    """Every offer of tools."""
    offers = {offer.id: offer for offer in session.scalars(select(ToolOffer))}
    tools: dict[str, toolkit.Tool] = {}
    brings: dict[int, set[str]] = {}
    general: dict[str, int] = {}
    rows = session.scalars(
        select(Tool).where(Tool.offer_id.is_not(None)).order_by(Tool.offer_id, Tool.code)
    )
    for row in rows:
        code = spec_of(row)
        tools.setdefault(code, as_tool(row, code=code, offered=True))
        brings.setdefault(row.offer_id or 0, set()).add(code)
        if row.general_id is not None:
            general[code] = row.general_id
    return OfferedTools(
        offers,
        tuple(tools.values()),
        {key: frozenset(codes) for key, codes in brings.items()},
        general,
    )


def away_at(row: Tool, on: date) -> str | None:
    """Why a tool cannot be used at a date; None if it can. What is not known does not count."""
    if row.state == "lent" and (row.back_on is None or row.back_on > on):
        until = f" until {row.back_on:%a %d %b %Y}" if row.back_on else ", return not agreed"
        return f"lent to {row.lent_to}{until}"
    if row.state == "at calibration" and (row.back_on is None or row.back_on > on):
        return f"at calibration until {row.back_on}" if row.back_on else "at calibration"
    if row.state == "broken":
        return "broken"
    if row.sort != "torque wrench":
        return None
    if row.calibrated_to is None:
        return "its calibration date is not stated"
    if row.calibrated_to < on:
        return f"calibration ended {row.calibrated_to:%d %b %Y}"
    if row.cycles is not None and row.cycles >= CALIBRATION_CYCLES:
        return f"{row.cycles:,} cycles since calibration, {CALIBRATION_CYCLES:,} is the limit"
    return None


def as_tool(
    row: Tool, *, code: str | None = None, away: str | None = None, offered: bool = False
) -> toolkit.Tool:
    """A row as the search sees it, its scale in N·m."""
    unit = row.torque_unit or "N·m"

    def newton_metres(thousandths: int | None) -> Decimal | None:
        if thousandths is None:
            return None
        return Torque(Decimal(thousandths) / 1000, unit).newton_metres

    return toolkit.Tool(
        key=row.id,
        code=code or row.code,
        name=row.name,
        sort=row.sort,
        turns=Head(row.turns, row.turns_size or "") if row.turns else None,
        takes=row.takes,
        gives=row.gives,
        length=row.length,
        depth=row.depth,
        offset=row.offset,
        grip=row.grip,
        low=newton_metres(row.low),
        high=newton_metres(row.high),
        unit=unit,
        deviation=None if row.deviation is None else Decimal(row.deviation) / 100_000,
        clockwise_only=row.clockwise_only,
        away=away,
        offered=offered,
    )


def spec_of(row: Tool) -> str:
    """What a tool on offer is, in words: two offers of the same thing read the same."""
    parts = [row.sort if row.general_id is None else row.code]
    if row.turns:
        parts.append(f"{row.turns} {row.turns_size}")
    if row.takes or row.gives:
        parts.append(" → ".join(f"{square} in" for square in (row.takes, row.gives) if square))
    if row.low is not None and row.high is not None:
        parts.append(f"{row.low / 1000:g}–{row.high / 1000:g} {row.torque_unit}")
    for name, value in (("long", row.length), ("deep", row.depth), ("offset", row.offset)):
        if value is not None:
            parts.append(f"{value / 1000:g} mm {name}")
    if row.clockwise_only:
        parts.append("clockwise only")
    if row.deviation is not None:
        parts.append(f"±{row.deviation / 1000:g} %")
    return " ".join(parts)
