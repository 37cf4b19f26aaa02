"""The command of the day: today."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import (
    NO,
    Database,
    Json,
    Now,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    share,
)


def register(root: typer.Typer) -> None:
    """Add the command."""
    root.command()(today)


def today(
    branch: Annotated[str | None, typer.Option("--branch", help="A branch (all).")] = None,
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="Another day, as it begins (today, as it is)."),
    ] = None,
    sure: Annotated[
        str, typer.Option("--sure", help="The chance asked for that what is ordered is in time.")
    ] = "95%",
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show what slips first today: orders before their cut-offs, cars that cannot start, kits.

    Every open booking is judged at its own date, and each row names the command that answers it.
    Exit code 3 while something slips.

    Example: kitting today --branch upper --now "2026-04-02 14:20"
    """
    from kitting.cli.render.today import show_today
    from kitting.services.day.today import TodayRequest
    from kitting.services.day.today import today as find
    from kitting.store import reading

    request = TodayRequest(branch, share(sure), fitting_date(on) if on else None)
    with reading(open_database(database)) as session:
        view = find(session, request, moment(now))
    if as_json:
        print_json(view)
    else:
        show_today(console(), view)
    if view.slips:
        raise typer.Exit(NO)
