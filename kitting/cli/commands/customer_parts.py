"""The commands about parts that a customer brought."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.commands.scanned import Stated, with_scan
from kitting.cli.options import (
    Bin,
    By,
    Database,
    Json,
    Now,
    amount,
    fitting_date,
    moment,
    remark,
)
from kitting.cli.retry import insisted
from kitting.wording.language import _


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
    from kitting.facts.making import parse_made
    from kitting.services.bookings.customer_parts import CustomerPart, bring_part

    read = with_scan(database, None, Stated(item, None, made, expires, quantity))
    if read.lot is not None:
        remark(_("not used of the scan: (10){lot}", lot=read.lot))
    part = CustomerPart(
        item=read.item or item,
        quantity=amount(quantity),
        shown=shown,
        made=parse_made(read.made) if read.made else None,
        expires=fitting_date(read.expires, "--expires") if read.expires else None,
        bin=bin_name,
    )
    at = moment(now)
    view = insisted(database, lambda engine, token: bring_part(engine, number, part, at, token))
    answer_ready(view, as_json)


def handed_back(
    number: Annotated[str, typer.Argument(help="The booking whose customer gets it.")],
    item: Annotated[
        str | None, typer.Argument(help="The item; without one everything of theirs.")
    ] = None,
    quantity: Annotated[
        str | None, typer.Argument(help="How much, such as '1 each'; else all that is here.")
    ] = None,
    why: Annotated[str | None, typer.Option("--why", help="Why it was not fitted.")] = None,
    told_by: By = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Hand a customer's own parts back that lie on the shelf, also after their booking is over.

    What is in the kit is put back first. An open booking is promised ours instead where any are
    free. Exit code 3 while the kit of an open booking is not fine.

    Example: kitting booking handed-back B0001 SEAL-INTAKE --why "two were left over"
    """
    from kitting.cli.commands.bookings import answer, answer_ready
    from kitting.facts.words import OPEN_BOOKINGS
    from kitting.services.bookings.handed_back import HandBack, hand_back

    asked = HandBack(item, amount(quantity) if quantity else None, why, told_by)
    at = moment(now)
    view = insisted(database, lambda engine, token: hand_back(engine, number, asked, at, token))
    (answer_ready if view.state in OPEN_BOOKINGS else answer)(view, as_json)
