"""Element strings of a scan, as a scanner sends them or as they are printed below the bars.

The library biip knows the identifiers and their forms (GS1 General Specifications); what is said
of text that has none of them is said here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from kitting.errors import FigureError

if TYPE_CHECKING:
    from biip.gs1_application_identifiers import GS1ApplicationIdentifier

SEPARATOR = "\x1d"  # how a scanner sends FNC1
_SHOWN = 40
_PRINTED = re.compile(r"\(([0-9]{2,4})\)")
_BRACKETS = "If a lot has brackets in it, scan the symbol itself, or scan no lot and type it"
_SEPARATORS = "The scanner may leave out what ends it (FNC1): set it to send that, or type the lot"


@dataclass(frozen=True, slots=True)
class Element:
    """An application identifier with its value, and the day where the value is one."""

    code: str
    value: str
    day: date | None = None


def sent_elements(text: str) -> Iterator[Element]:
    """What a scanner sent: identifiers without brackets, what has no fixed length ends with FNC1.

    Raises FigureError naming what cannot be read.
    """
    rest = text.lstrip(SEPARATOR)
    while rest:
        part = rest.partition(SEPARATOR)[0]
        identifier = _identifier(part)
        if identifier is None:
            raise _no_scan(text, f"{part[:12]!r} begins with no identifier of GS1")
        element = _element(text, identifier, part)
        length = len(element.code) + len(element.value)
        if identifier.separator_required and length < len(part):
            cause = f"({element.code}) is longer than it may be, or has a sign that it may not have"
            raise _no_scan(text, cause, _SEPARATORS)
        yield element
        rest = rest[length:].lstrip(SEPARATOR)


def printed_elements(text: str) -> Iterator[Element]:
    """What is printed below the bars: (01)…(17)…(10)….

    A value may have brackets of its own where nothing follows it: else nobody could tell where it
    ends. Raises FigureError naming what cannot be read.
    """
    written = "".join(text.replace(SEPARATOR, "").split())
    marks = list(_PRINTED.finditer(written))
    if not marks or marks[0].start():
        raise _no_scan(text, "it begins with no identifier in brackets")
    ends = [*(mark.start() for mark in marks[1:]), len(written)]
    for mark, end in zip(marks, ends, strict=True):
        code, value = mark[1], written[mark.end() : end]
        identifier = _identifier(code)
        if identifier is None or identifier.ai != code:
            raise _no_scan(text, f"({code}) is no identifier of GS1", _BRACKETS)
        if end < len(written) and set(value) & set("()"):
            raise _no_scan(text, f"it is not clear where ({code}) ends", _BRACKETS)
        yield _element(text, identifier, f"{code}{value}", whole=True)


def _identifier(text: str) -> GS1ApplicationIdentifier | None:
    """The identifier with which a text begins."""
    from biip import ParseError
    from biip.gs1_application_identifiers import GS1ApplicationIdentifier

    try:
        return GS1ApplicationIdentifier.extract(text)
    except ParseError:
        return None


def _element(
    text: str, identifier: GS1ApplicationIdentifier, part: str, *, whole: bool = False
) -> Element:
    """The element string with which a part begins, or which it is."""
    from biip import ParseError
    from biip.gs1_element_strings import GS1ElementString

    code, value = identifier.ai, part[len(identifier.ai) :]
    if not value:
        raise _no_scan(text, f"({code}) says nothing", _BRACKETS if whole else "")
    try:
        read = GS1ElementString.parse(part) if whole else GS1ElementString.extract(part)
    except (ParseError, ValueError, LookupError) as error:
        cause = f"({code}) cannot be {value[:20]!r}, its form is {identifier.format}"
        if "date" in identifier.description.casefold():
            cause = f"({code}) is a date, and {value[:6]!r} is none of the calendar"
        raise _no_scan(text, cause) from error
    if not read.value:
        raise _no_scan(text, f"({code}) says nothing")
    return Element(code, read.value, read.date)


def _no_scan(text: str, cause: str, step: str = "") -> FigureError:
    otherwise = (
        "Scan it again, or type it as it is printed, such as (01)09506000134352(17)271231(10)AB12"
    )
    return FigureError(f"{text[:_SHOWN]!r} is no scan of a packet: {cause}. {step or otherwise}")
