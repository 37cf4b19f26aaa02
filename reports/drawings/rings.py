"""Rings as seen, with their section cut beside them and hatched for their rubber.

Lengths are mm unless they are said to be points.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from kitting.reports.drawings.rubber_hatches import Hatch, hatch_of, paint_hatch
from kitting.reports.text import MM, THINNEST, draw, fit, width_of
from kitting.views.kit import KitView
from kitting.views.plan import RingView
from kitting.wording.language import _, in_figures

# Paper per part, the largest first: true size lets the new ring be laid on its drawing.
SCALES = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
CUTS = (4.0, 2.0, 1.0, 0.5, 0.2)
GAP = 3.0
# Sections on labels, and the air round one in the hole of its ring.
_LABEL_CUT, _CLEAR = 2.0, 1.0


@dataclass(frozen=True, slots=True)
class Picture:
    """How large a ring is drawn: `scale` of the ring, `cut` of its section, all of paper per part.

    The section stands in the hole of the ring if it is `inside`, else to the right of it.
    """

    width: float
    height: float
    scale: float
    cut: float
    inside: bool = False

    @property
    def caption(self) -> str:
        """How large it is drawn: "true size, section ×2"."""
        return _("{scale}, section {cut}", scale=scale_text(self.scale), cut=cut_text(self.cut))


def scale_text(scale: float) -> str:
    """What a scale is: "true size", or "scale 1:2, NOT true size"."""
    if scale == 1:
        return _("true size")
    return _("scale 1:{part}, NOT true size", part=f"{1 / scale:.0f}")


def cut_text(cut: float) -> str:
    """ "×4", or "1:2"."""
    return f"×{cut:.0f}" if cut >= 1 else f"1:{1 / cut:.0f}"


def hatchings(kit: KitView) -> dict[str, Hatch]:
    """The hatches of the rubbers of which rings of a kit are drawn, in the order they come in."""
    drawn = (end.elastomer for bag in kit.bags for end in bag.ends if end.ring is not None)
    found = {rubber: hatch_of(rubber) for rubber in drawn if rubber is not None}
    return {rubber: hatch for rubber, hatch in found.items() if hatch is not None}


def outer(ring: RingView) -> float:
    """Outside diameter of a ring."""
    return ring.inside + 2 * ring.section


def cut_for(rings: Iterable[RingView], most: float) -> float:
    """The largest enlargement common to the sections of some rings, none over `most` on paper."""
    thickest = max((ring.section for ring in rings), default=1.0)
    return next((cut for cut in CUTS if thickest * cut <= most), 0.0)


def picture(ring: RingView, scale: float, cut: float) -> Picture:
    """A ring at a scale, and its section at another beside it."""
    across, thick = outer(ring) * scale, ring.section * cut
    return Picture(across + GAP + thick, max(across, thick), scale, cut)


def label_picture(ring: RingView) -> Picture:
    """A ring for a label: always of true size, so that it can be compared from label to label."""
    across, thick = outer(ring), ring.section * _LABEL_CUT
    if ring.inside >= thick + 2 * _CLEAR:
        return Picture(across, across, 1.0, _LABEL_CUT, inside=True)
    return picture(ring, 1.0, _LABEL_CUT)


def paint_ring(
    canvas: Any,
    corner: tuple[float, float],
    ring: RingView,
    made: Picture,
    hatch: Hatch | None,
    figures: float | None = None,
) -> None:
    """Draw a ring with its upper left `corner` at a point (points).

    `figures` is the size in points of its dimensions, which are drawn where they find room.
    """
    x, top = corner
    across, thick = outer(ring) * made.scale * MM, ring.section * made.cut * MM
    radius, wall = across / 2, ring.section * made.scale * MM
    middle = (x + radius, top - made.height * MM / 2)
    at = middle[0] if made.inside else x + across + GAP * MM + thick / 2
    canvas.saveState()
    canvas.setLineWidth(0.9)
    canvas.circle(*middle, radius)
    canvas.circle(*middle, radius - wall)
    # Where the ring is cut, joined to its section by a thin line.
    canvas.setLineWidth(1.6)
    canvas.line(middle[0] + radius - wall, middle[1], middle[0] + radius, middle[1])
    canvas.setLineWidth(THINNEST)
    near = (
        (at + thick / 2, middle[0] + radius - wall)
        if made.inside
        else (middle[0] + radius, at - thick / 2)
    )
    canvas.line(near[0], middle[1], near[1], middle[1])
    paint_hatched_disc(canvas, at, middle[1], thick / 2, hatch)
    canvas.restoreState()
    if figures is not None:
        _figure(canvas, in_figures(f"Ø{ring.inside:g}"), *middle, 2 * (radius - wall), figures)


def _figure(canvas: Any, text: str, x: float, y: float, room: float, size: float) -> None:
    """A figure with its middle at a point, where it finds room."""
    wide = width_of(text, size)
    if wide <= 0.85 * room:
        fitted = fit(text, (wide + 1, 2 * size), (size, size), lines=1)
        draw(canvas, x - wide / 2, y + (0.93 - 0.365) * size, fitted)


def paint_unknown(canvas: Any, x: float, top: float, across: float) -> None:
    """A ring of which nobody states the size: broken line, question mark (points)."""
    radius = across / 2
    canvas.saveState()
    canvas.setLineWidth(0.9)
    canvas.setDash(3, 2.5)
    canvas.circle(x + radius, top - radius, radius)
    canvas.restoreState()
    size = 0.5 * across
    mark = fit("?", (across, across), (size, size), bold=True, lines=1)
    wide = width_of("?", size, True)
    draw(canvas, x + radius - wide / 2, top - radius + (0.93 - 0.365) * size, mark)


def paint_hole(canvas: Any, x: float, top: float, across: float) -> None:
    """The hole of a washer of which nobody states the outside (points)."""
    radius = across / 2
    canvas.saveState()
    canvas.setLineWidth(0.9)
    canvas.circle(x + radius, top - radius, radius)
    canvas.restoreState()


def paint_hatched_disc(canvas: Any, x: float, y: float, radius: float, hatch: Hatch | None) -> None:
    """A disc with its middle at a point, hatched (points); plain where no hatching is given."""
    path = canvas.beginPath()
    path.circle(x, y, radius)
    paint_hatch(canvas, path, (x - radius, y - radius, x + radius, y + radius), hatch)


def paint_swatch(
    canvas: Any, x: float, y: float, width: float, height: float, hatch: Hatch | None
) -> None:
    """A hatched rectangle for a key, its lower left corner at a point (points)."""
    path = canvas.beginPath()
    path.rect(x, y, width, height)
    paint_hatch(canvas, path, (x, y, x + width, y + height), hatch)
