"""Figures to read: amounts, money, chances, dates, lists. The one place that formats each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal

from kitting.facts.money import Money, format_money
from kitting.facts.units import Quantity, format_quantity, plain

NO_FIGURE = "NO FIGURE: LOOK IT UP"
NO_SOURCE = "no source stated"
NOT_STATED = "NOT STATED: LOOK IT UP"
_HOUR, _DAY = 60, 1440  # in minutes


def percent(chance: float, digits: int = 1) -> str:
    """A chance to read; what is not certain never reads 100 %, what is possible never 0 %.

    >>> percent(0.5), percent(0.99999), percent(1.0)
    ('50.0%', '>99.9%', '100%')
    """
    if chance >= 1:
        return "100%"
    least = Decimal(1).scaleb(-digits)
    shown = round(Decimal(repr(chance)) * 100, digits)
    if shown >= 100:
        return f">{100 - least}%"
    if shown <= 0 < chance:
        return f"<{least}%"
    return f"{shown}%"


def amount(thousandths: int, unit: str) -> str:
    """An amount of a stock unit: "4", "30 ml", "1.6 L"."""
    return format_quantity(thousandths, unit)


def money(value: Money) -> str:
    """A sum of money: "£7.50"."""
    return format_money(value.minor, value.currency)


def millimetres(length: float) -> str:
    """A length to 0.01 mm without needless noughts: "2.5 mm", "17 mm".

    >>> millimetres(17.12), millimetres(20.0)
    ('17.12 mm', '20 mm')
    """
    text = f"{length:.2f}".rstrip("0").rstrip(".")
    return f"{text} mm"


def day(value: date) -> str:
    """A day by ISO 8601."""
    return value.isoformat()[:10]


def minutes(count: int) -> str:
    """A waiting time to read: "10 min", "1 h 30 min", "24 h", "7 days".

    >>> minutes(1440)
    '24 h'
    """
    if count > _DAY and count % _DAY == 0:
        return f"{count // _DAY} days"
    hours, left = divmod(count, _HOUR)
    parts = (f"{hours} h" if hours else "", f"{left} min" if left else "")
    return " ".join(part for part in parts if part)


def many(count: int, one: str, several: str | None = None) -> str:
    """A count with its noun: "1 job", "2 jobs"."""
    return f"{count} {one if count == 1 else several or one + 's'}"


def times(count: int) -> str:
    """How often: "never", "once", "twice", "3 times"."""
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words in a row: "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def figure(value: object) -> str:
    """Any value that fills in a sentence, as it is read."""
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, date):
        return day(value)
    if isinstance(value, Quantity):
        return amount(value.thousandths, value.unit)
    if isinstance(value, Money):
        return money(value)
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, tuple | list):
        return ", ".join(figure(part) for part in value)
    return str(value)
