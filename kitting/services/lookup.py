"""Looking things up by name: found, or an error that says which known names are near."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from kitting.actions import NextStep
from kitting.errors import UnknownNameError
from kitting.facts.names import hint

__all__ = ["hint", "lookup", "unknown"]

_T = TypeVar("_T")


def unknown(
    what: str,
    name: str,
    known: Iterable[str],
    otherwise: str = "Describe it first",
    then: Sequence[NextStep] = (),
) -> UnknownNameError:
    """The error for a name that is not known: "supplier 'X': unknown name. Did you mean Y?"."""
    return UnknownNameError(
        f"{what} {name!r}: unknown name. {hint(name, known, otherwise)}", then=then
    )


def lookup(
    what: str, name: str, known: Mapping[str, _T], otherwise: str = "Describe it first"
) -> _T:
    """What a name stands for, capitals not minded; raises UnknownNameError."""
    if name in known:
        return known[name]
    folded = {key.casefold(): key for key in known}
    key = folded.get(name.casefold())
    if key is None:
        raise unknown(what, name, known, otherwise)
    return known[key]
