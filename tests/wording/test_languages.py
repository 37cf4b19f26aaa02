"""Texts in other languages: what is marked is in the catalogues, and says the same there."""

from __future__ import annotations

from datetime import date
from gettext import NullTranslations
from pathlib import Path
from string import Formatter

import pytest
from babel.messages.catalog import Message
from translations import LANGUAGES, TEMPLATE, collected, known, written

from kitting.errors import KittingError
from kitting.facts.language import languages
from kitting.languages import UNFINISHED
from kitting.languages.compiling import compile_catalogues
from kitting.wording.language import (
    Language,
    _,
    current,
    date_text,
    find_language,
    in_figures,
    n_,
    speaking,
)

OTHERS = [tag for tag in languages() if tag != "en"]


class Shouted(NullTranslations):
    """Texts in capitals, to be told from the English ones."""

    def gettext(self, message: str) -> str:
        return f"¡{message}"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"¡{msgid1 if n == 1 else msgid2}"


def test_a_text_is_told_in_the_language_and_filled_in() -> None:
    with speaking(Language("xx", Shouted())):
        assert _("BAG {number}", number="{x}") == "¡BAG {x}"
        assert n_("{count} bag", "{count} bags", 2) == "¡2 bags"
        assert current().tag == "xx"
    assert _("BAG {number}", number=3) == "BAG 3"
    assert n_("{count} bag of {name}", "{count} bags of {name}", 1, name="F") == "1 bag of F"


def test_figures_and_days_follow_the_locale_and_english_keeps_iso() -> None:
    # Decimal sign and order of a date: Unicode CLDR, locale de.
    with speaking(find_language("de")):
        assert (in_figures("8.47 N·m"), date_text(date(2026, 4, 15))) == ("8,47 N·m", "15.04.2026")
    assert (in_figures("8.47 N·m"), date_text(date(2026, 4, 15))) == ("8.47 N·m", "2026-04-15")


def test_paper_follows_the_territory() -> None:
    found = {tag: find_language(tag).paper for tag in ("en", "en-US", "en_gb", "de", "de-at")}
    assert found == {"en": "A4", "en-US": "Letter", "en_gb": "A4", "de": "A4", "de-at": "A4"}


def test_an_unknown_language_names_the_known_ones() -> None:
    with pytest.raises(KittingError, match=r"no texts in language 'xx'\. Known: en, de"):
        find_language("xx")


@pytest.mark.parametrize("tag", ["d e", "de-ATX", "de-1", "", "german"])
def test_what_is_no_tag_is_told_so(tag: str) -> None:
    with pytest.raises(KittingError, match="Write its two letters"):
        find_language(tag)


def test_the_template_has_what_the_code_marks() -> None:
    assert TEMPLATE.read_bytes() == written(collected()), "run python tests/translations.py"


@pytest.mark.parametrize("language", OTHERS)
def test_every_text_of_the_code_is_in_the_catalogue_and_no_other(language: str) -> None:
    wanted = {(one.context, one.id) for one in collected() if one.id}
    assert {(one.context, one.id) for one in known(language) if one.id} == wanted


def strings(message: Message) -> tuple[str, ...]:
    return tuple(message.string) if isinstance(message.string, list | tuple) else (message.string,)


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_is_finished_or_says_that_it_is_not(language: str) -> None:
    lacking = [one.id for one in known(language) if one.id and not all(strings(one))]
    assert bool(lacking) == (language in UNFINISHED), lacking[:5]


def names(text: str) -> set[str]:
    return {name for _before, name, *_rest in Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("language", OTHERS)
def test_what_is_translated_has_the_same_names_and_ends(language: str) -> None:
    held = 0
    for one in known(language):
        ids = one.id if isinstance(one.id, list | tuple) else (one.id,)
        assert not one.fuzzy or not one.id, f"{language}: look at {one.id!r}"
        for source, text in zip(ids, strings(one), strict=False):
            if source and text:
                held += 1
                assert names(text) == names(source), (source, text)
                assert (
                    text[: len(text) - len(text.lstrip())]
                    == source[: len(source) - len(source.lstrip())]
                ), (source, text)
                assert text[len(text.rstrip()) :] == source[len(source.rstrip()) :], (source, text)
    assert held > 500


def test_compiling_writes_one_file_beside_each_catalogue(tmp_path: Path) -> None:
    for language in OTHERS:
        folder = tmp_path / language / "LC_MESSAGES"
        folder.mkdir(parents=True)
        source = LANGUAGES / language / "LC_MESSAGES" / "kitting.po"
        (folder / "kitting.po").write_bytes(source.read_bytes())
    written_to = [path.relative_to(tmp_path).as_posix() for path in compile_catalogues(tmp_path)]
    assert written_to == [f"{language}/LC_MESSAGES/kitting.mo" for language in OTHERS]
