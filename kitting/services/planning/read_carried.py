"""Reading what comes with steps, joints, kinds and items: cautions, general tools, licences."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, fields
from typing import Any

from sqlalchemy import Connection, Integer, String, Text, union_all

from kitting.services.planning.facts import CautionFacts, Cautions
from kitting.services.planning.rows import among, branch, read_rows
from kitting.services.planning.work_facts import LicenceFacts
from kitting.tables.items import ItemCaution
from kitting.tables.units import JointCaution
from kitting.tables.vocabulary import (
    Caution,
    FluidCaution,
    GeneralTool,
    KindCaution,
    KindSystem,
    KindTool,
    Licence,
    System,
    SystemCaution,
    SystemLicence,
)
from kitting.tables.work import StepCaution, StepTool

_caution, _licence, _system = Caution.__table__.c, Licence.__table__.c, System.__table__.c
_system_licence, _kind_system = SystemLicence.__table__.c, KindSystem.__table__.c
_system_caution = SystemCaution.__table__.c

_CARRIED_COLUMNS = {
    "owner": Integer, "code": String, "title": String, "text": Text, "word": String,
}  # fmt: skip


def _cautions_of(what: str, table: Any, owner: Any, caution: Any) -> Any:
    """The cautions that one sort of thing carries; its keys are the parameter of its name."""
    return (
        branch(
            what, _CARRIED_COLUMNS, owner=owner, code=_caution.code, title=_caution.title,
            text=_caution.text, word=_caution.word,
        )
        .select_from(table.join(Caution.__table__, caution == _caution.id))
        .where(among(owner, f"{what}s"))
    )  # fmt: skip


def _tools_of(what: str, table: Any, owner: Any, tool: Any) -> Any:
    """The general tools that one sort of thing asks for."""
    general = GeneralTool.__table__
    return (
        branch(f"{what} tool", _CARRIED_COLUMNS, owner=owner, title=general.c.name)
        .select_from(table.join(general, tool == general.c.id))
        .where(among(owner, f"{what}s"))
    )


_CARRIED = union_all(
    *(
        _cautions_of(what, table, table.c[f"{what}_id"], table.c.caution_id)
        for what, table in (
            ("step", StepCaution.__table__),
            ("joint", JointCaution.__table__),
            ("fluid", FluidCaution.__table__),
            ("system", SystemCaution.__table__),
            ("kind", KindCaution.__table__),
            ("item", ItemCaution.__table__),
        )
    ),
    *(
        _tools_of(what, table, table.c[f"{what}_id"], table.c.tool_id)
        for what, table in (("step", StepTool.__table__), ("kind", KindTool.__table__))
    ),
    branch(
        "system licence", _CARRIED_COLUMNS, owner=_system_licence.system_id, code=_licence.code,
        title=_licence.name, text=_licence.text,
    )
    .select_from(
        SystemLicence.__table__.join(
            Licence.__table__, _system_licence.licence_id == _licence.id
        )
    )
    .where(among(_system_licence.system_id, "systems")),
    # A kind brings what the systems bring that it always belongs to.
    branch(
        "kind", _CARRIED_COLUMNS, owner=_kind_system.kind_id, code=_caution.code,
        title=_caution.title, text=_caution.text, word=_caution.word,
    )
    .select_from(
        KindSystem.__table__.join(
            SystemCaution.__table__, _kind_system.system_id == _system_caution.system_id
        ).join(Caution.__table__, _system_caution.caution_id == _caution.id)
    )
    .where(among(_kind_system.kind_id, "kinds")),
    branch(
        "kind licence", _CARRIED_COLUMNS, owner=_kind_system.kind_id, code=_licence.code,
        title=_licence.name, text=_licence.text,
    )
    .select_from(
        KindSystem.__table__.join(
            SystemLicence.__table__, _kind_system.system_id == _system_licence.system_id
        ).join(Licence.__table__, _system_licence.licence_id == _licence.id)
    )
    .where(among(_kind_system.kind_id, "kinds")),
    branch("kind system", _CARRIED_COLUMNS, owner=_kind_system.kind_id, title=_system.name)
    .select_from(KindSystem.__table__.join(System.__table__, _kind_system.system_id == _system.id))
    .where(among(_kind_system.kind_id, "kinds"), _system.general_torque.is_(False)),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Carried:
    """What comes with steps, joints, kinds and items: cautions, general tools, licences.

    `strict` names the systems of kinds for which no general torque may stand in.
    """

    cautions: Cautions
    system_licences: Mapping[int, tuple[LicenceFacts, ...]]
    kind_licences: Mapping[int, tuple[LicenceFacts, ...]]
    strict: Mapping[int, tuple[str, ...]]
    step_tools: Mapping[int, tuple[str, ...]]
    kind_tools: Mapping[int, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Carriers:
    """The keys of everything that cautions and tools come with."""

    steps: Collection[int]
    joints: Collection[int]
    fluids: Collection[int]
    systems: Collection[int]
    kinds: Collection[int]
    items: Collection[int]


def read_carried(connection: Connection, by: Carriers) -> Carried:
    """What comes with these things, in one statement."""
    asked = {field.name: getattr(by, field.name) for field in fields(by)}
    rows = read_rows(connection, _CARRIED, **asked)
    texts: dict[str, CautionFacts] = {}
    carried: dict[tuple[str, int], list[str]] = defaultdict(list)
    licences: dict[tuple[str, int], list[LicenceFacts]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: row.code or row.title):
        if row.what in ("system licence", "kind licence"):
            licences[row.what, row.owner].append(LicenceFacts(row.code, row.title, row.text))
            continue
        if row.code is not None:
            texts[row.code] = CautionFacts(row.code, row.title, row.text, row.word)
        carried[row.what, row.owner].append(row.code or row.title)
    every = {place: tuple(dict.fromkeys(codes)) for place, codes in carried.items()}

    def of(carrier: str) -> dict[int, tuple[str, ...]]:
        return {key: names for (what, key), names in every.items() if what == carrier}

    def licences_of(carrier: str) -> dict[int, tuple[LicenceFacts, ...]]:
        return {key: tuple(found) for (what, key), found in licences.items() if what == carrier}

    return Carried(
        cautions=Cautions(texts, every),
        system_licences=licences_of("system licence"),
        kind_licences=licences_of("kind licence"),
        strict=of("kind system"),
        step_tools=of("step tool"),
        kind_tools=of("kind tool"),
    )
