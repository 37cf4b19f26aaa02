"""Threads measured in inches: unified, Whitworth and pipe threads, and how they are written.

All sizes and pitches are from memory (ASME B1.1, BS 84, ISO 228-1 and ISO 7-1, ASME B1.20.1): they
find what nobody makes, and judge no figure by themselves.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import NamedTuple

from kitting.errors import FigureError

INCH = Decimal("25.4")

# Turns to an inch, coarse and fine (UNC, UNF), by size and diameter in inches.
_UNIFIED: Mapping[str, tuple[str, int | None, int]] = {
    "#0": ("0.060", None, 80), "#1": ("0.073", 64, 72), "#2": ("0.086", 56, 64),
    "#3": ("0.099", 48, 56), "#4": ("0.112", 40, 48), "#5": ("0.125", 40, 44),
    "#6": ("0.138", 32, 40), "#8": ("0.164", 32, 36), "#10": ("0.190", 24, 32),
    "#12": ("0.216", 24, 28), "1/4": ("0.25", 20, 28), "5/16": ("0.3125", 18, 24),
    "3/8": ("0.375", 16, 24), "7/16": ("0.4375", 14, 20), "1/2": ("0.5", 13, 20),
    "9/16": ("0.5625", 12, 18), "5/8": ("0.625", 11, 18), "3/4": ("0.75", 10, 16),
    "7/8": ("0.875", 9, 14), "1": ("1", 8, 12),
}  # fmt: skip
# The same of Whitworth threads (BSW, BSF).
_WHITWORTH: Mapping[str, tuple[str, int, int]] = {
    "1/4": ("0.25", 20, 26), "5/16": ("0.3125", 18, 22), "3/8": ("0.375", 16, 20),
    "7/16": ("0.4375", 14, 18), "1/2": ("0.5", 12, 16), "9/16": ("0.5625", 12, 16),
    "5/8": ("0.625", 11, 14), "3/4": ("0.75", 10, 12), "7/8": ("0.875", 9, 11), "1": ("1", 8, 10),
}  # fmt: skip
# Outside diameter in inches and turns to an inch: G, R, Rp and Rc, then NPT.
_PIPE: Mapping[str, tuple[str, str]] = {
    "1/16": ("0.304", "28"), "1/8": ("0.383", "28"), "1/4": ("0.518", "19"),
    "3/8": ("0.656", "19"), "1/2": ("0.825", "14"), "5/8": ("0.902", "14"),
    "3/4": ("1.041", "14"), "1": ("1.309", "11"),
}  # fmt: skip
_NPT: Mapping[str, tuple[str, str]] = {
    "1/16": ("0.3125", "27"), "1/8": ("0.405", "27"), "1/4": ("0.540", "18"),
    "3/8": ("0.675", "18"), "1/2": ("0.840", "14"), "3/4": ("1.050", "14"), "1": ("1.315", "11.5"),
}  # fmt: skip
_FINEST = 80
_SIZE = r"(#[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2}|1)"
_SCREW = re.compile(
    rf"{_SIZE}\s*(?:\"|″|in)?(?:\s*-\s*([0-9]{{1,2}}))?\s*(UNC|UNF|UNEF|UNS|UN|BSW|BSF)?",
    re.IGNORECASE,
)
_PIPE_FIRST = re.compile(rf"(G|R|Rp|Rc)\s*{_SIZE}\s*(?:\"|″|in)?", re.IGNORECASE)
_NPT_LAST = re.compile(
    rf"{_SIZE}\s*(?:\"|″|in)?(?:\s*-\s*([0-9]{{2}}(?:\.5)?))?\s*(NPTF|NPT)", re.IGNORECASE
)
_TURNS_DIFFER = "{text!r} has a pitch that no such thread of this size has; {known}"
_PIPE_NAMES = {"g": "G", "r": "R", "rp": "Rp", "rc": "Rc"}


class InchThread(NamedTuple):
    """What an inch thread is called, its diameter and pitch in mm, whether it is reckoned here."""

    name: str
    diameter: Decimal
    pitch: Decimal
    unified: bool


def parse_inch_thread(text: str) -> InchThread | None:
    """Read "1/4-20", "5/16 UNF", "#10-32 UNF", "1/4 BSF", "G 1/4", "1/8 NPT"; None for others.

    Raises FigureError for a size or a pitch that such a thread has not.
    """
    for pattern, read in ((_SCREW, _screw), (_PIPE_FIRST, _pipe), (_NPT_LAST, _npt)):
        match = pattern.fullmatch(text)
        if match is not None:
            return read(text, match)
    return None


def _screw(text: str, match: re.Match[str]) -> InchThread | None:
    size, given, series = match[1], match[2], (match[3] or "").upper()
    if not given and not series:
        return None
    whitworth = series in ("BSW", "BSF")
    table = _WHITWORTH if whitworth else _UNIFIED
    if size not in table:
        raise FigureError(
            "{text!r} has a size that is not known here: {table} are",
            text=text,
            table=", ".join(table),
        )
    diameter, coarse, fine = table[size]
    names = ("BSW", "BSF") if whitworth else ("UNC", "UNF")
    usual = {name: turns for name, turns in zip(names, (coarse, fine), strict=True) if turns}
    known = ", ".join(f"{size}-{turns} {name}" for name, turns in usual.items())
    turns = int(given) if given else usual.get(series)
    if turns is None:
        raise FigureError(
            "{text!r} has no pitch; write it in turns to an inch, as in {known}",
            text=text,
            known=known,
        )
    named = series or next((name for name, its in usual.items() if its == turns), "UN")
    wrong = turns != usual[named] if named in usual else not min(usual.values()) < turns <= _FINEST
    if wrong or (series in names and series not in usual):
        raise FigureError(_TURNS_DIFFER.format(text=text, known=f"known are {known}"))
    return InchThread(
        f"{size}-{turns} {named}", Decimal(diameter) * INCH, INCH / turns, not whitworth
    )


def _pipe(text: str, match: re.Match[str]) -> InchThread:
    size = match[2]
    diameter, turns = _of_pipe(_PIPE, size, text)
    return InchThread(f"{_PIPE_NAMES[match[1].lower()]} {size}", diameter, INCH / turns, False)


def _npt(text: str, match: re.Match[str]) -> InchThread:
    size, given, series = match[1], match[2], match[3].upper()
    diameter, turns = _of_pipe(_NPT, size, text)
    if given and Decimal(given) != turns:
        known = f"known is {size}-{turns} {series}"
        raise FigureError(_TURNS_DIFFER.format(text=text, known=known))
    return InchThread(f"{size}-{turns} {series}", diameter, INCH / turns, False)


def _of_pipe(table: Mapping[str, tuple[str, str]], size: str, text: str) -> tuple[Decimal, Decimal]:
    if size not in table:
        raise FigureError(
            "{text!r} has a size that is not known here: {table} are",
            text=text,
            table=", ".join(table),
        )
    diameter, turns = table[size]
    return Decimal(diameter) * INCH, Decimal(turns)
