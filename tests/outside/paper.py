"""Looking at PDF pages from outside: rendering, degrading, reading characters with their boxes."""

from __future__ import annotations

import random
from io import BytesIO

import pypdfium2
import zxingcpp
from PIL import Image, ImageFilter

DPI = 203
MM = 72 / 25.4


def pages(pdf: bytes, dpi: int = DPI) -> list[Image.Image]:
    """Every page as a grey picture."""
    document = pypdfium2.PdfDocument(pdf)
    found = [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]
    document.close()
    return found


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


def codes(picture: Image.Image) -> list[tuple[str, str]]:
    """(format, text) of every code that zxing-cpp reads, sorted."""
    found = zxingcpp.read_barcodes(
        picture, formats=[zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.Code128]
    )
    return sorted((str(code.format), code.text) for code in found)


def characters(pdf: bytes) -> list[list[tuple[str, float, float, float, float]]]:
    """Per page every visible character with its box in mm: left, bottom, right, top."""
    document = pypdfium2.PdfDocument(pdf)
    found = []
    for page in document:
        text = page.get_textpage()
        boxes = []
        for n in range(text.count_chars()):
            char = text.get_text_range(n, 1)
            if char.strip():
                boxes.append((char, *(value / MM for value in text.get_charbox(n))))
        found.append(boxes)
    document.close()
    return found


def drawn(draw: object, *args: object, **options: object) -> bytes:
    """The bytes that a drawing function writes to the target it is handed last."""
    target = BytesIO()
    draw(*args, target, **options)  # type: ignore[operator]
    return target.getvalue()
