"""Figures to read: amounts, money, chances, dates, lists. The one place that formats each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from kitting.facts import units
from kitting.facts.money import Money, format_money
from kitting.facts.units import Quantity, Torque
from kitting.wording.language import N_, _, current, date_text, in_figures, n_, told

NO_FIGURE = N_("NO FIGURE: LOOK IT UP")
NO_SOURCE = N_("no source stated")
NOT_STATED = N_("NOT STATED: LOOK IT UP")
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
        return in_figures(f">{100 - least}%")
    if shown <= 0 < chance:
        return in_figures(f"<{least}%")
    return in_figures(f"{shown}%")


# The figures of the facts as the language writes them, under the names that they have there.


def plain(figure: Decimal) -> str:
    """A figure without needless noughts."""
    return in_figures(units.plain(figure))


def format_quantity(thousandths: int, unit: str) -> str:
    """An amount of a stock unit, exact: "4", "30 ml", "1.6 L"."""
    return in_figures(units.format_quantity(thousandths, unit))


def show_quantity(thousandths: int, unit: str) -> str:
    """An amount of a stock unit, at a glance."""
    return in_figures(units.show_quantity(thousandths, unit))


def show_torque(torque: Torque, unit: str) -> str:
    """A torque in a unit, to three significant figures: "18.4 lbf·ft"."""
    return in_figures(units.show_torque(torque, unit))


def second_unit(torque: Torque) -> str | None:
    """The same torque in the unit of the other scale, to three significant figures.

    None of N·m where nobody reads pounds.
    """
    if torque.unit == "N·m" and not current().in_pounds_too:
        return None
    return in_figures(units.second_unit(torque))


def amount(thousandths: int, unit: str) -> str:
    """An amount of a stock unit: "4", "30 ml", "1.6 L"."""
    return format_quantity(thousandths, unit)


def money(value: Money) -> str:
    """A sum of money: "£7.50"."""
    return in_figures(format_money(value.minor, value.currency))


def millimetres(length: float) -> str:
    """A length to 0.01 mm without needless noughts: "2.5 mm", "17 mm".

    >>> millimetres(17.12), millimetres(20.0)
    ('17.12 mm', '20 mm')
    """
    text = f"{length:.2f}".rstrip("0").rstrip(".")
    return in_figures(f"{text} mm")


def day(value: date) -> str:
    """A day: by ISO 8601 in English, else as the locale writes it."""
    return date_text(value)


def minutes(count: int) -> str:
    """A waiting time to read: "10 min", "1 h 30 min", "24 h", "7 days".

    >>> minutes(1440)
    '24 h'
    """
    if count > _DAY and count % _DAY == 0:
        return n_("{count} day", "{count} days", count // _DAY)
    hours, left = divmod(count, _HOUR)
    parts = (f"{hours} h" if hours else "", f"{left} min" if left else "")
    return " ".join(part for part in parts if part)


def many(count: int, one: str, several: str | None = None) -> str:
    """A count with its noun: "1 job", "2 jobs"; each pair of nouns is a text to be translated."""
    return n_(*counted(one, several), count)


def counted(one: str, several: str | None = None) -> tuple[str, str]:
    """The texts for one and for several of a noun: "{count} job", "{count} jobs"."""
    return f"{{count}} {one}", f"{{count}} {several or one + 's'}"


def times(count: int) -> str:
    """How often: "never", "once", "twice", "3 times"."""
    few = {0: _("never"), 1: _("once"), 2: _("twice")}
    return few[count] if count in few else n_("{count} time", "{count} times", count)


def listed(words: Sequence[str], last: str = N_("and")) -> str:
    """Words in a row: "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {_(last)} {words[-1]}"


def figure(value: object) -> str:
    """Any value that fills in a sentence, as it is read."""
    if isinstance(value, Quantity):
        return amount(value.thousandths, value.unit)
    if isinstance(value, Money):
        return money(value)
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, tuple | list):
        return ", ".join(figure(part) for part in value)
    return told(value)
