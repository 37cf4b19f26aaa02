"""Commands about cars: car (add, note, show) and, kept apart, owner (set, show, forget)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kitting.cli.asking import NoInput, ask, at_a_terminal
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
from kitting.cli.render.days import day_text
from kitting.errors import FigureError
from kitting.facts.days import parse_day
from kitting.wording.language import _, told

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from kitting.facts.weights import CarWeight
    from kitting.services.cars.add import CarEntry

car = typer.Typer(
    help="Add a car, write notes on it, and show what is known of it.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
owner = typer.Typer(
    help="Keep the owners of cars, apart from the cars: personal data, for which local"
    " rules of data protection apply.",
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
    weight: Annotated[
        str | None,
        typer.Option(
            "--weight", metavar="WEIGHT", help="'1420 kg kerb', or weighed: '1610 kg as it stands'."
        ),
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
    no_input: NoInput = False,
    now: Now = None,
    dry_run: DryRun = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Record a new car, or more of what is known of one; what stays unknown is told.

    At a terminal a new car's model, VIN, build date and equipment are asked for where they are not
    given; an empty answer leaves them unknown, and nothing is kept before the last one. What is
    told here stays when a catalogue file is loaded that does not state it. What is known
    otherwise is refused unless it is corrected with a reason.

    Example: kitting car add "PELL 230" --model pell --built 2020-11-03 --by Ann
    """
    from kitting.services.cars.add import CarEntry, add_car

    entry = CarEntry(
        registration=registration,
        model=model,
        vin=vin,
        build_date=fitting_date(built, "--built") if built else None,
        weight=_weight(weight) if weight else None,
        units=unit or (),
        equipment=_equipment(equipment or ()),
        told_by=by,
        correct=correct,
    )
    engine = open_database(database)
    if not no_input and at_a_terminal():
        entry = _asked(engine, entry)
    done = add_car(engine, entry, moment(now), dry_run=dry_run)
    if as_json:
        print_json(done.car)
    else:
        from kitting.cli.render.cars import show_facts

        show_facts(console(), done.car)
    if not done.changed:
        remark(_("nothing new: it was known so"))
    if dry_run:
        remark(_("dry run: nothing was kept"))


def _asked(engine: Engine, entry: CarEntry) -> CarEntry:
    """What was told of a new car, with the answers to what was not; of one that is known as told.

    The answers are all there before anything is written.
    """
    from kitting.facts.vin import read_vin
    from kitting.services.cars.questions import (
        equipment_asked,
        is_known,
        known_model,
        model_codes,
    )
    from kitting.store import reading

    def read(what: Callable[..., Any], *given: object) -> Any:
        # No transaction waits for somebody who types.
        with reading(engine) as session:
            return what(session, *given)

    if read(is_known, entry.registration):
        return entry
    model = entry.model
    if model is None:
        codes = ", ".join(read(model_codes))
        model = ask(f"model ({codes})", lambda text: str(read(known_model, text)), needed=True)
    vin = entry.vin or ask("VIN on its plate (empty: not known)", read_vin)
    built = entry.build_date or ask("built on, such as 2020-11-03 (empty: not known)", parse_day)
    equipment = dict(entry.equipment)
    if not entry.units:
        for code in read(equipment_asked, model, built):
            if code not in equipment:
                answer = ask(f"{code} (yes, no, empty: not known)", _yes_or_no)
                if answer is not None:
                    equipment[code] = answer
    return replace(entry, model=model, vin=vin, build_date=built, equipment=equipment)


def _weight(text: str) -> CarWeight:
    """A weight and of what it is; raises a usage error."""
    from kitting.facts.weights import parse_weight

    try:
        return parse_weight(text)
    except FigureError as error:
        raise typer.BadParameter(told(error), param_hint="--weight") from error


def _yes_or_no(text: str) -> bool:
    answer = _ANSWERS.get(text.casefold())
    if answer is None:
        raise FigureError(
            "{text!r}: write yes or no; leave it empty where it is not known", text=text
        )
    return answer


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
    print(
        _(
            "noted on {at}, {told_by}: {text}",
            at=day_text(done.at),
            told_by=done.told_by,
            text=done.text,
        )
    )


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
    print(
        _(
            "{registration}: the owner is written down, apart from everything else",
            registration=view.registration,
        )
    )


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
        called = view.telephone or _("no telephone")
        print(
            _(
                "{registration}: {name}, {called}, since {since}",
                registration=view.registration,
                name=view.name,
                called=called,
                since=day_text(view.since),
            )
        )


@owner.command()
def forget(registration: Registration, database: Database = None) -> None:
    """Remove the owner of a car; what is known of the car and was done to it stays.

    Example: kitting owner forget "PELL 117"
    """
    from kitting.services.cars.owners import forget_owner

    done = forget_owner(open_database(database), registration)
    print(
        _(
            "{registration}: the owner is forgotten; the history of the car stays",
            registration=done.registration,
        )
    )
    remark(_("backups made before still hold it; backups made with --without-owners never did"))
    if done.notes:
        remark(
            _("{notes} notes of the car name them, and notes are never altered", notes=done.notes)
        )
