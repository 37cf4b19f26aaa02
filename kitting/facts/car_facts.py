"""What is told of a car at the garage."""

from __future__ import annotations

from kitting.facts.words import Word


class CarFact(Word):
    """What is known of a car beside what was seen and done at it."""

    MODEL = "model"
    VIN = "VIN"
    BUILD_DATE = "build date"
    UNITS = "units"
    EQUIPMENT = "equipment"
    WEIGHT = "weight"


YES, NO = "yes", "no"  # what is told of a piece of equipment
