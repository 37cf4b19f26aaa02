"""Commands at the bench and the ramp: pick, count, close, van."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.bookings import Number, answer, answer_ready
from kitting.cli.options import (
    NO,
    Boxes,
    Database,
    Json,
    Now,
    OnDate,
    amount,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
)
from kitting.cli.retry import insisted

if TYPE_CHECKING:
    from kitting.facts.units import Quantity


def register(root: typer.Typer) -> None:
    """Add the commands."""
    root.command()(pick)
    root.command()(count)
    root.command()(close)
    root.command()(correct)
    root.command()(van)


def pick(number: Number, now: Now = None, database: Database = None, as_json: Json = False) -> None:
    """Put into the kit what is promised from the shelves; what is on hold or expired stays there.

    Exit code 3 when the kit is not whole yet.

    Example: kitting pick B0001
    """
    from kitting.services.bookings import pick as picking

    at = moment(now)
    view = insisted(database, lambda engine, token: picking.pick(engine, number, at, token))
    answer_ready(view, as_json)


def count(
    number: Number,
    counts: Annotated[
        list[str] | None, typer.Argument(help="JOINT=PIECES, several if you like.")
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Count old seals out of joints; without one, show what has to come out and what did.

    Exit code 3 while a count differs: the refit sheet is withheld.

    Example: kitting count B0001 intake=5
    """
    from kitting.cli.render.bookings import show_removal
    from kitting.services.bookings.seal_count import count_seals, removal_view
    from kitting.services.bookings.states import find_booking
    from kitting.store import reading

    engine, counted = open_database(database), {}
    for text in counts or ():
        joint, sign, pieces = text.partition("=")
        if not sign or not pieces.strip().isdecimal():
            raise typer.BadParameter(f"{text!r}: write JOINT=PIECES, for example intake=5")
        counted[joint.strip()] = int(pieces)
    if counted:
        view = count_seals(engine, number, counted, moment(now))
    else:
        with reading(engine) as session:
            view = removal_view(session, find_booking(session, number))
    if as_json:
        print_json(view)
    else:
        show_removal(console(), view)
    if view.withheld:
        raise typer.Exit(NO)


def close(
    number: Number,
    back: Annotated[
        list[str] | None, typer.Option("--back", help="Not used: ITEM=AMOUNT, may be repeated.")
    ] = None,
    spoilt: Annotated[
        list[str] | None, typer.Option("--spoilt", help="Scrapped: ITEM=AMOUNT, may be repeated.")
    ] = None,
    despite: Annotated[
        str | None,
        typer.Option(
            "--despite",
            help="Close even if seals are uncounted or a part was not renewed: the reason.",
        ),
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Close a booking: what was picked was used, but for what came back or was scrapped.

    Spares of positions that passed go back by themselves. Refused while old seals are not counted
    out of every joint, something in the kit is on hold or expired by now, a part that has to be
    renewed or a consumable is not in the kit, or such a part came back or was scrapped, unless a
    reason is given, which stays on record.

    Example: kitting close B0001 --back "CLIP-CONNECTOR=3 each"
    """
    from kitting.services.bookings.close import Closing
    from kitting.services.bookings.close import close as close_booking

    returned, scrapped = _amounts(back or (), "--back"), _amounts(spoilt or (), "--spoilt")
    closing = Closing(
        {code: one.thousandths for code, one in returned.items()},
        {code: one.thousandths for code, one in scrapped.items()},
        {code: one.unit for code, one in (*returned.items(), *scrapped.items())},
    )
    at = moment(now)
    view = insisted(
        database,
        lambda engine, token: close_booking(engine, number, closing, at, despite, token),
    )
    answer(view, as_json)


def correct(
    number: Number,
    why: Annotated[str, typer.Option("--why", help="What was recorded wrongly.")],
    back: Annotated[
        str | None, typer.Option("--back", help="Not used after all: ITEM=AMOUNT.")
    ] = None,
    used: Annotated[str | None, typer.Option("--used", help="Used after all: ITEM=AMOUNT.")] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Put right what a closed booking says of an item, by an entry beside the first one.

    What was not used goes back to its lot, what was used leaves it; nothing is erased.

    Example: kitting correct B0001 --back "CAP-PLUG=1 each" --why "one was left over"
    """
    from kitting.services.bookings.correct import Correction
    from kitting.services.bookings.correct import correct as correct_booking

    if (back is None) == (used is None):
        raise typer.BadParameter("name one of --back and --used")
    option, text = ("--back", back) if back is not None else ("--used", used or "")
    ((item, quantity),) = _amounts([text], option).items()
    wrong = Correction(item, quantity, back is not None, why)
    at = moment(now)
    view = insisted(
        database, lambda engine, token: correct_booking(engine, number, wrong, at, token)
    )
    answer(view, as_json)


def _amounts(texts: Sequence[str], option: str) -> dict[str, Quantity]:
    found = {}
    for text in texts:
        item, sign, quantity = text.partition("=")
        if not sign:
            raise typer.BadParameter(f"{text!r}: write ITEM=AMOUNT", param_hint=option)
        found[item.strip()] = amount(quantity)
    return found


def van(
    branch: Annotated[str, typer.Argument(help="The van, by its branch.")],
    on: OnDate = None,
    boxes: Boxes = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show a day's stops of a van: what to load, tools missing, and unaccounted parts.

    Exit code 3 while a kit lacks something, a tool is missing, or picked parts are unaccounted for.

    Example: kitting van van1 --on 2026-04-09 --box van
    """
    from kitting.cli.render.bookings import show_van
    from kitting.services.bookings.van_day import van as find
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = find(session, branch, fitting_date(on), boxes or (), fitting_date(None))
    if as_json:
        print_json(view)
    else:
        show_van(console(), view)
    if view.tools or view.unaccounted or any(stop.doubts for stop in view.stops):
        raise typer.Exit(NO)
