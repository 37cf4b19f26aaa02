"""Text on paper: one embedded font, and text that never leaves its box.

Text from data is drawn as it is: no markup is read in it. Long text shrinks, then wraps, then is
cut with an ellipsis. Letters stand in the order in which they are stored: text that runs from
right to left is not turned round.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import as_file, files
from itertools import islice
from typing import Any

MM = 72 / 25.4
REGULAR, BOLD = "Kitting", "Kitting-Bold"
_FILES = {REGULAR: "DejaVuSansCondensed.ttf", BOLD: "DejaVuSansCondensed-Bold.ttf"}
ELLIPSIS = "…"
# Parts of the size: the font's ascent and descent, and the distance of lines.
ASCENT, DESCENT, LEADING = 0.93, 0.24, 1.17
# Thinner lines (points) vanish when a sheet is copied: common practice, no source.
THINNEST = 0.7
_LONGEST = 1500
_EPSILON = 1e-6
_MISSING = "\ufffd"
_UNIT = re.compile(r"(?:ml|L|mm|m|g|kg|N·m|kgf·m|kgf·cm|lbf·ft|lbf·in)[),.;:]*")


@lru_cache(maxsize=1)
def _glyphs() -> frozenset[int]:
    """Register both faces once; the code points that both have.

    Code points beyond 16 bits are left out: they would print, but could not be copied or searched
    in the PDF.
    """
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name, file in _FILES.items():
        with as_file(files("kitting.reports") / "fonts" / file) as path:
            pdfmetrics.registerFont(TTFont(name, str(path)))
    regular: Any = pdfmetrics.getFont(REGULAR).face
    bold: Any = pdfmetrics.getFont(BOLD).face
    both = set(regular.charToGlyph) & set(bold.charToGlyph)
    return frozenset(code for code in both if code <= 0xFFFF)


@lru_cache(maxsize=1024)
def printable(text: str) -> str:
    """Text that the font can show: one line, no control or direction marks, no missing glyphs.

    Control characters become spaces; marks that only steer direction or joining are dropped.
    Characters that the font lacks become U+FFFD, so that the reader sees that something stood
    there. Beyond 1500 characters the text ends in an ellipsis.
    """
    known = _glyphs()
    shown = []
    for char in text[: _LONGEST * 2]:
        category = unicodedata.category(char)
        if category in ("Cc", "Zl", "Zp", "Zs"):
            shown.append(" ")
        elif category != "Cf":
            shown.append(char if ord(char) in known else _MISSING)
    line = " ".join("".join(shown).split())
    if len(line) > _LONGEST or len(text) > 2 * _LONGEST:
        return line[: _LONGEST - 1].rstrip() + ELLIPSIS
    return line


@lru_cache(maxsize=8192)
def _width(text: str, bold: bool) -> float:
    """Width of a text at one point; it grows in proportion to the size."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    _glyphs()
    return float(stringWidth(text, BOLD if bold else REGULAR, 1.0))


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Width in points of a text as it will be drawn."""
    return size * _width(text, bold)


@dataclass(frozen=True, slots=True)
class Fitted:
    """Lines that fit a box, at a size in points; `cut` where some of the text is left off."""

    lines: tuple[str, ...]
    size: float
    bold: bool
    cut: bool = False

    @property
    def height(self) -> float:
        """Height in points from the top of the first line to the foot of the last."""
        if not self.lines:
            return 0.0
        return self.size * (ASCENT + DESCENT + LEADING * (len(self.lines) - 1))


def fit(
    text: str,
    box: tuple[float, float],
    sizes: tuple[float, float],
    *,
    bold: bool = False,
    lines: int = 3,
    squeeze: float = 0.8,
) -> Fitted:
    """Fit text into a box (width, height in points) at the best of `sizes` (largest, smallest).

    On one line it may shrink to the part `squeeze` of the largest size; then it wraps to at most
    `lines` lines at the largest size that fits and breaks no word, or else breaks one; at the
    smallest size it is cut with an ellipsis.
    A box too small for one letter of the smallest size gets no text, and the result is `cut`.
    """
    (width, height), (largest, smallest) = box, sizes
    shown = printable(text)
    if not shown:
        return Fitted((), largest, bold)
    room = min(lines, _lines_in(height, smallest))
    if room < 1 or width <= 0:
        return Fitted((), smallest, bold, cut=True)
    one_line = min(largest, height / (ASCENT + DESCENT), width / max(_width(shown, bold), _EPSILON))
    if one_line >= max(smallest, squeeze * largest):
        return Fitted((shown,), one_line, bold)
    longest = max(_width(word, bold) for word in _words(shown))
    unbroken = min(largest, width / max(longest, _EPSILON))
    for start in dict.fromkeys((unbroken, largest)):
        size = start
        while size >= smallest:
            most = min(lines, _lines_in(height, size))
            wrapped = list(islice(wrap(shown, width, size, bold), most + 1))
            fits = all(width_of(line, size, bold) <= width + _EPSILON for line in wrapped)
            if fits and len(wrapped) <= most:
                return Fitted(tuple(wrapped), size, bold)
            size -= 0.5
    wrapped = list(islice(wrap(shown, width, smallest, bold), room + 1))
    kept = _cut(wrapped, room, width, smallest, bold)
    if any(width_of(line, smallest, bold) > width + _EPSILON for line in kept):
        return Fitted((), smallest, bold, cut=True)
    return Fitted(kept, smallest, bold, cut=len(wrapped) > room)


def _lines_in(height: float, size: float) -> int:
    below_first = height + _EPSILON - size * (ASCENT + DESCENT)
    return 0 if below_first < 0 else 1 + int(below_first / (size * LEADING))


@lru_cache(maxsize=1024)
def _words(text: str) -> tuple[str, ...]:
    """Words at which a line may break: a figure keeps its unit."""
    words: list[str] = []
    for word in text.split(" "):
        if words and words[-1][-1:].isdigit() and _UNIT.fullmatch(word):
            words[-1] += f" {word}"
        else:
            words.append(word)
    return tuple(words)


def wrap(text: str, width: float, size: float, bold: bool = False) -> Iterator[str]:
    """Lines no wider than `width` points, made as they are asked for; a long word is broken."""
    room = width / size
    space = _width(" ", bold)
    current, used = "", 0.0
    for word in _words(text):
        wide = _width(word, bold)
        if current and used + space + wide <= room:
            current, used = f"{current} {word}", used + space + wide
            continue
        if current:
            yield current
        *whole, current = _break(word, room, bold)
        yield from whole
        used = _width(current, bold)
    if current:
        yield current


def _break(word: str, room: float, bold: bool) -> list[str]:
    """A word in pieces no wider than `room` at one point."""
    if _width(word, bold) <= room:
        return [word]
    pieces, current, used = [], "", 0.0
    for char in word:
        wide = _width(char, bold)
        if current and used + wide > room:
            pieces.append(current)
            current, used = "", 0.0
        current, used = current + char, used + wide
    return [*pieces, current]


def _cut(lines: Sequence[str], room: int, width: float, size: float, bold: bool) -> tuple[str, ...]:
    if len(lines) <= room:
        return tuple(lines)
    last = lines[room - 1]
    while last and width_of(last + ELLIPSIS, size, bold) > width:
        last = last[:-1]
    return (*lines[: room - 1], last.rstrip() + ELLIPSIS)


def draw(canvas: Any, x: float, top: float, fitted: Fitted) -> float:
    """Draw fitted lines with their top at `top` (points); returns the foot of the last line."""
    baseline = top - fitted.size * ASCENT
    canvas.setFont(BOLD if fitted.bold else REGULAR, fitted.size)
    for line in fitted.lines:
        canvas.drawString(x, baseline, line)
        baseline -= fitted.size * LEADING
    return top - fitted.height
