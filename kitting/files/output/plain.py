"""Views as plain data for JSON: stable keys, amounts as numbers in their unit, ISO 8601 dates."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any

from kitting.facts.control_characters import escaped

# Whole thousandths in the views; plain numbers of hours or of the named unit outside.
THOUSANDTHS = frozenset(
    {
        "hours",
        "total",
        "apart",
        "saved",
        "hours_alone",
        "hours_added",
        "quantity",
        "to_take",
        "pack",
        "parts_added",
        "on_hand",
        "promised",
        "free",
        "balance",
        "waiting",
        "picked",
        "used",
        "on_the_way",
        "needed",
        "on_shelf",
        "coming",
        "short",
        "ordered",
        "received",
        "lost",
        "recorded",
        "recomputed",
    }
)
# What is counted there is bolts, or lines of a booking.
_NOT_AMOUNTS = frozenset({"TighteningView", "BookingLine"})


def json_text(plain: object, *, ascii_only: bool = False) -> str:
    """Plain data as JSON, two spaces deep; what would steer a terminal is written as an escape."""
    return escaped(json.dumps(plain, ensure_ascii=ascii_only, indent=2))


def as_plain(view: object) -> Any:
    """Dataclasses as dictionaries with the field names as keys; tuples as lists."""
    if is_dataclass(view) and not isinstance(view, type):
        exact = type(view).__name__ not in _NOT_AMOUNTS
        return {
            field.name: _value(field.name, getattr(view, field.name), exact)
            for field in fields(view)
        }
    if isinstance(view, tuple | list):
        return [as_plain(entry) for entry in view]
    if isinstance(view, date):
        return view.isoformat()
    return view


def _value(name: str, value: object, exact: bool) -> Any:
    if isinstance(value, bool):
        return value
    if exact and name in THOUSANDTHS and isinstance(value, int):
        whole, rest = divmod(value, 1000)
        return whole if rest == 0 else value / 1000
    return as_plain(value)
