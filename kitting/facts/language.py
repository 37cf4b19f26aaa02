"""Which language texts and names are told in: by its BCP 47 tag ("en", "de", "de-AT").

Only the tag is known here, since names of items are read in a language too; texts are in
`kitting.wording.language`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from kitting.errors import FigureError
from kitting.facts.names import nearest
from kitting.languages import known

SOURCE = "en"
_TAG = re.compile(r"([A-Za-z]{2,3})(?:[-_]([A-Za-z]{2}))?")
_ANSWER = ContextVar[str]("language", default=SOURCE)
_ASKED = ContextVar[Callable[[], str] | None]("language asked", default=None)


def told_in() -> str:
    """The tag of the language in which texts and names are told now."""
    asked = _ASKED.get()
    if asked is not None:
        # Whoever is asked may tell something too, which is told in the language of the source.
        _ASKED.set(None)
        _ANSWER.set(asked())
    return _ANSWER.get()


def tell_in(tag: str) -> None:
    """From now on tell in the language of a tag."""
    _ASKED.set(None)
    _ANSWER.set(tag)


def ask_when_told(ask: Callable[[], str]) -> None:
    """From now on tell in the language whose tag `ask` answers; it is asked once, if at all."""
    _ASKED.set(ask)


@contextmanager
def telling_in(tag: str) -> Iterator[None]:
    """Tell in the language of a tag while inside."""
    answer, asked = _ANSWER.set(tag), _ASKED.set(None)
    try:
        yield
    finally:
        _ASKED.reset(asked)
        _ANSWER.reset(answer)


def language_of(tag: str) -> str:
    """The language of a tag without its territory: "de" of "de-AT".

    >>> language_of("de-AT")
    'de'
    """
    return tag.partition("-")[0]


def languages() -> tuple[str, ...]:
    """The languages for which there are texts, by tag: that of the source first."""
    return (SOURCE, *known())


def told_tag(text: str) -> str:
    """A tag of a language for which there are texts, as it is kept.

    Raises FigureError naming the languages that there are.
    """
    tag = parse_tag(text)
    language = language_of(tag)
    if language in languages():
        return tag
    near = nearest(language, languages())
    hint = f"Did you mean {near[0]}? " if near else ""
    raise FigureError(
        "no texts in language {text!r}. {hint}Known: {known}; a country may follow, such as en-US",
        text=text[:40],
        hint=hint,
        known=", ".join(languages()),
    )


def parse_tag(text: str) -> str:
    """A tag as it is kept: language (ISO 639) small, territory (ISO 3166) in capitals.

    Raises FigureError for a text that is none.

    >>> parse_tag("DE_at")
    'de-AT'
    """
    found = _TAG.fullmatch(text.strip())
    if found is None:
        raise FigureError(
            "no tag of a language in {text!r}. Write its two letters (ISO 639), such as 'de', or"
            " with a country, such as 'de-AT'",
            text=text[:40],
        )
    language, territory = found[1].lower(), (found[2] or "").upper()
    return f"{language}-{territory}" if territory else language
