"""The command that shows the guide."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import console


def register(root: typer.Typer) -> None:
    """Add the command."""
    root.command()(guide)


def guide(
    topic: Annotated[
        str | None,
        typer.Argument(metavar="TOPIC", help="A page, such as first-job; none: list the pages."),
    ] = None,
) -> None:
    """Show a page of the guide; without a topic, list the pages in the order of work.

    On a terminal it is set out for reading; into a pipe or a file it goes as plain Markdown.

    Example: kitting guide first-job
    """
    from kitting.cli.render.guide import show_page, show_pages
    from kitting.guide.pages import TOPICS, page, pages
    from kitting.services.lookup import lookup

    if topic is None:
        show_pages(console(), pages())
        return
    about = [one.topic for one in pages() if one.speaks_of(topic)]
    otherwise = f"See {' or '.join(about)}" if about else f"There are {', '.join(TOPICS)}"
    known = {name: name for name in TOPICS}
    show_page(console(), page(lookup("topic", topic, known, otherwise)))
