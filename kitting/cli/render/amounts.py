"""Amounts on the screen: rounded to what is read at a glance, or exact, by the language."""

from __future__ import annotations

from kitting.wording.figures import amount, show_quantity
from kitting.wording.language import current, in_figures


def exact(thousandths: int, unit: str) -> str:
    """An amount as it is kept: "18.911 ml"."""
    return amount(thousandths, unit)


def rounded(thousandths: int, unit: str) -> str:
    """An amount to three significant figures: "18.9 ml"; pieces are never rounded."""
    return in_figures(show_quantity(thousandths, unit))


def counted(count: int) -> str:
    """A count with signs between its thousands: "12,500"."""
    language = current()
    if language.is_source:
        return f"{count:,}"
    from babel.numbers import format_decimal

    return format_decimal(count, locale=language.tag.replace("-", "_"))
