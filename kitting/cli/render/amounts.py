"""Amounts on the screen: rounded to what is read at a glance, in the figures of the language."""

from __future__ import annotations

from kitting.facts.units import show_quantity
from kitting.wording.language import in_figures


def rounded(thousandths: int, unit: str) -> str:
    """An amount to three significant figures: "18.9 ml"; pieces are never rounded."""
    return in_figures(show_quantity(thousandths, unit))
