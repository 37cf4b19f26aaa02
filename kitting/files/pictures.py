"""Pictures that somebody took: checked, turned upright, made small, stripped of all but the image.

Where it was taken, with what and when is in no picture that is kept.
"""

from __future__ import annotations

import hashlib
import warnings
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from kitting.errors import KittingError

FORMATS = ("JPEG", "PNG", "WEBP")
# Our choice: a photo of a camera of 100 megapixels passes, a file made to fill the memory does not.
MOST_BYTES, MOST_PIXELS = 40_000_000, 120_000_000
LONGEST = 1200  # pixels: 100 mm on paper at 300 dots an inch
_QUALITY = 82


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as it is kept: JPEG bytes without any data beside the image, size in pixels."""

    jpeg: bytes
    width: int
    height: int

    @property
    def sha256(self) -> str:
        """The hash of the bytes, by which damage shows."""
        return hashlib.sha256(self.jpeg).hexdigest()

    @property
    def kept(self) -> dict[str, object]:
        """What is kept of it, by the names of the columns."""
        size = {"width": self.width, "height": self.height}
        return {**size, "sha256": self.sha256, "jpeg": self.jpeg}


def read_picture(path: Path) -> Picture:
    """A picture file, made small; raises KittingError naming the file and what is wrong with it."""
    from PIL import Image, ImageOps

    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise KittingError(
                "{path}: {size:.0f} MB is more than {most_bytes:.0f} MB. Save it smaller, then"
                " add that",
                path=path,
                size=size / 1e6,
                most_bytes=MOST_BYTES / 1e6,
            )
        raw = path.read_bytes()
    except OSError as error:
        raise KittingError(
            "{path}: cannot be read ({reason}). Name a file", path=path, reason=error.strerror
        ) from error
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(BytesIO(raw), formats=FORMATS) as opened:
                _refuse_huge(path, *opened.size)
                opened.draft("RGB", (LONGEST, LONGEST))
                upright = ImageOps.exif_transpose(opened)
                upright.thumbnail((LONGEST, LONGEST))
                return _kept(_on_white(upright))
    except KittingError:
        raise
    except Image.DecompressionBombError as error:
        raise _huge(path, "its pixels") from error
    except Exception as error:  # a damaged picture may fail in any way of its decoder
        raise KittingError(
            "{path}: no picture, or a damaged one. Name a JPEG, PNG or WebP file", path=path
        ) from error


def _refuse_huge(path: Path, across: int, high: int) -> None:
    if across * high > MOST_PIXELS:
        raise _huge(path, f"{across} × {high} pixels")


def _huge(path: Path, what: str) -> KittingError:
    return KittingError(
        "{path}: {what} are more than a photo may have, {most_pixels} million. Save it smaller,"
        " then add that",
        path=path,
        what=what,
        most_pixels=MOST_PIXELS // 1_000_000,
    )


def _on_white(image: "Image.Image") -> "Image.Image":  # type: ignore[name-defined] # noqa: F821, UP037
    """What shows through is white, as on paper."""
    from PIL import Image

    clear = image.convert("RGBA")
    white = Image.new("RGBA", clear.size, "white")
    return Image.alpha_composite(white, clear).convert("RGB")


def _kept(image: "Image.Image") -> Picture:  # type: ignore[name-defined] # noqa: F821, UP037
    target = BytesIO()
    image.save(target, "JPEG", quality=_QUALITY, optimize=True)
    return Picture(target.getvalue(), *image.size)
