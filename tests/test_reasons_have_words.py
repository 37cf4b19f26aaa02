"""Every list of reasons has a module of words, which is loaded when one of them is told."""

from __future__ import annotations

import pkgutil
from importlib import import_module

import pytest

import kitting.facts
import kitting.views
from kitting.facts.reasons import ReasonCode
from kitting.wording.reasons import _TEXTS, WORDED_IN

for _package in (kitting.facts, kitting.views):
    for _module in pkgutil.iter_modules(_package.__path__, f"{_package.__name__}."):
        import_module(_module.name)
KINDS = [kind for kind in ReasonCode.__subclasses__() if kind.__module__.startswith("kitting.")]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: f"{kind.__module__}.{kind.__name__}")
def test_a_list_of_reasons_has_a_text_for_each(kind: type[ReasonCode]) -> None:
    import_module(f"kitting.wording.{WORDED_IN[kind.__module__]}")
    assert set(_TEXTS[kind]) == set(kind)


def test_no_module_is_named_that_has_no_reasons() -> None:
    assert {kind.__module__ for kind in KINDS} == set(WORDED_IN)
