"""Weights of cars: a figure, and whether the car was weighed as it stands or left its maker so."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from kitting.errors import FigureError
from kitting.facts.units import plain, split_figure, whole_thousandths
from kitting.facts.words import Word

_IN_KG = {"kg": 1, "t": 1000}
_MOST = 100_000  # kilograms; nothing heavier is a car
_EXAMPLE = "'1420 kg'"


class WeightIs(Word):
    """Of what a weight is: without what is in the car, or with it."""

    KERB = "kerb"
    AS_IT_STANDS = "as it stands"


_WEIGHT = re.compile(rf"\s*(.+?)\s*\b({'|'.join(WeightIs)})\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class CarWeight:
    """What a car weighs, in thousandths of a kilogram, and of what that is."""

    thousandths: int
    of: WeightIs

    def __str__(self) -> str:
        return f"{kilograms(self.thousandths)} {self.of}"


def parse_kilograms(text: str) -> int:
    """Read "1420 kg" or "2.5 t" as thousandths of a kilogram; raises FigureError.

    >>> parse_kilograms("2.5 t")
    2500000
    """
    figure, unit = split_figure(text.strip(), "weight", _EXAMPLE)
    if unit not in _IN_KG:
        raise FigureError(f"{text[:40]!r} is in no unit known here; write kg or t: {_EXAMPLE}")
    kilos = figure * _IN_KG[unit]
    if not 0 < kilos <= _MOST:
        raise FigureError(
            "{text!r} is no weight of a car; check the figure and its unit", text=text[:40]
        )
    return whole_thousandths(kilos * 1000, text, "a kilogram")


def parse_weight(text: str) -> CarWeight:
    """Read "1420 kg kerb" or "1610 kg as it stands"; raises FigureError without either word.

    >>> str(parse_weight("1.61 t as it stands"))
    '1610 kg as it stands'
    """
    match = _WEIGHT.fullmatch(text) if len(text) <= 60 else None
    if match is None:
        raise FigureError(
            "{text!r}: say the weight and of what it is, for example '1420 kg kerb' or '1610 kg"
            " as it stands' (weighed with all that is in it)",
            text=text[:40],
        )
    return CarWeight(parse_kilograms(match[1]), WeightIs(match[2].lower()))


def kilograms(thousandths: int) -> str:
    """ "2500 kg"."""
    return f"{plain(Decimal(thousandths) / 1000)} kg"
