"""Looking at PDF pages from outside: rendering, degrading, reading codes, characters and lines."""

from __future__ import annotations

import ctypes
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import pypdfium2
import zxingcpp
from PIL import Image, ImageFilter

DPI = 203
MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Box:
    """Something on a page, in mm from its lower left corner; `size` of a character in points."""

    text: str
    left: float
    bottom: float
    right: float
    top: float
    size: float = 0.0

    def inside(self, left: float, bottom: float, right: float, top: float) -> bool:
        """Whether it lies in a rectangle, give or take 0.05 mm."""
        return (
            self.left >= left - 0.05
            and self.bottom >= bottom - 0.05
            and self.right <= right + 0.05
            and self.top <= top + 0.05
        )

    def overlaps(self, other: Box, by: float) -> bool:
        """Whether it covers another by more than so many mm both ways."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.top, other.top) - max(self.bottom, other.bottom)
        return across > by and down > by


@dataclass(frozen=True, slots=True)
class Code:
    """A code that was read: kind, text, error correction, corners in dots of the picture."""

    kind: str
    text: str
    level: str
    left: int
    top: int
    right: int
    bottom: int


def drawn(draw: Callable[..., object], *args: object, **options: object) -> bytes:
    """The bytes that a drawing function writes to the target it is handed last."""
    target = BytesIO()
    draw(*args, target, **options)
    return target.getvalue()


def opened(pdf: bytes) -> Iterator[Any]:
    """Every page; the document is closed after the last."""
    document = pypdfium2.PdfDocument(pdf)
    yield from document
    document.close()


def pages(pdf: bytes, dpi: int = DPI) -> list[Image.Image]:
    """Every page as a grey picture."""
    return [page.render(scale=dpi / 72).to_pil().convert("L") for page in opened(pdf)]


def degraded(picture: Image.Image) -> Image.Image:
    """A tired print: blur, grease and noise, then two generations of photocopy."""
    chance = random.Random(7)
    noise = Image.frombytes("L", picture.size, chance.randbytes(picture.width * picture.height))
    tired = Image.blend(picture.filter(ImageFilter.GaussianBlur(0.7)), noise, 0.12)
    for threshold in (120, 135):
        tired = tired.filter(ImageFilter.GaussianBlur(0.6)).point(
            lambda value, limit=threshold: 255 if value > limit else 0
        )
    return tired


def codes(picture: Image.Image) -> list[Code]:
    """Every QR code and Code 128 that zxing-cpp reads."""
    found = zxingcpp.read_barcodes(
        picture, formats=[zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.Code128]
    )
    read = []
    for code in found:
        corner = code.position
        points = (corner.top_left, corner.top_right, corner.bottom_left, corner.bottom_right)
        across, down = [point.x for point in points], [point.y for point in points]
        kind = "QR" if "QR" in str(code.format) else "Code 128"
        read.append(
            Code(kind, code.text, code.ec_level, min(across), min(down), max(across), max(down))
        )
    return read


def characters(pdf: bytes) -> list[list[Box]]:
    """Per page every visible character with its box and size."""
    found = []
    for page in opened(pdf):
        text = page.get_textpage()
        boxes = []
        for n in range(text.count_chars()):
            char = chr(pypdfium2.raw.FPDFText_GetUnicode(text, n))
            if char.strip():
                left, bottom, right, top = (value / MM for value in text.get_charbox(n))
                size = pypdfium2.raw.FPDFText_GetFontSize(text, n)
                boxes.append(Box(char, left, bottom, right, top, size))
        found.append(boxes)
    return found


def lines(pdf: bytes) -> list[list[Box]]:
    """Per page every run of text that stands on one base line, with its box."""
    found = []
    for page in opened(pdf):
        text = page.get_textpage()
        boxes = []
        for n in range(text.count_rects()):
            rect = text.get_rect(n)
            boxes.append(Box(text.get_text_bounded(*rect), *(value / MM for value in rect)))
        found.append(boxes)
    return found


def squares(pdf: bytes, side: float) -> list[list[Box]]:
    """Per page every drawn square whose side is so many mm."""
    return rectangles(pdf, side, side)


def rectangles(pdf: bytes, width: float, height: float) -> list[list[Box]]:
    """Per page everything drawn that is so many mm wide and high.

    The boxes that pypdfium2 gives reach one width of the line beyond it on every side.
    """
    found = []
    for page in opened(pdf):
        boxes = []
        for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH]):
            line = ctypes.c_float()
            assert pypdfium2.raw.FPDFPageObj_GetStrokeWidth(thing, line)
            left, bottom, right, top = thing.get_bounds()
            edges = (left + line.value, bottom + line.value, right - line.value, top - line.value)
            box = Box("", *(value / MM for value in edges))
            off = (box.right - box.left - width, box.top - box.bottom - height)
            if all(abs(side) < 0.05 for side in off):
                boxes.append(box)
        found.append(boxes)
    return found


def words(boxes: list[Box]) -> str:
    """The characters of a page or label in the order of the file, without blanks."""
    return "".join(box.text for box in boxes)


def require_clear(pdf: bytes, width: float, height: float) -> None:
    """Every character of a sheet within its margins, and no two lines over each other.

    `width` and `height` are the page's, in mm. Some letters (J, j) reach a little left of where
    they begin, so the margin is 11.6 mm.
    """
    for page in characters(pdf):
        for box in page:
            assert box.inside(11.6, 5, width - 11.6, height - 11.6), box
    for boxes in lines(pdf):
        for number, one in enumerate(boxes):
            for other in boxes[:number]:
                assert not one.overlaps(other, by=0.3), (one, other)
