"""Into which bag the lots of a booking go, and which bags lack something."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from kitting.facts.amounts import Thousandths
from kitting.facts.words import NeedRule
from kitting.views.bookings import NeededView, PromisedView, SourceKind
from kitting.views.kit import Bag, BagLine, EndLabel

_Share = tuple[tuple[PromisedView, ...], Thousandths, Thousandths]


class _Left:
    """What is left of the sources of a need, to be drawn bag by bag in the order of refitting.

    What is here goes first, what comes with an order next; the last bags lack what is short, or
    what is `missing` of spares that need not be there.
    """

    def __init__(
        self,
        sources: Iterable[PromisedView],
        need: Thousandths,
        short: Thousandths,
        missing: Thousandths = 0,
    ):
        self._sources = sorted(sources, key=lambda one: one.kind is SourceKind.ORDER)
        self._covered, self._short, self._missing = need - short, short, missing

    def draw(self, wanted: Thousandths) -> _Share:
        """Lots for so much of it, how much of it nothing covers, how much need not be there."""
        covered = min(wanted, self._covered)
        self._covered -= covered
        lacking = min(wanted - covered, self._short)
        self._short -= lacking
        lots = tuple(self._lots(covered))
        missing = min(wanted - lacking - sum(lot.quantity for lot in lots), self._missing)
        self._missing -= missing
        return lots, lacking, missing

    def _lots(self, wanted: Thousandths) -> Iterable[PromisedView]:
        while wanted > 0 and self._sources:
            source = self._sources[0]
            taken = min(wanted, source.quantity)
            wanted -= taken
            yield replace(source, quantity=taken, picked=min(taken, source.picked))
            rest = source.quantity - taken
            if rest:
                left = replace(source, quantity=rest, picked=max(0, source.picked - taken))
                self._sources[0] = left
            else:
                del self._sources[0]


def with_lots(bags: Sequence[Bag], needs: Iterable[NeededView]) -> tuple[Bag, ...]:
    """The bags of a booking with what is promised to each or picked for it, and what it lacks."""
    found = {(need.item, need.rule): need for need in needs}
    left = {
        key: _Left(need.sources, _quantity(bags, need), need.lacking, _missing(need))
        for key, need in found.items()
    }
    return tuple(_with_lots(bag, left) for bag in bags)


def _missing(need: NeededView) -> Thousandths:
    """How much of a spare is neither there nor coming, and need not be."""
    if not need.spare:
        return 0
    return max(0, need.needed - need.lacking - sum(one.quantity for one in need.sources))


def _quantity(bags: Iterable[Bag], need: NeededView) -> Thousandths:
    """How much of a need goes into bags."""
    return sum(
        line.content.quantity
        for bag in bags
        for line in bag.lines
        if (line.content.item, line.content.rule) == (need.item, need.rule)
    )


def _with_lots(bag: Bag, left: dict[tuple[str, NeedRule], _Left]) -> Bag:
    lines, ends = [], bag.ends
    for line in bag.lines:
        key = (line.content.item, line.content.rule)
        if key not in left:
            lines.append(line)
            continue
        lots, short, missing = left[key].draw(line.content.quantity)
        lines.append(replace(line, lots=lots, short=short, missing=missing))
        ends = shares_of_ends(ends, lines[-1])
    return replace(bag, lines=tuple(lines), ends=ends)


def shares_of_ends(ends: Sequence[EndLabel], line: BagLine) -> tuple[EndLabel, ...]:
    """The ends of a bag, those of a line with their share of what it has."""
    left = _Left(line.lots, line.content.quantity, line.short, line.missing)
    shared = []
    for end in ends:
        if _is_of(end, line):
            lots, short, missing = left.draw(end.content.quantity)
            shared.append(replace(end, lots=lots, short=short, missing=missing))
        else:
            shared.append(end)
    return tuple(shared)


def _is_of(end: EndLabel, line: BagLine) -> bool:
    """Whether an end is one of those that a line is about: a bag may have two lines of an item."""
    same = (end.content.item, end.content.rule) == (line.content.item, line.content.rule)
    return same and end.position in line.positions
