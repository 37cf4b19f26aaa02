"""The table of what is asked when a booking is closed, filled in: its answers row by row."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from kitting.errors import FigureError, Problem
from kitting.facts.units import parse_quantity
from kitting.facts.words import FindingResult
from kitting.files.lists.reader import read_list

COLUMNS = ("about", "item", "position", "in kit", "question", "answer")
_LONGEST = 200
_RENEWED = ("renewed", "not inspected", "without a look")
_PART = re.compile(r"(?P<word>[a-z]+)?\s*(?P<amount>[0-9].*)?")
_WORDS = ("back", "spoilt", "used")


@dataclass(frozen=True, slots=True)
class Answer:
    """A row that was filled in: what it is about, of which item and position, and its answer."""

    line: int
    about: str
    item: str
    position: str
    text: str


@dataclass(frozen=True, slots=True)
class Left:
    """What became of an item (thousandths): came back, was spoilt, was used; None: not said."""

    back: int | None = None
    spoilt: int | None = None
    used: int | None = None


def read_told(path: Path) -> tuple[list[Answer], list[Problem]]:
    """Every row of the table with its answer, blank or not, or what is wrong with the file."""
    rows, problems = read_list(path, COLUMNS)
    found = []
    for row in rows:
        cells = {name: _plain(text) for name, text in row.cells.items()}
        answer = cells.get("answer", "")
        if len(answer) > _LONGEST or not answer.isprintable():
            problems.append(
                Problem(str(path), row.line, "answer", "it is too long to be read", "Shorten it")
            )
            continue
        found.append(
            Answer(
                row.line,
                cells.get("about", "").casefold(),
                cells.get("item", ""),
                cells.get("position", ""),
                answer,
            )
        )
    return found, problems


def _plain(text: str) -> str:
    """A cell without the apostrophe that kept a spreadsheet from running it."""
    return text[1:] if text[:1] == "'" else text


def count_of(text: str) -> int:
    """A count of old seals. Raises FigureError."""
    if not text.isdecimal():
        raise FigureError("{text!r} is no count; write for example 5", text=text[:40])
    return int(text)


def look_of(text: str) -> tuple[FindingResult, str | None]:
    """What was found at a position, and why. Raises FigureError for anything else."""
    word, _, why = text.partition(":")
    word, why = " ".join(word.split()).casefold(), why.strip()
    if word in _RENEWED:
        word = FindingResult.NOT_INSPECTED
    if word not in tuple(FindingResult):
        raise FigureError(
            "{text!r} is none of passed, failed: and why, renewed without a look", text=text[:40]
        )
    if word == FindingResult.FAILED and not why:
        raise FigureError("failed without a reason; write for example failed: cut at the lip")
    return FindingResult(word), why or None


def left_of(text: str, unit: str) -> Left:
    """What is left over: "3", "back 3, spoilt 1", "used 2", "12 ml"; a bare figure came back.

    In thousandths of the unit. Raises FigureError.
    """
    found: dict[str, int] = {}
    for part in text.casefold().split(","):
        match = _PART.fullmatch(" ".join(part.split()))
        word = (match and match["word"]) or "back"
        if match is None or match["amount"] is None or word not in _WORDS or word in found:
            raise FigureError(
                "{text!r} cannot be read; write what came back, for example 3, or back 3, spoilt 1",
                text=text[:40],
            )
        found[word] = _amount(match["amount"], unit)
    return Left(**found)


def _amount(text: str, unit: str) -> int:
    bare = re.fullmatch(r"[0-9]+([.][0-9]+)?", text)
    quantity = parse_quantity(f"{text} {unit}" if bare else text)
    if quantity.unit != unit:
        raise FigureError(
            "{text!r} is in {unit}; it is counted in {stock_unit}",
            text=text,
            unit=quantity.unit,
            stock_unit=unit,
        )
    return quantity.thousandths
