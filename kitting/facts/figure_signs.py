"""Figures with signs between thousands and decimal commas, as people and suppliers write them.

Which sign is which is read where it is beyond doubt: "38,50", "1.234,50", "1 234,50" and
"1,234,567" can mean one thing only. "1,234" can mean two.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from kitting.errors import FigureError

_KEPT = 8192
_SPACES = "'’ \u00a0\u202f\u2009"
_FOUND = re.compile(rf"[0-9]+(?:[.,{_SPACES}][0-9]+)*")
_GROUPED = re.compile(
    rf"(?P<whole>[0-9]{{1,3}}(?:(?P<by>[.,{_SPACES}])[0-9]{{3}})(?:(?P=by)[0-9]{{3}})*)"
    r"(?:(?P<sign>[.,])(?P<part>[0-9]+))?"
)
_PARTED = re.compile(r"(?P<whole>[0-9]+)(?P<sign>[.,])(?P<part>[0-9]+)")
_NO_PART = re.compile(r"([0-9])[.,][-–—]+(?![0-9])")  # "12,-" is 12 and nothing
_OTHER = {",": ".", ".": ","}
_CALLED = {",": "comma", ".": "point"}
SIGNS = {name: sign for sign, name in _CALLED.items()}


class InDoubtError(FigureError):
    """A figure that may mean two: its `sign` may part thousands, or whole and decimals.

    `meant` is the text written both ways: with thousands, and with decimals without idle noughts.
    """

    def __init__(self, text: str, sign: str, figure: str, decimals: str, thousands: str) -> None:
        super().__init__(
            f"{text[:40]!r} may be {decimals} or {thousands}: nothing says whether its"
            f" {_CALLED[sign]} is the decimal one"
        )
        self.sign = sign
        short = decimals.rstrip("0").rstrip(".")
        self.meant = tuple(text.replace(figure, one, 1) for one in (thousands, short))


class _Figure(NamedTuple):
    """A figure taken apart: its decimal sign is None where it tells none, or may be `sign`."""

    whole: str
    part: str = ""
    decimal: str | None = None
    doubtful: str | None = None


@lru_cache(_KEPT)
def with_point(text: str, decimal: str | None = None) -> str:
    """A text with its figure written with a point, and nothing between thousands.

    A text of no or several figures, or of one that follows no rule, comes back as it is.
    `decimal` is the sign that a doubtful figure has; without it InDoubtError is raised.

    >>> with_point("€ 1.234,50"), with_point("1 234.5 kg"), with_point("1,234", ".")
    ('€ 1234.50', '1234.5 kg', '1234')
    """
    text = _NO_PART.sub(r"\1", text)
    found = list(_FOUND.finditer(text))
    figure = _taken_apart(found[0][0]) if len(found) == 1 else None
    if figure is None:
        return text
    whole, part = figure.whole, figure.part
    if figure.doubtful is not None:
        if decimal is None:
            raise InDoubtError(text, figure.doubtful, found[0][0], f"{whole}.{part}", whole + part)
        if decimal != figure.doubtful:
            whole, part = whole + part, ""
    written = f"{whole}.{part}" if part else whole
    return f"{text[: found[0].start()]}{written}{text[found[0].end() :]}"


def decimal_sign(text: str) -> str | None:
    """The decimal sign that a text shows beyond doubt, "," or "."; None where it shows none."""
    found = _FOUND.findall(text)
    figure = _taken_apart(found[0]) if len(found) == 1 else None
    return figure.decimal if figure is not None else None


def _taken_apart(figure: str) -> _Figure | None:
    if figure.isdecimal():
        return _Figure(figure)
    if (grouped := _GROUPED.fullmatch(figure)) is not None:
        return _of_groups(grouped)
    if (parted := _PARTED.fullmatch(figure)) is not None:
        return _Figure(parted["whole"], parted["part"], parted["sign"])
    return None


def _of_groups(match: re.Match[str]) -> _Figure | None:
    first, *others = match["whole"].split(match["by"])
    by, sign, part = match["by"], match["sign"], match["part"] or ""
    whole = first + "".join(others)
    if sign == by or (first[0] == "0" and (sign or len(others) > 1)):
        return None
    if by not in _OTHER or sign:
        return _Figure(whole, part, sign)
    if len(others) > 1:
        return _Figure(whole, decimal=_OTHER[by])
    if first[0] == "0":
        return _Figure(first, others[0], by)
    return _Figure(first, others[0], doubtful=by)
