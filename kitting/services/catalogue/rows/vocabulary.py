"""Rows of the vocabulary, of links between named things, and of what sources say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kitting.facts.words import Source
from kitting.files.catalogue.item_shapes import StatedRule
from kitting.services.catalogue.rows.book import Book
from kitting.services.db.sync import Row


def vocabulary(book: Book, section: str, columns: Sequence[str]) -> Iterator[Row]:
    """Rows of a table whose columns are plain fields of the entries."""
    for entry in book.each(section):
        yield {column: getattr(entry, column) for column in columns}


# Rules of each source are numbered by themselves, so that one can stay where the other changes.
FIRST = {Source.GENERAL: 0, Source.WORKSHOP: 10_000}


def kind_rules(book: Book, source: Source) -> Iterator[Row]:
    """The rules of the kinds that one source states, in order."""
    for kind in book.each("kinds"):
        own = [rule for rule in kind.rules if rule.source == source]
        held = [(rule, where) for rule in own for where in rule.situations]
        for seq, (rule, where) in enumerate(held, FIRST[source]):
            yield {
                "kind_id": book.id("kind", kind.code),
                "seq": seq,
                "rule": rule.rule,
                "source": rule.source,
                "fluid_id": book.maybe("fluid", where.fluid),
                "medium": where.medium,
                "system_id": book.maybe("system", where.system),
                "criterion": rule.criterion,
                "reference": rule.reference,
                "relaxed_by": rule.relaxed_by,
            }


def kind_dry(book: Book) -> Iterator[Row]:
    """Materials whose items of a kind go on dry."""
    for kind in book.each("kinds"):
        for elastomer in dict.fromkeys(kind.dry):
            yield {"kind_id": book.id("kind", kind.code), "elastomer": elastomer}


def other_words(book: Book, section: str, owner: str) -> Iterator[Row]:
    """What else people call the entries of a section."""
    for entry in book.each(section):
        for word in dict.fromkeys(entry.also):
            yield {f"{owner}_id": book.id(owner, entry.code), "word": word}


def links(
    book: Book, section: str, owner: str, other: str, attribute: str | None = None
) -> Iterator[Row]:
    """Rows of a table that links entries of a section with things they name."""
    for entry in book.each(section):
        for code in dict.fromkeys(getattr(entry, attribute or f"{other}s")):
            yield {f"{owner}_id": book.id(owner, entry.code), f"{other}_id": book.id(other, code)}


def stated(owner: str, owner_id: int, rules: Sequence[StatedRule]) -> Iterator[Row]:
    """What sources say about one item or one position."""
    for rule in rules:
        yield {
            owner: owner_id,
            "source": rule.source,
            "rule": rule.rule,
            "criterion": rule.criterion,
            "reference": rule.reference,
        }
