"""Between which bounds the figures of a workshop lie: what is beyond them was mistyped.

The bounds are common practice, no source, and wide: they find a slip of the unit, and judge no
figure that somebody may mean.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import NamedTuple

from kitting.errors import FigureError


class Bound(NamedTuple):
    """What is bounded, its least and its most in the unit it is kept in, and both in words."""

    what: str
    least: int
    most: int
    known: str


# Lengths are thousandths of a millimetre, areas of a square millimetre, hours of an hour.
BOUNDS: Mapping[str, Bound] = {
    "ring inside": Bound("the inside of a ring", 100, 2_000_000, "0.1 mm to 2 m"),
    "ring section": Bound("the section of a ring", 100, 50_000, "0.1 mm to 50 mm"),
    "recess": Bound("the depth of a recess", 1, 500_000, "up to 500 mm"),
    "protrusion": Bound("how far a stud stands out", 1, 500_000, "up to 500 mm"),
    "engagement": Bound("how far a thread is engaged", 1_000, 200_000, "1 mm to 200 mm"),
    "bead length": Bound("the length of a bead", 1, 100_000_000, "up to 100 m"),
    "film area": Bound("the area of a film", 1, 10_000_000_000, "up to 100,000 cm²"),
    "film thickness": Bound("the thickness of a film", 1, 5_000, "up to 5 mm"),
    "opened life": Bound("how long an opened pack keeps", 1, 3_660, "1 day to 10 years"),
    "shelf life": Bound("a shelf life", 1, 600, "1 month to 50 years"),
    "open time": Bound("an open time", 1, 10_080, "1 min to 7 days"),
    "cure time": Bound("a cure time", 1, 86_400, "1 min to 60 days"),
    "step hours": Bound("the hours of a step", 0, 1_000_000, "up to 1000 h"),
}
# How many signs a text has at most: a column of the database, a cell and an entry hold as many.
WORD_SIGNS, CODE_SIGNS, NAME_SIGNS, TEXT_SIGNS = 20, 40, 200, 2000
# No car is older than the first; what is planned lies within a lifetime.
_FIRST_YEAR, _LAST_YEAR = 1885, 2099


def within(name: str, value: int, text: str) -> int:
    """The value of a bounded figure; raises FigureError, with its text, for one beyond BOUNDS."""
    bound = BOUNDS[name]
    if not bound.least <= value <= bound.most:
        raise FigureError(
            "{text!r} is out of reason for {what}: {known} are known. Check the figure and its"
            " unit",
            text=text,
            what=bound.what,
            known=bound.known,
        )
    return value


def possible_day(day: date) -> date:
    """A day that a car may have lived through; raises FigureError for another."""
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise FigureError(
            "{day!r} is out of reason for a date: years {first} to {last} are known. Check the"
            " year",
            day=str(day),
            first=_FIRST_YEAR,
            last=_LAST_YEAR,
        )
    return day


def one_line(text: str, most: int = NAME_SIGNS) -> str:
    """A text of one line; raises FigureError for a longer one, or for signs that do not print."""
    if len(text) > most:
        raise FigureError("the text is longer than {most} characters; shorten it", most=most)
    if not text.isprintable():
        raise FigureError(
            "{text!r} has characters that cannot be printed; write one plain line", text=text[:40]
        )
    return text
