"""Lines of a screen: text breaks between words, never inside a code or before a unit."""

from __future__ import annotations

import re

from rich.cells import cell_len

# A space between words; the one between a figure and what it counts or measures is none.
_BETWEEN_WORDS = re.compile(r"(?<![\d]) +|(?<=\d) +(?=[^\w°%µΩ]|\d|$)")


def longest_word(text: str) -> int:
    """Columns of the longest part of a text that never breaks."""
    return max((cell_len(word) for line in text.split("\n") for word in _words(line)), default=0)


def longest_line(text: str) -> int:
    """Columns of the longest line of a text."""
    return max(map(cell_len, text.split("\n")))


def wrapped(text: str, width: int) -> list[str]:
    """A text in lines of at most so many columns; a word that is longer has a line of its own.

    Lines that go on begin where the text of their line began.

    >>> wrapped("  8 pieces of RING-FKM-17X2.5, tighten to 8 N·m", 24)
    ['  8 pieces of', '  RING-FKM-17X2.5,', '  tighten to 8 N·m']
    """
    return [line for one in text.split("\n") for line in _filled(one, width)]


def _words(line: str) -> list[str]:
    return [word for word in _BETWEEN_WORDS.split(line.strip(" ")) if word]


def _filled(line: str, width: int) -> list[str]:
    if cell_len(line) <= width:
        return [line.rstrip(" ")]
    indent = line[: len(line) - len(line.lstrip(" "))]
    lines: list[str] = []
    for word in _words(line):
        if lines and cell_len(lines[-1]) + 1 + cell_len(word) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(f"{indent}{word}")
    return lines or [""]


__all__ = ["longest_line", "longest_word", "wrapped"]
