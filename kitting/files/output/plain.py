"""Views as plain data for JSON: stable keys, amounts as numbers in their unit, ISO 8601 dates."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cache
from typing import Any, get_args, get_type_hints

from kitting.actions import NextStep
from kitting.facts.amounts import Scale
from kitting.facts.control_characters import escaped
from kitting.facts.money import Money
from kitting.facts.reasons import Reason
from kitting.facts.units import Quantity


def json_text(plain: object, *, ascii_only: bool = False) -> str:
    """Plain data as JSON, two spaces deep; what would steer a terminal is written as an escape."""
    return escaped(json.dumps(plain, ensure_ascii=ascii_only, indent=2))


def as_plain(view: object) -> Any:
    """Dataclasses as dictionaries with the field names as keys; tuples as lists.

    A field whose type carries a `Scale` is divided by it: 1500 of `Thousandths` is 1.5. Money is
    its exact amount as text and its currency: {"amount": "7.35", "currency": "GBP"}.
    """
    if isinstance(view, Reason):
        return {"code": view.code.value} | {name: as_plain(value) for name, value in view.values}
    if isinstance(view, NextStep):
        return {"action": view.action.value} | dict(view.values)
    if isinstance(view, Quantity):
        return {"amount": _value(view.thousandths, Scale(1000)), "unit": view.unit}
    if isinstance(view, Money):
        return {"amount": str(view.amount), "currency": view.currency}
    if isinstance(view, Decimal):
        return str(view)
    if is_dataclass(view) and not isinstance(view, type):
        scales = _scales(type(view))
        return {
            field.name: _value(getattr(view, field.name), scales.get(field.name))
            for field in fields(view)
        }
    if isinstance(view, tuple | list):
        return [as_plain(entry) for entry in view]
    if isinstance(view, date):
        return view.isoformat()
    if isinstance(view, StrEnum):
        return view.value
    return view


def _value(value: object, scale: Scale | None) -> Any:
    if scale is not None and isinstance(value, int):
        whole, rest = divmod(value, scale.per_unit)
        return whole if rest == 0 else value / scale.per_unit
    return as_plain(value)


@cache
def _scales(kind: type) -> dict[str, Scale]:
    """The fields of a dataclass whose type carries a unit, with how it is divided."""
    hints = get_type_hints(kind, include_extras=True)
    return {name: scale for name, hint in hints.items() if (scale := _scale_in(hint)) is not None}


def _scale_in(hint: Any) -> Scale | None:
    marks = [mark for mark in getattr(hint, "__metadata__", ()) if isinstance(mark, Scale)]
    inner = [_scale_in(part) for part in get_args(hint) if not isinstance(part, str)]
    return next((mark for mark in (*marks, *inner) if mark is not None), None)
