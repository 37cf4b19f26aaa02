"""Threads: sizes, stress areas, property classes (ISO 261, ISO 898-1, ISO 3506-1, ASME B1.1)."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal

from kitting.errors import FigureError
from kitting.facts.inch_threads import parse_inch_thread
from kitting.facts.units import plain

# Coarse pitches of ISO 261 / ISO 262, mm by nominal diameter (M7 in ISO 261 only). They are the
# largest pitch of their diameter there.
COARSE_PITCH: dict[Decimal, Decimal] = {
    Decimal(d): Decimal(p)
    for d, p in {
        "1.6": "0.35", "2": "0.4", "2.5": "0.45", "3": "0.5", "3.5": "0.6", "4": "0.7",
        "5": "0.8", "6": "1", "7": "1", "8": "1.25", "10": "1.5", "12": "1.75", "14": "2",
        "16": "2", "18": "2.5", "20": "2.5", "22": "2.5", "24": "3", "27": "3", "30": "3.5",
        "33": "3.5", "36": "4", "39": "4", "42": "4.5", "45": "4.5", "48": "5", "52": "5",
        "56": "5.5", "60": "5.5", "64": "6",
    }.items()
}  # fmt: skip
# Coarser ones on old cars: JIS B 0205 before it took over the ISO series; from memory.
_OLD_PITCHES = {
    (Decimal(3), Decimal("0.6")),
    (Decimal(4), Decimal("0.75")),
    (Decimal(5), Decimal("0.9")),
}
_FINEST_PITCH = Decimal("0.2")  # ISO 261


@dataclass(frozen=True, slots=True)
class Strength:
    """Minimum strengths in MPa: proof, yield (or 0.2 % proof), tensile."""

    proof: int
    yielding: int
    tensile: int


# ISO 898-1:2013. Class 8.8 changes above 16 mm: see `strength`; class 9.8 is made up to 16 mm only.
PROPERTY_CLASSES: dict[str, Strength] = {
    "4.6": Strength(225, 240, 400),
    "4.8": Strength(310, 340, 420),
    "5.6": Strength(280, 300, 500),
    "5.8": Strength(380, 420, 520),
    "6.8": Strength(440, 480, 600),
    "8.8": Strength(580, 640, 800),
    "9.8": Strength(650, 720, 900),
    "10.9": Strength(830, 940, 1040),
    "12.9": Strength(970, 1100, 1220),
}
_LARGE_8_8 = Strength(600, 660, 830)
# Stainless steel, ISO 3506-1, from memory: the grade, then a tenth of its tensile strength. It
# states no proof strength, so that the 0.2 % proof stress stands for it.
STAINLESS: dict[str, Strength] = {
    f"{grade}-{tenth}": found
    for grade in ("A1", "A2", "A3", "A4", "A5")
    for tenth, found in {
        "50": Strength(210, 210, 500),
        "70": Strength(450, 450, 700),
        "80": Strength(600, 600, 800),
    }.items()
}
# Grades of bolts with unified threads, SAE J429: from memory, not certain. The first is weaker in
# large sizes: see `strength`.
GRADES: dict[str, Strength] = {
    "SAE 2": Strength(379, 393, 510),
    "SAE 5": Strength(586, 634, 827),
    "SAE 8": Strength(827, 896, 1034),
}
_SMALL_SAE_2, _LARGE_SAE_2 = Decimal("19.05"), Strength(228, 248, 414)  # 3/4 in
# Nuts, ISO 898-2, from memory.
NUT_CLASSES = ("04", "05", "4", "5", "6", "8", "9", "10", "12")
_THREAD = re.compile(
    r"M\s*([0-9]{1,2}(?:\.[0-9]{1,2})?)\s*(?:[x×X*]\s*([0-9](?:\.[0-9]{1,3})?))?", re.IGNORECASE
)
_HAND = re.compile(r"(.*?)\s*[-–]?\s*(LH|left|left-hand|left hand)", re.IGNORECASE)
_EXAMPLE = "write for example 'M8 x 1.25' or '1/4-20 UNC'"
_LEFT = "a left-hand thread is written with LH behind it (ISO 965-1), as in 'M10 x 1.25 LH'"
# What is written otherwise, and what to do; the first that is found is told.
_OTHERWISE: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern, re.IGNORECASE), told)
    for pattern, told in (
        (
            r"\bBSP",
            "may be either of two pipe threads: write 'G 1/4' for a parallel one (ISO 228-1),"
            " 'R 1/4' for a tapered one (ISO 7-1)",
        ),
        (
            r"\bG\s*\d\S*\s*[AB]\b|\bUN\S*\s*[-–]?\s*[123][AB]",
            "names a tolerance class, which is not held here: leave that out, and keep the rest",
        ),
        (
            r"UN[CFJRS]|\bUNEF|BS[WFC]|\bNPT|\bTr\s*\d|^\s*\d+\s*/\s*\d+|^\s*#|^\s*\d+-\d+",
            "is no thread that is known here (metric ISO, unified such as '1/4-20 UNC', Whitworth"
            " such as '1/4 BSF', pipe threads such as 'G 1/4' or '1/8 NPT'): leave 'thread' out"
            " and write it into the name of the item, with LEFT-HAND where it is",
        ),
        (r"\bL\s*$", f"ends with L, which stands for a long engagement; {_LEFT}"),
        (r"^\s*(LH|left)|\b(LH|left)", f"is not read; {_LEFT}"),
        (
            r"\d[\s–-]+\d[a-h]",
            "names a tolerance class (ISO 965-1), which is not held here: leave that out, and keep"
            " size and pitch",
        ),
        (r"^\s*M\s*\d{3}", "is larger than the threads that are checked here (below M100)"),
    )
)


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread: nominal diameter and pitch in mm, its hand, what it is called if in inches.

    What a thread that is not `reckoned` bears is not known here.
    """

    diameter: Decimal
    pitch: Decimal
    left_hand: bool = False
    inch: str | None = None
    reckoned: bool = True

    @property
    def name(self) -> str:
        """ "M6" for the coarse pitch, "M12×1.25" for others, " LH" where left-hand."""
        if self.inch is not None:
            return f"{self.inch}{' LH' if self.left_hand else ''}"
        coarse = COARSE_PITCH.get(self.diameter) == self.pitch
        pitch = "" if coarse else f"×{plain(self.pitch)}"
        return f"M{plain(self.diameter)}{pitch}{' LH' if self.left_hand else ''}"


def parse_thread(text: str) -> Thread:
    """Read "M6", "M6 × 1.0", "M12x1.25 LH", "M12x1.25-LH" (ISO 965-1), "1/4-20 UNC", "G 1/4" …

    Raises FigureError for text that is no thread, for a size without standard pitch given without
    one, and for a pitch that no thread of that size has.
    """
    shown = text[:40]
    given = text.strip() if len(text) <= 40 else ""
    handed = _HAND.fullmatch(given)
    size, left = (handed[1], True) if handed else (given, False)
    inch = parse_inch_thread(size)
    if inch is not None:
        return Thread(inch.diameter, inch.pitch, left, inch=inch.name, reckoned=inch.unified)
    match = _THREAD.fullmatch(size)
    if match is None:
        for pattern, told in _OTHERWISE:
            if pattern.search(shown):
                raise FigureError("{shown!r} {told}", shown=shown, told=told)
        raise FigureError(f"{shown!r} is no thread; {_EXAMPLE}")
    diameter = Decimal(match[1])
    coarse = COARSE_PITCH.get(diameter)
    if match[2] is None and coarse is None:
        raise FigureError(
            "{text!r} has no coarse pitch; write it, for example 'M9 x 1.25'", text=text
        )
    pitch = Decimal(match[2]) if match[2] is not None else coarse
    if pitch is None or not _fits(diameter, pitch):
        raise FigureError(
            f"{text!r} has a pitch that no metric thread of this diameter has (ISO 261);"
            f" {'the coarse one is ' + plain(coarse) if coarse else 'measure it'}"
        )
    return Thread(diameter.normalize() + 0, pitch.normalize() + 0, left)


def _fits(diameter: Decimal, pitch: Decimal) -> bool:
    coarsest = COARSE_PITCH.get(diameter, diameter / 4)
    return _FINEST_PITCH <= pitch <= coarsest or (diameter, pitch) in _OLD_PITCHES


def stress_area(thread: Thread) -> float:
    """Nominal stress area in mm²: π/4·((d2 + d3)/2)² (ISO 898-1:2013, clause 9.1.6.1).

    Of a unified thread π/4·(d - 0.9743·P)² (ASME B1.1, from memory).

    >>> round(stress_area(parse_thread("M8")), 1)
    36.6
    """
    diameter, pitch = float(thread.diameter), float(thread.pitch)
    if thread.inch is not None:
        return math.pi / 4 * (diameter - 0.9743 * pitch) ** 2
    pitch_diameter = diameter - 0.649519 * pitch
    root_diameter = diameter - 1.226869 * pitch
    return math.pi / 4 * ((pitch_diameter + root_diameter) / 2) ** 2


def strength(thread: Thread, property_class: str) -> Strength:
    """Minimum strengths of a bolt; raises FigureError for an unknown class."""
    if property_class == "SAE 2" and thread.diameter > _SMALL_SAE_2:
        return _LARGE_SAE_2
    other = STAINLESS | GRADES
    if property_class in other:
        return other[property_class]
    if property_class not in PROPERTY_CLASSES:
        known = ", ".join(PROPERTY_CLASSES)
        raise FigureError(
            "{property_class!r} is no property class of ISO 898-1; known: {known}",
            property_class=property_class,
            known=known,
        )
    if property_class == "8.8" and thread.diameter > 16:
        return _LARGE_8_8
    return PROPERTY_CLASSES[property_class]


def require_class(text: str) -> str:
    """A property class of a fastener; raises FigureError for another, and says what it may be."""
    every = (*PROPERTY_CLASSES, *STAINLESS, *GRADES)
    if text in every:
        return text
    if text in NUT_CLASSES:
        raise FigureError(
            "{text!r} is a class of nuts (ISO 898-2), and what a figure may load is the bolt:"
            " write the class of the bolt or stud that it goes on (on its head or end), or leave"
            " property_class out",
            text=text,
        )
    known = ", ".join(every)
    raise FigureError("{text!r} is no property class; known are {known}", text=text, known=known)


def proof_load(thread: Thread, property_class: str) -> float:
    """The load in newtons that a bolt takes without lasting set (ISO 898-1)."""
    return strength(thread, property_class).proof * stress_area(thread)


def breaking_load(thread: Thread, property_class: str) -> float:
    """The minimum ultimate tensile load in newtons (ISO 898-1)."""
    return strength(thread, property_class).tensile * stress_area(thread)
