"""The words that a catalogue may use, list by list, with what each brings along."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WordView:
    """A word with its name, what else people call it, and what it brings along.

    `own` says that it did not come with the program.
    """

    word: str
    name: str
    also: tuple[str, ...] = ()
    brings: tuple[str, ...] = ()
    own: bool = False


@dataclass(frozen=True, slots=True)
class WordListView:
    """One list of words."""

    list: str
    words: tuple[WordView, ...]


@dataclass(frozen=True, slots=True)
class WordListsView:
    """Lists of words."""

    lists: tuple[WordListView, ...]
