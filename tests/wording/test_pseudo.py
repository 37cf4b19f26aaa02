"""The language that shows where there is no room."""

from __future__ import annotations

from string import Formatter

import pytest
from pseudo import LONGER, pseudo, stretched

from kitting.wording.language import _, n_, speaking


def names(text: str) -> list[str]:
    return [name for _before, name, *_rest in Formatter().parse(text) if name]


@pytest.mark.parametrize(
    "text", ["SHORT", "lot {lot} in {bin}", " · ", "{drops:many drop} on {thread}, ", "{{x}} a {b}"]
)
def test_a_text_is_longer_and_keeps_its_names_and_its_ends(text: str) -> None:
    told = stretched(text)
    letters = sum(sign.isalpha() for before, *_rest in Formatter().parse(text) for sign in before)
    assert len(told) >= len(text) + int(LONGER * letters)
    assert told.endswith(text[len(text.rstrip()) :])
    assert names(told) == names(text)


def test_what_is_told_is_stretched_and_filled_in() -> None:
    with speaking(pseudo()):
        assert _("BAG {number}", number=3).startswith("BÁĞ 3")
        assert n_("{count} bag", "{count} bags", 2).startswith("2 báğš")
    assert _("BAG {number}", number=3) == "BAG 3"
