"""Texts in other languages: a catalogue per language, compiled when the program is built."""

from __future__ import annotations

from importlib.resources import files

# Languages of which texts are still to be translated: what is missing stands in English.
UNFINISHED: frozenset[str] = frozenset()


def known() -> tuple[str, ...]:
    """The languages that have a catalogue, by tag."""
    folder = files("kitting.languages")
    return tuple(sorted(one.name for one in folder.iterdir() if (one / "LC_MESSAGES").is_dir()))
