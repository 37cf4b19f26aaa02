"""Items as entries, with their packets, rules, replacements and numbers."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from sqlalchemy import select

from kitting.facts.gs1 import shortest_gtin
from kitting.facts.heads import Head
from kitting.facts.names import natural_key
from kitting.facts.words import StockUnit
from kitting.services.catalogue.exporting.entries import (
    Entry,
    Names,
    amount,
    entry,
    figure,
    length,
    linked,
    stated,
)
from kitting.services.db.sync import chunks
from kitting.tables.items import (
    Alternative,
    Item,
    ItemCaution,
    ItemContent,
    ItemGtin,
    ItemMedium,
    ItemName,
    ItemRule,
    Succession,
    Successor,
)


def with_what_they_name(names: Names, codes: Collection[str]) -> set[str]:
    """Items with what their packets bring, what replaces them and what may stand in, and so on."""
    leads: dict[str, set[str]] = {}
    for table, owner, other in (
        (ItemContent, "packet_id", "item_id"), (Successor, "item_id", "by_item_id"),
        (Alternative, "item_id", "other_id"),
    ):  # fmt: skip
        for row in names.session.scalars(select(table)):
            one, to = names.items[getattr(row, owner)], names.items[getattr(row, other)]
            leads.setdefault(one, set()).add(to)
            if table is ItemContent:
                leads.setdefault(to, set()).add(one)
    seen, ahead = set(codes), list(codes)
    while ahead:
        for code in leads.get(ahead.pop(), set()) - seen:
            seen.add(code)
            ahead.append(code)
    return seen


def item_entries(names: Names, codes: Collection[str]) -> Iterator[Entry]:
    """Some items, by code."""
    items = [
        item
        for some in chunks(sorted(codes))
        for item in names.session.scalars(select(Item).where(Item.code.in_(some)))
    ]
    keys = [item.id for item in items]
    contents = names.rows_of(ItemContent, "packet_id", keys)
    rules = names.rows_of(ItemRule, "item_id", keys, "source")
    media = names.rows_of(ItemMedium, "item_id", keys, "medium", "source")
    replaced = names.rows_of(Succession, "item_id", keys)
    by = names.rows_of(Successor, "item_id", keys)
    others = names.rows_of(Alternative, "item_id", keys, "seq")
    called = names.rows_of(ItemName, "item_id", keys, "language")
    gtins = names.rows_of(ItemGtin, "item_id", keys, "gtin")
    cautions = names.rows_of(ItemCaution, "item_id", keys)

    def some(item: int, quantity: int) -> Entry:
        unit = names.units_of_items[item]
        return {"item": names.items[item], "quantity": amount(quantity, unit)}

    for item in sorted(items, key=lambda one: natural_key(one.code)):
        way = next(iter(replaced.get(item.id, ())), None)
        yield entry(
            code=item.code,
            name=item.name,
            kind=names.kinds[item.kind_id],
            unit=None if item.unit is StockUnit.EACH else str(item.unit),
            pack=amount(item.pack, item.unit),
            contents=sorted(
                (some(row.item_id, row.quantity) for row in contents.get(item.id, ())),
                key=lambda one: natural_key(one["item"]),
            ),
            sold_singly=None if item.sold_singly else False,
            colour=item.colour,
            elastomer=item.elastomer,
            hardness=item.hardness,
            ring_inside=length(item.ring_inside),
            ring_section=length(item.ring_section),
            head=str(Head(item.head, item.head_size or "")) if item.head else None,
            thread=item.thread,
            length=length(item.length),
            property_class=item.property_class,
            shelf_life=figure(item.shelf_life_months, "months"),
            opened_life=figure(item.opened_life_days, "days"),
            nozzle_waste=amount(item.nozzle_waste, item.unit),
            medium=item.medium,
            media=[
                entry(
                    medium=row.medium,
                    rating=str(row.rating),
                    source=str(row.source),
                    reference=row.reference,
                )
                for row in media.get(item.id, ())
            ],
            times=entry(
                open=figure(item.open_minutes, "min"),
                cure=figure(item.cure_minutes, "min"),
                laying=figure(item.laying_speed, "mm/min"),
                at=figure(item.times_celsius, "°C"),
                source=item.times_source,
            ),
            bin=item.bin,
            names={row.language: row.name for row in called.get(item.id, ())},
            gtins=[shortest_gtin(row.gtin) for row in gtins.get(item.id, ())],
            rules=stated(rules.get(item.id, ())),
            replaced=None
            if way is None
            else entry(
                by=sorted(
                    (some(row.by_item_id, row.quantity) for row in by.get(item.id, ())),
                    key=lambda one: natural_key(one["item"]),
                ),
                old_stock=str(way.old_stock),
                since=way.since,
                note=way.note,
            ),
            alternatives=[
                entry(item=names.items[row.other_id], note=row.note)
                for row in others.get(item.id, ())
            ],
            cautions=linked(cautions, item.id, "caution_id", names.cautions),
        )
