"""A language that nobody speaks: every text 40 % longer and full of accents, figures as in German.

It shows where a sheet has no room for another language, and what is told without being marked.
"""

from __future__ import annotations

from functools import cache
from gettext import NullTranslations
from string import Formatter

from translations import collected

from kitting.wording.language import GENERAL, Language

LONGER = 0.4
_ACCENTS = str.maketrans("aceghijklnorstuyzACEGHIJKLNORSTUYZ", "áčéğĥíĵķľňóřšťúýžÁČÉĞĤÍĴĶĽŇÓŘŠŤÚÝŽ")
_FILLER = "ďůňęşťőļ"


def stretched(text: str) -> str:
    """A text with accents, 40 % longer; the names that are filled in stay."""
    parts = [(literal, *rest) for literal, *rest in Formatter().parse(text)]
    letters = sum(sign.isalpha() for literal, *_ in parts for sign in literal)
    if not letters:
        return text
    told = "".join(_part(*part) for part in parts)
    end = told[len(told.rstrip()) :]
    wanted = -(-int(letters * LONGER * 100) // 100) or 1
    filler = "".join(
        (" " if place and place % 9 == 0 else "") + _FILLER[place % len(_FILLER)]
        for place in range(wanted)
    )
    return told.rstrip() + (filler.upper() if text.isupper() else filler) + end


def _part(literal: str, name: str | None, spec: str | None, conversion: str | None) -> str:
    told = literal.translate(_ACCENTS).replace("{", "{{").replace("}", "}}")
    if name is None:
        return told
    sign = f"!{conversion}" if conversion else ""
    return f"{told}{{{name}{sign}{':' + spec if spec else ''}}}"


class Pseudo(NullTranslations):
    """Tells each text stretched, and keeps what was told."""

    def __init__(self) -> None:
        super().__init__()
        self.told: set[str] = set()

    def gettext(self, message: str) -> str:
        self.told.add(message)
        return stretched(message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)

    def pgettext(self, context: str, message: str) -> str:
        # A workshop's own names are asked for too, and stay as they are.
        own = context == GENERAL and message not in general_texts()
        return message if own else self.gettext(message)


@cache
def general_texts() -> frozenset[str]:
    """The names and texts that come with the program."""
    return frozenset(str(one.id) for one in collected() if one.context == GENERAL)


def pseudo() -> Language:
    """A new one; its `texts` has what was told."""
    return Language("de", Pseudo())
