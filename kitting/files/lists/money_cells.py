"""Money as lists of suppliers write it: with a code, with a sign, or bare."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from kitting.errors import FigureError
from kitting.facts.money import parse_money

_KEPT = 8192
# Signs and the currencies that go by them (ISO 4217 codes; from memory). Where several do, the
# currency of the row or of its supplier says which.
_SIGNS: Mapping[str, tuple[str, ...]] = {
    "£": ("GBP",),
    "€": ("EUR",),
    "$": ("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN"),
    "us$": ("USD",),
    "c$": ("CAD",),
    "ca$": ("CAD",),
    "a$": ("AUD",),
    "au$": ("AUD",),
    "nz$": ("NZD",),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "kr.": ("SEK", "NOK", "DKK", "ISK"),
    "¥": ("JPY", "CNY"),
    "zł": ("PLN",),
    "kč": ("CZK",),
    "fr.": ("CHF",),
    "sfr.": ("CHF",),
    "₹": ("INR",),
}
_MONEY = re.compile(r"(?P<before>[^0-9]*?)\s*(?P<figure>[0-9]+(?:\.[0-9]+)?)\s*(?P<after>[^0-9]*)")


@lru_cache(_KEPT)
def currency_of(text: str) -> str:
    """The code of a currency that a cell names by code or sign; raises FigureError."""
    codes = _SIGNS.get(text.casefold(), (text.upper(),))
    if len(codes) > 1:
        raise FigureError(_several(text, text, codes))
    if not re.fullmatch("[A-Z]{3}", codes[0]):
        raise FigureError("{text!r} is no currency; write for example 'GBP'", text=text[:40])
    return codes[0]


@lru_cache(_KEPT)
def read_money(text: str, currency: str | None, otherwise: str | None) -> tuple[int, str]:
    """Minor units and currency of a text that is written with a point.

    `currency` is that of the row: another one is a fault. A bare figure, or a sign of several
    currencies, is of it, else of `otherwise`. Raises FigureError.
    """
    money = parse_money(_with_code(text, currency, otherwise))
    if currency is not None and money.currency != currency:
        raise FigureError(_another(text, currency))
    return money.minor, money.currency


def _with_code(text: str, currency: str | None, otherwise: str | None) -> str:
    """A text with the code of its currency, where its sign or its row tells it."""
    match, likely = _MONEY.fullmatch(text), currency or otherwise
    if match is None or (match["before"] and match["after"]):
        return text
    sign, figure = (match["before"] or match["after"]).strip(), match["figure"]
    if "." in figure:
        figure = figure.rstrip("0").rstrip(".")  # noughts behind the decimals, as in 38.5000
    if not sign:
        if likely is None:
            raise FigureError(
                "{text!r} has no currency; write '{figure} GBP' or fill in 'currency'",
                text=text[:40],
                figure=text[:20],
            )
        return f"{figure} {likely}"
    codes = _SIGNS.get(sign.casefold(), (sign,))
    if likely in codes:
        return f"{figure} {likely}"
    if len(codes) == 1:
        return f"{figure} {codes[0]}"
    if currency is not None:
        raise FigureError(_another(text, currency))
    raise FigureError(_several(text, sign, codes))


def _another(text: str, currency: str) -> str:
    return f"{text[:40]!r} is in another currency than the row, {currency}"


def _several(text: str, sign: str, codes: tuple[str, ...]) -> str:
    where = "" if text == sign else f"{text[:40]!r}: "
    return f"{where}{sign!r} may be {', '.join(codes)}; write the code of the currency"
