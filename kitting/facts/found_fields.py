"""What is noted of a part while a car is stripped: the fields, and how each is read.

Everything but the place may stay unknown; what is written is read as a catalogue file reads it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation

from kitting.errors import FigureError
from kitting.facts.bounds import WORD_SIGNS, one_line
from kitting.facts.heads import parse_head
from kitting.facts.ring_standards import MOST_SECTION
from kitting.facts.stages import parse_stage
from kitting.facts.threads import parse_thread
from kitting.facts.units import parse_quantity
from kitting.facts.words import ItemFamily, StockUnit, Word

STAGE_SIGN = ";"
_STAGES = re.compile(r";|,\s+")
_SIZE = re.compile(r"\s*([\d.,]+)\s*(?:mm)?\s*[x×*]\s*([\d.,]+)\s*(?:mm)?\s*", re.IGNORECASE)


class FoundField(Word):
    """A thing that is noted of a part that was found, in the order in which it is asked for."""

    JOINT = "joint"
    POSITION = "position"
    KIND = "kind"
    COUNT = "count"
    THREAD = "thread"
    HEAD = "head"
    FIGURE = "figure"
    SOURCE = "source"
    SIZE = "size"
    SEEN = "seen"


# A part is at a place: without these there is nothing to note.
PLACE = (FoundField.JOINT, FoundField.POSITION)
_THREADED = (FoundField.THREAD, FoundField.HEAD, FoundField.FIGURE)


def asked_of(kind: tuple[ItemFamily, bool] | None) -> tuple[FoundField, ...]:
    """What is asked of a part whose kind is of a family and threaded or not; None: not known.

    The source is asked for where there is a figure.
    """
    if kind is None:
        return tuple(FoundField)
    _, threaded = kind
    left_out = (FoundField.SIZE,) if threaded else (*_THREADED, FoundField.SOURCE)
    return tuple(field for field in FoundField if field not in left_out)


def _count(text: str) -> str:
    """A number of pieces: "4" or "4 each"."""
    amount = parse_quantity(text if any(sign.isalpha() for sign in text) else f"{text} each")
    if amount.unit != StockUnit.EACH or amount.thousandths <= 0 or amount.thousandths % 1000:
        raise FigureError("{text!r} is no number of pieces; write for example 4", text=text)
    return str(amount.thousandths // 1000)


def ring_size(text: str | None) -> tuple[Decimal, Decimal] | None:
    """Inside and section in mm of a size such as "17 × 2.5 mm"; None for what is written otherwise.

    >>> ring_size("17.0x2,5") == ring_size("17 × 2.50 mm")
    True
    """
    match = _SIZE.fullmatch(text or "")
    try:
        return match and (_decimal(match[1]), _decimal(match[2]))
    except InvalidOperation:
        return None


def _decimal(figure: str) -> Decimal:
    return Decimal(figure.replace(",", "."))


def is_ring_size(size: tuple[Decimal, Decimal]) -> bool:
    """Whether there may be a ring of an inside and a section, by the published sizes."""
    inside, section = size
    return 0 < section <= inside * Decimal(MOST_SECTION)


def _figure(text: str) -> str:
    """One stage or several: "20 N·m; +90°", or as in a file, "[20 N·m, +90°]"."""
    stages = [part.strip() for part in _STAGES.split(text.strip().strip("[]")) if part.strip()]
    return f"{STAGE_SIGN} ".join(str(parse_stage(stage)) for stage in stages)


READ: Mapping[FoundField, Callable[[str], str]] = {
    FoundField.KIND: lambda text: one_line(text, 2 * WORD_SIGNS),
    FoundField.COUNT: _count,
    FoundField.THREAD: lambda text: parse_thread(text).name,
    FoundField.HEAD: lambda text: str(parse_head(text)),
    FoundField.FIGURE: _figure,
}


def figures_with_source(noted: Mapping[FoundField, str]) -> dict[FoundField, str]:
    """What is noted, a figure that nobody has a source for among what was seen: none goes by it."""
    if FoundField.FIGURE not in noted or FoundField.SOURCE in noted:
        return dict(noted)
    kept: dict[FoundField, str] = {
        field: text for field, text in noted.items() if field is not FoundField.FIGURE
    }
    bare = f"figure without a source: {noted[FoundField.FIGURE]}"
    return {**kept, FoundField.SEEN: "; ".join(filter(None, (noted.get(FoundField.SEEN), bare)))}


def read_field(field: FoundField, text: str) -> str:
    """What is noted, as it is kept; raises FigureError for what a catalogue file could not take."""
    return READ.get(field, one_line)(text.strip())
