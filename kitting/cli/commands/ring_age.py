"""The command about the age of a ring: how long it keeps, by every policy."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.options import NO, Json, OnDate, console, fitting_date, print_json

if TYPE_CHECKING:
    from rich.console import Console

    from kitting.views.rubber import RingAgeView


def age(
    elastomer: Annotated[str, typer.Argument(help="By ISO 1629, such as NBR.")],
    made: Annotated[
        str, typer.Option("--made", metavar="DATE", help="Cure date: 2Q18, 2018-06, 2018-06-30.")
    ],
    on: OnDate = None,
    as_json: Json = False,
) -> None:
    """Tell how long a ring keeps by every policy, and whether it may be fitted on a date.

    The policies disagree; choose one with --shelf where stock is judged. Exit code 3 when none of
    them lets it be fitted on that date as it is, without a look.

    Example: kitting rings age NBR --made 2Q18 --on 2026-04-15
    """
    from kitting.services.rubber.storage_life import ring_age

    view = ring_age(elastomer, made, fitting_date(on))
    if as_json:
        print_json(view)
    else:
        show_age(console(), view)
    if all(one.fit != "yes" for one in view.policies):
        raise typer.Exit(NO)


def show_age(screen: Console, view: RingAgeView) -> None:
    """Policy by policy: the limit, the extension, where it is written; then how to store."""
    from kitting.cli.render.tables import plain_table

    screen.print(
        f"{view.elastomer}, made up to {view.made}, to be fitted on {view.on}", style="bold"
    )
    table = plain_table("policy", "may be fitted", "keeps to", "with a look", "source")
    for one in view.policies:
        keeps = str(one.limit) if one.limit else "unlimited" if one.fit == "yes" else one.reason
        look = f"+{one.extension} years, {one.extended}" if one.extension else "no extension"
        source = one.source or ""
        if one.dispute:
            source += f"; {one.dispute}"
        table.add_row(one.policy, one.fit.upper(), keeps, look, source)
    screen.print(table)
    screen.print(f"Stored as it should be ({view.storing_source}):")
    for text in view.storing:
        screen.print(f"  {text}")
    screen.print(view.warning)
