"""Vehicle identification numbers (ISO 3779; check digit of 49 CFR 565.15(c))."""

from __future__ import annotations

import re

from kitting.errors import FigureError

_VALUES = dict(zip("0123456789", range(10), strict=True)) | {
    letter: value
    for value, letters in enumerate(
        ("AJ", "BKS", "CLT", "DMU", "ENV", "FW", "GPX", "HY", "RZ"), start=1
    )
    for letter in letters
}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
# First characters of North America (ISO 3780, from memory): there the check digit is law.
_CHECKED_REGIONS = "12345"


def check_character(vin: str) -> str:
    """The character that belongs in position 9: weighted sum modulo 11, ten written X.

    Whatever stands in position 9 has no part in the sum (49 CFR 565.15(c)).
    Raises FigureError if the number is not well formed.
    """
    _check_form(vin)
    total = sum(_VALUES[char] * weight for char, weight in zip(vin, _WEIGHTS, strict=True))
    return "X" if total % 11 == 10 else str(total % 11)


def check_vin(vin: str) -> None:
    """Raise FigureError unless the number is well formed.

    The check digit is asked for only where the rule applies (North America); elsewhere position 9
    is the maker's to use.
    """
    _check_form(vin)
    if vin[0] in _CHECKED_REGIONS and vin[8] != check_character(vin):
        raise FigureError(
            f"VIN {vin!r} has {vin[8]!r} in position 9, but {check_character(vin)!r} follows from"
            " the rest: a character was misread, compare it with the plate"
        )


def _check_form(vin: str) -> None:
    if len(vin) != 17:
        raise FigureError(
            f"VIN {vin[:30]!r} has {len(vin)} characters; it must have 17, read it again"
        )
    if not re.fullmatch(r"[A-HJ-NPR-Z0-9]{17}", vin):
        wrong = next(char for char in vin if not re.fullmatch(r"[A-HJ-NPR-Z0-9]", char))
        raise FigureError(
            f"VIN {vin!r} holds {wrong!r}; only capitals without I, O and Q, and digits, may stand"
        )
