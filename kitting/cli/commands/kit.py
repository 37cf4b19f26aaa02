"""Commands about the kit as a thing: what lies in it, one more piece, back, exchanged, lent."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.kit_place import move
from kitting.cli.options import (
    NO,
    BookingNumber,
    By,
    Database,
    DryRun,
    Json,
    Now,
    amount,
    console,
    moment,
    open_database,
    print_json,
)
from kitting.cli.retry import insisted

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from kitting.facts.words import KitWhy
    from kitting.services.bookings.kit_moves import Moment, Piece
    from kitting.views.kit_life import KitChangeView

app = typer.Typer(
    help="Show the kit of a booking, and change what lies in it before the booking is closed.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Pieces = Annotated[str, typer.Argument(metavar="ITEM=AMOUNT", help="Which item, and how much.")]
OfLot = Annotated[
    str | None,
    typer.Option("--lot", metavar="LOT", help="Of which lot, if the kit holds it of several."),
]
Note = Annotated[str | None, typer.Option("--note", metavar="TEXT", help="Why, for the record.")]


def register(root: typer.Typer) -> None:
    """Add the commands."""
    app.command()(move)
    root.add_typer(app, name="kit")


@app.command()
def show(
    number: BookingNumber, now: Now = None, database: Database = None, as_json: Json = False
) -> None:
    """Show what lies in a kit now, lot by lot, and what happened to it.

    Where each came from and where it goes, how long it keeps, what nothing needs; what was lost,
    lent and put back, and why.

    Example: kitting kit show B0001
    """
    from kitting.cli.render.kit import show_kit
    from kitting.services.bookings.kit_contents import kit_contents
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = kit_contents(session, number, moment(now).date())
    if as_json:
        print_json(view)
    else:
        show_kit(console(), view)


@app.command()
def draw(
    number: BookingNumber,
    piece: Pieces,
    why: Annotated[
        str,
        typer.Option(
            "--why",
            metavar="WORD",
            help="lost, dropped, damaged or faulty: the former piece is gone; extra: one more is"
            " needed than planned.",
        ),
    ],
    text: Annotated[str, typer.Argument(metavar="TEXT", help="What happened, for the record.")],
    lot: OfLot = None,
    told_by: By = None,
    dry_run: DryRun = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Draw one more piece: the former one is gone and is written off with its reason.

    Taken of what is free and fit to use, first expired first out. Exit code 3 while the booking is
    short of it: buy it.

    Example: kitting kit draw B0001 "SEAL-INTAKE=1 each" --why dropped "fell behind the subframe"
    """
    from kitting.services.bookings import kit_moves

    told = kit_moves.Told(text, told_by, why=_why(why))
    what = _piece(piece, lot)
    _change(
        (database, now, dry_run, as_json),
        lambda engine, when: kit_moves.draw(engine, number, what, told, when),
    )


@app.command("return")
def give_back(
    number: BookingNumber,
    piece: Pieces,
    lot: OfLot = None,
    note: Note = None,
    told_by: By = None,
    dry_run: DryRun = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Put pieces of a kit back to their lot; what was opened stays opened.

    What the booking still needs of it stays promised to it; the rest is free. If a wrong piece was
    put in by mistake, put it back, then pick the right one.

    Example: kitting kit return B0001 "SEAL-INTAKE=1 each" --note "one too many on the tray"
    """
    from kitting.services.bookings import kit_moves

    told, what = kit_moves.Told(note, told_by), _piece(piece, lot)
    _change(
        (database, now, dry_run, as_json),
        lambda engine, when: kit_moves.give_back(engine, number, what, told, when),
    )


@app.command()
def swap(
    number: BookingNumber,
    piece: Pieces,
    lot: OfLot = None,
    instead: Annotated[
        str | None,
        typer.Option("--for", metavar="LOT", help="The lot that was really taken, or shall be."),
    ] = None,
    note: Note = None,
    told_by: By = None,
    dry_run: DryRun = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Exchange pieces of a kit for as many of another lot: the wrong ones go back.

    Without --for, of what expires first of the others. A wrong item is no other lot: put it back
    (return), then pick or draw the right one.

    Example: kitting kit swap B0001 "SEAL-INTAKE=2 each" --note "the older packet was taken"
    """
    from kitting.services.bookings import kit_moves

    told = kit_moves.Told(note, told_by)
    exchange = kit_moves.Exchange(_piece(piece, lot), instead)
    _change(
        (database, now, dry_run, as_json),
        lambda engine, when: kit_moves.swap(engine, number, exchange, told, when),
    )


@app.command()
def lend(
    number: BookingNumber,
    taker: Annotated[str, typer.Argument(help="The booking whose kit gets it.")],
    piece: Pieces,
    lot: OfLot = None,
    note: Note = None,
    told_by: By = None,
    dry_run: DryRun = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Lend pieces of a kit to another kit of the branch, with their lots.

    Only what the other lacks and what keeps until its day. Exit code 3 if the giver lacks it then;
    its confirmation is taken back.

    Example: kitting kit lend B0001 B0002 "SEAL-INTAKE=1 each" --note "B0002 goes first"
    """
    from kitting.services.bookings import kit_moves

    told = kit_moves.Told(note, told_by)
    loan = kit_moves.Loan(number, taker, _piece(piece, lot))
    _change(
        (database, now, dry_run, as_json),
        lambda engine, when: kit_moves.lend(engine, loan, told, when),
        taker.strip().upper(),
    )


@app.command()
def split(
    number: BookingNumber,
    trays: Annotated[
        list[str] | None,
        typer.Argument(metavar="JOINT=TRAY", help="Which joints' bags lie on which tray."),
    ] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Split a kit on trays by its joints; without a joint, show what lies on which tray.

    Bags that are not named lie on tray 1. Pick list and labels name the trays.

    Example: kitting kit split B0001 intake=2
    """
    from kitting.services.bookings import trays as kept
    from kitting.services.bookings.states import find_booking
    from kitting.store import reading
    from kitting.wording.kit_life import tray_text

    wanted, engine = _trays(trays or ()), open_database(database)
    if wanted:
        view = kept.split(engine, number, wanted)
    else:
        with reading(engine) as session:
            view = kept.tray_views(session, find_booking(session, number))
    if as_json:
        print_json(view)
    else:
        for tray in view:
            print(tray_text(tray))


@app.command()
def label(
    code: Annotated[str, typer.Argument(metavar="CODE", help="As it is read from a label.")],
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Tell of which kit and bag a label is, by its code, and whether the contents are as printed.

    Lots and trays may change while the contents do not: the earliest expiry, what is short and the
    tray are told as they are now. Exit code 3 where the contents have changed since the label was
    printed.

    Example: kitting kit label KM324YC0-01
    """
    from kitting.services.bookings.kit_labels import read_label
    from kitting.store import reading
    from kitting.wording.kit_life import label_text

    with reading(open_database(database)) as session:
        view = read_label(session, code, moment(now).date())
    if as_json:
        print_json(view)
    else:
        for text in label_text(view):
            print(text)
    if not view.current:
        raise typer.Exit(NO)


def _trays(texts: list[str] | tuple[str, ...]) -> dict[str, int]:
    found = {}
    for text in texts:
        joint, sign, tray = text.partition("=")
        if not sign or not tray.strip().isdecimal():
            raise typer.BadParameter(f"{text!r}: write JOINT=TRAY, for example intake=2")
        found[joint.strip()] = int(tray)
    return found


def _piece(text: str, lot: str | None) -> Piece:
    from kitting.services.bookings.kit_moves import Piece

    item, sign, quantity = text.partition("=")
    if not sign:
        raise typer.BadParameter(f"{text!r}: write ITEM=AMOUNT, for example SEAL-INTAKE=1")
    return Piece(item.strip(), amount(quantity), lot)


def _why(text: str) -> KitWhy:
    from kitting.facts.words import KitWhy

    word = text.strip().casefold()
    if word not in tuple(KitWhy):
        raise typer.BadParameter(f"{text!r} is none of {', '.join(KitWhy)}", param_hint="--why")
    return KitWhy(word)


def _change(
    asked: tuple[str | None, str | None, bool, bool],
    attempt: Callable[[Engine, Moment], KitChangeView],
    other: str | None = None,
) -> None:
    """Make a change of a kit and show it; exit code 3 where the booking then lacks the item."""
    from kitting.cli.render.kit import show_change
    from kitting.services.bookings.kit_moves import Moment

    database, now, dry_run, as_json = asked
    at = moment(now)
    view = insisted(
        database, lambda engine, token: attempt(engine, Moment(at, token, keep=not dry_run))
    )
    if as_json:
        print_json(view)
    else:
        show_change(console(), view, other)
    if view.short or view.taken_back:
        raise typer.Exit(NO)
