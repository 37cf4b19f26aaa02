"""The pictures of the README and the guide: sheets of the demo garage, drawn anew or compared."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pypdfium2
from PIL import Image, ImageChops, ImageFilter

PICTURES = Path(__file__).parent.parent / "reports" / "pictures"
# When the sheets are printed: they say so.
NOW = '--now "2026-04-02 14:20"'
# The share of dots that may differ from the picture that is kept: a hair's breadth of a line. A
# changed layout moves far more.
TOLERANCE = 0.003
_INCH = 25.4
_GREYS = 16
_DARKER = 96  # of 255: a dot that differs by more than this is another dot


@dataclass(frozen=True, slots=True)
class Picture:
    """A sheet: how it is made, a text of the page that is shown, and which part (mm, from above)."""

    name: str
    words: str
    shows: str
    part: tuple[float, float, float, float] | None = None
    dpi: int = 92

    @property
    def path(self) -> Path:
        """Where it is kept."""
        return PICTURES / f"{self.name}.png"


SHOWN = (
    Picture(
        "labels",
        'labels "PELL 117" J1 J2 --on 2026-04-15 --stock 99x67-8',
        "KIT",
        (4, 12, 206, 148),
        120,
    ),
    Picture("pick-list", f'pick "PELL 117" J1 J2 --on 2026-04-15 {NOW}', "PICK LIST"),
    Picture(
        "tighten",
        f'tighten "PELL 117" J3 --on 2026-04-15 --box bay --box van {NOW}',
        "crankshaft hub",
    ),
    Picture("dates", f"dates B0001 {NOW}", "FITTING DATES", (0, 0, 210, 198), 100),
)


def drawn(picture: Picture, folder: Path) -> Image.Image:
    """The picture as the program draws it now, in a folder with the demo garage."""
    from docs_readme import run

    sheet = folder / "sheet.pdf"
    said = run(f"kitting sheet {picture.words} --out sheet.pdf", folder)
    if not sheet.exists():
        raise RuntimeError(f"{picture.name}: {said}")
    document = pypdfium2.PdfDocument(sheet.read_bytes())
    try:
        page = next(page for page in _pages(document) if picture.shows in _text(page))
        image = page.render(scale=picture.dpi / 72, grayscale=True).to_pil()
    finally:
        document.close()
        sheet.unlink()
    if picture.part is not None:
        image = image.crop(tuple(round(mm * picture.dpi / _INCH) for mm in picture.part))
    return image


def _pages(document: pypdfium2.PdfDocument) -> Iterator[pypdfium2.PdfPage]:
    return (document[number] for number in range(len(document)))


def _text(page: pypdfium2.PdfPage) -> str:
    return str(page.get_textpage().get_text_bounded())


def difference(one: Image.Image, other: Image.Image) -> float:
    """The share of dots that differ, 1 where the sizes do.

    Both are blurred by a dot first: another version of a library may place edges otherwise.
    """
    if one.size != other.size:
        return 1.0
    blurred = [image.convert("L").filter(ImageFilter.BoxBlur(1)) for image in (one, other)]
    counts = ImageChops.difference(*blurred).histogram()
    return sum(counts[_DARKER:]) / sum(counts)


def write_pictures(demo: Path) -> None:
    """Write every picture that differs from the one that is kept, drawn from the demo garage."""
    from docs_readme import garage

    with garage(demo) as folder:
        for picture in SHOWN:
            image = drawn(picture, folder)
            if not picture.path.exists() or difference(image, Image.open(picture.path)) > 0:
                image.quantize(_GREYS).save(picture.path, optimize=True)
