"""Rates of exchange that somebody states with their day. None is known here and none is guessed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from kitting.errors import FigureError
from kitting.facts.bounds import possible_day
from kitting.facts.money import minor_digits

FRESH_DAYS = 7  # a rate that is older is told to be (our choice)
_RATE = re.compile(r"([A-Za-z]{3})=([0-9]{1,7}(?:\.[0-9]{1,9})?)@([0-9]{4}-[0-9]{2}-[0-9]{2})")


@dataclass(frozen=True, slots=True)
class StatedRate:
    """One unit of `currency` (ISO 4217) is `value` units of what is bought in, on a day."""

    currency: str
    value: str
    on: date

    def ratio(self, into: str) -> Fraction:
        """What a minor unit is in minor units of another currency, exact.

        >>> StatedRate("GBP", "190.5", date(2026, 11, 20)).ratio("JPY")
        Fraction(381, 200)
        """
        scale = Fraction(10) ** (minor_digits(into) - minor_digits(self.currency))
        return Fraction(self.value) * scale

    def convert(self, minor: int, into: str) -> int:
        """Minor units in another currency, halves up; what costs anything never becomes nothing.

        A sum is converted as one: prices that are rounded first and added after come to another.

        >>> StatedRate("EUR", "0.855", date(2026, 11, 20)).convert(1000, "GBP")
        855
        >>> StatedRate("GBP", "190.5", date(2026, 11, 20)).convert(100, "JPY")
        191
        """
        rounded = int(2 * minor * self.ratio(into) + 1) // 2
        return max(1, rounded) if minor > 0 else rounded

    def age(self, today: date) -> int:
        """Days since its day."""
        return (today - self.on).days


def parse_exchange_rate(text: str, today: date) -> StatedRate:
    """Read "EUR=0.86@2026-11-20". Raises FigureError, also for a day to come."""
    match = _RATE.fullmatch(text.strip()) if len(text) <= 60 else None
    if match is None:
        raise FigureError(
            "{text!r} is no rate; write for example 'EUR=0.86@2026-11-20': what 1 EUR is in the"
            " currency that is bought in, and of which day the rate is",
            text=text[:40],
        )
    if not Fraction(match[2]):
        raise FigureError(
            "{text!r}: a rate is above 0; write what 1 {found} is in the currency that is bought"
            " in",
            text=text[:40],
            found=match[1].upper(),
        )
    try:
        on = possible_day(date.fromisoformat(match[3]))
    except ValueError as error:
        raise FigureError(
            "{text!r}: {found} is no day; write for example 2026-11-20",
            text=text[:40],
            found=match[3],
        ) from error
    if on > today:
        raise FigureError(
            "{text!r}: {on} is still to come; state one of {today} or before",
            text=text[:40],
            on=on,
            today=today,
        )
    return StatedRate(match[1].upper(), match[2], on)


@dataclass(frozen=True, slots=True)
class PricedIn:
    """In which currency is bought (None: the usual one), and by which stated rates the others."""

    currency: str | None = None
    rates: tuple[StatedRate, ...] = ()

    def rate(self, currency: str) -> StatedRate | None:
        """The rate of a currency, if one is stated."""
        return next((rate for rate in self.rates if rate.currency == currency), None)


AS_USUAL = PricedIn()


def of_its_own(currency: str) -> str:
    """What is said of a rate of the currency that is bought in."""
    return (
        f"a rate is stated of {currency}, in which is bought; state what 1 of the other currency is"
        f" in {currency}, or leave it out"
    )


def priced_in(currency: str | None, rates: Iterable[StatedRate]) -> PricedIn:
    """What is asked of prices; raises FigureError for two rates of one currency, or one of its own.

    >>> priced_in("GBP", [StatedRate("GBP", "1.1", date(2026, 11, 20))])  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    kitting.errors.FigureError: a rate is stated of GBP, in which is bought; state ...
    """
    found = tuple(rates)
    codes = [rate.currency for rate in found]
    for code in codes:
        if codes.count(code) > 1:
            raise FigureError("two rates are stated of {code}; state the one that holds", code=code)
        if code == currency:
            raise FigureError(of_its_own(code))
    return PricedIn(currency, found)
