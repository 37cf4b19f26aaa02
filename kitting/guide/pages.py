"""The pages of the guide, in the order of work.

A page is `TOPIC.md` beside this module. Its first line is its title, the paragraph after it says in
one sentence what it tells.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files

_AROUND_WORDS = ".,:;`*()"
TOPICS = (
    "first-job", "demo", "catalogue", "files", "words", "sharing", "cars", "plan", "rubber",
    "tightening", "tools", "spares", "bookings", "ordering", "stock", "sheets", "languages", "kit",
    "operations", "group", "json", "exit-codes", "speed",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Page:
    """A page: its title, the sentence that says what it tells, and all of its Markdown."""

    topic: str
    title: str
    about: str
    text: str

    def speaks_of(self, word: str) -> bool:
        """Whether its title or its sentence has a word, capitals not minded."""
        words = f"{self.title} {self.about}".casefold().split()
        return word.strip().casefold() in {one.strip(_AROUND_WORDS) for one in words}


def page(topic: str) -> Page:
    """The page of one of `TOPICS`."""
    text = files("kitting.guide").joinpath(f"{topic}.md").read_text(encoding="utf-8")
    title, about = text.split("\n\n")[:2]
    return Page(topic, title.removeprefix("# "), " ".join(about.split()), text)


def pages() -> tuple[Page, ...]:
    """Every page, in the order of work."""
    return tuple(map(page, TOPICS))


__all__ = ["TOPICS", "Page", "page", "pages"]
