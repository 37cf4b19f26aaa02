"""Calculations take and give frozen facts: nothing that hangs on a database or can be changed."""

from __future__ import annotations

import pkgutil
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from importlib import import_module
from typing import Any, get_args, get_type_hints

import pytest

import kitting.calc
import kitting.facts
from kitting.tables.all import Base


def dataclasses_in(package: Any) -> Iterator[type]:
    for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
        module = import_module(found.name)
        for value in vars(module).values():
            if isinstance(value, type) and is_dataclass(value) and value.__module__ == found.name:
                yield value


def types_in(hint: Any) -> Iterator[Any]:
    yield hint
    for part in get_args(hint):
        yield from types_in(part)


EVERY = [*dataclasses_in(kitting.facts), *dataclasses_in(kitting.calc)]


@pytest.mark.parametrize("kind", EVERY, ids=lambda kind: f"{kind.__module__}.{kind.__name__}")
def test_no_field_can_hold_a_row_of_the_database(kind: type) -> None:
    """Neither by its type, nor by one that takes anything."""
    hints = get_type_hints(kind)
    for field in fields(kind):  # type: ignore[arg-type]
        found = list(types_in(hints[field.name]))
        assert Any not in found, field.name
        assert object not in found, field.name
        rows = [t for t in found if isinstance(t, type) and issubclass(t, Base)]
        assert rows == [], field.name


def test_the_dataclasses_are_found() -> None:
    assert len(EVERY) > 60
