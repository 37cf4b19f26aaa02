"""Commands about holds: put a batch on hold, release it."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.commands.scanned import ScannedItem, ScannedLot, named_lot
from kitting.cli.options import By, Database, Now, console, moment, open_database
from kitting.wording.language import _

BranchName = Annotated[str, typer.Argument(help="The branch.")]
WhyHeld = Annotated[str, typer.Option("--why", help="The reason, shown wherever the lot is.")]


def hold(
    branch: BranchName,
    item: ScannedItem,
    lot: ScannedLot,
    why: WhyHeld,
    told_by: By = None,
    now: Now = None,
    database: Database = None,
) -> None:
    """Put a batch on hold in every branch: nobody may take from it until it is released.

    What was opened of it is on hold too, and what arrives later. See kitting recall for the rest.

    Example: kitting stock hold upper RING-NBR-11X2 N11-24 --why "wrong colour in the bag"
    """
    from kitting.cli.render.stock import show_hold
    from kitting.services.stock.holds import Said, put_on_hold

    name, said = named_lot(database, branch, item, lot), Said(why, told_by)
    view = put_on_hold(open_database(database), name, said, moment(now))
    show_hold(
        console(),
        view,
        _(
            "{item} {lot}: on hold (number {number}), {why}",
            item=name.item,
            lot=name.lot,
            number=view.number,
            why=why,
        ),
    )


def release(
    branch: BranchName,
    item: ScannedItem,
    lot: ScannedLot,
    hold: Annotated[
        str | None,
        typer.Option("--hold", metavar="NUMBER", help="Which one; 'own': that of this lot alone."),
    ] = None,
    why: Annotated[str | None, typer.Option("--why", help="The reason, for the ledger.")] = None,
    told_by: By = None,
    now: Now = None,
    database: Database = None,
) -> None:
    """End a hold, for all that it holds: a lot of its own, or a batch in every branch.

    What is on another hold stays so.

    Example: kitting stock release upper RING-NBR-11X2 N11-24
    """
    from kitting.cli.render.stock import show_hold
    from kitting.services.stock.holds import Said
    from kitting.services.stock.holds import release as let_use

    name, said = named_lot(database, branch, item, lot), Said(why, told_by)
    view = let_use(open_database(database), name, moment(now), said, hold)
    still = f", but still on hold: {view.on_hold}" if view.on_hold else ""
    show_hold(
        console(),
        view,
        _("{item} {lot}: released{still}", item=name.item, lot=name.lot, still=still),
    )
