"""Signs of text that do something to a screen instead of standing on it.

Control characters steer a terminal (ECMA-48), direction marks turn the rest of a line round
(Unicode Standard Annex 9), separators of lines and paragraphs break it, and half a surrogate pair
is no text at all. Marks that join or part letters stay: some scripts and pictures need them.
"""

from __future__ import annotations

import re

_SEPARATORS, _DIRECTIONS, _HALVES = "\u2028\u2029", "\u202a-\u202e\u2066-\u2069", "\ud800-\udfff"
_STEERING = re.compile(f"[\\x00-\\x09\\x0b-\\x1f\\x7f-\\x9f{_SEPARATORS}{_DIRECTIONS}{_HALVES}]")
_UNWRITABLE = re.compile(f"[\\x00-\\x08\\x0b-\\x1f\\x7f-\\x9f{_SEPARATORS}{_HALVES}]")
_BREAK = re.compile(r"[\t\n]")
_PICTURES = 0x2400  # the control pictures of Unicode follow the order of the first 32 characters
_DELETE, _PICTURE_OF_DELETE = 0x7F, "\u2421"
_NO_SIGN = "\ufffd"


def visible(text: str) -> str:
    """Text for a screen: every steering sign but the line feed as a picture of it.

    >>> visible("\\x1b[31mred\\a")
    '␛[31mred␇'
    """
    return _STEERING.sub(lambda match: _picture(match[0]), text)


def escaped(json_text: str) -> str:
    """JSON whose steering signs are written as escapes; it says the same.

    >>> escaped('"a\\x9bb"')
    '"a\\\\u009bb"'
    """
    return _STEERING.sub(lambda match: f"\\u{ord(match[0]):04x}", json_text)


def unwritable(text: str, *, lines: bool = False) -> str | None:
    """The first sign that no entry may hold, as "U+001B"; None if there is none.

    Line feeds and tabs pass where an entry may have several `lines`.
    """
    found = _UNWRITABLE.search(text) or (None if lines else _BREAK.search(text))
    return None if found is None else f"U+{ord(found[0]):04X}"


def _picture(sign: str) -> str:
    number = ord(sign)
    if number < 0x20:
        return chr(_PICTURES + number)
    return _PICTURE_OF_DELETE if number == _DELETE else _NO_SIGN


__all__ = ["escaped", "unwritable", "visible"]
