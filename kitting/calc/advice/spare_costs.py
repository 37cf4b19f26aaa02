"""What spares cost: in whole packs, bought with what is needed anyway or apart from it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kitting.calc.purchasing.sourcing_case import Offer, whole_packs

PIECE = 1000
WHOLE = 100_000  # a share lost, in thousandths of a per cent


@dataclass(frozen=True, slots=True)
class Way:
    """An offer of an item, and the share of its price that is lost on a return.

    `lost` is in thousandths of a per cent: 0 where all is paid back, 100 000 where nothing is.
    """

    offer: Offer
    lost: int

    def price(self, amount: int) -> int | None:
        """What at least an amount (thousandths) costs, in minor units; None if it cannot be had."""
        line = whole_packs(self.offer, amount)
        return None if line is None else line.minor

    def part(self, minor: int) -> int:
        """What of a price is lost."""
        return minor * self.lost // WHOLE


def price(ways: Iterable[Way], amount: int) -> int | None:
    """What at least an amount (thousandths) costs from the cheapest one offer; None from none."""
    return min((p for way in ways if (p := way.price(amount)) is not None), default=None)


def loss(ways: Sequence[Way], short: int, pieces: int) -> int | None:
    """What is lost in minor units if so many spares stay unused; None if they cannot be had.

    `short` (thousandths) has to be bought anyway. Spares come from the same packs, of which only
    what they add may go back, or from another offer: whichever loses least. What is left in a pack
    that is needed anyway costs nothing more.
    """
    if pieces <= 0:
        return 0
    extra = pieces * PIECE
    certain = price(ways, short)
    apart = min((way.part(p) for way in ways if (p := way.price(extra)) is not None), default=None)
    if certain is None:
        return apart
    found = [] if apart is None else [certain + apart]
    for way in ways:
        alone, both = way.price(short), way.price(short + extra)
        if alone is not None and both is not None:
            found.append(alone + way.part(both - alone))
    return min(found) - certain if found else None


def spare_costs(ways: Sequence[Way], free: int, short: int, most: int) -> tuple[int, ...]:
    """What is lost on 0, 1, … `most` spares, or as many as can be had.

    The first `free` lie on the shelf: they go back and lose nothing.
    """
    return tuple(_costs(ways, free, short, most))


def _costs(ways: Sequence[Way], free: int, short: int, most: int) -> Iterator[int]:
    for pieces in range(most + 1):
        cost = loss(ways, short, pieces - free)
        if cost is None:
            return
        yield cost


def one_spare(ways: Iterable[Way]) -> int | None:
    """What one spare costs in minor units where it loses least; None where nobody offers it."""
    bought = [(way.part(p), p) for way in ways if (p := way.price(PIECE)) is not None]
    return min(bought)[1] if bought else None
