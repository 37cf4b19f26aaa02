"""The command that lists the words of a catalogue: words."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import Database, Json, console, open_database, print_json, remark
from kitting.wording.language import _


def register(root: typer.Typer) -> None:
    """Add the command."""
    root.command()(words)


def words(
    name: Annotated[
        str | None, typer.Argument(metavar="LIST", help="One list, such as kinds; none: all.")
    ] = None,
    about: Annotated[
        str | None, typer.Option("--about", metavar="WORD", help="Only what is called so.")
    ] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List the words that a catalogue may use, and what each brings along.

    Kinds, fluids, systems, cautions, licences and tools may be added in a catalogue file; those
    that did not come with the program are marked as own.

    Example: kitting words kinds --about "hub nut"
    """
    from kitting.services.catalogue.words import word_lists
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = word_lists(session, name, about)
    if as_json:
        print_json(view)
        return
    from kitting.cli.render.words import show_words

    if not view.lists:
        remark(_("nothing is called {about}", about=repr(about)))
    show_words(console(), view, counts=name is None and about is None)
