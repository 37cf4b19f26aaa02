"""What was noted of one place, put together: what goes on with a note, and what contradicts it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count

from kitting.facts.found_fields import PLACE, FoundField, ring_size
from kitting.views.cars import FoundPartView

# What a part is. Notes of one place that differ in it are of two parts, or one of them is wrong.
_WHAT_IT_IS = (FoundField.KIND, FoundField.THREAD, FoundField.HEAD, FoundField.SIZE)
_TOLD = tuple(field for field in FoundField if field not in PLACE)


@dataclass(frozen=True, slots=True)
class FoundPlace:
    """A part as its notes have it: the newest word of each field.

    `earlier` is what they said otherwise before, `beside` what another part noted at that place is.
    """

    part: FoundPartView
    earlier: tuple[str, ...] = ()
    beside: str | None = None


def by_place(found: Iterable[FoundPartView]) -> list[FoundPlace]:
    """One part for each place, and one more for each note that contradicts those before it."""
    places: dict[tuple[str, str], list[FoundPlace]] = {}
    for one in found:
        there = places.setdefault(_place(one), [])
        for index in reversed(range(len(there))):
            if not differing(there[index].part, one):
                there[index] = _with(there[index], one)
                break
        else:
            there.append(_another(there[-1].part, one) if there else FoundPlace(one))
    return list(_named_apart(places.values()))


def contradicted(found: Sequence[FoundPartView], one: FoundPartView) -> str | None:
    """What the newest note of that place before says otherwise of what the part is."""
    before = [
        other for other in found if other.number < one.number and _place(other) == _place(one)
    ]
    return next(filter(None, (_otherwise(other, one) for other in reversed(before))), None)


def differing(before: FoundPartView, one: FoundPartView) -> list[FoundField]:
    """The fields in which two notes cannot be of one part."""
    return [
        field
        for field in _WHAT_IT_IS
        if None not in (was := getattr(before, field), now := getattr(one, field))
        and _compared(field, was) != _compared(field, now)
    ]


def _compared(field: FoundField, text: str) -> object:
    size = ring_size(text) if field is FoundField.SIZE else None
    return size or _folded(text)


def _place(one: FoundPartView) -> tuple[str, str]:
    return _folded(one.joint), _folded(one.position)


def _folded(text: str) -> str:
    return " ".join(text.split()).casefold()


def _with(place: FoundPlace, one: FoundPartView) -> FoundPlace:
    """A part with what a later note of it says."""
    before = place.part
    known = {field: getattr(one, field) for field in _TOLD if getattr(one, field) is not None}
    changed = [
        f"{field} {was}"
        for field, now in known.items()
        if (was := getattr(before, field)) is not None
        and _compared(field, str(was)) != _compared(field, str(now))
    ]
    return replace(
        place,
        part=replace(before, number=one.number, **known),
        earlier=(*place.earlier, *changed),
    )


def _another(before: FoundPartView, one: FoundPartView) -> FoundPlace:
    return FoundPlace(one, beside=_otherwise(before, one))


def _otherwise(before: FoundPartView, one: FoundPartView) -> str | None:
    said = [f"{field} {getattr(before, field)}" for field in differing(before, one)]
    return f"note {before.number} has {', '.join(said)} there" if said else None


def _named_apart(places: Iterable[Sequence[FoundPlace]]) -> Iterator[FoundPlace]:
    """The parts of each place, every one with a position and all with the joint as first noted."""
    listed = list(places)
    taken = {_place(there[0].part) for there in listed}
    for there in listed:
        first = there[0].part
        for place in there:
            position = first.position
            if place is not there[0]:
                ways = (f"{first.position} {number}" for number in count(2))
                joint = _folded(first.joint)
                position = next(way for way in ways if (joint, _folded(way)) not in taken)
                taken.add((joint, _folded(position)))
            yield replace(place, part=replace(place.part, joint=first.joint, position=position))
