"""Scans of packets: numbers of trade items and GS1 element strings (GS1 General Specifications).

The library biip takes a scan apart; what is kept of it, and what is refused, is decided here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from kitting.errors import FigureError

if TYPE_CHECKING:
    from biip.gs1_messages import GS1Message

# What application identifiers say of a packet; all others are kept as they are, and told.
_GTIN, _CONTENT = "01", "02"
_LOT, _MADE, _BEST_BEFORE, _EXPIRES, _SERIAL = "10", "11", "15", "17", "21"
_COUNTS = ("30", "37")
_ADDITIONAL = ("240", "241")
_SSCC = "00"
_READ = frozenset(
    {_GTIN, _CONTENT, _LOT, _MADE, _BEST_BEFORE, _EXPIRES, _SERIAL, *_COUNTS, *_ADDITIONAL, _SSCC}
)
_LENGTHS = (8, 12, 13, 14)
_LONGEST = 200
_SYMBOLOGY = re.compile(r"^\][A-Za-z]\d")  # what a scanner may say of the symbol (ISO/IEC 15424)
SEPARATOR = "\x1d"  # how a scanner sends FNC1


@dataclass(frozen=True, slots=True)
class Scan:
    """What a scan says of a packet; what it does not say is None.

    `gtin` has 14 digits. `expires` is the last day of use, or the day before which it is best: no
    packet is used after either. `best_before` says that it is the latter. `count` is a number of
    pieces, `unread` every other identifier with its value, as it stands.
    """

    text: str
    gtin: str | None = None
    lot: str | None = None
    made: date | None = None
    expires: date | None = None
    best_before: bool = False
    count: int | None = None
    serial: str | None = None
    additional: tuple[str, ...] = ()
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
            f"{text[:40]!r} is no GTIN: it has 8, 12, 13 or 14 digits. In quotes a leading 0 stays"
        )
    if gs1_standard_check_digit(digits[:-1]) != int(digits[-1]):
        raise FigureError(
            f"{text[:40]!r} is no GTIN: its check digit does not go with the rest, so some digit is"
            " wrong. Compare all of it with the packet, or scan it"
        )
    return digits.zfill(14)


def shortest_gtin(gtin: str) -> str:
    """A GTIN of 14 digits as it is printed: without the zeros that only fill it up."""
    digits = gtin.lstrip("0")
    return digits.zfill(next(length for length in _LENGTHS if length >= len(digits)))


def looks_scanned(text: str) -> bool:
    """Whether a text that is no code may be a scan: only digits, or with identifiers."""
    return text.isdigit() or text.startswith(("(", "]")) or SEPARATOR in text


def read_scan(text: str) -> Scan:
    """What a scanned text says: EAN, UPC, ITF-14, or GS1 element strings with or without brackets.

    Raises FigureError for what is none, and for values that contradict each other.
    """
    given = text.strip("\r\n\t ")
    if not given or len(given) > _LONGEST:
        raise FigureError(f"{given[:40]!r} is no scan of a packet; scan it again")
    if given.startswith("("):
        return _of_message(given, _message(given, printed=True))
    plain = _SYMBOLOGY.sub("", given)
    if plain.isdigit() and len(plain) in _LENGTHS:
        return Scan(given, gtin=read_gtin(plain))
    return _of_message(given, _message(plain.removeprefix(SEPARATOR)))


def _message(given: str, *, printed: bool = False) -> GS1Message:
    """The element strings of a scan; `printed` as they stand below the bars: (01)…(17)…(10)…."""
    from biip import ParseError
    from biip.gs1_messages import GS1Message

    try:
        return GS1Message.parse_hri(given) if printed else GS1Message.parse(given)
    except (ParseError, ValueError, LookupError) as error:
        raise FigureError(
            f"{given[:40]!r} is no scan of a packet ({str(error)[:80]}). Scan it again, or type it"
            " as it is printed, such as (01)09506000134352(17)271231(10)AB12"
        ) from error


def _of_message(given: str, message: GS1Message) -> Scan:
    values: dict[str, str] = {}
    days: dict[str, date] = {}
    for element in message.element_strings:
        code, value = element.ai.ai, element.value
        if values.setdefault(code, value) != value:
            raise FigureError(
                f"the scan says ({code}) twice, {values[code]} and {value}. Scan one packet at a"
                " time"
            )
        if element.date is not None:
            days[code] = element.date
    gtins = [read_gtin(values[code]) for code in (_GTIN, _CONTENT) if code in values]
    if len(set(gtins)) > 1:
        raise FigureError("the scan names two packets, (01) and (02). Scan one of them")
    made, expires = days.get(_MADE), days.get(_EXPIRES, days.get(_BEST_BEFORE))
    if made is not None and expires is not None and expires < made:
        raise FigureError(
            f"the scan says made on {made} and to be used by {expires}: one of them is wrong. Type"
            " what the packet says"
        )
    return Scan(
        text=given,
        gtin=gtins[0] if gtins else None,
        lot=values.get(_LOT),
        made=made,
        expires=expires,
        best_before=_BEST_BEFORE in days and _EXPIRES not in days,
        count=_count(values),
        serial=values.get(_SERIAL),
        additional=tuple(values[code] for code in _ADDITIONAL if code in values),
        sscc=values.get(_SSCC),
        unread=tuple((code, value) for code, value in values.items() if code not in _READ),
    )


def _count(values: Mapping[str, str]) -> int | None:
    counts = {int(values[code]) for code in _COUNTS if code in values}
    if len(counts) > 1:
        raise FigureError("the scan says two numbers of pieces, (30) and (37). Count them")
    return next(iter(counts), None)


def agreed(what: str, typed: object, scanned: object) -> None:
    """Raise FigureError where what was typed is not what was scanned."""
    if typed is not None and scanned is not None and typed != scanned:
        raise FigureError(
            f"the {what} was typed as {typed} and scanned as {scanned}. Look at the packet, and"
            " leave the wrong one out"
        )


def unread_text(unread: Iterable[tuple[str, str]]) -> str:
    """Identifiers that are not used here, as they are printed: "(99)XYZ (7003)2712311200"."""
    return " ".join(f"({code}){value}" for code, value in unread)
