"""What a seal looks like, by the code of its kind, so that a sheet can say what to match.

A kind that a garage adds has no shape here: its part is matched as it is.
"""

from __future__ import annotations

from kitting.facts.words import Word


class SealShape(Word):
    """How a seal that has no round section looks."""

    MOULDED = "moulded"
    SHAFT = "shaft"
    WASHER = "washer"
    GASKET = "gasket"
    OTHER = "other"


SEAL_SHAPES: dict[str, SealShape] = {
    "moulded-ring": SealShape.MOULDED,
    "moulded-gasket": SealShape.MOULDED,
    "coolant-connector-ring": SealShape.MOULDED,
    "plug-tube-seal": SealShape.MOULDED,
    "shaft-seal": SealShape.SHAFT,
    "valve-stem-seal": SealShape.SHAFT,
    "copper-washer": SealShape.WASHER,
    "crush-washer": SealShape.WASHER,
    "bonded-washer": SealShape.WASHER,
    "injector-washer": SealShape.WASHER,
    "intake-gasket": SealShape.GASKET,
    "paper-gasket": SealShape.GASKET,
    "multilayer-gasket": SealShape.GASKET,
    "exhaust-gasket": SealShape.GASKET,
    "hot-metal-gasket": SealShape.GASKET,
}


def shape_of(kind: str) -> SealShape:
    """The shape of a kind; OTHER for one that is not known here."""
    return SEAL_SHAPES.get(kind, SealShape.OTHER)
