"""Toolboxes: loading lists of tools and offers, listing, and recording where a tool is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, bindparam, select, update
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import FileProblemsError, KittingError, Problem
from kitting.facts.heads import Head
from kitting.facts.names import natural_key
from kitting.facts.tool_words import ToolSort, ToolState
from kitting.facts.units import Torque
from kitting.files.lists.reader import Field
from kitting.files.lists.tools import (
    BOX_FIELDS,
    OFFER_FIELDS,
    ToolRow,
    fault_of_resolution,
    read_tools,
)
from kitting.services.catalogue.load import LoadReport
from kitting.services.db.sync import Row, Shape, Sync
from kitting.services.lookup import hint, lookup
from kitting.services.tools.inventory import marked_scale, read_boxes, stated_resolution
from kitting.store import writing
from kitting.tables.base import Base
from kitting.tables.toolbox import Tool
from kitting.tables.vocabulary import GeneralTool
from kitting.views.tools import ToolListing, ToolStateView

TABLES = Base.metadata.tables
_LISTED = select(
    Tool.toolbox_id, Tool.id, Tool.code, Tool.name, Tool.sort, Tool.turns, Tool.turns_size,
    Tool.takes, Tool.gives, Tool.low, Tool.high, Tool.torque_unit, Tool.resolution,
    Tool.calibrated_to, Tool.state, Tool.lent_to, Tool.back_on,
).where(Tool.toolbox_id.in_(bindparam("boxes", expanding=True)))  # fmt: skip


def load_tools(engine: Engine, paths: Sequence[Path], dry_run: bool = False) -> LoadReport:
    """Load toolboxes from lists, all or nothing; a list describes the boxes that it names wholly.

    What is recorded at work (lent, at calibration, broken) is kept unless the list has a column
    'state'. Raises FileProblemsError with every fault of the lists.
    """
    return _load(engine, paths, BOX_FIELDS, "box", dry_run)


def load_offers(engine: Engine, paths: Sequence[Path], dry_run: bool = False) -> LoadReport:
    """Load offers of tools from lists, all or nothing; rows of one offer make a set."""
    return _load(engine, paths, OFFER_FIELDS, "offer", dry_run)


def _load(
    engine: Engine, paths: Sequence[Path], fields: Mapping[str, Field], owner: str, dry_run: bool
) -> LoadReport:
    tools: list[ToolRow] = []
    problems: list[Problem] = []
    for path in paths:
        found, faults = read_tools(path, fields)
        tools += found
        problems += faults
    problems += _repeated(tools, owner)
    with writing(engine) as session:
        general = dict(session.execute(select(GeneralTool.code, GeneralTool.id)).all())
        problems += _unnamed(tools, general)
        if problems:
            raise FileProblemsError(problems)
        report = _write(session, tools, owner, general, dry_run, [str(path) for path in paths])
        if not dry_run:
            session.commit()
    return report


def _repeated(tools: Sequence[ToolRow], owner: str) -> list[Problem]:
    seen: set[tuple[str, str]] = set()
    problems = []
    for tool in tools:
        key = (tool.values[owner], tool.values["code"])
        if key in seen:
            reason = f"it is listed twice in {owner} {key[0]}"
            problems.append(tool.problem(reason, "Give each piece a code of its own"))
        seen.add(key)
    return problems


def _unnamed(tools: Sequence[ToolRow], general: Mapping[str, int]) -> list[Problem]:
    """General tools must be of a kind that steps can ask for."""
    problems = []
    for tool in tools:
        if tool.values["sort"] == ToolSort.GENERAL:
            code = tool.values.get("general", tool.values["code"])
            if code not in general:
                step = hint(code, general, "Describe it under 'tools' in a catalogue file")
                problems.append(tool.problem(f"no general tool is called {code!r}", step))
    return problems


def _write(
    session: Session,
    tools: Sequence[ToolRow],
    owner: str,
    general: Mapping[str, int],
    dry_run: bool,
    files: Sequence[str],
) -> LoadReport:
    sync = Sync(session)
    table, column = ("toolbox", "toolbox_id") if owner == "box" else ("tool_offer", "offer_id")
    owners = {tool.values[owner]: _owner_row(tool, owner) for tool in tools}
    sort = "boxes" if owner == "box" else "offers"
    ids = sync.sync(Shape(TABLES[table], ("code",)), owners.values(), (), sort)
    rows = [_tool_row(tool, column, ids[(tool.values[owner],)], general) for tool in tools]
    shape = Shape(TABLES["tool"], (column, "code"), column)
    sync.sync(shape, rows, [ids[(code,)] for code in owners], "tools")
    sync.finish()
    return LoadReport(counts=dict(sync.counts), remarks=(), files=tuple(files), dry_run=dry_run)


def _owner_row(tool: ToolRow, owner: str) -> Row:
    values = tool.values
    if owner == "box":
        return {"code": values["box"]}
    return {
        "code": values["offer"],
        "name": values.get("offer name") or values.get("name") or values["offer"],
        "supplier": values["supplier"],
        "way": values["way"],
        "price": values["price"].minor,
        "currency": values["price"].currency,
    }


def _tool_row(tool: ToolRow, column: str, owner_id: int, general: Mapping[str, int]) -> Row:
    values = tool.values
    turns, low, high = values.get("turns"), values.get("from"), values.get("to")
    resolution = values.get("resolution")
    named = values.get("general", values["code"]) if values["sort"] == ToolSort.GENERAL else None
    row: Row = {
        column: owner_id,
        "code": values["code"],
        "name": values.get("name", values["code"]),
        "sort": values["sort"],
        "turns": turns and turns.profile,
        "turns_size": turns and turns.size,
        "low": low and int(low.figure * 1000),
        "high": high and int(high.figure * 1000),
        "torque_unit": low and low.unit,
        "resolution": resolution and int(resolution.figure * 1000),
        "wrench_class": values.get("class"),
        "direction": values.get("direction"),
        "calibrated_to": values.get("calibrated to"),
        "general_id": named and general[named],
    }
    same = ("takes", "gives", "length", "depth", "points", "offset", "grip", "deviation", "cycles")
    row |= {name: values.get(name) for name in same}
    if "state" in values:
        row |= {
            "state": values["state"],
            "lent_to": values.get("lent to"),
            "back_on": values.get("back on"),
        }
    return row


def list_tools(session: Session, codes: Sequence[str]) -> tuple[ToolListing, ...]:
    """The tools of some boxes (all if none is named), by box and code.

    Raises UnknownNameError.
    """
    boxes = read_boxes(session, codes)
    listed = [
        _listing(boxes[row.toolbox_id], row)
        for row in session.execute(_LISTED, {"boxes": list(boxes)})
    ]
    return tuple(sorted(listed, key=lambda tool: (tool.box, natural_key(tool.code))))


def _listing(box: str, row: Any) -> ToolListing:
    return ToolListing(
        box=box,
        code=row.code,
        name=row.name,
        sort=row.sort,
        turns=Head(row.turns, row.turns_size or "") if row.turns else None,
        takes=row.takes,
        gives=row.gives,
        scale=marked_scale(row),
        resolution=stated_resolution(row),
        calibrated_to=row.calibrated_to,
        state=row.state,
        lent_to=row.lent_to,
        back_on=row.back_on,
    )


@dataclass(frozen=True, slots=True)
class ToolChange:
    """Where a tool is from now on: lent to somebody, at calibration, broken, or here again."""

    box: str
    code: str
    state: ToolState
    lent_to: str | None = None
    back_on: date | None = None


def set_state(engine: Engine, change: ToolChange, dry_run: bool = False) -> ToolStateView:
    """Record that a tool is lent, at calibration, broken or here again.

    Raises UnknownNameError for a box or tool that is not there, KittingError for lending what is
    lent already.
    """
    with writing(engine) as session:
        box, tool = _tool_in(session, change.box, change.code)
        if change.state == tool.state == ToolState.LENT:
            raise KittingError(
                "{code} is lent to {lent_to} already. Record its return first",
                code=tool.code,
                lent_to=tool.lent_to,
                then=(next_step(Action.RETURN_TOOL, box=box, tool=tool.code),),
            )
        session.execute(
            update(Tool)
            .where(Tool.id == tool.id)
            .values(state=change.state, lent_to=change.lent_to, back_on=change.back_on)
        )
        if not dry_run:
            session.commit()
    return ToolStateView(
        box=box,
        code=tool.code,
        state=change.state,
        lent_to=change.lent_to,
        back_on=change.back_on,
    )


def set_resolution(
    engine: Engine, box: str, code: str, resolution: Torque, dry_run: bool = False
) -> ToolListing:
    """State how far two marks of the scale of a torque wrench are apart.

    Raises UnknownNameError for a box or tool that is not there, KittingError where its scale has no
    such marks.
    """
    with writing(engine) as session:
        named, tool = _tool_in(session, box, code)
        scale = marked_scale(tool)
        if tool.sort is not ToolSort.TORQUE_WRENCH or scale is None:
            raise KittingError(
                "{code} is a {sort}, and only a torque wrench has steps",
                code=tool.code,
                sort=tool.sort,
            )
        if (found := fault_of_resolution(resolution, scale.low, scale.high)) is not None:
            raise KittingError("{code}: {found}", code=tool.code, found=". ".join(found))
        session.execute(
            update(Tool).where(Tool.id == tool.id).values(resolution=int(resolution.figure * 1000))
        )
        if not dry_run:
            session.commit()
    return replace(_listing(named, tool), resolution=resolution)


def _tool_in(session: Session, box: str, code: str) -> tuple[str, Any]:
    """A box by its code, and the row of a tool in it."""
    ((key, named),) = read_boxes(session, [box]).items()
    tools = {row.code: row for row in session.execute(_LISTED, {"boxes": [key]})}
    known = f"Known: {', '.join(sorted(tools))}"
    return named, lookup(f"tool in {named}", code, tools, known)
