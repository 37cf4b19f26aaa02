"""Reading items: what they are and bring, what sources state of them."""

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
    ItemFacts,
    KindFacts,
    SuccessionFacts,
)
from kitting.services.planning.rows import among, branch, reachable, read_rows
from kitting.tables.items import (
    Item,
    ItemContent,
    ItemMedium,
    ItemRule,
    Succession,
    Successor,
)
from kitting.tables.units import Fit, FitRule
from kitting.tables.vocabulary import (
    Fluid,
    Kind,
    KindDry,
    KindRule,
    System,
)

_item, _kind = Item.__table__.c, Kind.__table__.c
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
ITEM_COLUMNS = (
    _item.id,
    *(Item.shown_name if name == "name" else _item[name] for name in _ITEM_FIELDS),
)
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
