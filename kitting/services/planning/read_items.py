"""Reading items: what they are and bring, what sources state of them, what comes with them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from sqlalchemy import Connection, Integer, String, Text, or_, select, union_all

from kitting.calc.planning.renewal import RuleStatement, SituationRule, Statement
from kitting.calc.rubber.compatibility import SourceStatement, source_statement
from kitting.facts.words import Rating, RelaxedBy, Rule, Source
from kitting.services.planning.facts import (
    CautionFacts,
    Cautions,
    ItemFacts,
    KindFacts,
    LicenceFacts,
    SuccessionFacts,
)
from kitting.services.planning.rows import among, branch, reachable, read_rows
from kitting.tables.items import (
    Item,
    ItemCaution,
    ItemContent,
    ItemMedium,
    ItemRule,
    Succession,
    Successor,
)
from kitting.tables.units import Fit, FitRule, JointCaution
from kitting.tables.vocabulary import (
    Caution,
    Fluid,
    FluidCaution,
    GeneralTool,
    Kind,
    KindCaution,
    KindDry,
    KindRule,
    KindTool,
    Licence,
    System,
    SystemCaution,
    SystemLicence,
)
from kitting.tables.work import StepCaution, StepTool

_item, _kind, _caution = Item.__table__.c, Kind.__table__.c, Caution.__table__.c
_content, _succession, _successor = (
    ItemContent.__table__.c, Succession.__table__.c, Successor.__table__.c,
)  # fmt: skip


def _with_replacements(name: str) -> Any:
    """The keys of a list with those of everything that replaces them, over any number of steps."""
    chain = select(_item.id.label("key")).where(among(_item.id, name)).cte(name, recursive=True)
    onwards = select(_successor.by_item_id).join(chain, _successor.item_id == chain.c.key)
    return select(chain.union(onwards).c.key)


_named = _with_replacements("items")


def _holding() -> Any:
    """The packets that hold anything that is named, and those that hold such packets."""
    chain = (
        select(_content.packet_id.label("key"))
        .where(_content.item_id.in_(_named))
        .cte("packets", recursive=True)
    )
    outwards = select(_content.packet_id).join(chain, _content.item_id == chain.c.key)
    return select(chain.union(outwards).c.key)


def _held() -> Any:
    """What is named or holds it, and what else is in packets among that, over any number."""
    named_or_holding = or_(_item.id.in_(_named), _item.id.in_(_packets))
    chain = select(_item.id.label("key")).where(named_or_holding).cte("held", recursive=True)
    inwards = select(_content.item_id).join(chain, _content.packet_id == chain.c.key)
    return select(chain.union(inwards).c.key)


_packets = _holding()
_BRINGS_COLUMNS = {"owner": Integer, "item": Integer, "quantity": Integer}
_BRINGS = union_all(
    branch(
        "content", _BRINGS_COLUMNS, owner=_content.packet_id, item=_content.item_id,
        quantity=_content.quantity,
    ).where(_content.packet_id.in_(_held())),
    branch(
        "successor", _BRINGS_COLUMNS, owner=_successor.item_id, item=_successor.by_item_id,
        quantity=_successor.quantity,
    ).where(or_(_successor.item_id.in_(_named), _successor.item_id.in_(_packets))),
)  # fmt: skip

# Columns by the names of the fields that they fill, in the same order.
_ITEM_FIELDS = [f.name for f in fields(ItemFacts) if f.name not in ("key", "kind", "succession")]
_KIND_FIELDS = [f.name for f in fields(KindFacts) if f.name != "key"]
ITEM_COLUMNS = (_item.id, *(_item[name] for name in _ITEM_FIELDS))
_ITEMS = (
    select(
        *ITEM_COLUMNS,
        _kind.id,
        *(_kind[name] for name in _KIND_FIELDS),
        _succession.old_stock,
        _succession.note,
        _succession.since,
    )
    .select_from(
        Item.__table__.join(Kind.__table__, _item.kind_id == _kind.id).outerjoin(
            Succession.__table__, _succession.item_id == _item.id
        )
    )
    .where(_item.id.in_(_named))
    .order_by(_item.code)
)

_fit, _fit_rule, _item_rule = Fit.__table__.c, FitRule.__table__.c, ItemRule.__table__.c
_kind_rule, _dry, _medium = KindRule.__table__.c, KindDry.__table__.c, ItemMedium.__table__.c
_fluid, _system = Fluid.__table__.c, System.__table__.c
_licence, _system_licence = Licence.__table__.c, SystemLicence.__table__.c
_STATED_COLUMNS = {
    "owner": Integer, "seq": Integer, "source": String, "word": String, "reference": Text,
    "criterion": Text, "relaxed_by": String, "fluid": String, "medium": String, "system": String,
}  # fmt: skip
_STATED = union_all(
    branch(
        "fit", _STATED_COLUMNS, owner=_fit_rule.fit_id, source=_fit_rule.source,
        word=_fit_rule.rule, reference=_fit_rule.reference, criterion=_fit_rule.criterion,
    ).where(among(_fit_rule.fit_id, "fits")),
    # From the items outwards, so that no engine reads the rules of every item; some have none.
    branch(
        "item", _STATED_COLUMNS, owner=_item.id, source=_item_rule.source, word=_item_rule.rule,
        reference=_item_rule.reference, criterion=_item_rule.criterion,
    ).select_from(Item.__table__.outerjoin(ItemRule.__table__, _item_rule.item_id == _item.id))
    .where(among(_item.id, "items")),
    branch(
        "kind", _STATED_COLUMNS, owner=_kind_rule.kind_id, seq=_kind_rule.seq,
        source=_kind_rule.source, word=_kind_rule.rule, reference=_kind_rule.reference,
        criterion=_kind_rule.criterion, relaxed_by=_kind_rule.relaxed_by, fluid=_fluid.code,
        medium=_kind_rule.medium, system=_system.code,
    ).select_from(
        KindRule.__table__.outerjoin(Fluid.__table__, _kind_rule.fluid_id == _fluid.id).outerjoin(
            System.__table__, _kind_rule.system_id == _system.id
        )
    ).where(among(_kind_rule.kind_id, "kinds")),
    branch(
        "medium", _STATED_COLUMNS, owner=_medium.item_id, source=_medium.source,
        word=_medium.rating, reference=_medium.reference, medium=_medium.medium,
    ).where(among(_medium.item_id, "items")),
    branch("dry", _STATED_COLUMNS, owner=_dry.kind_id, word=_dry.elastomer).where(
        among(_dry.kind_id, "kinds")
    ),
)  # fmt: skip

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
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stated:
    """What sources state of fits, items and kinds, by key.

    `media` is of the compound of an item; `goes_dry` are (kind, elastomer).
    """

    fits: Mapping[int, tuple[RuleStatement, ...]]
    items: Mapping[int, tuple[RuleStatement, ...]]
    kinds: Mapping[int, tuple[SituationRule, ...]]
    media: Mapping[int, tuple[SourceStatement, ...]]
    goes_dry: frozenset[tuple[int, str]]


@dataclass(frozen=True, slots=True)
class Carried:
    """What comes with steps, joints, kinds and items: cautions, general tools, licences."""

    cautions: Cautions
    licences: Mapping[int, tuple[LicenceFacts, ...]]
    step_tools: Mapping[int, tuple[str, ...]]
    kind_tools: Mapping[int, tuple[str, ...]]


Packets = Mapping[int, Mapping[int, int]]


def read_items(
    connection: Connection, named: Collection[int]
) -> tuple[dict[int, ItemFacts], Packets]:
    """Items by key in the order of their codes, and the packets that bring any of them.

    With all that those packets bring. In two statements; amounts are per packet and item.
    """
    packets: dict[int, dict[int, int]] = defaultdict(dict)
    replaced: dict[int, dict[int, int]] = defaultdict(dict)
    brings = read_rows(connection, _BRINGS, items=named)
    for row in sorted(brings, key=lambda row: (row.owner, row.item)):
        (packets if row.what == "content" else replaced)[row.owner][row.item] = row.quantity
    inside = reachable(named, replaced, packets)
    brought = {item for content in packets.values() for item in content}
    rows = read_rows(connection, _ITEMS, items={*packets, *inside, *brought})
    return {row[0]: _item_facts(row, replaced) for row in rows}, dict(packets)


def _item_facts(row: Any, replaced: Mapping[int, Mapping[int, int]]) -> ItemFacts:
    count = len(ITEM_COLUMNS)
    *kind, old_stock, note, since = row[count:]
    succession = None
    if old_stock is not None:
        by = tuple(replaced.get(row[0], {}).items())
        succession = SuccessionFacts(by, old_stock, note, since)
    own = dict(zip(_ITEM_FIELDS, row[1:count], strict=True))
    return ItemFacts(key=row[0], **own, kind=KindFacts(*kind), succession=succession)


def read_stated(
    connection: Connection,
    fits: Collection[int],
    items: Collection[int],
    kinds: Collection[int],
) -> Stated:
    """What sources state, in one statement; of one thing, in the order of the sources' names."""
    found: dict[tuple[str, int], list[Any]] = defaultdict(list)
    rows = read_rows(connection, _STATED, fits=fits, items=items, kinds=kinds)
    for row in sorted(rows, key=lambda row: (row.seq or 0, row.medium or "", row.source or "")):
        found[row.what, row.owner].append(row)

    def of(what: str) -> list[tuple[int, Sequence[Any]]]:
        return [(key, rows) for (kind, key), rows in found.items() if kind == what]

    return Stated(
        fits={key: tuple(map(_rule, rows)) for key, rows in of("fit")},
        items={
            key: tuple(_rule(row) for row in rows if row.source is not None)
            for key, rows in of("item")
        },
        kinds={
            key: tuple(SituationRule(_rule(row), row.fluid, row.medium, row.system) for row in rows)
            for key, rows in of("kind")
        },
        media={
            key: tuple(medium_statement(r.medium, r.source, r.word, r.reference) for r in rows)
            for key, rows in of("medium")
        },
        goes_dry=frozenset((key, row.word) for key, rows in of("dry") for row in rows),
    )


def _rule(row: Any) -> RuleStatement:
    relaxed_by = RelaxedBy.WORKSHOP if row.relaxed_by is None else RelaxedBy(row.relaxed_by)
    return Statement(Source(row.source), Rule(row.word), row.reference, row.criterion, relaxed_by)


def medium_statement(medium: str, source: str, rating: str, reference: str) -> SourceStatement:
    """What a source states of a compound; what a maker says, nobody below may relax."""
    return source_statement(medium, Source(source), Rating(rating), reference)


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
    licences: dict[int, list[LicenceFacts]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: row.code or row.title):
        if row.what == "system licence":
            licences[row.owner].append(LicenceFacts(row.code, row.title, row.text))
            continue
        if row.code is not None:
            texts[row.code] = CautionFacts(row.code, row.title, row.text, row.word)
        carried[row.what, row.owner].append(row.code or row.title)
    every = {place: tuple(dict.fromkeys(codes)) for place, codes in carried.items()}
    return Carried(
        cautions=Cautions(texts, every),
        licences={key: tuple(found) for key, found in licences.items()},
        step_tools={key: names for (what, key), names in every.items() if what == "step tool"},
        kind_tools={key: names for (what, key), names in every.items() if what == "kind tool"},
    )
