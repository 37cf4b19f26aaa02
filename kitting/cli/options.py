"""Options that several commands share, and how results leave the program."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kitting.errors import KittingError

if TYPE_CHECKING:
    from rich.console import Console
    from sqlalchemy import Engine

    from kitting.facts.units import Quantity

NO = 3  # exit code: the answer is no (a gap, a shortage, something to settle first)

Database = Annotated[
    str | None,
    typer.Option(
        "--database",
        metavar="URL",
        help="Where the catalogue is; else KITTING_DATABASE_URL, else kitting.db in this folder.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON with stable keys.")]
DryRun = Annotated[
    bool, typer.Option("--dry-run", help="Do everything but keep it.", show_default=False)
]
Registration = Annotated[str, typer.Argument(help="The car, by registration.")]
Jobs = Annotated[list[str], typer.Argument(help="Jobs, by code (or UNIT/CODE).")]
OnDate = Annotated[
    str | None,
    typer.Option("--on", metavar="DATE", help="The fitting date, such as 2026-04-15 (today)."),
]
Assume = Annotated[
    list[str] | None,
    typer.Option(
        "--assume",
        metavar="VARIANT=OPTION",
        help="Settle a variant for this answer only; nothing is recorded.",
    ),
]
Out = Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Where to write.")]
Branch = Annotated[
    str | None, typer.Option("--branch", help="The branch (the only one, if there is one).")
]
Shelf = Annotated[
    str, typer.Option("--shelf", help="Shelf-life policy: ISO 2230, ARP5316 or packet.")
]
Now = Annotated[
    str | None,
    typer.Option("--now", metavar="TIME", help="Judge as of then, such as '2026-04-02 14:20'."),
]
Boxes = Annotated[
    list[str] | None, typer.Option("--box", help="A toolbox; several may be named (all).")
]
Policy = Annotated[
    str,
    typer.Option(
        "--range", help="Valid part of a scale: marked (ISO 6789:2017) or fifth (20-100 %, 2003)."
    ),
]


def fitting_date(text: str | None, option: str = "--on") -> date:
    """The date asked for, else today; raises a usage error for anything else."""
    if text is None:
        return datetime.now().astimezone().date()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise typer.BadParameter(
            f"{text!r} is no date; write year-month-day, for example 2026-04-15",
            param_hint=option,
        ) from error


def moment(text: str | None) -> datetime:
    """The wall-clock time asked for, else now; raises a usage error for anything else."""
    if text is None:
        return datetime.now().replace(second=0, microsecond=0)  # noqa: DTZ005  (wall clock)
    try:
        return datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError as error:
        raise typer.BadParameter(
            f"{text!r} is no time; write for example '2026-04-02 14:20'", param_hint="--now"
        ) from error


def amount(text: str) -> Quantity:
    """An amount with its unit; raises FigureError."""
    from kitting.facts.units import parse_quantity

    return parse_quantity(text.strip())


def share(text: str) -> float:
    """A chance such as "95%"; raises a usage error for anything else."""
    figure = text.strip().removesuffix("%").strip()
    if not text.strip().endswith("%"):
        raise typer.BadParameter(f"{text!r}: write it with its sign, for example 95%")
    try:
        found = float(figure) / 100
    except ValueError as error:
        raise typer.BadParameter(f"{text!r}: write for example 95%", param_hint="--sure") from error
    if not 0 < found < 1:
        raise typer.BadParameter("a chance lies between 0% and 100%", param_hint="--sure")
    return found


def assumptions(pairs: Sequence[str] | None) -> dict[str, str]:
    """VARIANT=OPTION pairs as a dictionary; raises a usage error for anything else."""
    found = {}
    for pair in pairs or ():
        name, sign, option = pair.partition("=")
        if not (sign and name and option):
            raise typer.BadParameter(
                f"{pair!r} is no VARIANT=OPTION, for example cooler=late", param_hint="--assume"
            )
        found[name] = option
    return found


def open_database(url: str | None) -> Engine:
    """The database asked for; raises StoreError saying what to run if there is none."""
    from kitting.store import database_url, open_existing

    return open_existing(database_url(url))


def console() -> Console:
    """Where tables go: standard output, text from data never read as markup."""
    from rich.console import Console

    return Console(markup=False, highlight=False, emoji=False, soft_wrap=False)


def remark(text: str) -> None:
    """A remark beside the answer, on standard error."""
    print(text, file=sys.stderr)


def print_json(view: object) -> None:
    """A view as JSON on standard output."""
    from kitting.files.plain import as_plain

    print(json.dumps(as_plain(view), ensure_ascii=False, indent=2))


def write_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; raises KittingError naming the file and the reason."""
    temporary = path.with_name(f".{path.name}.part")
    try:
        temporary.write_bytes(content)
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise KittingError(
            f"{path}: cannot be written ({error.strerror}). Choose another place with --out"
        ) from error


def rows_of(values: Sequence[Any]) -> str:
    """Values as one cell: separated by commas."""
    return ", ".join(str(value) for value in values)
