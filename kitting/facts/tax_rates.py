"""Tax on what is bought: a share of the price, by rates that somebody stated. None is built in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from kitting.errors import FigureError

WHOLE = 100_000  # a rate is in thousandths of a percent
_RATE = re.compile(r"\s{,9}([0-9]{1,3})(?:\.([0-9]{1,3}))?\s{,9}%\s{,9}")


def parse_rate(text: str) -> int:
    """A rate of tax in thousandths of a percent: "8.1 %" is 8100. Raises FigureError."""
    match = _RATE.fullmatch(text)
    rate = -1 if match is None else int(match[1] + (match[2] or "").ljust(3, "0"))
    if not 0 <= rate <= WHOLE:
        raise FigureError(
            "{text!r} is no rate of tax; write for example '20 %' or '8.1 %'", text=text[:40]
        )
    return rate


def format_rate(rate: int) -> str:
    """A rate to read.

    >>> format_rate(20_000), format_rate(8_100)
    ('20 %', '8.1 %')
    """
    return f"{rate / 1000:g} %"


@dataclass(frozen=True, slots=True)
class TaxTerms:
    """What is stated of tax on a supplier's goods: rates by the day they hold from, and `included`.

    `own` are the supplier's, `branch` those of who buys. `included` says whether prices have the
    tax in them; None: nobody says.
    """

    own: tuple[tuple[date, int], ...] = ()
    branch: tuple[tuple[date, int], ...] = ()
    included: bool | None = None

    def rate_on(self, day: date) -> int | None:
        """The rate that holds on a day: the supplier's if it has one by then, else the branch's."""
        for rates in (self.own, self.branch):
            held = [pair for pair in rates if pair[0] <= day]
            if held:
                return max(held)[1]
        return None


def tax_of(minor: int, rate: int, *, included: bool) -> int:
    """The tax of a sum in minor units, once on the whole, halves up (our choice).

    On top of it, or the part of it where the sum includes it.

    >>> tax_of(1000, 20_000, included=False), tax_of(1200, 20_000, included=True)
    (200, 200)
    """
    over = WHOLE + rate if included else WHOLE
    return (2 * minor * rate + over) // (2 * over)
