"""Lists of words on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.tables import plain_table
from kitting.wording.language import _, general_text

if TYPE_CHECKING:
    from kitting.views.words import WordListsView, WordView


def show_words(console: Console, view: WordListsView, *, counts: bool) -> None:
    """The lists with what each word brings; with `counts` only how many words each has."""
    if counts:
        table = plain_table(headings.LIST, headings.WORDS)
        for one in view.lists:
            table.add_row(one.list, str(len(one.words)))
        console.print(table)
        return
    for one in view.lists:
        console.print(one.list.upper(), style="bold")
        table = plain_table(headings.WORD, headings.WHAT_IT_IS, headings.BRINGS_ALONG)
        for word in one.words:
            table.add_row(word.word, _what(word), "; ".join(word.brings) or "–")
        console.print(table)


def _what(word: WordView) -> str:
    also = _("; also: {also}", also=", ".join(word.also)) if word.also else ""
    own = _(" (own)") if word.own else ""
    return f"{general_text(word.name)}{also}{own}"
