"""Commands of what a supplier owes: goods sent back, cores, warranty, and its credit notes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.orders import Item, Quantity, shown
from kitting.cli.options import Database, Json, Now, OrderNumber, amount, code_text, moment
from kitting.cli.retry import insisted

if TYPE_CHECKING:
    from kitting.facts.words import ClaimKind

Why = Annotated[str, typer.Option("--why", help="The reason.")]


def add_to(app: typer.Typer) -> None:
    """Add the commands to those of `order`."""
    for command in (core, warranty, credit):
        app.command()(command)
    app.command("return")(return_command)


def return_command(
    order: OrderNumber,
    item: Item,
    quantity: Quantity,
    why: Why,
    lot: Annotated[
        str | None,
        typer.Option("--lot", help="The lot it leaves; without, of what came damaged or wrong."),
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Send goods back to the supplier: they leave their lot, and their credit is expected.

    Example: kitting order return P0001 NUT-EXH-M8 "1 each" --lot P0001-NUT-EXH-M8 --why "too many"
    """
    from kitting.facts.words import ClaimKind

    _claim(order, (ClaimKind.RETURN, item, quantity, why, lot, None), (now, database), as_json)


def core(
    order: OrderNumber,
    item: Item,
    quantity: Quantity,
    why: Why = "old part handed in",
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Record that old parts were handed in, for which the core is refunded.

    Example: kitting order core P0001 COOLER-OIL-LATE "1 each"
    """
    from kitting.facts.words import ClaimKind

    _claim(order, (ClaimKind.CORE, item, quantity, why, None, None), (now, database), as_json)


def warranty(
    order: OrderNumber,
    item: Item,
    quantity: Quantity,
    why: Why,
    lot: Annotated[str | None, typer.Option("--lot", help="The lot that it is of.")] = None,
    booking: Annotated[
        str | None, typer.Option("--booking", help="The booking whose car it was fitted to.")
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Claim a part that failed under warranty, with the lot and the car it was fitted to.

    Example: kitting order warranty P0001 NUT-EXH-M8 "1 each" --lot P0001-NUT-EXH-M8 --why "cracked"
    """
    from kitting.facts.words import ClaimKind

    _claim(order, (ClaimKind.WARRANTY, item, quantity, why, lot, booking), (now, database), as_json)


def _claim(
    order: str,
    said: tuple[ClaimKind, str, str, str, str | None, str | None],
    where: tuple[str | None, str | None],
    as_json: bool,
) -> None:
    from kitting.services.purchasing.claims import NewClaim, claim

    kind, item, quantity, why, lot, booking = said
    new = NewClaim(kind, item, amount(quantity), why, lot, booking)
    now, database = where
    at = moment(now)
    shown(insisted(database, lambda engine, token: claim(engine, order, new, at, token)), as_json)


def credit(
    order: OrderNumber,
    claim: Annotated[int, typer.Argument(help="The number of the claim, as the order shows it.")],
    given: Annotated[
        str | None, typer.Argument(help="What is credited, such as '4.20 GBP'; 0 if refused.")
    ] = None,
    document: Annotated[
        str | None,
        typer.Option("--note-no", help="The number of the credit note.", callback=code_text),
    ] = None,
    why: Annotated[
        str | None, typer.Option("--why", help="What they say; of what is taken back: why.")
    ] = None,
    wrong: Annotated[
        bool, typer.Option("--take-back", help="That credit note was booked wrongly.")
    ] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Record a credit note for a claim, or that it was refused; the order's total follows.

    What was booked wrongly is taken back by its number and a reason: it counts as nothing and
    stays on record (kitting order credit P0001 1 --take-back --note-no CN-88 --why "of P0002").

    Example: kitting order credit P0001 1 "0.40 GBP" --note-no CN-88
    """
    from kitting.facts.money import parse_money
    from kitting.services.purchasing.credit_notes import Credit, TakeBack, take_back_credit
    from kitting.services.purchasing.credit_notes import credit as write_down

    if document is None:
        raise typer.BadParameter("give the number on the paper", param_hint="--note-no")
    if wrong:
        if given is not None:
            raise typer.BadParameter("what is taken back is named by its number alone")
        back, moment_of = TakeBack(claim, document, why or ""), moment(now)
        shown(
            insisted(
                database,
                lambda engine, token: take_back_credit(engine, order, back, moment_of, token),
            ),
            as_json,
        )
        return
    if given is None:
        raise typer.BadParameter("say what is credited, such as '4.20 GBP'; 0 if refused")
    nothing = "0" in given and not given.strip().strip("0.")
    note = Credit(claim, None if nothing else parse_money(given), document, why)
    at = moment(now)
    shown(
        insisted(database, lambda engine, token: write_down(engine, order, note, at, token)),
        as_json,
    )
