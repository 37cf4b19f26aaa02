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
# Beginnings of North America (ISO 3780, from memory): there the check digit is law. The second
# block of the United States begins with 7, from 7F on; what comes before it is of New Zealand.
_CHECKED_REGIONS = re.compile(r"[1-5]|7[F-HJ-NPR-Z0-9]")
# What can be a check digit; makers also fill position 9 with another letter where it is not law.
_CHECK_CHARACTERS = "0123456789X"
# The letter that fills it in numbers of the European pattern (common practice, no source).
_FILLER = "Z"


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

    A wrong check digit is refused only where the rule applies (North America), and only where a
    check digit stands: another letter says that the car was built for somewhere else.
    """
    _check_form(vin)
    if _law(vin) and vin[8] in _CHECK_CHARACTERS and vin[8] != check_character(vin):
        raise FigureError(
            "VIN {vin!r} has {found!r} in position 9, but {right!r} follows from the"
            " rest: a character was misread, compare it with the plate",
            vin=vin,
            found=vin[8],
            right=check_character(vin),
        )


def read_vin(text: str) -> str:
    """A number as it is kept, without blanks and in capitals. Raises FigureError as check_vin.

    >>> read_vin("wvw zzz 1jz3w386752")
    'WVWZZZ1JZ3W386752'
    """
    vin = "".join(text.split()).upper()
    check_vin(vin)
    return vin


def check_digit_missing(vin: str) -> str | None:
    """The check character of a number that passes although another stands in position 9.

    None where it stands there, or where nobody would expect one: a filler, or a letter outside
    North America. Raises FigureError for a number that check_vin refuses.

    >>> check_digit_missing("WVWZZZ1JZ3W386752") is None
    True
    """
    check_vin(vin)
    stands, follows = vin[8], check_character(vin)
    if stands in (follows, _FILLER) or (stands not in _CHECK_CHARACTERS and not _law(vin)):
        return None
    return follows


def _law(vin: str) -> bool:
    return _CHECKED_REGIONS.match(vin) is not None


def _check_form(vin: str) -> None:
    if len(vin) != 17:
        raise FigureError(
            "VIN {vin!r} has {length} characters; it must have 17, read it again",
            vin=vin[:30],
            length=len(vin),
        )
    if not re.fullmatch(r"[A-HJ-NPR-Z0-9]{17}", vin):
        wrong = next(char for char in vin if not re.fullmatch(r"[A-HJ-NPR-Z0-9]", char))
        raise FigureError(
            "VIN {vin!r} holds {wrong!r}; only capitals without I, O and Q, and digits, may stand",
            vin=vin,
            wrong=wrong,
        )
