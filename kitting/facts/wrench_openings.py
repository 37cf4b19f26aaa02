"""Wrench openings: which tool of the other measuring system goes on a head well enough to undo it.

Openings for general use after ISO 691, from memory, not checked against a copy.
"""

from __future__ import annotations

from decimal import Decimal

from kitting.facts.heads import mixed_number

# Largest opening in mm of a wrench of a nominal size in mm.
LARGEST_OPENING: dict[Decimal, Decimal] = {
    Decimal(size): Decimal(opening)
    for size, opening in {
        "5.5": "5.6", "6": "6.15", "7": "7.15", "8": "8.15", "9": "9.15", "10": "10.19",
        "11": "11.19", "12": "12.24", "13": "13.24", "14": "14.27", "15": "15.27", "16": "16.27",
        "17": "17.3", "18": "18.3", "19": "19.36", "21": "21.36", "22": "22.36", "24": "24.36",
        "27": "27.48", "30": "30.48", "32": "32.48",
    }.items()
}  # fmt: skip


def across_flats(size: str) -> Decimal | None:
    """Millimetres across flats of a size such as "19 mm" or "3/4 in"; None for other sizes."""
    figure, _, unit = size.rpartition(" ")
    if unit == "mm":
        return Decimal(figure)
    if unit == "in":
        inches = mixed_number(figure)
        return Decimal(inches.numerator) * Decimal("25.4") / Decimal(inches.denominator)
    return None


def near_enough_to_undo(head: str, tool: str) -> bool:
    """Whether a tool of another size goes on a head without play beyond that of its own size.

    The tool may not be smaller than the head, and not larger than the largest opening that a tool
    of the head's own size may have; for an inch head the play allowed for the next millimetre size
    is taken, and for a wider one that of the widest known. Good for undoing only, never for a final
    torque.
    """
    wanted, given = across_flats(head), across_flats(tool)
    if wanted is None or given is None or wanted == given:
        return False
    nominal = min(LARGEST_OPENING, key=lambda size: abs(size - wanted))
    play = LARGEST_OPENING[nominal] - nominal
    return wanted <= given <= wanted + play
