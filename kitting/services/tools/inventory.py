"""Reading tools for the search: those of some boxes as they are at a date, and those on offer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cached_property
from itertools import groupby
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.tools.offered import Brought, brought
from kitting.calc.tools.toolkit import Tool
from kitting.errors import UnknownNameError
from kitting.facts.heads import Head
from kitting.facts.money import Money
from kitting.facts.reasons import Reason, because
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.tool_words import ToolOfferWay, ToolSort, ToolState
from kitting.facts.torque_tools import CALIBRATION_CYCLES
from kitting.facts.units import Torque
from kitting.services.lookup import lookup
from kitting.services.planning.request import ToolDay
from kitting.tables import toolbox as tables
from kitting.tables.vocabulary import GeneralTool
from kitting.views.tools import MarkedScale, ToolSpecView

_TOOL = tables.Tool
_COLUMNS = (
    _TOOL.id, _TOOL.code, _TOOL.name, _TOOL.sort, _TOOL.turns, _TOOL.turns_size, _TOOL.takes,
    _TOOL.gives, _TOOL.length, _TOOL.depth, _TOOL.offset, _TOOL.grip, _TOOL.low, _TOOL.high,
    _TOOL.torque_unit, _TOOL.resolution, _TOOL.deviation, _TOOL.wrench_class, _TOOL.direction,
    _TOOL.points,
    _TOOL.calibrated_to, _TOOL.cycles,
    _TOOL.state, _TOOL.lent_to, _TOOL.back_on, GeneralTool.name.label("general"),
)  # fmt: skip
_BOXES = select(tables.Toolbox.id, tables.Toolbox.code).order_by(tables.Toolbox.code)
_OWNED = (
    select(_TOOL.toolbox_id, *_COLUMNS)
    .outerjoin(GeneralTool, _TOOL.general_id == GeneralTool.id)
    .where(_TOOL.toolbox_id.in_(bindparam("boxes", expanding=True)))
    .order_by(_TOOL.toolbox_id, _TOOL.code)
)
_OFFERED = (
    select(
        tables.ToolOffer.code.label("offer"),
        tables.ToolOffer.name.label("offer_name"),
        tables.ToolOffer.supplier,
        tables.ToolOffer.way,
        tables.ToolOffer.price,
        tables.ToolOffer.currency,
        *_COLUMNS,
    )
    .join(_TOOL, _TOOL.offer_id == tables.ToolOffer.id)
    .outerjoin(GeneralTool, _TOOL.general_id == GeneralTool.id)
    .order_by(tables.ToolOffer.code, _TOOL.code)
)


@dataclass(frozen=True, slots=True)
class OwnedTool:
    """A tool as the search sees it, its box, its scale as marked, and its calibration."""

    tool: Tool
    box: str
    scale: MarkedScale | None
    calibrated_to: date | None


@dataclass(frozen=True)
class OwnedTools:
    """The tools of some boxes as they are at a date."""

    boxes: tuple[str, ...]
    owned: tuple[OwnedTool, ...]

    @cached_property
    def tools(self) -> tuple[Tool, ...]:
        """As the search sees them."""
        return tuple(owned.tool for owned in self.owned)

    @cached_property
    def box_of(self) -> Mapping[int, str]:
        """The box of each tool, by its key."""
        return {owned.tool.key: owned.box for owned in self.owned}

    def general_all(self, name: str) -> list[Tool]:
        """The general tools of a name, here or away."""
        return [tool for tool in self.tools if tool.general == name]

    def general_here(self, name: str) -> list[Tool]:
        """The general tools of a name that are here."""
        return [tool for tool in self.general_all(name) if tool.away is None]


@dataclass(frozen=True, slots=True)
class Offer:
    """Something that can be bought, hired or borrowed.

    `tools` are all that it has in it; `brings` are their codes, by which like counts as like.
    """

    code: str
    name: str
    supplier: str
    way: ToolOfferWay
    price: Money
    brings: frozenset[str]
    tools: tuple[ToolSpecView, ...]


@dataclass(frozen=True, slots=True)
class OfferedTools:
    """Every offer with what it brings; tools that are alike are one, whoever offers them."""

    offers: tuple[Offer, ...]
    brought: Brought

    @property
    def tools(self) -> tuple[Tool, ...]:
        """As the search sees them."""
        return self.brought.tools


def read_boxes(session: Session, codes: Sequence[str], allow_none: bool = False) -> dict[int, str]:
    """Keys and codes of the toolboxes named, of all of them if none is named.

    Raises UnknownNameError for a box that is not there, and for none at all unless `allow_none`.
    """
    boxes = {code: key for key, code in session.execute(_BOXES)}
    if not boxes and not allow_none:
        raise UnknownNameError("no toolbox is described yet", then=(next_step(Action.LOAD_TOOLS),))
    keys = [lookup("toolbox", code, boxes, _known(boxes)) for code in codes] or boxes.values()
    names = {key: code for code, key in boxes.items()}
    return {key: names[key] for key in keys}


def _known(names: Mapping[str, int]) -> str:
    return f"Known: {', '.join(names)}"


def read_owned(
    session: Session, boxes: Sequence[str], day: ToolDay, allow_none: bool = False
) -> OwnedTools:
    """The tools of the boxes (all boxes if none is named) as they are at a day.

    Raises UnknownNameError for a box that is not there, and for none at all unless `allow_none`.
    """
    found = read_boxes(session, boxes, allow_none)
    rows = session.execute(_OWNED, {"boxes": list(found)})
    return OwnedTools(
        boxes=tuple(found.values()),
        owned=tuple(
            OwnedTool(
                tool=replace(_tool(row), away=away_at(row, day)),
                box=found[row.toolbox_id],
                scale=marked_scale(row),
                calibrated_to=row.calibrated_to,
            )
            for row in rows
        ),
    )


def read_offered(session: Session, on: date) -> OfferedTools:
    """Every offer of tools, judged at a date like those that are there.

    A wrench to buy without a calibration date is new, and comes with its maker's certificate
    (common practice, no source). Tools that can be used alike at the date are alike, whenever
    their calibration ends.
    """
    rows = session.execute(_OFFERED).all()
    found = brought(
        # No code has a space in it, so no two of these are the same.
        (row.offer, replace(_tool(row), code=f"{row.offer} {row.code}", offered=True,
                            away=_offered_away(row, on)))
        for row in rows
    )  # fmt: skip
    offers = tuple(
        Offer(
            code=some[0].offer,
            name=some[0].offer_name,
            supplier=some[0].supplier,
            way=some[0].way,
            price=Money(some[0].price, some[0].currency),
            brings=found.brings[code],
            tools=tuple(map(_spec, some)),
        )
        for code, some in ((code, list(same)) for code, same in groupby(rows, lambda r: r.offer))
    )
    return OfferedTools(offers, found)


def away_at(row: Any, day: ToolDay) -> Reason | None:
    """Why a tool cannot be used at a day; None if it can. What is not known does not count.

    On the day it is due back it is not counted on, nor after it if nobody recorded its return.
    """
    if row.state == ToolState.BROKEN:
        return because(ToolReason.BROKEN)
    if row.state != ToolState.HERE:
        if row.back_on is not None and row.back_on < day.known_on:
            return _overdue(row)
        if row.back_on is None or row.back_on >= day.on:
            return _elsewhere(row)
    return _uncalibrated(row, day.on)


def _offered_away(row: Any, on: date) -> Reason | None:
    """Why a tool on offer could not be used at a date."""
    found = _uncalibrated(row, on)
    new = row.way == ToolOfferWay.BUY and row.calibrated_to is None
    if new and found is not None and found.code == ToolReason.CALIBRATION_NOT_STATED:
        return _worn(row)
    return found


def _uncalibrated(row: Any, on: date) -> Reason | None:
    if row.sort != ToolSort.TORQUE_WRENCH:
        return None
    if row.calibrated_to is not None and row.calibrated_to < on:
        return because(ToolReason.CALIBRATION_ENDED, ended=row.calibrated_to)
    if row.calibrated_to is None:
        return _worn(row) or because(ToolReason.CALIBRATION_NOT_STATED)
    return _worn(row)


def _worn(row: Any) -> Reason | None:
    if row.cycles is not None and row.cycles >= CALIBRATION_CYCLES:
        return because(ToolReason.TOO_MANY_CYCLES, cycles=row.cycles, limit=CALIBRATION_CYCLES)
    return None


def _overdue(row: Any) -> Reason:
    if row.state == ToolState.LENT:
        return because(ToolReason.LENT_OVERDUE, to=row.lent_to, due=row.back_on)
    return because(ToolReason.AT_CALIBRATION_OVERDUE, due=row.back_on)


def _elsewhere(row: Any) -> Reason:
    if row.state == ToolState.LENT:
        if row.back_on is None:
            return because(ToolReason.LENT_WITHOUT_DATE, to=row.lent_to)
        return because(ToolReason.LENT, to=row.lent_to, until=row.back_on)
    if row.back_on is None:
        return because(ToolReason.AT_CALIBRATION_WITHOUT_DATE)
    return because(ToolReason.AT_CALIBRATION, until=row.back_on)


def marked_scale(row: Any) -> MarkedScale | None:
    """The ends of the scale of a row as marked; None where it has none."""
    if row.low is None or row.high is None:
        return None
    low, high = (Torque(Decimal(end) / 1000, row.torque_unit) for end in (row.low, row.high))
    return MarkedScale(low, high)


def _tool(row: Any) -> Tool:
    """A row as the search sees it, its scale in N·m."""
    scale = marked_scale(row)
    return Tool(
        key=row.id,
        code=row.code,
        name=row.name,
        sort=row.sort,
        turns=Head(row.turns, row.turns_size or "") if row.turns else None,
        takes=row.takes,
        gives=row.gives,
        length=row.length,
        depth=row.depth,
        offset=row.offset,
        grip=row.grip,
        low=scale.low.newton_metres if scale else None,
        high=scale.high.newton_metres if scale else None,
        unit=row.torque_unit or "N·m",
        resolution=None if row.resolution is None else Decimal(row.resolution) / 1000,
        deviation=None if row.deviation is None else Decimal(row.deviation) / 100_000,
        points=row.points,
        wrench_class=row.wrench_class,
        direction=row.direction,
        general=row.general,
    )


def stated_resolution(row: Any) -> Torque | None:
    """How far two marks of a scale are apart, in its unit; None where nobody states it."""
    if row.resolution is None or row.torque_unit is None:
        return None
    return Torque(Decimal(row.resolution) / 1000, row.torque_unit)


def _spec(row: Any) -> ToolSpecView:
    tool = _tool(row)
    return ToolSpecView(
        sort=tool.sort,
        general=tool.general,
        turns=tool.turns,
        takes=tool.takes,
        gives=tool.gives,
        scale=marked_scale(row),
        resolution=stated_resolution(row),
        length=tool.length,
        depth=tool.depth,
        offset=tool.offset,
        grip=tool.grip,
        points=tool.points,
        direction=tool.direction,
        wrench_class=tool.wrench_class,
        deviation=None if tool.deviation is None else tool.deviation * 100,
        calibrated_to=row.calibrated_to,
    )
