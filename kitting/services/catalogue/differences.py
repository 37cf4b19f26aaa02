"""Two entries of the same thing set side by side: what is added, changed, removed in its parts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from kitting.files.catalogue.canonical import in_one_line
from kitting.services.catalogue.exporting.entries import Entry
from kitting.views.catalogue import ChangeOfThing, FieldView, PartView

# Lists of entries that have names of their own, with what one is called and what names it.
_PARTS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "splits": ("variant", ("code",)),
    "options": ("option", ("code",)),
    "joints": ("joint", ("code",)),
    "fits": ("position", ("position", "option")),
    "steps": ("step", ("code",)),
    "jobs": ("job", ("code",)),
}


def parts_of(old: Entry, new: Entry) -> tuple[PartView, ...]:
    """What differs: the thing itself first (its place is empty), then its parts."""
    return tuple(_parts((), old, new))


def _parts(place: tuple[str, ...], old: Entry, new: Entry) -> Iterator[PartView]:
    fields = tuple(_fields("", old, new))
    if fields:
        yield PartView(place, ChangeOfThing.CHANGED, fields)
    for name in _PARTS:
        if name in old or name in new:
            yield from _listed(place, name, old.get(name, ()), new.get(name, ()))


def _listed(
    place: tuple[str, ...], name: str, old: Sequence[Entry], new: Sequence[Entry]
) -> Iterator[PartView]:
    before, after = _by_name(name, old), _by_name(name, new)
    for label, one in after.items():
        here = (*place, label)
        if label not in before:
            yield PartView(here, ChangeOfThing.ADDED, ())
        else:
            yield from _parts(here, before[label], one)
    for label in before:
        if label not in after:
            yield PartView((*place, label), ChangeOfThing.REMOVED, ())


def _by_name(name: str, entries: Sequence[Entry]) -> dict[str, Entry]:
    what, keys = _PARTS[name]
    return {
        f"{what} {' '.join(str(one[key]) for key in keys if key in one)}": one for one in entries
    }


def _fields(within: str, old: Entry, new: Entry) -> Iterator[FieldView]:
    for name in dict.fromkeys((*new, *old)):
        was, now = old.get(name), new.get(name)
        if name in _PARTS and not within:
            yield from _order(name, was or (), now or ())
        elif isinstance(was, Mapping) and isinstance(now, Mapping):
            yield from _fields(f"{within}{name}.", dict(was), dict(now))
        elif was != now:
            yield FieldView(f"{within}{name}", in_one_line(was), in_one_line(now))


def _order(name: str, old: Sequence[Entry], new: Sequence[Entry]) -> Iterator[FieldView]:
    """The order of parts, where those that were there before stand otherwise now."""
    before, after = _by_name(name, old), _by_name(name, new)
    was = [label for label in before if label in after]
    now = [label for label in after if label in before]
    if was != now:
        yield FieldView(f"order of {name}", ", ".join(was), ", ".join(now))
