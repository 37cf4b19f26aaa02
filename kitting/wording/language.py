"""In which language texts are told: English as it stands in the code, others from catalogues.

A text is marked where it is told: `_("BAG {number}", number=3)`, `n_("{count} bag", "{count}
bags", 3)`. A text that is kept in a table or a constant is marked by `N_("…")` there and told by
`_()` later. What fills in a text is never read as a text itself. `python tests/translations.py`
collects what is marked into `kitting/languages`.

Codes, units and figures are the same in every language; the decimal sign and the order of a date
are those of the locale.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from gettext import GNUTranslations, NullTranslations
from importlib.resources import files

from kitting.errors import KittingError
from kitting.facts.language import SOURCE, language_of, parse_tag, telling_in, told_in
from kitting.facts.names import nearest
from kitting.languages import known

_DOMAIN = "kitting"
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
        _, _, territory = self.tag.partition("-")
        return "Letter" if territory in _LETTER else "A4"


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


def languages() -> tuple[str, ...]:
    """The languages for which there are texts, by tag: the source first."""
    return (SOURCE, *known())


@lru_cache(maxsize=16)
def find_language(tag: str) -> Language:
    """The language of a tag: "de", "de-AT" (German as it is in Austria), "en-US".

    Raises KittingError naming the languages that there are.
    """
    whole = parse_tag(tag)
    language = language_of(whole)
    if language not in languages():
        near = nearest(language, languages())
        hint = f"Did you mean {near[0]}? " if near else ""
        raise KittingError(
            f"no texts in language {tag[:40]!r}. {hint}Known: {', '.join(languages())}; a country"
            " may follow, such as en-US"
        )
    return Language(whole, NullTranslations() if language == SOURCE else _texts(language))


def _texts(language: str) -> NullTranslations:
    compiled = files("kitting.languages") / language / "LC_MESSAGES" / f"{_DOMAIN}.mo"
    if not compiled.is_file():
        raise KittingError(
            f"the texts in language {language!r} are not compiled: install the program again"
            " (pip install .)"
        )
    with compiled.open("rb") as source:
        return GNUTranslations(source)


def N_(text: str) -> str:  # noqa: N802  (the name that gettext's tools look for)
    """Mark a text that is told later; it comes back as it is."""
    return text


def _(text: str, /, **values: object) -> str:
    """A text in the current language, `{name}` filled in."""
    told = current().texts.gettext(text) if text else ""
    return told.format(**values) if values else told


def n_(one: str, many: str, count: int, /, **values: object) -> str:
    """A text for a count in the current language; `{count}` and other names filled in."""
    return current().texts.ngettext(one, many, count).format(count=count, **values)


def p_(context: str, text: str, /, **values: object) -> str:
    """A text that means several things, in the meaning that `context` names."""
    told = current().texts.pgettext(context, text)
    return told.format(**values) if values else told


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
