"""The command about the age of a ring: how long it keeps, by every policy."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import NO, Json, OnDate, console, fitting_date, print_json


def age(
    elastomer: Annotated[str, typer.Argument(help="By ISO 1629, such as NBR.")],
    made: Annotated[
        str, typer.Option("--made", metavar="DATE", help="Cure date: 2Q18, 2018-06, 2018-06-30.")
    ],
    on: OnDate = None,
    as_json: Json = False,
) -> None:
    """Show how long a ring keeps by every policy, and whether it may be fitted on a date.

    The policies disagree; a branch has its own, and --shelf chooses another where stock is judged.
    Exit code 3 when none of them lets it be fitted on that date without an inspection.

    Example: kitting rings age NBR --made 2Q18 --on 2026-04-15
    """
    from kitting.services.rubber.storage_life import ring_age
    from kitting.views.rubber import StorageVerdict

    view = ring_age(elastomer, made, fitting_date(on))
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.rings import show_age

        show_age(console(), view)
    if all(one.fit is not StorageVerdict.YES for one in view.policies):
        raise typer.Exit(NO)
