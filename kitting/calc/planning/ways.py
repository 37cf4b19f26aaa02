"""Ways: under which options of open splits a step is done, and a joint opened."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple, Protocol, TypeAlias


class OpenOption(NamedTuple):
    """An option (key) of a split that is open, and every option of that split."""

    split: int
    option: int
    options: tuple[int, ...]


Way: TypeAlias = frozenset[OpenOption]
Ways: TypeAlias = frozenset[Way]
CERTAIN: Ways = frozenset({frozenset()})


class Optional(Protocol):
    """A step of the graph: what it needs, and the open option under which it is done at all."""

    @property
    def needs(self) -> tuple[int, ...]:
        """The keys of the steps that come before it."""
        ...

    @property
    def option(self) -> OpenOption | None:
        """None: it is done on every car."""
        ...


def ways_of_steps(
    steps: Mapping[int, Optional], order: Sequence[int], wanted: Iterable[int]
) -> dict[int, Ways]:
    """Under which options each step of an order (each after what it needs) is done.

    A step that no way leads to is left out: its options exclude each other.
    """
    found: dict[int, Ways] = dict.fromkeys(wanted, CERTAIN)
    for key in reversed(order):
        step = steps[key]
        own = simplest(_joined(found.get(key, frozenset()), step.option))
        found[key] = own
        for need in step.needs:
            found[need] = found.get(need, frozenset()) | own
    return {key: ways for key, ways in found.items() if ways}


def _joined(ways: Ways, option: OpenOption | None) -> Iterable[Way]:
    if option is None:
        return ways
    return (way | {option} for way in ways if _goes_with(way, option))


def _goes_with(way: Way, option: OpenOption) -> bool:
    return all(one.split != option.split or one == option for one in way)


def simplest(ways: Iterable[Way]) -> Ways:
    """The ways without what decides nothing in them; CERTAIN where they leave no case out.

    {x and w1, x and w2} is {x}, where w1 and w2 are all that the split w may come out as.
    """
    every = frozenset(ways)
    if _leave_no_case(every):
        return CERTAIN
    while more := {way - {one} for way in every for one in way if _idle(one, way, every)}:
        every = _within_none(every | more)
    return _within_none(every)


def _within_none(ways: Ways) -> Ways:
    return frozenset(way for way in ways if not any(other < way for other in ways))


def _idle(one: OpenOption, way: Way, ways: Ways) -> bool:
    """Whether some way holds however the split of an option comes out, with the rest of its way."""
    rest = way - {one}
    return all(
        any(other <= rest | {one._replace(option=option)} for other in ways)
        for option in one.options
    )


def least(counts: Sequence[tuple[Ways, int, int]]) -> int:
    """The least that may come of what is done in some ways, in the cases where any of it is.

    Each states the ways, how often it is done at once with the others, and how often more. The
    most often of those done at once counts, and all that is more.
    """
    asked = next((option for ways, _, _ in counts for way in ways for option in way), None)
    if asked is None:
        done = [(once, more) for ways, once, more in counts if ways]
        return max((once for once, _ in done), default=0) + sum(more for _, more in done)
    cases = [
        [(_given(ways, asked._replace(option=option)), once, more) for ways, once, more in counts]
        for option in asked.options
    ]
    return min(filter(None, map(least, cases)), default=0)


def _leave_no_case(ways: Ways) -> bool:
    """Whether one of the ways holds however the splits come out."""
    if frozenset() in ways:
        return True
    asked = next((option for way in ways for option in way), None)
    if asked is None:
        return False
    return all(
        _leave_no_case(_given(ways, asked._replace(option=option))) for option in asked.options
    )


def _given(ways: Ways, known: OpenOption) -> Ways:
    """The ways that are left once a split has come out, without it."""
    return frozenset(way - {known} for way in ways if _goes_with(way, known))
