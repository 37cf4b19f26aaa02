"""Units: torques, amounts, lengths and angles as people write them, kept exactly.

Torque factors follow from exact definitions (NIST SP 811, appendix B): 1 lbf =
4.4482216152605 N, 1 ft = 0.3048 m, 1 kgf = 9.80665 N.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from kitting.errors import FigureError
from kitting.facts.figure_signs import InDoubtError, with_point

_LBF = Decimal("4.4482216152605")
_FOOT = Decimal("0.3048")
_KGF = Decimal("9.80665")

TORQUE_UNITS: dict[str, Decimal] = {
    "N·m": Decimal(1),
    "lbf·ft": _LBF * _FOOT,
    "lbf·in": _LBF * _FOOT / 12,
    "kgf·m": _KGF,
    "kgf·cm": _KGF / 100,
}
_TORQUE_SPELLINGS = {
    "N·m": ("nm", "newtonmetre", "newtonmetres"),
    "lbf·ft": ("lbfft", "lbft", "ftlb", "ftlbf", "ftlbs", "lbsft"),
    "lbf·in": ("lbfin", "lbin", "inlb", "inlbf", "inlbs", "lbsin"),
    "kgf·m": ("kgfm", "kgm", "kpm", "mkg", "mkgf"),
    "kgf·cm": ("kgfcm", "kgcm", "kpcm", "cmkg"),
}
_TORQUE_UNIT = {spelling: unit for unit, all_ in _TORQUE_SPELLINGS.items() for spelling in all_}
_FIGURE = re.compile(
    r"\s*([+-]?[0-9]{1,15}(?:\.[0-9]{1,15})?|[+-]?\.[0-9]{1,15})\s*(.*?)\s*", re.DOTALL
)
_TOO_MANY_DIGITS = re.compile(r"[0-9]{16}")
LARGEST = 10**12
LONGEST_TEXT = 60
_RANGE = re.compile(
    r"\s*[0-9]+(?:\.[0-9]+)?\s*(?:[^\W\d]\S*)?\s*(?:-|–|…|\.\.\.?|\bto\b)"
    r"\s*[0-9]+(?:\.[0-9]+)?\s*(?:[^\W\d]|°).*"
)
_COMMA = re.compile(r"\d,\d")
_WITH_SIGNS = re.compile(r"[0-9]+(?:[.,][0-9]+)*")
_EXAMPLE_FIGURE = re.compile(r"[0-9]+(?:\.[0-9]+)?")

# unit as written → (base unit, thousandths of it)
_AMOUNTS = {
    "each": ("each", 1000),
    "ml": ("ml", 1000),
    "cl": ("ml", 10_000),
    "l": ("ml", 1_000_000),
    "g": ("g", 1000),
    "kg": ("g", 1_000_000),
    "mm": ("mm", 1000),
    "cm": ("mm", 10_000),
    "m": ("mm", 1_000_000),
}
AMOUNT_UNITS = tuple(_AMOUNTS)
_LARGER = {"ml": (1_000_000, "L"), "g": (1_000_000, "kg"), "mm": (1_000_000, "m")}


def plain(figure: Decimal) -> str:
    """A figure without needless zeros and never without its leading one: 3.5, 8, 0.65."""
    text = f"{figure:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@dataclass(frozen=True, slots=True)
class Torque:
    """A torque as published: the figure and one of TORQUE_UNITS."""

    figure: Decimal
    unit: str

    @property
    def newton_metres(self) -> Decimal:
        """The torque in N·m."""
        return self.figure * TORQUE_UNITS[self.unit]

    def to(self, unit: str) -> Decimal:
        """The figure in another unit, unrounded."""
        return self.newton_metres / TORQUE_UNITS[unit]

    def __str__(self) -> str:
        return f"{plain(self.figure)} {self.unit}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact amount: whole thousandths of each, ml, g or mm."""

    thousandths: int
    unit: str


def split_figure(text: str, what: str, example: str) -> tuple[Decimal, str]:
    """Figure and unit of a text; raises FigureError naming what was expected.

    A comma in the figure is named as the fault, and the figure told where it can be one only.
    """
    shown = text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]}…"
    match = _FIGURE.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if _COMMA.search(shown):
        raise FigureError(f"{shown!r} has a comma in its figure; {_pointed(shown, example)}")
    if _TOO_MANY_DIGITS.search(shown):
        raise FigureError(f"{shown!r} has more digits than any figure needs; check the figure")
    if _RANGE.fullmatch(shown):
        raise FigureError(
            f"{shown!r} is a range, and one figure is needed; write the figure that holds, as in"
            f" {example}"
        )
    if match is None:
        raise FigureError(f"{shown!r} is no {what}; write for example {example}")
    try:
        figure = Decimal(match[1])
    except InvalidOperation as error:  # pragma: no cover - the pattern admits figures only
        raise FigureError(f"{shown!r} is no {what}; write for example {example}") from error
    if not match[2]:
        written = _EXAMPLE_FIGURE.sub(match[1], example)
        raise FigureError(f"{shown!r} is a figure without unit; write for example {written}")
    return figure, match[2]


def _pointed(text: str, example: str) -> str:
    """What to write for a text with a comma: itself with a point, where no thousands are meant."""
    try:
        written = _WITH_SIGNS.sub(lambda figure: with_point(figure[0]), text)
    except InDoubtError:
        return _either(text, example)
    if "," in written:
        return f"write a point, as in {example}"
    return f"write a point: '{written}'"


def _either(text: str, example: str) -> str:
    try:
        with_point(text)
    except InDoubtError as doubt:
        thousands, decimals = doubt.meant
        return f"write '{thousands}' or '{decimals}', whichever it is"
    return f"write a point, as in {example}"


def whole_thousandths(value: Decimal, text: str, finest: str) -> int:
    """A value as a whole number of thousandths; raises FigureError for a finer or a huge one."""
    if value != value.to_integral_value():
        raise FigureError(f"{text!r} is finer than a thousandth of {finest}; round it")
    if abs(value) > LARGEST:
        raise FigureError(f"{text!r} is larger than anything in a workshop; check the figure")
    return int(value)


def parse_torque(text: str) -> Torque:
    """Read "10 N·m", "75 lbf·in", "18 lb ft", "2.5 kgf·m" …; the figure is kept as written.

    Raises FigureError for a figure without unit, an unknown unit, or a negative figure.
    """
    figure, unit_text = split_figure(text, "torque", "'96 N·m' or '96 lbf·in'")
    unit = _TORQUE_UNIT.get(re.sub(r"[\s.·⋅∙*-]", "", unit_text).casefold())
    if unit is None:
        raise FigureError(
            "{text!r} has no unit of torque known here; use one of {known}, for example '10 N·m'",
            text=text,
            known=", ".join(TORQUE_UNITS),
        )
    if figure < 0:
        raise FigureError("{text!r} is negative; a torque is a positive figure", text=text)
    return Torque(figure, unit)


def second_unit(torque: Torque) -> str:
    """The same torque in the unit of the other scale, to three significant figures.

    N·m for any other unit; lbf·in below 10 N·m, else lbf·ft.
    """
    if torque.unit != "N·m":
        return show_torque(torque, "N·m")
    return show_torque(torque, "lbf·in" if torque.figure < 10 else "lbf·ft")


def show_torque(torque: Torque, unit: str) -> str:
    """A torque converted to another unit, to three significant figures.

    >>> show_torque(Torque(Decimal(25), "N·m"), "lbf·ft")
    '18.4 lbf·ft'
    """
    return f"{plain(significant(torque.to(unit), 3))} {unit}"


def significant(figure: Decimal, digits: int) -> Decimal:
    """A figure rounded to so many significant digits, halves upwards.

    >>> significant(Decimal("19.5555"), 3)
    Decimal('19.6')
    """
    if not figure:
        return figure
    step = Decimal(1).scaleb(figure.adjusted() - digits + 1)
    return (figure / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step


def parse_quantity(text: str) -> Quantity:
    """Read "3.2 L", "70 ml", "12 each", "1.64 m", "0.5 kg".

    Raises FigureError for a figure without unit, an unknown unit, a negative figure, or one finer
    than a thousandth of the base unit or than a piece.
    """
    figure, unit_text = split_figure(text, "amount", "'3 each' or '3.2 L'")
    unit = _AMOUNTS.get(unit_text.casefold())
    if unit is None:
        raise FigureError(
            "{text!r} has no unit known here; use one of {known}, for example '3.2 L'",
            text=text,
            known=", ".join(_AMOUNTS),
        )
    if figure < 0:
        raise FigureError("{text!r} is negative; an amount is a positive figure", text=text)
    base, factor = unit
    amount = Quantity(whole_thousandths(figure * factor, text, base), base)
    if base == "each" and amount.thousandths % 1000:
        raise FigureError(f"{text!r} is no whole number of pieces; write for example '1 each'")
    return amount


def format_quantity(thousandths: int, unit: str) -> str:
    """An amount to read: "3.2 L", "70 ml", "4" (each), "1.64 m".

    >>> format_quantity(1_640_000, "mm")
    '1.64 m'
    """
    if unit == "each":
        return plain(Decimal(thousandths) / 1000)
    if unit in _LARGER and abs(thousandths) >= _LARGER[unit][0]:
        factor, name = _LARGER[unit]
        return f"{plain(Decimal(thousandths) / factor)} {name}"
    return f"{plain(Decimal(thousandths) / 1000)} {unit}"


def typed_quantity(thousandths: int, unit: str) -> str:
    """An amount as it is typed: as format_quantity, with the unit of pieces.

    >>> typed_quantity(2000, "each")
    '2 each'
    """
    return format_quantity(thousandths, unit) + (" each" if unit == "each" else "")


def show_quantity(thousandths: int, unit: str) -> str:
    """An amount to read at a glance: as format_quantity, to three significant figures.

    Pieces are never rounded; the exact amount decides packs and stays in JSON.

    >>> show_quantity(18_911, "ml")
    '18.9 ml'
    """
    if unit != "each" and thousandths:
        rounded = significant(Decimal(thousandths), 3)
        return format_quantity(int(rounded) or thousandths, unit)
    return format_quantity(thousandths, unit)


_LENGTHS = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
    "in": Decimal("25.4"),
    '"': Decimal("25.4"),
    "″": Decimal("25.4"),
}
_FRACTION = re.compile(
    r"\s{,9}(?:([0-9]{1,3})[ -])?\s{,9}([0-9]{1,3})/([0-9]{1,3})\s{,9}(?:in|\"|″)\s{,9}"
)


def parse_length(text: str) -> int:
    """A length in thousandths of a millimetre: "17.0 mm", "0.139 in", "3/8 in".

    Inch sizes are converted exactly and rounded to the thousandth of a millimetre.
    Raises FigureError for anything else, and for lengths that are not positive.
    """
    fraction = _FRACTION.fullmatch(text)
    if fraction is not None and int(fraction[3]):
        inches = int(fraction[1] or 0) + Decimal(int(fraction[2])) / int(fraction[3])
        value, rounded = inches * 25400, True
    else:
        figure, unit_text = split_figure(text, "length", "'17.0 mm' or '0.5 in'")
        factor = _LENGTHS.get(unit_text)
        if factor is None:
            raise FigureError(
                "{text!r} has no unit of length known here; use mm, cm, m or in, for example"
                " '17.0 mm'",
                text=text,
            )
        value, rounded = figure * factor * 1000, factor == _LENGTHS["in"]
    if rounded:
        value = value.to_integral_value(rounding=ROUND_HALF_UP)
    if value <= 0:
        raise FigureError(
            "{text!r} is no length, it comes to nothing; write for example '17.0 mm'", text=text
        )
    return whole_thousandths(value, text, "a millimetre")


_AREAS = {"mm2": 1, "mm²": 1, "cm2": 100, "cm²": 100}


def parse_area(text: str) -> int:
    """An area in thousandths of a square millimetre: "6500 mm²", "65 cm2".

    Raises FigureError for another unit, and for nothing or less.
    """
    figure, unit_text = split_figure(text, "area", "'6500 mm²'")
    factor = _AREAS.get(unit_text)
    if factor is None or figure <= 0:
        raise FigureError("{text!r} is no area; write for example '6500 mm²'", text=text)
    return whole_thousandths(figure * factor * 1000, text, "a square millimetre")


_CELSIUS = re.compile(r"(-?[0-9]{1,4}) ?°C")


def parse_angle(text: str) -> int:
    """A turn in thousandths of a degree: "90°", "90 deg".

    Raises FigureError for more than three full turns: nobody tightens so by angle.
    """
    figure, unit_text = split_figure(text, "angle", "'90°'")
    if unit_text not in ("°", "deg", "degrees"):
        raise FigureError("{text!r} is no angle; write for example '90°'", text=text)
    if not 0 < figure <= 1080:
        raise FigureError(
            "{text!r} is no angle to tighten by; it must be between 0° and 1080°", text=text
        )
    return whole_thousandths(figure * 1000, text, "a degree")


def parse_celsius(text: str) -> int:
    """A temperature in whole degrees Celsius: "110 °C"; raises FigureError for others."""
    if _COMMA.search(text[:40]):
        raise FigureError(
            "{text!r} has a comma in its figure; write for example '110 °C'", text=text[:40]
        )
    figure = _CELSIUS.fullmatch(text.strip())
    if figure is None or not -100 <= int(figure[1]) <= 1500:
        raise FigureError("{text!r} is no temperature; write for example '110 °C'", text=text[:40])
    return int(figure[1])
