"""The columns of a supplier's price list: what each cell may hold, and how it is read."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from kitting.errors import FigureError
from kitting.facts.money import bare_minor, parse_money
from kitting.facts.units import Quantity, parse_quantity
from kitting.files.lists.cells import code
from kitting.files.lists.reader import Field

BREAKS = 5
_BARE = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_KEPT = 8192  # texts remembered per kind of cell; most lists repeat a few hundred
_SIGNS = {"£": "GBP", "€": "EUR"}
_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def _part(text: str) -> str:
    if len(text) > 40 or not text.isprintable():
        raise FigureError(f"{text[:40]!r} is no part number; 40 plain signs at most")
    return text


def _line_of(most: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        if len(text) <= most and text.isprintable():
            return text
        text = " ".join(text.split())  # workbooks break lines within a cell
        if len(text) > most:
            raise FigureError(f"the text is longer than {most} characters; shorten it")
        if not text.isprintable():
            raise FigureError(f"{text[:40]!r} holds signs that cannot be printed")
        return text

    return read


@lru_cache(_KEPT)
def _count(text: str) -> int:
    if not (text.isascii() and text.isdecimal()) or len(text) > 9:
        raise FigureError(f"{text[:40]!r} is no whole number; write for example '12'")
    return int(text)


@lru_cache(_KEPT)
def _positive(text: str) -> int:
    number = _count(text)
    if not number:
        raise FigureError(f"{text[:40]!r} is not one pack or more; leave it empty if unknown")
    return number


@lru_cache(_KEPT)
def _pack(text: str) -> Quantity:
    pack = parse_quantity(text)
    if not pack.thousandths:
        raise FigureError(f"{text[:40]!r} is an empty pack; write for example '10 each'")
    return pack


@lru_cache(_KEPT)
def _currency(text: str) -> str:
    found = _SIGNS.get(text, text.upper())
    if not re.fullmatch("[A-Z]{3}", found):
        raise FigureError(f"{text[:40]!r} is no currency; write for example 'GBP'")
    return found


@lru_cache(_KEPT)
def _yes_no(text: str) -> bool:
    answer = _YES.get(text.casefold())
    if answer is None:
        raise FigureError(f"{text[:40]!r} is neither yes nor no")
    return answer


@lru_cache(_KEPT)
def _replacements(text: str) -> tuple[str, ...]:
    parts = tuple(_part(part.strip()) for part in text.split("+"))
    if not all(parts):
        raise FigureError(f"{text[:40]!r} names an empty part; write for example 'AB-1 + AB-2'")
    if len(set(parts)) < len(parts):
        raise FigureError(f"{text[:40]!r} names a part twice")
    return parts


# Prices are read last, once the currency of the row is known.
FROM_PRICE = tuple((f"break {no} from", f"break {no} price") for no in range(1, BREAKS + 1))
PRICE_FIELDS: Mapping[str, Field] = {
    "part": Field(_part, required=True),
    "item": Field(code),
    "description": Field(_line_of(200)),
    "price": Field(str, required=True),
    "currency": Field(_currency),
    "pack": Field(_pack),
    "minimum": Field(_positive),
    "multiple": Field(_positive),
    **{start: Field(_positive) for start, _ in FROM_PRICE},
    **{price: Field(str) for _, price in FROM_PRICE},
    "available": Field(_count),
    "lead days": Field(_count),
    "late days": Field(_count),
    "returns": Field(_yes_no),
    "core": Field(str),
    "replaced by": Field(_replacements),
    "note": Field(_line_of(2000)),
}
READERS: Mapping[str, Callable[[str], Any]] = {
    column: field.read for column, field in PRICE_FIELDS.items()
}
PAIRS = (*FROM_PRICE, ("lead days", "late days"))


def amount(text: str, currency: str | None) -> tuple[int, str]:
    """Minor units and currency; a bare figure is of `currency`, another currency a fault.

    Raises FigureError.
    """
    if currency is not None and (minor := bare_minor(text, currency)) is not None:
        return minor, currency
    return _with_currency(text, currency)


@lru_cache(_KEPT)
def _with_currency(text: str, currency: str | None) -> tuple[int, str]:
    if is_bare(text):
        if currency is None:
            raise FigureError(
                f"{text[:40]!r} has no currency; write '{text[:20]} GBP' or fill in 'currency'"
            )
        text = f"{text} {currency}"
    money = parse_money(text)
    if currency is not None and money.currency != currency:
        raise FigureError(f"{text[:40]!r} is in another currency than the row, {currency}")
    return money.minor, money.currency


def is_bare(text: str) -> bool:
    """Whether a text is a figure without a currency."""
    return _BARE.fullmatch(text) is not None
