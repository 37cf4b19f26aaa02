"""The command about parts that a customer brought."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import Bin, Database, Json, Now, amount, fitting_date, moment
from kitting.cli.retry import insisted


def brought(
    number: Annotated[str, typer.Argument(help="The booking whose customer brought it.")],
    item: Annotated[str, typer.Argument(help="The item that it is shown to be.")],
    quantity: Annotated[str, typer.Argument(help="How much, such as '1 each'.")],
    shown: Annotated[str, typer.Option("--shown", help="What on it shows which part it is.")],
    made: Annotated[str | None, typer.Option("--made", help="When it was made: 1Q26.")] = None,
    expires: Annotated[str | None, typer.Option("--expires", help="The date printed.")] = None,
    bin_name: Bin = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Take in a customer's own part for their booking: promised to no other, theirs throughout.

    It is judged as the item that it is shown to be; without dates, the age of rubber cannot be
    proven. Exit code 3 while the kit is not fine.

    Example: kitting booking brought B0001 SEAL-INTAKE "1 each" --shown "number on the bag"
    """
    from kitting.cli.commands.bookings import answer_ready
    from kitting.facts.shelf_life import parse_made
    from kitting.services.bookings.customer_parts import CustomerPart, bring_part

    part = CustomerPart(
        item=item,
        quantity=amount(quantity),
        shown=shown,
        made=parse_made(made) if made else None,
        expires=fitting_date(expires, "--expires") if expires else None,
        bin=bin_name,
    )
    at = moment(now)
    view = insisted(database, lambda engine, token: bring_part(engine, number, part, at, token))
    answer_ready(view, as_json)
