"""How many examples a property is tried with: few each time, many when `.ci/run` asks for them."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, TypeVar

import pytest
from hypothesis import settings

MANY = os.environ.get("KITTING_EXAMPLES") == "many"
Test = TypeVar("Test", bound=Callable[..., Any])


def examples(few: int, many: int, **more: Any) -> Callable[[Test], Test]:
    """A property that takes long: `many` with KITTING_EXAMPLES=many (`-m slow` finds them)."""
    chosen = settings(max_examples=many if MANY else few, deadline=None, **more)
    return lambda test: pytest.mark.slow(chosen(test))
