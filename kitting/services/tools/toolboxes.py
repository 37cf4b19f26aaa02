"""Toolboxes: loading lists of tools and offers, lending, listing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.errors import FileProblemsError, KittingError, Problem, UnknownNameError
from kitting.facts.names import natural_key, nearest
from kitting.facts.words import ToolState
from kitting.files.lists.reader import Field
from kitting.files.lists.tools import BOX_FIELDS, OFFER_FIELDS, ToolRow, read_tools
from kitting.services.catalogue.load import LoadReport
from kitting.services.db.sync import Row, Shape, Sync
from kitting.store import writing
from kitting.tables.base import Base
from kitting.tables.toolbox import Tool, Toolbox
from kitting.tables.vocabulary import GeneralTool
from kitting.views.tools import ToolListing

TABLES = Base.metadata.tables


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
        place = (tool.values[owner], tool.values["code"])
        if place in seen:
            reason = f"it stands twice in {owner} {place[0]}"
            problems.append(tool.problem(reason, "Give each piece a code of its own"))
        seen.add(place)
    return problems


def _unnamed(tools: Sequence[ToolRow], general: Mapping[str, int]) -> list[Problem]:
    """General tools must be of a kind that steps can ask for."""
    problems = []
    for tool in tools:
        if tool.values["sort"] == "general":
            code = tool.values.get("general", tool.values["code"])
            if code not in general:
                near = nearest(code, general)
                step = f"Did you mean {' or '.join(near)}?" if near else "Describe it under 'tools'"
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
    return LoadReport(dict(sync.counts), (), tuple(files), dry_run)


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
    named = values.get("general", values["code"]) if values["sort"] == "general" else None
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
        "clockwise_only": values.get("direction") == "clockwise",
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


def find_boxes(session: Session, codes: Sequence[str]) -> list[Toolbox]:
    """The toolboxes named, all of them if none is named; raises UnknownNameError."""
    boxes = list(session.scalars(select(Toolbox).order_by(Toolbox.code)))
    if not codes:
        if not boxes:
            raise UnknownNameError(
                "no toolbox is described yet. Load one: kitting toolbox load FILE"
            )
        return boxes
    known = {box.code.casefold(): box for box in boxes}
    found = []
    for code in codes:
        if code.casefold() not in known:
            near = nearest(code, [box.code for box in boxes]) or [box.code for box in boxes]
            raise UnknownNameError(f"no toolbox {code!r}. Known: {', '.join(near) or 'none'}")
        found.append(known[code.casefold()])
    return found


def list_tools(session: Session, codes: Sequence[str]) -> tuple[ToolListing, ...]:
    """The tools of some boxes (all if none is named), by box and code."""
    boxes = {box.id: box.code for box in find_boxes(session, codes)}
    tools = session.scalars(select(Tool).where(Tool.toolbox_id.in_(boxes)))
    listed = [_listing(boxes[tool.toolbox_id or 0], tool) for tool in tools]
    return tuple(sorted(listed, key=lambda tool: (tool.box, natural_key(tool.code))))


def _listing(box: str, tool: Tool) -> ToolListing:
    scale = None
    if tool.low is not None and tool.high is not None:
        scale = f"{tool.low / 1000:g} to {tool.high / 1000:g} {tool.torque_unit}"
    return ToolListing(
        box=box,
        code=tool.code,
        name=tool.name,
        sort=tool.sort,
        turns=tool.turns and f"{tool.turns} {tool.turns_size}",
        takes=tool.takes,
        gives=tool.gives,
        scale=scale,
        calibrated_to=tool.calibrated_to,
        state=tool.state,
        lent_to=tool.lent_to,
        back_on=tool.back_on,
    )


@dataclass(frozen=True, slots=True)
class Moved:
    """What was recorded of a tool."""

    box: str
    code: str
    state: str
    lent_to: str | None
    back_on: date | None


def set_state(
    engine: Engine,
    box: str,
    code: str,
    state: str,
    lent_to: str | None = None,
    back_on: date | None = None,
    dry_run: bool = False,
) -> Moved:
    """Record that a tool is lent, at calibration, broken or here again.

    Raises UnknownNameError for a box or tool that is not there, KittingError for lending what is
    lent already.
    """
    with writing(engine) as session:
        (owner,) = find_boxes(session, [box])
        tools = {
            t.code: t for t in session.scalars(select(Tool).where(Tool.toolbox_id == owner.id))
        }
        if code not in tools:
            near = nearest(code, tools) or sorted(tools)[:5]
            raise UnknownNameError(f"no tool {code!r} in {owner.code}. Near: {', '.join(near)}")
        tool = tools[code]
        if state == "lent" and tool.state == "lent":
            raise KittingError(
                f"{code} is lent to {tool.lent_to} already."
                f" Record its return first: kitting toolbox back {owner.code} {code}"
            )
        tool.state, tool.lent_to, tool.back_on = ToolState(state), lent_to, back_on
        moved = Moved(owner.code, code, state, lent_to, back_on)
        session.flush()
        if not dry_run:
            session.commit()
    return moved
