"""The columns of a supplier's price list: what each cell may hold, and how it is read."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any

from kitting.errors import FigureError
from kitting.facts.figure_signs import with_point
from kitting.facts.money import bare_minor
from kitting.facts.units import Quantity, parse_quantity
from kitting.files.lists.cells import code
from kitting.files.lists.money_cells import currency_of
from kitting.files.lists.reader import Field

BREAKS = 5
_BARE = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_KEPT = 8192  # texts remembered per kind of cell; most lists repeat a few hundred
_WHOLE = re.compile(r"([0-9]+)\.0+")
_WORDED = re.compile(r"([0-9.]+)\s*([^\W\d]+)\.?")
# What suppliers call our units beyond doubt (common practice, no source).
_UNIT_WORDS: Mapping[str, str] = {
    **dict.fromkeys(("pc", "pcs", "pce", "piece", "pieces", "ea"), "each"),
    **dict.fromkeys(("ltr", "litre", "litres", "liter"), "l"),
}
ONE_EACH = Quantity(1000, "each")
_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def _part(text: str) -> str:
    if len(text) > 40 or not text.isprintable():
        raise FigureError("{text!r} is no part number; 40 plain signs at most", text=text[:40])
    return text


def _line_of(most: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        if len(text) <= most and text.isprintable():
            return text
        text = " ".join(text.split())  # workbooks break lines within a cell
        if len(text) > most:
            raise FigureError("the text is longer than {most} characters; shorten it", most=most)
        if not text.isprintable():
            raise FigureError("{text!r} holds signs that cannot be printed", text=text[:40])
        return text

    return read


@lru_cache(_KEPT)
def _count(text: str) -> int:
    if not (text.isascii() and text.isdecimal()) or len(text) > 9:
        raise FigureError("{text!r} is no whole number; write for example '12'", text=text[:40])
    return int(text)


@lru_cache(_KEPT)
def _positive(text: str) -> int:
    number = _count(text)
    if not number:
        raise FigureError(
            "{text!r} is not one pack or more; leave it empty if unknown", text=text[:40]
        )
    return number


@lru_cache(_KEPT)
def read_pack(text: str, unit: str | None = None) -> Quantity:
    """How much a pack holds; a bare figure is of `unit`. Without one a bare 1 is one piece.

    Raises FigureError.
    """
    if _BARE.fullmatch(text):
        if unit is None and Decimal(text) == 1:
            return ONE_EACH
        if unit is None:
            raise FigureError(
                f"{text[:40]!r} is a figure without unit; write for example '{text[:20]} each' or"
                f" '{text[:20]} L', or say 'pack unit: each' in a column map if all are pieces"
            )
        text = f"{text} {unit}"
    pack = parse_quantity(_in_our_unit(text))
    if not pack.thousandths:
        raise FigureError("{text!r} is an empty pack; write for example '10 each'", text=text[:40])
    return pack


def _in_our_unit(text: str) -> str:
    match = _WORDED.fullmatch(text)
    unit = _UNIT_WORDS.get(match[2].casefold()) if match is not None else None
    return text if match is None or unit is None else f"{match[1]} {unit}"


@lru_cache(_KEPT)
def pack_as_written(text: str, unit: str | None = None) -> Quantity:
    """As `read_pack`; raises InDoubtError for a figure that may mean two."""
    return read_pack(with_point(text), unit)


@lru_cache(_KEPT)
def _yes_no(text: str) -> bool:
    answer = _YES.get(text.casefold())
    if answer is None:
        raise FigureError("{text!r} is neither yes nor no", text=text[:40])
    return answer


@lru_cache(_KEPT)
def _replacements(text: str) -> tuple[str, ...]:
    parts = tuple(_part(part.strip()) for part in text.split("+"))
    if not all(parts):
        raise FigureError(
            "{text!r} names an empty part; write for example 'AB-1 + AB-2'", text=text[:40]
        )
    if len(set(parts)) < len(parts):
        raise FigureError("{text!r} names a part twice", text=text[:40])
    return parts


# Prices are read last, once the currency of the row is known.
FROM_PRICE = tuple((f"break {no} from", f"break {no} price") for no in range(1, BREAKS + 1))
PRICE_FIELDS: Mapping[str, Field] = {
    "part": Field(_part, required=True),
    "item": Field(code),
    "description": Field(_line_of(200)),
    "price": Field(str, required=True),
    "currency": Field(currency_of),
    "pack": Field(pack_as_written),
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


# Columns of figures beside the money, in which signs between thousands and commas may stand.
FIGURES = frozenset(
    column for column, field in PRICE_FIELDS.items() if field.read in (_count, _positive)
) | {"pack"}
MONEY = frozenset({"price", "core", *(price for _, price in FROM_PRICE)})


def read_pointed(column: str, text: str, pack_unit: str | None) -> Any:
    """The value of one of FIGURES that is written with a point; raises FigureError."""
    if column == "pack":
        return read_pack(text, pack_unit)
    whole = _WHOLE.fullmatch(text)
    return READERS[column](whole[1] if whole is not None else text)


def plain_amount(text: str, currency: str | None) -> tuple[int, str] | None:
    """Minor units and currency of a bare figure beyond doubt; None for any other text."""
    if currency is None or text[-4:-3] == ".":  # three decimals may be thousands
        return None
    minor = bare_minor(text, currency)
    return None if minor is None else (minor, currency)
