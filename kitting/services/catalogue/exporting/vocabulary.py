"""Own words as entries: kinds, fluids, systems, cautions, licences and tools of one's own."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from sqlalchemy import select

from kitting.facts.words import RelaxedBy, Source
from kitting.services.catalogue.exporting.entries import Entry, Names, entry, linked
from kitting.tables.vocabulary import (
    Caution,
    Fluid,
    FluidCaution,
    GeneralTool,
    Kind,
    KindCaution,
    KindDry,
    KindRule,
    KindSystem,
    KindTool,
    Licence,
    OtherWord,
    System,
    SystemCaution,
    SystemLicence,
)

Words = Mapping[str, Collection[str]]  # by section
WORDS = ("cautions", "fluids", "systems", "licences", "tools", "kinds")


def own_words(names: Names, used: Words) -> dict[str, list[Entry]]:
    """The entries of words that are used and did not come with the program, by section.

    What those name in their turn is among them.
    """
    asked = {section: set(codes) for section, codes in used.items()}
    kinds = list(_kinds(names, asked["kinds"]))
    for kind in kinds:
        for rule in kind.get("rules", ()):
            asked["fluids"] |= {rule["fluid"]} if "fluid" in rule else set()
            asked["systems"] |= {rule["system"]} if "system" in rule else set()
        for section in ("tools", "cautions", "systems"):
            asked[section] |= set(kind.get(section, ()))
    fluids = list(_fluids(names, asked["fluids"]))
    systems = list(_systems(names, asked["systems"]))
    for one in (*fluids, *systems):
        asked["cautions"] |= set(one.get("cautions", ()))
        asked["licences"] |= set(one.get("licences", ()))
    return {
        "cautions": list(_plain(names, Caution, asked["cautions"], ("title", "text", "word"))),
        "fluids": fluids,
        "systems": systems,
        "licences": list(_plain(names, Licence, asked["licences"], ("name", "text"))),
        "tools": list(_plain(names, GeneralTool, asked["tools"], ("name",))),
        "kinds": kinds,
    }


def _plain(
    names: Names, table: Any, codes: Collection[str], columns: tuple[str, ...]
) -> Iterator[Entry]:
    rows = list(names.session.scalars(_some(table, codes)))
    also = _also(names, table.__tablename__, [row.id for row in rows])
    for row in rows:
        told = {name: getattr(row, name) for name in columns}
        yield entry(code=row.code, also=also[row.id], **told)


def _also(names: Names, owner: str, keys: Collection[int]) -> Mapping[int, list[str]]:
    """What else people call some words of a table, by key."""
    said = names.rows_of(OtherWord, f"{owner}_id", keys, "word")
    return {key: [one.word for one in said.get(key, ())] for key in keys}


def _some(table: Any, codes: Collection[str]) -> Any:
    """The rows of some words, by code."""
    return select(table).where(table.code.in_(sorted(codes))).order_by(table.code)


def _fluids(names: Names, codes: Collection[str]) -> Iterator[Entry]:
    rows = list(names.session.scalars(_some(Fluid, codes)))
    keys = [row.id for row in rows]
    also = _also(names, "fluid", keys)
    cautions = names.rows_of(FluidCaution, "fluid_id", keys)
    for row in rows:
        yield entry(
            code=row.code,
            name=row.name,
            also=also[row.id],
            medium=row.medium,
            cautions=linked(cautions, row.id, "caution_id", names.cautions),
        )


def _systems(names: Names, codes: Collection[str]) -> Iterator[Entry]:
    rows = list(names.session.scalars(_some(System, codes)))
    keys = [row.id for row in rows]
    also = _also(names, "system", keys)
    cautions = names.rows_of(SystemCaution, "system_id", keys)
    licences = names.rows_of(SystemLicence, "system_id", keys)
    known = {key: code for key, code in names.licences.items() if key is not None and code}
    for row in rows:
        yield entry(
            code=row.code,
            name=row.name,
            also=also[row.id],
            general_torque=None if row.general_torque else False,
            cautions=linked(cautions, row.id, "caution_id", names.cautions),
            licences=linked(licences, row.id, "licence_id", known),
        )


def _kinds(names: Names, codes: Collection[str]) -> Iterator[Entry]:
    rows = list(names.session.scalars(_some(Kind, codes)))
    keys = [row.id for row in rows]
    rules = names.rows_of(KindRule, "kind_id", keys, "seq")
    also = _also(names, "kind", keys)
    dry = names.rows_of(KindDry, "kind_id", keys, "elastomer")
    tools = names.rows_of(KindTool, "kind_id", keys)
    cautions = names.rows_of(KindCaution, "kind_id", keys)
    systems = names.rows_of(KindSystem, "kind_id", keys)
    for row in rows:
        yield entry(
            code=row.code,
            name=row.name,
            also=also[row.id],
            family=str(row.family),
            threaded=row.threaded or None,
            general_torque=None if row.general_torque else False,
            rubber=None if row.rubber is None else str(row.rubber),
            locks_threads=row.locks_threads or None,
            chance=row.chance,
            classes=[row.weakest_class, row.strongest_class] if row.weakest_class else None,
            rules=[_rule(names, rule) for rule in rules.get(row.id, ())],
            dry=[one.elastomer for one in dry.get(row.id, ())],
            tools=linked(tools, row.id, "tool_id", names.tools),
            cautions=linked(cautions, row.id, "caution_id", names.cautions),
            systems=linked(systems, row.id, "system_id", names.systems),
        )


def _rule(names: Names, rule: KindRule) -> Entry:
    return entry(
        rule=str(rule.rule),
        source=None if rule.source is Source.GENERAL else str(rule.source),
        fluid=None if rule.fluid_id is None else names.fluids[rule.fluid_id],
        medium=rule.medium,
        system=None if rule.system_id is None else names.systems[rule.system_id],
        criterion=rule.criterion,
        reference=rule.reference,
        relaxed_by=None if rule.relaxed_by is RelaxedBy.WORKSHOP else str(rule.relaxed_by),
    )
