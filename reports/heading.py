"""What names a sheet on each of its pages: heading, code to scan, foot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kitting.reports.codes import draw_qr, qr_side, quiet_zone
from kitting.reports.stamp import time_printed
from kitting.reports.text import MM, Fitted, draw, fit, width_of
from kitting.reports.wording import DEFERS, DEFERS_SHORT
from kitting.views.plan import CautionView
from kitting.wording.cautions import titles_text
from kitting.wording.figures import figure
from kitting.wording.language import _

# The code in the head of the first page: its side in mm, and the longest text in it.
_CODE, _CODE_TEXT = 19.0, 24
# What the foot keeps for page and time at its right end, in mm.
_ASIDE = 42.0


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands on every page of a sheet.

    `reference` has the codes of booking and kit, or of the order; `about` the car first, then the
    day. The code in the head of the first page is `code`, or else the first of the reference.
    `jobs` are told with their codes first; pages after the first name the codes.
    """

    title: str
    reference: str
    about: str
    cautions: tuple[CautionView, ...]
    code: str = ""
    jobs: tuple[str, ...] = ()

    @property
    def scanned(self) -> str:
        """What a scanner reads; "" where that would not be a plain code."""
        text = self.code or self.reference.split(" · ", maxsplit=1)[0].strip()
        plain = text.isascii() and text.isprintable() and " " not in text
        return text if plain and len(text) <= _CODE_TEXT else ""

    @property
    def running(self) -> str:
        """The line above later pages: codes first, the end of what it is about may be cut."""
        codes = ", ".join(job.partition(" ")[0] for job in self.jobs)
        return " · ".join(filter(None, (f"{self.title} {self.reference}", codes, self.about)))

    @property
    def named(self) -> str:
        """The sheet, its codes and what it is about, in one line."""
        return " · ".join(filter(None, (f"{self.title} {self.reference}", self.about)))


def draw_scanned(canvas: Any, heading: Heading, corner: tuple[float, float]) -> float:
    """Draw the code of a heading with its upper right corner there; its width, 0 without one.

    All in points. Its quiet zone reaches into the margin: paper is white there.
    """
    text = heading.scanned
    side = qr_side(text, _CODE * MM)
    if side is None:
        return 0.0
    quiet = quiet_zone(text, side)
    x, top = corner
    draw_qr(canvas, text, x - side + quiet, top - side + quiet, side)
    return side - quiet


def draw_foot(
    canvas: Any,
    place: tuple[float, float, float],
    heading: Heading,
    page: tuple[int, int],
) -> None:
    """Which sheet this is, what to beware of, when it was printed; for pages part company.

    `place` is left, top and width in points, `page` its number and how many there are.
    """
    (left, top, width), (number, count) = place, page
    aside = _ASIDE * MM
    room = width - aside - 3 * MM
    canvas.setLineWidth(0.8)
    canvas.line(left, top, left + width, top)
    top -= 3
    draw(canvas, left, top, fit(heading.named, (room, 12), (8.5, 6), bold=True, lines=1))
    told = _("page {number}/{count}", number=number, count=count)
    _draw_right(canvas, left + width, top, fit(told, (aside, 12), (8.5, 6), bold=True, lines=1))
    top -= 11
    titles = titles_text(heading.cautions)
    if titles:
        told = _("CAUTIONS (in full at the end): {titles}", titles=titles)
        warning = fit(told, (width, 19), (7.5, 6.5), bold=True, lines=2, squeeze=1.0)
        top = draw(canvas, left, top, warning)
    defers = _(DEFERS if number == 1 else DEFERS_SHORT)
    draw(canvas, left, top, fit(defers, (room, 12), (7.5, 5.5), lines=1, squeeze=0.7))
    at = time_printed()
    if at is not None:
        told = _("printed {time}", time=figure(at))
        _draw_right(canvas, left + width, top, fit(told, (aside, 12), (7.5, 5.5), lines=1))


def _draw_right(canvas: Any, right: float, top: float, fitted: Fitted) -> None:
    width = max((width_of(t, fitted.size, fitted.bold) for t in fitted.lines), default=0.0)
    draw(canvas, right - width, top, fitted)
