"""What a label tells, in the order of its importance: the one place that decides what survives.

A label is read from the top, so that its rows stand in the same order. What must survive stands on
every label, whatever the stock; a stock on which it finds no room is refused. The rest is left off
from the bottom up, and the label says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from kitting.wording.language import N_

# No text that holds a figure is smaller than the first (points), none smaller than the second is
# plain: a decimal sign would not survive a photocopy of a photocopy (own trials of this program's
# font at 203 dots per inch, held by tests/outside/test_label_figures.py).
LEAST, LEAST_PLAIN = 7.0, 9.0


class Look(Enum):
    """How a row is drawn; the number is its size as a part of that of the largest line."""

    HEAD = 1.0
    LARGE = 0.8
    BOLD = 0.0
    PLAIN = -1.0
    FRAMED = -2.0
    FOOT = -3.0


class Part(Enum):
    """A row of a label, named as it is called where it is left off."""

    NAME = N_("name")
    REFERENCE = N_("kit")
    TRAY = N_("tray")
    LACKING = N_("what is short")
    LEFT_OFF = N_("what is left off")
    HAZARDS = N_("warnings")
    LEFT_HAND = N_("left-hand threads")
    NOT_FINE = N_("doubts")
    PLACE = N_("place")
    SIZE = N_("size")
    SWAP = N_("what it is not")
    ITEM = N_("part")
    LUBRICANT = N_("lubricant")
    RULE = N_("rule")
    CAR = N_("car")
    COUNT = N_("count")
    OTHER_SWAPS = N_("other rings")
    DIFFERENCES = N_("differences")
    SHARE = N_("bags of the joint")
    LOTS = N_("lots")
    CONTENTS = N_("contents")
    TIGHTEN = N_("tightening")
    USES = N_("consumables")
    COLOUR = N_("colour")
    JOINT = N_("joint")
    MODEL = N_("model")
    KIT_PLACE = N_("place of the kit")
    EXPIRY = N_("expiry")
    BAGS = N_("bags")
    JOBS = N_("jobs")
    LOOSE = N_("loose parts")
    CAUTIONS = N_("cautions")


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a label. `keeps` is the part of the room that rows before it leave to it.

    Rather than that a `wanted` one is left off, those before it are said as short as can be. Of a
    `summed` one all of it stands or what sums it up, which must; a `filler` stands only where
    nothing is left off.
    """

    part: Part
    look: Look
    must: bool = False
    wanted: bool = False
    summed: bool = False
    filler: bool = False
    keeps: float = 0.0


END_ROWS = (
    Row(Part.NAME, Look.HEAD, must=True),
    Row(Part.LACKING, Look.FRAMED, must=True),
    Row(Part.PLACE, Look.LARGE, must=True),
    Row(Part.SIZE, Look.LARGE, must=True),
    Row(Part.SWAP, Look.FRAMED, must=True),
    Row(Part.ITEM, Look.BOLD, must=True),
    Row(Part.LUBRICANT, Look.PLAIN, must=True),
    Row(Part.RULE, Look.BOLD, must=True),
    Row(Part.COUNT, Look.FOOT, wanted=True),
    Row(Part.OTHER_SWAPS, Look.BOLD),
    Row(Part.DIFFERENCES, Look.PLAIN),
    Row(Part.LOTS, Look.PLAIN),
    Row(Part.CAR, Look.PLAIN),
    Row(Part.JOINT, Look.PLAIN),
    Row(Part.COLOUR, Look.PLAIN),
    Row(Part.MODEL, Look.PLAIN, filler=True),
)
BAG_ROWS = (
    Row(Part.NAME, Look.HEAD, must=True),
    Row(Part.TRAY, Look.BOLD, must=True),
    Row(Part.PLACE, Look.LARGE, must=True),
    Row(Part.LACKING, Look.FRAMED, must=True),
    Row(Part.LEFT_OFF, Look.FRAMED, must=True),
    Row(Part.HAZARDS, Look.FRAMED, must=True),
    Row(Part.LEFT_HAND, Look.FRAMED, must=True),
    Row(Part.CAR, Look.BOLD, must=True),
    Row(Part.SHARE, Look.BOLD),
    Row(Part.COUNT, Look.FOOT, wanted=True),
    Row(Part.USES, Look.BOLD),
    Row(Part.CONTENTS, Look.PLAIN, summed=True),
    Row(Part.TIGHTEN, Look.PLAIN, summed=True, keeps=0.4),
    Row(Part.LOTS, Look.PLAIN),
    Row(Part.MODEL, Look.PLAIN, filler=True),
)
KIT_ROWS = (
    Row(Part.NAME, Look.HEAD, must=True),
    Row(Part.REFERENCE, Look.BOLD, must=True),
    Row(Part.CAR, Look.BOLD, must=True),
    Row(Part.HAZARDS, Look.FRAMED, must=True),
    Row(Part.NOT_FINE, Look.FRAMED, must=True),
    Row(Part.KIT_PLACE, Look.BOLD, must=True),
    Row(Part.LACKING, Look.FRAMED, wanted=True),
    Row(Part.EXPIRY, Look.BOLD),
    Row(Part.LEFT_OFF, Look.FRAMED, wanted=True),
    Row(Part.COUNT, Look.FOOT, wanted=True),
    Row(Part.BAGS, Look.PLAIN),
    Row(Part.MODEL, Look.PLAIN),
    Row(Part.JOBS, Look.PLAIN),
    Row(Part.LOOSE, Look.PLAIN),
    Row(Part.CAUTIONS, Look.PLAIN),
)
