"""What a person sees in a cell of a spreadsheet, where that is not what the cell keeps.

A cell keeps a number or a day, and a format says how it is shown: `0012`, `12.5` for 12,500, a
month for its first day. What is read has to be what is seen; where it cannot be, it is refused.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from typing import Any

from kitting.errors import FigureError

AS_TEXT = "Format the cell as text and type it again"
STRUCK_OUT = "the cell is struck out. Empty it, or type it plainly"
_GENERAL = ("General", "GENERAL", "@")
_AS_KEPT = re.compile(r"[#0](?:[#0,]*[#0])?(?:\.([0#]+))?")
# What a format adds around a number without saying anything: room, fillers, colours.
_AROUND = re.compile(r"_.|\*.|\\ |\[(?:Black|Blue|Cyan|Green|Magenta|Red|White|Yellow)\]", re.I)
_PADDED = re.compile(r"0{2,}")
_CURRENCY = re.compile(r"\[\$([^\]\-]+)(?:-[^\]]*)?\]|\"\s*([€£$¥]|[A-Z]{3})\s*\"|([€£$¥])")
_MOST_EXACT = 10**15  # spreadsheets keep 15 digits of a number


def number_as_shown(value: float, shown_as: str | None, *, currency: bool = False) -> str:
    """A number as it is seen, as text; a currency that its format shows comes behind it.

    Raises FigureError with reason and next step where that cannot be told.
    """
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if abs(value) >= _MOST_EXACT:
        raise FigureError(f"a number of so many digits is rounded in a spreadsheet. {AS_TEXT}")
    text, pattern = str(value), shown_as or "General"
    if pattern in _GENERAL:
        return text
    if _PADDED.fullmatch(pattern) and isinstance(value, int):
        return text.zfill(len(pattern))
    sign, number = _taken_apart(pattern)
    plain = _AS_KEPT.fullmatch(number)
    if plain and _PADDED.match(number) is None and (currency or not sign):
        decimals = len(plain[1] or "")
        if round(value, decimals) == value:
            return f"{text} {sign}".strip()
    reason = f"the cell keeps the number {text} and shows it otherwise ({pattern})"
    raise FigureError(f"{reason}. {AS_TEXT}")


@lru_cache(maxsize=256)
def _taken_apart(pattern: str) -> tuple[str, str]:
    """The currency that a format of numbers shows, "" for none, and the rest of what it shows.

    Its first part is that of numbers from 0 on.
    """
    shown = _AROUND.sub("", pattern.partition(";")[0])
    found = _CURRENCY.search(shown)
    sign = next(filter(None, found.groups())).strip() if found else ""
    return sign, _CURRENCY.sub("", shown).strip(" ()-+")


def day_as_shown(value: datetime | date, shown_as: str | None) -> date:
    """A day that is seen as one. Raises FigureError for a month, a year, or a time of day."""
    if isinstance(value, datetime):
        if value.time() != time():
            raise FigureError(f"{value} is a time of day, and a day was expected. {AS_TEXT}")
        value = value.date()
    if shown_as is not None and not _shows_day(shown_as):
        reason = f"the cell shows a month or a year ({shown_as}), and keeps {value}"
        raise FigureError(
            "{reason}. Write the day as text, such as 2026-04-15, if it is known", reason=reason
        )
    return value


@lru_cache(maxsize=256)
def _shows_day(pattern: str) -> bool:
    return (
        "d" in re.sub(r"\[[^\]]*\]|\"[^\"]*\"|\\.", "", pattern).casefold() or pattern == "General"
    )


def is_time(value: object) -> bool:
    """Whether a value is a date, a time or a length of time."""
    return isinstance(value, date | time | timedelta)


def plain_text_of(cell: Any) -> str:
    """The text of a cell. Raises FigureError where part of it is struck out or raised.

    Raised figures (footnotes, exponents) would be read as digits of the number before them.
    """
    value = cell.value
    if isinstance(value, str) and type(value) is str:
        return value
    for part in value:
        font = getattr(part, "font", None)
        if font is not None and (font.vertAlign in ("superscript", "subscript") or font.strike):
            how = "struck out" if font.strike else "raised or lowered"
            raise FigureError(
                "part of the text is {how}. Type it plainly, without that part", how=how
            )
    return str(value)
