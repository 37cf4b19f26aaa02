"""What people call the words of catalogue files: each such word means one thing of its section."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from kitting.errors import Problem
from kitting.facts.names import as_said
from kitting.files.catalogue.source import Source
from kitting.services.catalogue.known_names import SaidWord

# The sections whose entries say what else people call them.
CALLED = ("cautions", "fluids", "systems", "licences", "tools", "kinds")


class Meanings:
    """Which codes of a section a word may mean, by what files state and the database knows."""

    def __init__(
        self,
        sources: Sequence[Source],
        known: Iterable[SaidWord],
        codes: Mapping[str, Iterable[str]],
    ) -> None:
        entries = [
            (section, entry)
            for source in sources
            for section in CALLED
            for entry in getattr(source.catalogue, section)
        ]
        stated = {(section, entry.code) for section, entry in entries}
        self._codes: dict[tuple[str, str], list[str]] = defaultdict(list)
        said = [(one.section, one.word, one.code) for one in sorted(known)]
        left = [one for one in said if (one[0], one[2]) not in stated]
        here = [(section, word, entry.code) for section, entry in entries for word in entry.also]
        for section, word, code in (*left, *here):
            there = self._codes[section, as_said(word)]
            if code not in there:
                there.append(code)
        self._named = {
            (section, as_said(code)): code for section in CALLED for code in codes[section]
        }

    def of(self, section: str, word: str) -> Sequence[str]:
        """The codes that people mean by a word."""
        return self._codes.get((section, as_said(word)), ())

    def faults(self, source: Source) -> Iterator[Problem]:
        """Words of a file that mean something else as well."""
        for section in CALLED:
            for number, entry in enumerate(getattr(source.catalogue, section)):
                for index, word in enumerate(entry.also):
                    others = self._others(section, word, entry)
                    if others:
                        yield source.problem(
                            (section, number, "also", index),
                            f"{section[:-1]} {entry.code}",
                            f"people would mean {' or '.join(others)} by {word!r} too",
                            "Say it of one of them only",
                        )

    def _others(self, section: str, word: str, entry: Any) -> list[str]:
        named = self._named.get((section, as_said(word)), entry.code)
        return [
            code for code in dict.fromkeys((named, *self.of(section, word))) if code != entry.code
        ]
