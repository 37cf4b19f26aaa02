"""The guide on the screen: set out on a terminal, plain Markdown elsewhere."""

from __future__ import annotations

import re
from collections.abc import Sequence

from rich.console import Console, ConsoleOptions, RenderResult
from rich.markdown import CodeBlock, Markdown
from rich.table import Table
from rich.text import Text
from rich.theme import Theme

from kitting.facts.control_characters import visible
from kitting.guide.pages import TOPICS, Page
from kitting.wording.language import _

_FENCE = re.compile(r"(^```.*?^```$)", re.DOTALL | re.MULTILINE)
_BEGIN = re.compile(r"\A(```\w+)[^\n]*")
_COMMENT = re.compile(r"<!--.*?-->\n?", re.DOTALL)
_PICTURE = re.compile(r"!\[([^\]]*)\]\([^)]*\)")
_LINK = re.compile(r"\[([^\]]+)\]\((?!https?://)([^)#]*)(?:#[^)]*)?\)")
_PAGE_FILE = ".md"
_COMMAND = "$ "
_WIDEST = 100  # columns of a line of prose that are read with ease; common practice, no source
# No colour behind it: readable on dark and on light.
_READABLE = Theme({"markdown.code": "bold"})


class _Code(CodeBlock):
    """Commands, outputs and files line by line as they are, so that they can be copied."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        for line in str(self.text).rstrip().splitlines():
            style = "bold" if line.startswith(_COMMAND) else ""
            yield Text(line, style, no_wrap=True, overflow="ignore")


class _SetOut(Markdown):
    elements = {**Markdown.elements, "fence": _Code, "code_block": _Code}  # noqa: RUF012


def show_pages(console: Console, pages: Sequence[Page]) -> None:
    """The list of pages, and how one of them is shown."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column(_("page"), no_wrap=True)
    table.add_column(_("what it tells"))
    for page in pages:
        table.add_row(page.topic, visible(_plain(page.about)))
    console.print(table)
    console.print()
    console.print(_("Show one with: {command}", command="kitting guide first-job"))


def show_page(console: Console, page: Page) -> None:
    """A page: set out on a terminal, else its Markdown."""
    text = visible(told(page.text))
    if not console.is_terminal:
        console.file.write(text)
        return
    with console.use_theme(_READABLE):
        width = min(console.width, _WIDEST)
        console.print(_SetOut(text, hyperlinks=False), width=width, crop=False)


def told(text: str) -> str:
    """The Markdown of a page as the program tells it.

    A link to another page names the command that shows it, one to a file of the project is its
    name, a picture is what it shows. Remarks for whoever keeps the page are left out.
    """
    parts = _FENCE.split(text)
    return "".join(
        _BEGIN.sub(r"\1", part) if part.startswith("```") else _without_files(part)
        for part in parts
    )


def _without_files(text: str) -> str:
    text = _PICTURE.sub(lambda match: f"*{_picture(match[1])}*", _COMMENT.sub("", text))
    return _LINK.sub(_link, text)


def _picture(shows: str) -> str:
    return _("Picture: {shows}", shows=" ".join(shows.split()))


def _link(match: re.Match[str]) -> str:
    shown, target = match[1], match[2]
    topic = target.removesuffix(_PAGE_FILE)
    if topic not in TOPICS:
        return shown
    page = f"`kitting guide {topic}`"
    return page if shown == topic else f"{shown} ({page})"


def _plain(sentence: str) -> str:
    """A sentence of a page without its marks."""
    return re.sub(r"[`*]", "", _without_files(sentence))
