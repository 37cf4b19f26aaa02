"""Codes on labels as vectors: QR (ISO/IEC 18004) and Code 128 (ISO/IEC 15417).

Everything is drawn on the dot grid of a 203 dpi label printer, so that bars and modules come out
whole: a module of the QR code is at least four dots, a bar at least two. All lengths in points.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

DOT = 72 / 203
QUIET_QR = 4
QUIET_128 = 10
_QR_DOTS = (8, 7, 6, 5, 4)
_BAR_DOTS = (3, 2)
LEAST_QUIET_128 = QUIET_128 * _BAR_DOTS[-1] * DOT


def _snap(points: float) -> float:
    return round(points / DOT) * DOT


@lru_cache(maxsize=256)
def _modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The dark modules of a QR code, level Q (a quarter may be lost to grease)."""
    from reportlab.graphics.barcode.qr import QrCodeWidget

    widget = QrCodeWidget(text, barLevel="Q")
    widget.qr.make()
    return tuple(tuple(bool(cell) for cell in row) for row in widget.qr.modules)


def qr_side(text: str, room: float) -> float | None:
    """The side in points, quiet zone included, that fits `room`; None where none does."""
    if not text:
        return None
    count = len(_modules(text)) + 2 * QUIET_QR
    return next((count * dots * DOT for dots in _QR_DOTS if count * dots * DOT <= room), None)


def quiet_zone(text: str, side: float) -> float:
    """How much of a side found by `qr_side` is quiet zone, at each edge."""
    return QUIET_QR * side / (len(_modules(text)) + 2 * QUIET_QR)


def draw_qr(canvas: Any, text: str, x: float, y: float, side: float) -> None:
    """Draw a QR code of a side found by `qr_side`, lower left corner (quiet zone) at x, y."""
    modules = _modules(text)
    size = side / (len(modules) + 2 * QUIET_QR)
    left, top = _snap(x) + QUIET_QR * size, _snap(y) + side - QUIET_QR * size
    path = canvas.beginPath()
    for row, cells in enumerate(modules):
        column = 0
        while column < len(cells):
            run = 0
            while column + run < len(cells) and cells[column + run]:
                run += 1
            if run:
                path.rect(left + column * size, top - (row + 1) * size, run * size, size)
            column += run or 1
    canvas.drawPath(path, stroke=0, fill=1)


@lru_cache(maxsize=256)
def _widths(text: str) -> tuple[int, ...]:
    """Widths of bars and spaces in turn, in modules, beginning and ending with a bar."""
    from reportlab.graphics.barcode.code128 import Code128

    code = Code128(text)
    code.validate()
    code.encode()
    code.decompose()
    # The encoder spells a bar of n modules as the n-th capital, a space as the n-th small letter.
    return tuple(ord(letter.upper()) - ord("A") + 1 for letter in code.decomposed)


def code_width(text: str, room: float) -> float | None:
    """The width in points, quiet zones included, that fits `room`.

    None where none does, or where the text has other letters than printable ASCII.
    """
    if not text or not (text.isascii() and text.isprintable()):
        return None
    count = sum(_widths(text)) + 2 * QUIET_128
    return next((count * dots * DOT for dots in _BAR_DOTS if count * dots * DOT <= room), None)


def bars_quiet_zone(text: str, width: float) -> float:
    """How much of a width found by `code_width` is quiet zone, at each end."""
    return QUIET_128 * width / (sum(_widths(text)) + 2 * QUIET_128)


def draw_code(canvas: Any, text: str, x: float, y: float, width: float, height: float) -> None:
    """Draw a Code 128 of a width found by `code_width`, lower left corner at x, y."""
    widths = _widths(text)
    module = width / (sum(widths) + 2 * QUIET_128)
    left = _snap(x) + QUIET_128 * module
    foot, top = _snap(y), _snap(y + height)
    path = canvas.beginPath()
    for number, count in enumerate(widths):
        if number % 2 == 0:
            path.rect(left, foot, count * module, top - foot)
        left += count * module
    canvas.drawPath(path, stroke=0, fill=1)
