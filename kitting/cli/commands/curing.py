"""The command about what has to set: does the car stand long enough?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

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

if TYPE_CHECKING:
    from rich.console import Console

    from kitting.views.tightening import CuringView


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
    """Tell what has to set on a plan: where, how much, how long to work it and how long to wait.

    With --parked, whether the car stands long enough before fluids come in or the engine runs.
    Exit code 3 when it does not, when a product's own time is not known, or when a job is stopped.

    Example: kitting cure "PELL 117" J3 --parked "3 h" --on 2026-04-15
    """
    from kitting.facts.units import parse_minutes
    from kitting.services.tightening.cure_times import curing
    from kitting.store import reading

    minutes = None if parked is None else parse_minutes(parked)
    request = plan_request(registration, jobs, on, assume)
    with reading(open_database(database)) as session:
        view = curing(session, request, minutes)
    if as_json:
        print_json(view)
    else:
        show_curing(console(), view)
    if view.stopped or view.verdict in ("not enough", "unknown"):
        raise typer.Exit(NO)


def show_curing(screen: Console, view: CuringView) -> None:
    """The verdict first, then each product with its places and times."""
    from kitting.calc.tightening.cure import VERDICTS, show_minutes
    from kitting.cli.render.tables import plain_table
    from kitting.facts.units import show_quantity
    from kitting.wording.everything import say

    jobs = ", ".join(view.jobs) or "nothing that may go on"
    screen.print(f"{view.vehicle} on {view.on}: {jobs}", style="bold")
    for reason in view.stopped:
        screen.print(say(reason))
    if view.parked_minutes is not None and view.verdict in VERDICTS:
        stands = (
            f"{str(view.verdict).upper()}: the car can stand {show_minutes(view.parked_minutes)}"
        )
        screen.print(stands, style="bold")
    asked = view.parked_minutes is not None
    table = plain_table("product", "where", "how much", "times", *(["verdict"] if asked else []))
    for product in view.products:
        table.add_row(
            f"{product.item} {product.name}",
            "\n".join(f"{place.where}: {place.name}" for place in product.places),
            "\n".join(
                f"{show_quantity(place.quantity, product.unit)} ({say(place.how)})"
                for place in product.places
            ),
            product.told,
            *([f"{product.verdict.upper()} ({product.why})"] if product.verdict else []),
        )
    if view.products:
        screen.print(table)
        screen.print(view.remark)
    else:
        screen.print(
            "No product of this plan has times of its own or is laid by bead, film or drop. What"
            " else is put on is not judged here."
        )
