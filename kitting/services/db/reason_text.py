"""Reasons that are recorded: JSON text in a column, put into words when it is shown."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from kitting.facts import (
    conditions,
    day_reasons,
    doubt_reasons,
    plan_reasons,
    ring_reasons,
    scale_reasons,
    shelf_life,
    tightening_reasons,
    tool_reasons,
    torque_reasons,
)
from kitting.facts.reasons import Reason, ReasonCode, because
from kitting.facts.units import Quantity

_LISTS = (
    conditions, day_reasons, doubt_reasons, plan_reasons, ring_reasons, scale_reasons, shelf_life,
    tightening_reasons, tool_reasons, torque_reasons,
)  # fmt: skip
# A reason may be told within another: whatever is recorded is read again, of whichever list.
_KNOWN: dict[str, type[ReasonCode]] = {
    found.__name__: found
    for module in _LISTS
    for found in vars(module).values()
    if isinstance(found, type) and issubclass(found, ReasonCode)
}


def reason_as_text(reason: Reason) -> str:
    """A reason as JSON text: its code, the list of codes that it is of, and its values."""
    return json.dumps(_plain(reason), ensure_ascii=False, sort_keys=True)


def reason_of_text(text: str, more: Iterable[type[ReasonCode]] = ()) -> Reason | None:
    """The reason of a text, its codes of `kitting.facts` or of `more` lists.

    None for a text that is not JSON of one.
    """
    known = _KNOWN | {kind.__name__: kind for kind in more}
    try:
        return _reason(json.loads(text), known)
    except (ValueError, KeyError, TypeError):
        return None


def _plain(value: object) -> object:
    if isinstance(value, Reason):
        values = {name: _plain(part) for name, part in value.values}
        return {"of": type(value.code).__name__, "code": str(value.code), "values": values}
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, Quantity):
        return {"thousandths": value.thousandths, "unit": value.unit}
    if value is None or isinstance(value, int | float):
        return value
    return str(value)


def _reason(plain: Any, known: dict[str, type[ReasonCode]]) -> Reason:
    values = {name: _value(part, known) for name, part in plain["values"].items()}
    return because(known[plain["of"]](plain["code"]), **values)


def _value(plain: Any, known: dict[str, type[ReasonCode]]) -> Any:
    if isinstance(plain, dict) and "unit" in plain:
        return Quantity(plain["thousandths"], plain["unit"])
    if isinstance(plain, dict):
        return _reason(plain, known)
    if isinstance(plain, list):
        return tuple(_value(part, known) for part in plain)
    return plain
