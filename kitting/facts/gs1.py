"""Scans of packets: numbers of trade items, and what element strings say of one (GS1).

What a scan is made of is read in `kitting.facts.element_strings`; what is kept of it, and what is
refused, is decided here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from kitting.errors import FigureError
from kitting.facts.element_strings import SEPARATOR, Element, printed_elements, sent_elements

# What application identifiers say of a packet; all others are kept as they are, and told.
_GTIN, _CONTENT = "01", "02"
_LOT, _MADE, _SSCC = "10", "11", "00"
_BEST_BEFORE = "15"
_LAST_DAYS = ("17", "7003", _BEST_BEFORE)  # of two days the earlier counts, of two alike the first
_COUNTS = ("30", "37")
_READ = frozenset({_GTIN, _CONTENT, _LOT, _MADE, *_LAST_DAYS, *_COUNTS, _SSCC})
_LENGTHS = (8, 12, 13, 14)
_LONGEST = 200
_AROUND = "\r\n\t "  # what a scanner may send with the symbol
_SYMBOLOGY = re.compile(r"^\][A-Za-z][0-9]")  # what a scanner may say of the symbol (ISO/IEC 15424)
# EAN-8, and EAN-13 with UPC-A and UPC-E: ISO/IEC 15424, from memory.
_EAN_8, _EAN_13 = "]E4", "]E0"


@dataclass(frozen=True, slots=True)
class Scan:
    """What a scan says of a packet; what it does not say is None.

    `gtin` has 14 digits; `or_gtin` is another reading of the same 8 digits, which are an EAN-8 or a
    UPC-E. `expires` is the last day of use, or the day before which it is best: no packet is used
    after either, so the earlier counts. `best_before` says that it is the latter. `count` is a
    number of pieces, `counts` how it is said; `unread` is every other identifier with its value,
    as it stands.
    """

    text: str
    gtin: str | None = None
    or_gtin: str | None = None
    lot: str | None = None
    made: date | None = None
    expires: date | None = None
    best_before: bool = False
    count: int | None = None
    counts: tuple[tuple[str, str], ...] = ()
    sscc: str | None = None
    unread: tuple[tuple[str, str], ...] = ()


def read_gtin(text: str) -> str:
    """A GTIN-8, -12, -13 or -14 as 14 digits; raises FigureError for what is none.

    >>> read_gtin("4006381333931")
    '04006381333931'
    """
    from biip.checksums import gs1_standard_check_digit

    digits = "".join(text.split()).replace("-", "")
    if not (digits.isascii() and digits.isdigit()) or len(digits) not in _LENGTHS:
        raise FigureError(
            "{text!r} is no GTIN: it has 8, 12, 13 or 14 digits. In quotes a leading 0 stays",
            text=text[:40],
        )
    if gs1_standard_check_digit(digits[:-1]) != int(digits[-1]):
        long = upc_of(digits)
        raise FigureError(
            f"{text[:40]!r} is no GTIN: its check digit does not go with the rest, so some digit is"
            " wrong. Compare all of it with the packet, or scan it"
            + (f"; if it is a UPC-E, it stands for {long}: write that" if long else "")
        )
    return digits.zfill(14)


def upc_of(digits: str) -> str | None:
    """The UPC-A (12 digits) that a UPC-E of 8 digits stands for; None for what is no UPC-E.

    >>> upc_of("04252614")
    '042100005264'
    """
    from biip import ParseError
    from biip.upc import Upc

    if len(digits) != 8:
        return None
    try:
        return Upc.parse(digits).as_upc_a()
    except ParseError:
        return None


def shortest_gtin(gtin: str) -> str:
    """A GTIN of 14 digits as it is printed: without the zeros that only fill it up."""
    digits = gtin.lstrip("0")
    return digits.zfill(next(length for length in _LENGTHS if length >= len(digits)))


def looks_scanned(text: str) -> bool:
    """Whether a text that is no code may be a scan: only digits, or with identifiers."""
    given = text.strip(_AROUND)
    return given.isdigit() or given.startswith(("(", "]")) or SEPARATOR in given


def read_scan(text: str) -> Scan:
    """What a scanned text says: EAN, UPC, ITF-14, or GS1 element strings with or without brackets.

    Raises FigureError for what is none, and for values that contradict each other.
    """
    given = text.strip(_AROUND)
    if not given or len(given) > _LONGEST:
        raise FigureError("{given!r} is no scan of a packet; scan it again", given=given[:40])
    symbology = _SYMBOLOGY.match(given)
    plain = given[symbology.end() :] if symbology else given
    if plain.startswith("("):
        return _of_elements(given, printed_elements(plain))
    if plain.isascii() and plain.isdigit() and len(plain) in _LENGTHS:
        return _of_number(given, plain, symbology[0] if symbology else None)
    return _of_elements(given, sent_elements(plain))


def _of_number(given: str, digits: str, symbology: str | None) -> Scan:
    """A number without identifiers. Of 8 digits the symbology says what they are, if it is sent."""
    long = upc_of(digits) if symbology != _EAN_8 else None
    if long is None:
        if symbology == _EAN_13 and len(digits) == 8:
            raise FigureError(
                "{given!r} is no scan of a packet: 8 digits of this symbol are a UPC-E, and they"
                " are none. Scan it again",
                given=given,
            )
        return Scan(given, gtin=read_gtin(digits))
    try:
        short = read_gtin(digits) if symbology != _EAN_13 else None
    except FigureError:
        short = None
    return Scan(given, gtin=short or long.zfill(14), or_gtin=long.zfill(14) if short else None)


def _of_elements(given: str, elements: Iterable[Element]) -> Scan:
    values: dict[str, str] = {}
    days: dict[str, date] = {}
    for element in elements:
        code, value = element.code, element.value
        if values.setdefault(code, value) != value:
            raise FigureError(
                "the scan says ({code}) twice, {values} and {value}. Scan one packet at a time",
                code=code,
                values=values[code],
                value=value,
            )
        if element.day is not None:
            days[code] = element.day
    gtins = [read_gtin(values[code]) for code in (_GTIN, _CONTENT) if code in values]
    if len(set(gtins)) > 1:
        raise FigureError("the scan names two packets, (01) and (02). Scan one of them")
    last_days = [code for code in _LAST_DAYS if code in days]
    last = min(last_days, key=lambda code: days[code], default=None)
    made, expires = days.get(_MADE), None if last is None else days[last]
    if made is not None and expires is not None and expires < made:
        raise FigureError(
            "the scan says made on {made} and to be used by {expires}: one of them is wrong. Type"
            " what the packet says",
            made=made,
            expires=expires,
        )
    passed_over = {code for code in last_days if last is not None and days[code] != days[last]}
    passed_over |= {_SSCC} if gtins else set()
    return Scan(
        text=given,
        gtin=gtins[0] if gtins else None,
        lot=values.get(_LOT),
        made=made,
        expires=expires,
        best_before=last == _BEST_BEFORE,
        count=_count(values),
        counts=tuple((code, values[code]) for code in _COUNTS if code in values),
        sscc=values.get(_SSCC),
        unread=tuple(
            (code, value)
            for code, value in values.items()
            if code not in _READ or code in passed_over
        ),
    )


def _count(values: Mapping[str, str]) -> int | None:
    counts = {int(values[code]) for code in _COUNTS if code in values}
    if len(counts) > 1:
        raise FigureError("the scan says two numbers of pieces, (30) and (37). Count them")
    return next(iter(counts), None)


def unread_text(unread: Iterable[tuple[str, str]]) -> str:
    """Identifiers that are not used here, as they are printed: "(99)XYZ (21)S1"."""
    return " ".join(f"({code}){value}" for code, value in unread)
