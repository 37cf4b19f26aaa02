"""One hatch for each rubber, the same on every sheet and label of every kit.

The hatches are our own: no standard has one for each rubber. The rubbers that are met most often
have the plainest. The words beside a drawing always name the rubber as well; what is not stated
has no hatch.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot
from typing import Any

from kitting.reports.text import MM
from kitting.wording.language import N_, _

_CLOSE, _WIDE = 1.0, 2.2  # mm between lines
_BROKEN = (1.5, 0.9)  # mm drawn, mm left out
_OUTLINE, _THIN, _BROAD, _HEAVY = 1.0, 0.7, 1.1, 2.2  # points


@dataclass(frozen=True, slots=True)
class Way:
    """In which directions lines run (across, up), and what that is called."""

    directions: tuple[tuple[int, int], ...]
    words: str


@dataclass(frozen=True, slots=True)
class Hatch:
    """Lines of a way, so many mm apart and so many points wide, whole or broken; or without lines.

    Without a way it is dots of a radius (mm), white on black where they are `inverse`, or all
    black.
    """

    words: str
    way: Way | None = None
    step: float = _CLOSE
    line: float = _THIN
    broken: bool = False
    dot: float = 0.0
    inverse: bool = False

    @property
    def told(self) -> str:
        """What it looks like, in words of the current language."""
        if self.way is None:
            return _(self.words)
        return _("{way}, {how}", way=_(self.way.words), how=_(self.words))


RISING = Way(((1, 1),), N_("lines rising to the right"))
FALLING = Way(((1, -1),), N_("lines falling to the right"))
LEVEL = Way(((1, 0),), N_("level lines"))
UPRIGHT = Way(((0, 1),), N_("upright lines"))
SQUARES = Way(((1, 0), (0, 1)), N_("lines crossed level and upright"))
LOZENGES = Way(((1, 1), (1, -1)), N_("lines crossed aslant"))


def _close(way: Way) -> Hatch:
    return Hatch(N_("close together"), way)


def _wide(way: Way) -> Hatch:
    return Hatch(N_("wide apart"), way, _WIDE)


def _broken(way: Way) -> Hatch:
    return Hatch(N_("broken"), way, 1.5, _BROAD, broken=True)


def _heavy(way: Way) -> Hatch:
    return Hatch(N_("heavy, wide apart"), way, _WIDE, _HEAVY)


# By the codes of ISO 1629 (PTFE by that of ISO 1043-1), for every rubber that the facts know.
HATCHES: dict[str, Hatch] = {
    "FKM": _close(RISING),
    "NBR": _close(FALLING),
    "EPDM": _close(LEVEL),
    "ACM": _close(UPRIGHT),
    "HNBR": _close(LOZENGES),
    "CR": _close(SQUARES),
    "PTFE": Hatch(N_("all black")),
    "VMQ": Hatch(N_("small dots"), step=1.2, dot=0.28),
    "FVMQ": Hatch(N_("large dots"), step=2.0, dot=0.55),
    "PVMQ": Hatch(N_("black with white dots"), step=2.0, dot=0.55, inverse=True),
    "FFKM": _wide(RISING),
    "XNBR": _wide(FALLING),
    "EPM": _wide(LEVEL),
    "AEM": _wide(UPRIGHT),
    "IIR": _wide(LOZENGES),
    "SBR": _wide(SQUARES),
    "FEPM": _broken(RISING),
    "NR": _broken(FALLING),
    "CSM": _broken(LEVEL),
    "CM": _broken(UPRIGHT),
    "AU": _broken(LOZENGES),
    "ECO": _broken(SQUARES),
    "BR": _heavy(FALLING),
    "IR": _heavy(RISING),
    "CO": _heavy(LEVEL),
    "EU": _heavy(UPRIGHT),
    "CIIR": _heavy(LOZENGES),
    "BIIR": _heavy(SQUARES),
}


def hatch_of(rubber: str | None) -> Hatch | None:
    """The hatch of a rubber by its code; None where it is not stated or not known."""
    return HATCHES.get(rubber or "")


Box = tuple[float, float, float, float]


def paint_hatch(canvas: Any, path: Any, box: Box, hatch: Hatch | None) -> None:
    """Fill a path with a hatch and draw its outline; `box` is round the path (points)."""
    canvas.saveState()
    canvas.setLineWidth(_OUTLINE)
    if hatch is not None:
        canvas.saveState()
        canvas.clipPath(path, stroke=0, fill=0)
        _fill(canvas, box, hatch)
        canvas.restoreState()
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.restoreState()


def _fill(canvas: Any, box: Box, hatch: Hatch) -> None:
    if hatch.way is None and (hatch.inverse or not hatch.dot):
        canvas.rect(box[0], box[1], box[2] - box[0], box[3] - box[1], stroke=0, fill=1)
    if hatch.dot:
        canvas.setFillGray(1 if hatch.inverse else 0)
        for x, y in _dots(box, hatch.step * MM):
            canvas.circle(x, y, hatch.dot * MM, stroke=0, fill=1)
    elif hatch.way is not None:
        canvas.setLineWidth(hatch.line)
        if hatch.broken:
            canvas.setDash(_BROKEN[0] * MM, _BROKEN[1] * MM)
        for way in hatch.way.directions:
            for line in _strokes(box, way, hatch.step * MM):
                canvas.line(*line)


def _dots(box: Box, step: float) -> Iterator[tuple[float, float]]:
    """Points in rows over a box, every second row shifted by half a step."""
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    down, across = (int((box[n + 2] - box[n]) / 2 / step) + 1 for n in (1, 0))
    for row in range(-down, down + 1):
        for column in range(-across, across + 1):
            yield x + (column + (row % 2) / 2) * step, y + row * step


def _strokes(box: Box, way: tuple[int, int], step: float) -> Iterator[Box]:
    """Lines of one direction over a box and beyond it, one of them through its middle."""
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    reach = hypot(box[2] - box[0], box[3] - box[1]) / 2 + step
    length = hypot(*way)
    east, north = way[0] / length, way[1] / length
    count = int(reach / step)
    for number in range(-count, count + 1):
        left, low = x - north * number * step, y + east * number * step
        yield left - east * reach, low - north * reach, left + east * reach, low + north * reach
