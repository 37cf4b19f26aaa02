"""The command that writes what the database holds of units as a catalogue file: export."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import Database, Out, open_database, remark, write_file


def register(root: typer.Typer) -> None:
    """Add the command."""
    root.command()(export)


def export(
    units: Annotated[list[str] | None, typer.Argument(help="Units, by code.")] = None,
    every: Annotated[bool, typer.Option("--all", help="Every unit and item.")] = False,
    cars: Annotated[
        bool, typer.Option("--cars", help="Their cars too: registrations, VINs, history.")
    ] = False,
    out: Out = None,
    database: Database = None,
) -> None:
    """Write units as a catalogue file: with what they name, their models, and own words.

    Pairs and patterns are written out, and comments of the file that was loaded are lost. What
    comes with the program is left out, so is the workshop's policy for its kinds; suppliers,
    branches, prices and stock are no part of it, and of owners nothing is. Who wrote it stands in
    its head (about), or in comments where several did. Loading it again changes nothing.

    Example: kitting export grebe-4t --out grebe.yaml
    """
    from kitting.files.catalogue.canonical import catalogue_text
    from kitting.services.catalogue.exporting.catalogue import exported, origins_of
    from kitting.store import reading
    from kitting.wording.catalogue import heads_text

    if every == bool(units):
        raise typer.BadParameter("name units, or say --all", param_hint="UNITS")
    with reading(open_database(database)) as session:
        sections = exported(session, units or (), everything=every, cars=cars)
        origins = {} if "about" in sections else origins_of(session, sections)
    head = (
        "Written from a database: comments, pairs and patterns of the files that were loaded are"
        " not in it.",
        "Planning information, not a procedure: the maker's data, local rules and licensed practice"
        " go before it.",
        *heads_text(origins),
    )
    text = catalogue_text(sections, head)
    if out is None:
        print(text, end="")
        return
    write_file(out, text.encode())
    print(f"wrote {out}")
    if cars:
        remark("it names cars by registration: share it only where that may be known")
