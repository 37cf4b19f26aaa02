"""The commands that write a catalogue: export, workbook."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kitting.cli.options import Database, Out, open_database, remark, write_file
from kitting.wording.language import _

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    Sections = Mapping[str, Any]

_HEAD = (
    "Written from a database: comments, pairs and patterns of the files that were loaded are not in"
    " it.",
    "Planning information, not a procedure: the maker's data, local rules and licensed practice go"
    " before it.",
)
_HOW_TO = (
    "A catalogue workbook: one row is one thing. 'kitting check' reads it as it is, and names every"
    " fault by sheet, row and column; 'kitting load' loads it.",
    "A column in yellow has to be filled in, one in blue says what the row belongs to; all others"
    " may stay empty, and what is not stated counts as unknown. Each heading has a comment.",
    "A figure is typed with its unit (17 mm, 20 N·m, 0.4 h). Several codes go in one cell with"
    " commas: A1, A2. Where there is one unit, the column 'unit' may stay empty.",
    "Pairs: write the sides of a joint or step (left, right), and what differs as"
    " {left: HOSE-L, right: HOSE-R}. They are seen from the driver's seat.",
    "A joint 'like' a pattern has its parts in sheet 'parts'; 'kitting words patterns' lists them.",
    "Planning information, not a procedure: the maker's data, local rules and licensed practice go"
    " before it.",
)
_CARS = "it names cars by registration: share it only where that may be known"

Units = Annotated[list[str] | None, typer.Argument(help="Units, by code.")]
Every = Annotated[bool, typer.Option("--all", help="Every unit and item.")]
Cars = Annotated[bool, typer.Option("--cars", help="Their cars too: registrations, VINs, history.")]


def register(root: typer.Typer) -> None:
    """Add the commands."""
    root.command()(export)
    root.command()(workbook)


def export(
    units: Units = None,
    every: Every = False,
    cars: Cars = False,
    out: Out = None,
    database: Database = None,
) -> None:
    """Write units as a catalogue file: with what they name, their models, and own words.

    Units that their work needs go along. A model goes along with all of its units, or is left out.
    Pairs and patterns are written out, and comments of the file that was loaded are lost. What
    comes with the program is left out, so is the workshop's policy for its kinds; suppliers,
    branches, prices and stock are no part of it, and of owners nothing is. Who wrote it stands in
    its head (about), or in comments where several did. Loading it again changes nothing. A file
    that ends in .xlsx is written as a workbook.

    Example: kitting export grebe-4t --out grebe.yaml
    """
    from kitting.files.spreadsheets import OTHER_SPREADSHEETS
    from kitting.services.catalogue.exporting.catalogue import exported
    from kitting.store import reading

    if every == bool(units):
        raise typer.BadParameter("name units, or say --all", param_hint="UNITS")
    if out is not None and out.suffix.casefold() in OTHER_SPREADSHEETS:
        raise typer.BadParameter(
            f"{out.suffix} is not written: end it in .yaml or .xlsx", param_hint="--out"
        )
    with reading(open_database(database)) as session:
        sections = exported(session, units or (), everything=every, cars=cars)
        content = _content(session, sections, as_workbook=out is not None and _is_workbook(out))
        told = _told(session, units)
    for text in told:
        remark(text)
    if out is None:
        print(content.decode(), end="")
        return
    write_file(out, content)
    print(_("wrote {out}", out=out))
    if cars:
        remark(_CARS)


def workbook(
    file: Annotated[Path, typer.Argument(help="The workbook to write, such as my-engine.xlsx.")],
    units: Annotated[list[str] | None, typer.Argument(help="Units to write into it.")] = None,
    every: Every = False,
    cars: Cars = False,
    database: Database = None,
) -> None:
    """Write a catalogue workbook (XLSX): empty, or with what the database holds of units.

    One row is one thing. Drop-down lists offer the words that are known, and each heading has a
    comment that says what goes there. `check` and `load` read it as they read YAML.

    Example: kitting workbook my-engine.xlsx
    """
    from kitting.cli.options import any_database
    from kitting.services.catalogue.exporting.catalogue import exported
    from kitting.store import reading

    if not _is_workbook(file):
        raise typer.BadParameter("it ends in .xlsx", param_hint="FILE")
    if every and units:
        raise typer.BadParameter("name units, or say --all", param_hint="UNITS")
    filled = every or bool(units)
    engine = open_database(database) if filled else any_database(database)
    told: list[str] = []
    if engine is None:
        content = _content(None, {}, as_workbook=True)
    else:
        with reading(engine) as session:
            sections = exported(session, units or (), everything=every, cars=cars) if filled else {}
            content = _content(session, sections, as_workbook=True)
            told = _told(session, units)
    write_file(file, content)
    for text in told:
        remark(text)
    print(_("wrote {file}", file=file))
    if cars and filled:
        remark(_CARS)


def _told(session: Session, units: Sequence[str] | None) -> list[str]:
    """What is in the file of some units beside them, and what is not."""
    from kitting.services.catalogue.exporting.catalogue import export_remarks_of
    from kitting.wording.reasons import say

    return [say(one) for one in export_remarks_of(session, units or ())]


def _is_workbook(file: Path) -> bool:
    from kitting.files.spreadsheets import XLSX

    return file.suffix.casefold() == XLSX


def _content(session: Session | None, sections: Sections, *, as_workbook: bool) -> bytes:
    from kitting.files.catalogue.canonical import catalogue_text
    from kitting.services.catalogue.exporting.catalogue import origins_of
    from kitting.services.catalogue.workbooks import catalogue_workbook
    from kitting.wording.catalogue import heads_text

    written_by: list[str] = []
    if session is not None and "about" not in sections:
        written_by = heads_text(origins_of(session, sections))
    if as_workbook:
        return catalogue_workbook(session, sections, (*_HOW_TO, *written_by))
    return catalogue_text(sections, (*_HEAD, *written_by)).encode()
