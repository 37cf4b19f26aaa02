"""The command about what has to set: does the car stand long enough?"""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import (
    NO,
    Assume,
    Database,
    Jobs,
    Json,
    OnDate,
    Registration,
    console,
    open_database,
    plan_request,
    print_json,
)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("cure")(cure_command)


def cure_command(
    registration: Registration,
    jobs: Jobs,
    parked: Annotated[
        str | None,
        typer.Option(
            "--parked",
            metavar="TIME",
            help="How long the car can stand after the last joint is closed, such as '3 h'.",
        ),
    ] = None,
    on: OnDate = None,
    assume: Assume = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show what has to set on a plan: where, how much, how long to work it and how long to wait.

    With --parked, whether the car stands long enough before fluids come in or the engine runs.
    Exit code 3 when it does not, when a product's own time is not known (with --parked or without),
    or when a job is stopped.

    Example: kitting cure "PELL 117" J3 --parked "3 h" --on 2026-04-15
    """
    from kitting.facts.durations import parse_minutes
    from kitting.facts.words import CureVerdict
    from kitting.services.tightening.cure_times import curing
    from kitting.store import reading

    minutes = None if parked is None else parse_minutes(parked)
    request = plan_request(registration, jobs, on, assume)
    with reading(open_database(database)) as session:
        view = curing(session, request, minutes)
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.curing import show_curing

        show_curing(console(), view)
    if view.stopped or view.verdict in (CureVerdict.NOT_ENOUGH, CureVerdict.UNKNOWN):
        raise typer.Exit(NO)
