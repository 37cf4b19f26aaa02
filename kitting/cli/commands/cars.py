"""Commands about cars: car (add, note, show) and, kept apart, owner (set, show, forget)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import typer

from kitting.cli.options import (
    By,
    Database,
    DryRun,
    Json,
    Now,
    Registration,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
)

car = typer.Typer(
    help="Cars: a new one, notes on one, what is known of one.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
owner = typer.Typer(
    help="Owners of cars: personal data, kept apart. Local data protection rules apply.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
_ANSWERS = {"yes": True, "no": False}


def register(root: typer.Typer) -> None:
    """Add the commands."""
    root.add_typer(car, name="car")
    root.add_typer(owner, name="owner")


@car.command()
def add(
    registration: Registration,
    model: Annotated[
        str | None, typer.Option("--model", help="Its model, by code; a new car needs it.")
    ] = None,
    vin: Annotated[str | None, typer.Option("--vin", help="The VIN on its plate.")] = None,
    built: Annotated[
        str | None, typer.Option("--built", metavar="DATE", help="When it was built.")
    ] = None,
    equipment: Annotated[
        list[str] | None,
        typer.Option(
            "--equipment", metavar="CODE[=no]", help="What it has, or has not; may be repeated."
        ),
    ] = None,
    unit: Annotated[
        list[str] | None,
        typer.Option("--unit", help="A unit it carries, where they differ from its model's."),
    ] = None,
    correct: Annotated[
        str | None, typer.Option("--correct", help="Why what was known before is wrong.")
    ] = None,
    by: By = None,
    now: Now = None,
    dry_run: DryRun = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Record a new car, or more of what is known of one; what stays unknown is told.

    What is told here stays when a catalogue file is loaded that does not state it. What is known
    otherwise is refused unless it is corrected with a reason.

    Example: kitting car add "PELL 230" --model pell --built 2020-11-03 --by Ann
    """
    from kitting.services.cars.add import CarEntry, add_car

    entry = CarEntry(
        registration=registration,
        model=model,
        vin=vin,
        build_date=fitting_date(built, "--built") if built else None,
        units=unit or (),
        equipment=_equipment(equipment or ()),
        told_by=by,
        correct=correct,
    )
    done = add_car(open_database(database), entry, moment(now), dry_run=dry_run)
    if as_json:
        print_json(done.car)
    else:
        from kitting.cli.render.cars import show_facts

        show_facts(console(), done.car)
    if not done.changed:
        remark("nothing new: it was known so")
    if dry_run:
        remark("dry run: nothing was kept")


def _equipment(told: Sequence[str]) -> dict[str, bool]:
    """CODE, CODE=yes or CODE=no; raises a usage error for anything else."""
    found = {}
    for one in told:
        code, sign, answer = one.partition("=")
        present = _ANSWERS.get(answer.strip().casefold()) if sign else True
        if present is None or not code.strip():
            raise typer.BadParameter(
                f"{one!r}: write CODE, CODE=yes or CODE=no; leave out what is not known",
                param_hint="--equipment",
            )
        found[code.strip()] = present
    return found


@car.command()
def note(
    registration: Registration,
    text: Annotated[str, typer.Argument(help="The note: of the car, not of people.")],
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who says so.")],
    now: Now = None,
    database: Database = None,
) -> None:
    """Add a note to the history of a car, with its day and who says so; it is never altered.

    Example: kitting car note "PELL 117" "thread of the drain plug repaired with an insert" --by Ann
    """
    from kitting.services.cars.notes import note_car

    done = note_car(open_database(database), registration, text, by, moment(now))
    print(f"noted on {done.at:%Y-%m-%d}, {done.told_by}: {done.text}")


@car.command("show")
def show_car(registration: Registration, database: Database = None, as_json: Json = False) -> None:
    """Show what is known of a car and what is not, its notes and bookings, and what was fitted.

    Nothing of the owner is shown.

    Example: kitting car show "PELL 117"
    """
    from kitting.services.cars.view import car_view
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = car_view(session, registration)
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.cars import show_facts, show_history

        show_facts(console(), view)
        show_history(console(), view)


@owner.command("set")
def set_owner(
    registration: Registration,
    name: Annotated[str, typer.Option("--name", help="Whose car it is.")],
    telephone: Annotated[
        str | None, typer.Option("--telephone", "--phone", help="How to call them.")
    ] = None,
    now: Now = None,
    database: Database = None,
) -> None:
    """Write down whose car it is and how to call them, instead of who was there before.

    Example: kitting owner set "PELL 117" --name "A. Sample" --telephone "01632 960001"
    """
    from kitting.services.cars.owners import set_owner as write_down

    view = write_down(open_database(database), registration, name, telephone, moment(now))
    print(f"{view.registration}: the owner is written down, apart from everything else")


@owner.command("show")
def show_owner(
    registration: Registration, database: Database = None, as_json: Json = False
) -> None:
    """Show whose car it is and how to call them.

    Example: kitting owner show "PELL 117"
    """
    from kitting.services.cars.owners import show_owner as look_up

    view = look_up(open_database(database), registration)
    if as_json:
        print_json(view)
    else:
        called = view.telephone or "no telephone"
        print(f"{view.registration}: {view.name}, {called}, since {view.since:%Y-%m-%d}")


@owner.command()
def forget(registration: Registration, database: Database = None) -> None:
    """Remove the owner of a car; what is known of the car and was done to it stays.

    Example: kitting owner forget "PELL 117"
    """
    from kitting.services.cars.owners import forget_owner

    done = forget_owner(open_database(database), registration)
    print(f"{done.registration}: the owner is forgotten; the history of the car stays")
    remark("backups made before still hold it; backups made with --without-owners never did")
    if done.notes:
        remark(f"{done.notes} notes of the car name them, and notes are never altered")
