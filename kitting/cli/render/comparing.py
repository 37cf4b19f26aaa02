"""How files differ from the database, on the screen."""

from __future__ import annotations

from collections import Counter, defaultdict

from rich.console import Console

from kitting.views.catalogue import ChangeOfThing, CompareView, PartView, ThingView
from kitting.wording.catalogue import origin_line, origin_text
from kitting.wording.language import _

_SIGNS = {ChangeOfThing.ADDED: "+", ChangeOfThing.CHANGED: "~", ChangeOfThing.REMOVED: "-"}
_NAMED = 5  # so many things that are the same are named


def show_differences(console: Console, view: CompareView) -> None:
    """Every thing that differs, with its parts and fields; then how many there are."""
    alike: dict[tuple[str, str], list[str]] = defaultdict(list)
    for thing in view.things:
        if thing.change is ChangeOfThing.ORIGIN:
            alike[_origins(thing)].append(f"{thing.sort} {thing.code}")
            continue
        console.print(f"{_SIGNS[thing.change]} {thing.sort} {thing.code}{_written(thing)}")
        for part in thing.parts:
            _show_part(console, part)
    for (was, now), names in alike.items():
        more = " " + _("and {names} more", names=len(names) - _NAMED) if len(names) > _NAMED else ""
        console.print(
            _(
                "= the same, of another origin: {names}{more}",
                names=", ".join(names[:_NAMED]),
                more=more,
            )
        )
        _indented(console, f"{was} → {now}", 4)
    for term in view.terms:
        console.print(
            _("~ {term}: they differ; terms of trade are not set side by side", term=term)
        )
    counts = Counter(thing.change for thing in view.things)
    told = [f"{counts[change]} {_told(change)}" for change in ChangeOfThing if counts[change]]
    if not view.differs:
        console.print(_("no difference: what the files state is there already"))
    elif told:
        console.print(_("{told}; nothing was kept", told=", ".join(told)))


def _told(change: ChangeOfThing) -> str:
    return _("of another origin") if change is ChangeOfThing.ORIGIN else str(change)


def _written(thing: ThingView) -> str:
    """Who wrote it before and now, where anybody is stated."""
    if thing.was is None and thing.now is None:
        return ""
    if thing.change is ChangeOfThing.ADDED or thing.was == thing.now:
        return f"  ({origin_text(thing.now)})"
    return f"  ({' → '.join(_origins(thing))})"


def _origins(thing: ThingView) -> tuple[str, str]:
    """Who wrote a thing before and now, at length where the authors alone are the same."""
    was, now = origin_text(thing.was), origin_text(thing.now)
    return (was, now) if was != now else (origin_line(thing.was), origin_line(thing.now))


def _show_part(console: Console, part: PartView) -> None:
    indent = 2
    if part.place:
        _indented(console, f"{_SIGNS[part.change]} {', '.join(part.place)}", 2)
        indent = 4
    for field in part.fields:
        text = f"{field.field}: {_value(field.old)} → {_value(field.new)}"
        _indented(console, text, indent + 2)


def _indented(console: Console, text: str, by: int) -> None:
    console.print(f"{' ' * by}{text}")


def _value(text: str | None) -> str:
    return _("not stated") if text is None else " ".join(text.split())
