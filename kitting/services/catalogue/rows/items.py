"""Rows of items: contents, rules, replacements, alternatives."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.files.catalogue.item_shapes import Item
from kitting.services.catalogue.rows.book import Book
from kitting.services.catalogue.rows.vocabulary import stated
from kitting.services.db.sync import Row


def items(book: Book) -> Iterator[Row]:
    """Items, figures as whole thousandths."""
    for item in book.each("items"):
        yield _item(book, item)


def _item(book: Book, item: Item) -> Row:
    return {
        "code": item.code,
        "name": item.name,
        "kind_id": book.id("kind", item.kind),
        "unit": item.unit,
        "pack": item.pack and item.pack.thousandths,
        "sold_singly": item.sold_singly,
        "colour": item.colour,
        "elastomer": item.elastomer,
        "hardness": item.hardness,
        "ring_inside": item.ring_inside,
        "ring_section": item.ring_section,
        "head": item.head and item.head.profile,
        "head_size": item.head and item.head.size,
        "thread": item.thread and item.thread.name,
        "length": item.length,
        "property_class": item.property_class,
        "shelf_life_months": item.shelf_life,
        "opened_life_days": item.opened_life,
        "nozzle_waste": item.nozzle_waste and item.nozzle_waste.thousandths,
        "medium": item.medium,
        "open_minutes": item.times and item.times.open,
        "cure_minutes": item.times and item.times.cure,
        "laying_speed": item.times and item.times.laying,
        "times_source": item.times and item.times.source,
        "times_celsius": item.times and item.times.at,
        "bin": item.bin,
    }


def item_contents(book: Book) -> Iterator[Row]:
    """What packets bring."""
    for item in book.each("items"):
        for content in item.contents:
            yield {
                "packet_id": book.id("item", item.code),
                "item_id": book.id("item", content.item),
                "quantity": content.quantity.thousandths,
            }


def item_names(book: Book) -> Iterator[Row]:
    """What items are called in other languages."""
    for item in book.each("items"):
        for language, name in item.names.items():
            yield {"item_id": book.id("item", item.code), "language": language, "name": name}


def item_media(book: Book) -> Iterator[Row]:
    """How items stand media, by sources that speak of them."""
    for item in book.each("items"):
        for stand in item.media:
            yield {
                "item_id": book.id("item", item.code),
                "medium": stand.medium,
                "source": stand.source,
                "rating": stand.rating,
                "reference": stand.reference,
            }


def item_gtins(book: Book) -> Iterator[Row]:
    """The numbers by which packets are scanned."""
    for item in book.each("items"):
        for gtin in dict.fromkeys(item.gtins):
            yield {"item_id": book.id("item", item.code), "gtin": gtin}


def item_rules(book: Book) -> Iterator[Row]:
    """What leaflets and policy say about items."""
    for item in book.each("items"):
        yield from stated("item_id", book.id("item", item.code), item.rules)


def successions(book: Book) -> Iterator[Row]:
    """That items are replaced."""
    for item in book.each("items"):
        if item.replaced is not None:
            yield {
                "item_id": book.id("item", item.code),
                "old_stock": item.replaced.old_stock,
                "since": item.replaced.since,
                "note": item.replaced.note,
            }


def successors(book: Book) -> Iterator[Row]:
    """What replaces items."""
    for item in book.each("items"):
        for successor in item.replaced.by if item.replaced else ():
            yield {
                "item_id": book.id("item", item.code),
                "by_item_id": book.id("item", successor.item),
                "quantity": successor.quantity.thousandths,
            }


def alternatives(book: Book) -> Iterator[Row]:
    """What may stand in, in order."""
    for item in book.each("items"):
        for seq, other in enumerate(item.alternatives):
            yield {
                "item_id": book.id("item", item.code),
                "other_id": book.id("item", other.item),
                "seq": seq,
                "note": other.note,
            }
