"""Amounts that carry their unit in their type: whole thousandths inside, plain numbers outside.

Annotate a field with `Thousandths` and JSON divides it; a plain `int` is a count and stays whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated


@dataclass(frozen=True, slots=True)
class Scale:
    """How many of the stored whole numbers make one of the unit that is shown."""

    per_unit: int


# Amounts of the stock unit, and hours: whole thousandths of the unit that the row names.
Thousandths = Annotated[int, Scale(1000)]
