"""Looking things up by name: found, or an error that says which known names are near."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from kitting.actions import NextStep
from kitting.errors import UnknownNameError
from kitting.facts.names import ending_so, hint, nearest

__all__ = ["hint", "lookup", "other_unit", "unknown", "whole_number"]

_NEWEST = 5  # known numbers that are named where none is near

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
        "{what} {name!r}: unknown name. {hint}",
        what=what,
        name=name,
        hint=hint(name, known, otherwise),
        then=then,
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


def other_unit(given: str, wanted: str) -> str:
    """What to do where an amount is in another unit than its item is stocked in."""
    return (
        f"Give it in {wanted}; or, if the item is stocked in {given}, state 'unit: {given}' of it"
    )


def whole_number(what: str, given: str, known: Sequence[str], then: Sequence[NextStep] = ()) -> str:
    """The number that is meant by its last digits: "B0012" by "12", "0012", "b12" or "b0012".

    `known` are the numbers that there are, the oldest first; `then` says what to do while there is
    none. All digits of a number name it, whatever else ends so. Raises UnknownNameError for one
    that is not known, and for one by which several could be meant, naming them.
    """
    asked = given.strip().upper()
    if asked in known:
        return asked
    meant = ending_so(asked, known)
    if len(meant) == 1:
        return meant[0]
    if meant:
        more = f" and {len(meant) - _NEWEST} more" if len(meant) > _NEWEST else ""
        raise UnknownNameError(
            "{what} {given!r}: which one? {meant}{more} end so. Give more of its digits",
            what=what,
            given=given,
            meant=", ".join(meant[-_NEWEST:]),
            more=more,
        )
    if not known:
        raise UnknownNameError(
            "{what} {given!r}: unknown name. None is made yet", what=what, given=given, then=then
        )
    near = nearest(given, known, loosely=True) or known[-_NEWEST:]
    raise UnknownNameError(
        "{what} {given!r}: unknown name. Known: {near}",
        what=what,
        given=given,
        near=", ".join(near),
    )
