"""Money: whole minor units with a currency of ISO 4217."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from kitting.errors import FigureError, KittingError

# Signs that name one currency here; others are written by their three letters.
_SIGNS = {"£": "GBP", "€": "EUR"}
# Currencies without two minor digits (ISO 4217, from memory); all others here have two.
_DIGITS = {"JPY": 0, "KRW": 0, "ISK": 0, "HUF": 2, "KWD": 3, "TND": 3}
_MOST_DIGITS = 12
_COMMA = re.compile(r"\d,\d")
_MONEY = re.compile(r"([£€]|[A-Z]{3})?\s*(\d{1,12})(?:\.(\d{1,15}))?\s*([£€]|[A-Z]{3})?")


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in minor units (pence, cents) and its currency."""

    minor: int
    currency: str

    def __str__(self) -> str:
        return format_money(self.minor, self.currency)

    @property
    def amount(self) -> Decimal:
        """The amount in whole units of the currency, exact: 7.35 of 735 pence."""
        return _in_units(self.minor, self.currency)


def require_one_currency(sums: Iterable[Money], what: str) -> str:
    """The one currency of some sums that are to be added or compared; `what` names them.

    Raises KittingError where there are several, or none: no rate of exchange is known here.
    """
    currencies = sorted({money.currency for money in sums})
    if len(currencies) == 1:
        return currencies[0]
    stated = " and ".join(currencies) if currencies else "no currency"
    raise KittingError(
        "{what}: stated in {stated}, and sums of two currencies are never added or compared."
        " State them in one currency",
        what=what,
        stated=stated,
    )


def parse_money(text: str) -> Money:
    """Read "£7.50", "12 EUR", "GBP 9.99".

    Raises FigureError for a figure without currency, or finer than the currency's minor unit.
    """
    match = _MONEY.fullmatch(text.strip()) if len(text.strip()) <= 40 else None
    sign = (match[1] or match[4]) if match else None
    if _COMMA.search(text[:40]):
        raise FigureError(
            "{text!r} has a comma in its figure; write a point, and nothing between thousands, as"
            " in '£1234.50' or '1234.50 EUR'",
            text=text[:40],
        )
    if match is None or sign is None or (match[1] and match[4]):
        raise FigureError(
            "{text!r} is no price; write for example '£7.50' or '7.50 EUR'", text=text[:40]
        )
    currency = _SIGNS.get(sign, sign)
    digits = _DIGITS.get(currency, 2)
    fraction = match[3] or ""
    if len(fraction) > digits:
        raise FigureError(
            "{text!r} is finer than {currency} is counted; round it",
            text=text[:40],
            currency=currency,
        )
    return Money(int(match[2] + fraction.ljust(digits, "0")), currency)


def bare_minor(text: str, currency: str) -> int | None:
    """Minor units of a bare figure, as `parse_money` reads it with the currency; else None.

    >>> bare_minor("7.5", "GBP"), bare_minor("7.505", "GBP"), bare_minor("£7.50", "GBP")
    (750, None, None)
    """
    whole, point, fraction = text.partition(".")
    if not (whole.isdecimal() and len(whole) <= _MOST_DIGITS and text.isascii()):
        return None
    digits = _DIGITS.get(currency, 2)
    if point and not (fraction.isdecimal() and len(fraction) <= digits):
        return None
    return int(whole + fraction.ljust(digits, "0"))


def format_money(minor: int, currency: str) -> str:
    """An amount to read: "£7.50", "EUR 12.00".

    >>> format_money(3700, "GBP")
    '£37.00'
    """
    figure = str(_in_units(minor, currency))
    sign = {code: sign for sign, code in _SIGNS.items()}.get(currency)
    return f"{sign}{figure}" if sign else f"{currency} {figure}"


def minor_digits(currency: str) -> int:
    """How many digits the minor unit of a currency has (ISO 4217, from memory; else 2)."""
    return _DIGITS.get(currency, 2)


def _in_units(minor: int, currency: str) -> Decimal:
    digits = _DIGITS.get(currency, 2)
    return Decimal(f"{Decimal(minor).scaleb(-digits):.{digits}f}")
