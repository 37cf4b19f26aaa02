"""In which language texts are told: English as it stands in the code, others from catalogues.

A text is marked where it is told: `_("BAG {number}", number=3)`, `n_("{count} bag", "{count}
bags", 3)`. A text that is kept in a table or a constant is marked by `N_("…")` there and told by
`_()` later. What fills in a text is never read as a text itself. `python tests/translations.py`
collects what is marked into `kitting/languages`.

Codes, units and figures are the same in every language; the decimal sign and the order of a date
are those of the locale.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from functools import lru_cache, reduce
from gettext import GNUTranslations, NullTranslations
from importlib.resources import files
from string import Formatter
from typing import Any

from kitting.errors import KittingError, Message
from kitting.facts.language import SOURCE, language_of, telling_in, told_in, told_tag
from kitting.facts.tool_words import WrenchClass
from kitting.facts.words import ShelfPolicy, StockUnit, Word
from kitting.views.group import GroupRole
from kitting.views.upkeep import DatabaseKind

_DOMAIN = "kitting"
# Lists of codes and units: the same in every language.
CODES: frozenset[type[Word]] = frozenset(
    {StockUnit, ShelfPolicy, WrenchClass, GroupRole, DatabaseKind}
)
# The meaning of names and texts that come with the program, in its general rules.
GENERAL = "general rules"
_CAPITAL = re.compile(r"[A-Z]")
# Signs of strftime, and what they are in Unicode's date patterns (UTS 35).
_PATTERNS = (
    ("%a", "EEE"), ("%d", "dd"), ("%b", "MMM"), ("%Y", "y"), ("%m", "MM"), ("%H", "HH"),
    ("%M", "mm"),
)  # fmt: skip
# Where paper is cut in inches, by territory (Unicode CLDR, supplemental measurement data).
_LETTER = frozenset({"US", "CA", "MX", "CO", "CL", "CR", "GT", "PA", "PH", "PR", "SV", "VE"})


@dataclass(frozen=True, slots=True)
class Language:
    """A language by its BCP 47 tag ("de", "de-AT", "en-US"), and its texts."""

    tag: str
    texts: NullTranslations = field(default_factory=NullTranslations, compare=False)

    @property
    def is_source(self) -> bool:
        """Whether texts stand in the code in this language."""
        return language_of(self.tag) == SOURCE

    @property
    def paper(self) -> str:
        """The paper that is usual there: "A4" or "Letter"."""
        return "Letter" if self._territory in _LETTER else "A4"

    @property
    def in_pounds_too(self) -> bool:
        """Whether a torque published in N·m is told in lbf·ft or lbf·in as well."""
        return self.is_source or self._territory in _POUNDS

    @property
    def _territory(self) -> str:
        return self.tag.partition("-")[2]


# Where torque is read in pounds too: the United States by CLDR's measurement data, Great Britain by
# common practice, no source.
_POUNDS = frozenset({"US", "GB"})


# What `speaking` was handed; else the language is found by its tag.
_GIVEN = ContextVar[Language | None]("language given", default=None)


def current() -> Language:
    """The language in which texts are told now."""
    given = _GIVEN.get()
    return find_language(told_in()) if given is None else given


@contextmanager
def speaking(language: Language) -> Iterator[None]:
    """Tell texts in a language while inside."""
    before = _GIVEN.set(language)
    try:
        with telling_in(language.tag):
            yield
    finally:
        _GIVEN.reset(before)


@lru_cache(maxsize=16)
def find_language(tag: str) -> Language:
    """The language of a tag: "de", "de-AT" (German as it is in Austria), "en-US".

    Raises KittingError naming the languages that there are.
    """
    whole = told_tag(tag)
    language = language_of(whole)
    return Language(whole, NullTranslations() if language == SOURCE else _texts(language))


def _texts(language: str) -> NullTranslations:
    compiled = files("kitting.languages") / language / "LC_MESSAGES" / f"{_DOMAIN}.mo"
    if not compiled.is_file():
        raise KittingError(
            "the texts in language {language!r} are not compiled: install the program again (pip"
            " install .)",
            language=language,
        )
    with compiled.open("rb") as source:
        return GNUTranslations(source)


def N_(text: str) -> str:  # noqa: N802  (the name that gettext's tools look for)
    """Mark a text that is told later; it comes back as it is."""
    return text


class _Filling(Formatter):
    """Fills in a text: words of fixed lists, days and figures as the language has them."""

    def format_field(self, value: Any, format_spec: str) -> str:
        return filled(value, format_spec)


_FILLING = _Filling()


def _(text: str, /, **values: object) -> str:
    """A text in the current language, `{name}` filled in."""
    found = current().texts.gettext(text) if text else ""
    return _FILLING.vformat(found, (), values) if values else found


def n_(one: str, many: str, count: int, /, **values: object) -> str:
    """A text for a count in the current language; `{count}` and other names filled in."""
    found = current().texts.ngettext(one, many, count)
    return _FILLING.vformat(found, (), {"count": count, **values})


def p_(context: str, text: str, /, **values: object) -> str:
    """A text that means several things, in the meaning that `context` names."""
    found = current().texts.pgettext(context, text)
    return _FILLING.vformat(found, (), values) if values else found


def filled(value: Any, asked: str) -> str:
    """A value as a text asks for it ("", ".3g", "%a %d %b") and the language has it."""
    if not asked:
        return told(value)
    if isinstance(value, date) and "%" in asked:
        return dated(value, asked)
    shown = format(value, asked)
    return in_figures(shown) if isinstance(value, float | Decimal) else shown


def context_of(words: type[Word]) -> str:
    """The meaning that the words of a list have, for whoever translates them: "booking state"."""
    return _CAPITAL.sub(r" \g<0>", words.__name__).strip().lower()


def word_text(word: Word) -> str:
    """A word of a fixed list in the current language; in English as it stands in the data.

    Codes of standards and units are the same in every language.
    """
    kind = type(word)
    return str(word) if kind in CODES else p_(context_of(kind), str(word))


def general_text(text: str) -> str:
    """A name or text of the catalogue: told in the language where it comes with the program."""
    return p_(GENERAL, text) if text else text


def told(value: object) -> str:
    """Any value as it stands in a text: words, days and figures as the language has them."""
    if isinstance(value, KittingError):
        value = value.message
    if isinstance(value, Message):
        return message_text(value)
    if isinstance(value, Word):
        return word_text(value)
    if isinstance(value, datetime):
        return f"{date_text(value)} {value:%H:%M}"
    if isinstance(value, date):
        return date_text(value)
    if isinstance(value, Decimal | float):
        return in_figures(str(value))
    return str(value)


def message_text(message: Message) -> str:
    """A message of an error or a fault in the current language."""
    language = current()
    if language.is_source:
        return str(message)
    found = language.texts.gettext(message.template) if message.template else ""
    return _FILLING.vformat(found, (), message.values) if message.values else found


def dated(value: date, pattern: str) -> str:
    """A day or time by a pattern of strftime ("%a %d %b %Y"), names as the language has them."""
    language = current()
    if language.is_source:
        return format(value, pattern)
    from babel.dates import format_datetime

    when = value if isinstance(value, datetime) else datetime.combine(value, time())
    asked = reduce(lambda text, sign: text.replace(*sign), _PATTERNS, pattern)
    return str(format_datetime(when, asked, locale=language.tag.replace("-", "_")))


def in_figures(text: str) -> str:
    """Figures written with a point, with the decimal sign of the language.

    Only for what is a figure and its unit ("8.47 N·m"): a code or a version has no decimal sign.
    """
    language = current()
    if language.is_source:
        return text
    return text.replace(".", _decimal_sign(language.tag))


@lru_cache(maxsize=16)
def _decimal_sign(tag: str) -> str:
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(tag.replace("-", "_"))


def date_text(value: date) -> str:
    """A day: by ISO 8601 in English, in other languages as the locale writes it in figures."""
    language = current()
    if language.is_source:
        return value.isoformat()[:10]
    from babel.dates import format_date

    return format_date(value, format="medium", locale=language.tag.replace("-", "_"))
