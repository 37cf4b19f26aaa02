"""Options that several commands share, and how results leave the program."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli import clock
from kitting.errors import FigureError, KittingError, StoreError
from kitting.facts.bounds import CODE_SIGNS, WORD_SIGNS, one_line, possible_day
from kitting.facts.days import parse_day
from kitting.facts.words import ShelfPolicy

if TYPE_CHECKING:
    from rich.console import Console
    from sqlalchemy import Engine

    from kitting.facts.units import Quantity
    from kitting.services.planning.request import PlanRequest, ToolRequest

_opened: list[Engine] = []

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
Choose = Annotated[
    list[str] | None,
    typer.Option(
        "--choose",
        metavar="SPLIT=OPTION",
        help="What the customer chooses, where a job asks for it.",
    ),
]
Out = Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Where to write.")]
BookingNumber = Annotated[
    str, typer.Argument(help="The number of the booking, or its last digits: B0012, 12.")
]
OrderNumber = Annotated[
    str, typer.Argument(help="The number of the order, or its last digits: P0012, 12.")
]
Branch = Annotated[
    str | None, typer.Option("--branch", help="The branch (the only one, if there is one).")
]
OfCar = Annotated[str | None, typer.Option("--car", help="Only of this car.")]
OfItem = Annotated[str | None, typer.Option("--item", help="Only with this item.")]
Overdue = Annotated[bool, typer.Option("--overdue", help="Only open ones whose day is past.")]
Now = Annotated[
    str | None,
    typer.Option(
        "--now",
        metavar="TIME",
        help="Judge as of then, by the branch's clock, such as '2026-04-02 14:20'.",
    ),
]


def code_text(text: str | None) -> str | None:
    """A text that is kept as a code, 40 signs at most; raises a usage error for a longer one."""
    return _kept(text, CODE_SIGNS)


def word_text(text: str | None) -> str | None:
    """A text that is kept as a word, 20 signs at most; raises a usage error for a longer one."""
    return _kept(text, WORD_SIGNS)


def _kept(text: str | None, most: int) -> str | None:
    try:
        return text if text is None else one_line(text, most)
    except FigureError as error:
        from kitting.wording.language import told

        raise typer.BadParameter(told(error)) from error


By = Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who says so.")]
Bin = Annotated[
    str | None, typer.Option("--bin", help="The bin where it is put.", callback=word_text)
]
Batch = Annotated[
    str | None,
    typer.Option("--lot", help="The lot or batch on the packet.", callback=code_text),
]
Boxes = Annotated[
    list[str] | None, typer.Option("--box", help="A toolbox; several may be named (all).")
]
Currency = Annotated[
    str | None,
    typer.Option(
        "--currency", metavar="CODE", help="Buy in this currency, such as GBP; leave others out."
    ),
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
        return clock.today()
    try:
        return parse_day(text)
    except FigureError as error:
        from kitting.wording.language import told

        raise typer.BadParameter(told(error), param_hint=option) from error


def moment(text: str | None) -> datetime:
    """The time asked for, else now, on the wall of the branch; raises a usage error otherwise."""
    if text is None:
        return clock.now()
    try:
        found = datetime.fromisoformat(text)
        possible_day(found.date())
        aware = found.tzinfo is not None
        wall = clock.on_the_wall(found) if aware else clock.on_this_wall(found)
    except FigureError as error:
        from kitting.wording.language import told

        raise typer.BadParameter(told(error), param_hint="--now") from error
    except (ValueError, OverflowError, OSError) as error:
        raise typer.BadParameter(
            f"{text!r} is no time; write for example '2026-04-02 14:20'", param_hint="--now"
        ) from error
    return wall


def amount(text: str) -> Quantity:
    """An amount with its unit; raises FigureError."""
    from kitting.facts.units import parse_quantity

    return parse_quantity(text.strip())


def share(text: str, option: str = "--sure") -> float:
    """A chance such as "95%"; raises a usage error, naming the option, for anything else."""
    figure = text.strip().removesuffix("%").strip()
    if not text.strip().endswith("%"):
        raise typer.BadParameter(
            f"{text!r}: write it with its sign, for example 95%", param_hint=option
        )
    try:
        found = float(figure) / 100
    except ValueError as error:
        raise typer.BadParameter(f"{text!r}: write for example 95%", param_hint=option) from error
    if not 0 < found < 1:
        raise typer.BadParameter("a chance lies between 0% and 100%", param_hint=option)
    return found


def shelf_policy(text: str | None) -> ShelfPolicy | None:
    """The policy of storage life asked for, if one is; raises a usage error for anything else."""
    if text is None:
        return None
    word = {policy.casefold(): policy for policy in ShelfPolicy}.get(text.strip().casefold())
    if word is None:
        raise typer.BadParameter(
            f"{text!r} is no policy of storage life; write {', '.join(ShelfPolicy)}",
            param_hint="--shelf",
        )
    return word


def choices(pairs: Sequence[str] | None) -> dict[str, str]:
    """What the customer chooses, by split; raises a usage error for what is no SPLIT=OPTION."""
    return _pairs(pairs, "SPLIT=OPTION, for example pads=long-life", "--choose")


def assumptions(pairs: Sequence[str] | None) -> dict[str, str]:
    """VARIANT=OPTION pairs as a dictionary; raises a usage error for anything else."""
    return _pairs(pairs, "VARIANT=OPTION, for example cooler=late", "--assume")


def _pairs(pairs: Sequence[str] | None, form: str, hint: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for pair in pairs or ():
        name, sign, option = pair.partition("=")
        if not (sign and name and option):
            raise typer.BadParameter(f"{pair!r} is no {form}", param_hint=hint)
        if found.setdefault(name, option) != option:
            raise typer.BadParameter(
                f"{name} cannot be both {found[name]} and {option}", param_hint=hint
            )
    return found


def plan_request(
    registration: str, jobs: Sequence[str], on: str | None, assume: Sequence[str] | None
) -> PlanRequest:
    """What the shared arguments ask of a plan."""
    from kitting.services.planning.request import PlanRequest

    return PlanRequest(registration, tuple(jobs), fitting_date(on), assumptions(assume))


def tool_request(
    plan: PlanRequest, boxes: Sequence[str] | None, policy: str, currency: str | None = None
) -> ToolRequest:
    """What is asked of the toolboxes for a plan; raises FigureError for an unknown range policy."""
    from kitting.facts.torque_tools import parse_range_policy
    from kitting.services.planning.request import ToolRequest

    named = currency.strip().upper() if currency else None
    today = fitting_date(None)
    return ToolRequest(plan, tuple(boxes or ()), parse_range_policy(policy), named, today)


def open_database(url: str | None) -> Engine:
    """The database asked for; raises StoreError saying what to run if there is none."""
    from kitting.store import database_url, open_existing

    engine = open_existing(database_url(url))
    _opened.append(engine)
    return engine


def any_database(url: str | None) -> Engine | None:
    """The database, or None where none was named and there is none."""
    try:
        return open_database(url)
    except StoreError:
        if url is not None:
            raise
        return None


def close_databases() -> None:
    """Close every database that a command opened."""
    while _opened:
        _opened.pop().dispose()


def console() -> Console:
    """Where tables go: standard output, text from data never read as markup."""
    from kitting.cli.screen import console

    return console()


def remark(text: str) -> None:
    """A remark beside the answer, on standard error."""
    print(text, file=sys.stderr)


def print_json(view: object) -> None:
    """A view as JSON on standard output."""
    from kitting.files.output.plain import as_plain

    print_plain_json(as_plain(view))


def print_plain_json(plain: object) -> None:
    """Plain data as JSON on standard output, which loses no letter where that has few."""
    from kitting.files.output.plain import json_text

    coding = (sys.stdout.encoding or "").casefold().replace("-", "")
    print(json_text(plain, ascii_only=not coding.startswith("utf")))


def write_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; raises KittingError naming the file and the reason.

    Links are followed. A device or a pipe is written to: nothing takes its place. Neither a
    database in use nor a file of another kind is written over.
    """
    from kitting.files.output.overwriting import refuse_other_kind

    if path == Path("-"):
        raise KittingError("'-' is no name of a file. Name one, such as out.pdf")
    try:
        refuse_other_kind(path, content, _databases())
        if path.exists() and not path.is_file() and not path.is_dir():
            path.write_bytes(content)
        else:
            _write_beside(path.resolve(), content)
    except OSError as error:
        raise KittingError(
            "{path}: cannot be written ({reason}). Choose another place with --out",
            path=path,
            reason=error.strerror,
        ) from error


def _databases() -> tuple[Path, ...]:
    """The SQLite files that this command has open."""
    urls = (engine.url for engine in _opened if engine.dialect.name == "sqlite")
    return tuple(Path(url.database) for url in urls if url.database)


def _write_beside(target: Path, content: bytes) -> None:
    import secrets

    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
    temporary = target.with_name(f".kitting-{secrets.token_hex(6)}.part")
    try:
        temporary.write_bytes(content)
        temporary.replace(target)
    finally:
        with suppress(OSError):
            temporary.unlink()
