"""Consumption: how much sealant, film, threadlocker a joint takes, with the sum written out.

Volumes are whole thousandths of a millilitre, rounded up; lengths are thousandths of a
millimetre, areas thousandths of a square millimetre.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal

from kitting.errors import FigureError
from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.threads import parse_thread
from kitting.facts.units import Quantity

# Common practice, no source: a fifth more than the bead as drawn, and what stays in the nozzle.
BEAD_ALLOWANCE = Decimal("1.2")
NOZZLE_WASTE = 5000
# From memory: a drop is about 0.05 ml; one to M6, two to three for M8 to M12 (three are counted).
DROP = 50
_DROPS_TO = ((Decimal(6), 1), (Decimal(12), 3))


@dataclass(frozen=True, slots=True)
class Laid:
    """What a bead lays, and what stays in the `nozzle` of each tube that it begins.

    Amounts are thousandths; `pack` is what a tube holds (None: not known).
    """

    amount: int
    nozzle: int
    pack: int | None

    def begins(self, before: int = 0) -> int:
        """How many tubes it begins, after so much was laid through a nozzle that is still open."""
        return self._tubes(before + self.amount) - (self._tubes(before) if before else 0)

    def _tubes(self, laid: int) -> int:
        if self.pack is None or self.pack <= self.nozzle:
            return 1
        return max(1, -(-laid // (self.pack - self.nozzle)))


@dataclass(frozen=True, slots=True)
class Measured:
    """An amount in thousandths of the item's unit and how it arose.

    `bead` is the length of a bead in thousandths of a millimetre, `laid` what of it is laid.
    """

    amount: int
    how: Reason
    bead: int | None = None
    laid: Laid | None = None

    def noted(self, note: str | None) -> Measured:
        """The same with a note of the catalogue."""
        if not note:
            return self
        return replace(self, how=because(AmountReason.NOTED, how=self.how, note=note))


def one_session(beads: Sequence[Measured], open_length: int | None) -> tuple[Measured, ...]:
    """Beads of one product that one opening of a joint takes, one after the other.

    A nozzle cures shut once the open time is over. Within it, `open_length` thousandths of a
    millimetre can be laid: beads no longer than that together share the nozzle of the first. Where
    it is not known (None) each keeps a nozzle of its own, and says so.

    >>> [m.amount for m in one_session([bead(3_000, 1_640_000), bead(2_000, 500_000)], 15_000_000)]
    [18911, 1885]
    """
    if len(beads) < 2:
        return tuple(beads)
    if open_length is None:
        code = AmountReason.NOZZLE_OF_ITS_OWN
        return tuple(replace(one, how=because(code, how=one.how)) for one in beads)
    if sum(one.bead or 0 for one in beads) > open_length:
        return tuple(beads)
    return tuple(_in_turn(beads))


def _in_turn(beads: Iterable[Measured]) -> Iterator[Measured]:
    """Each bead goes on with the tube that the one before it left."""
    before = 0
    for one in beads:
        if (laid := one.laid) is None:
            yield one
            continue
        fewer = laid.begins() - laid.begins(before)
        before += laid.amount
        nozzle = Quantity(laid.nozzle, "ml")
        shared = because(AmountReason.NOZZLE_SHARED, how=one.how, fewer=fewer, nozzle=nozzle)
        how = shared if fewer else one.how
        yield replace(one, amount=one.amount - fewer * laid.nozzle, how=how)


def stated(amount: int, unit: str) -> Measured:
    """An amount that the catalogue states."""
    return Measured(amount, because(AmountReason.STATED, amount=Quantity(amount, unit)))


def _up(value: Decimal) -> int:
    return int(value.to_integral_value(rounding=ROUND_CEILING))


def bead(
    diameter: int, length: int, nozzle: int = NOZZLE_WASTE, pack: int | None = None
) -> Measured:
    """A round bead: π/4·d²·L × 1.2 plus what stays in the nozzle of each tube that it opens.

    Common practice, no source for allowance and nozzle. A bead begins with a nozzle of its own, and
    so does each further tube of a `pack`.

    >>> bead(3_000, 1_640_000).amount / 1000
    18.911
    >>> bead(3_000, 1_640_000, pack=15_000).amount / 1000
    23.911
    """
    cubic_mm = Decimal(math.pi / 4) * (Decimal(diameter) / 1000) ** 2 * Decimal(length) / 1000
    laid = _up(cubic_mm * BEAD_ALLOWANCE)
    out = Laid(laid, nozzle, pack)
    tubes = out.begins()
    sizes: dict[str, Value] = {
        "diameter": Quantity(diameter, "mm"),
        "length": Quantity(length, "mm"),
        "allowance": BEAD_ALLOWANCE,
        "nozzle": Quantity(nozzle, "ml"),
    }
    if tubes == 1:
        how = because(AmountReason.BEAD, **sizes)
    else:
        how = because(AmountReason.BEAD_OF_TUBES, **sizes, tubes=tubes)
    return Measured(laid + tubes * nozzle, how, bead=length, laid=out)


def lost_in_nozzle(pack: int | None, nozzle: int | None) -> bool:
    """Whether nothing comes out of a tube: its nozzle, the usual one if none is stated, holds it.

    Both in thousandths of a ml.

    >>> lost_in_nozzle(5_000, None), lost_in_nozzle(5_000, 1_000), lost_in_nozzle(None, None)
    (True, False, False)
    """
    return pack is not None and pack <= (NOZZLE_WASTE if nozzle is None else nozzle)


def film(area: int, thickness: int) -> Measured:
    """An anaerobic film: flange area × thickness.

    >>> film(6_500_000, 100).amount / 1000
    0.65
    """
    cubic_mm = Decimal(area) / 1000 * Decimal(thickness) / 1000
    how = because(
        AmountReason.FILM,
        square_mm=Decimal(area) / 1000,
        thickness=Quantity(thickness, "mm"),
    )
    return Measured(_up(cubic_mm), how)


def drops(thread: str, threads: int) -> Measured:
    """Threadlocker by the drop, by thread size (from memory, see DROP).

    Raises FigureError for threads larger than M12, for which no number of drops is known here.
    """
    diameter = parse_thread(thread).diameter
    for largest, count in _DROPS_TO:
        if diameter <= largest:
            how = because(AmountReason.DROPS, threads=threads, drops=count, thread=thread)
            return Measured(threads * count * DROP, how)
    raise FigureError(
        "no number of drops is known for a thread of {thread}; give an amount such as '0.5 ml'",
        thread=thread,
    )


def packs(amount: int, pack: int | None) -> int | None:
    """Whole packs that hold an amount; None where the item is not sold by a stated pack."""
    return None if pack is None else -(-amount // pack)
