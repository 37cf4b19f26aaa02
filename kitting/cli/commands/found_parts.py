"""The command for what is found while a car is stripped: note."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.asking import NoInput, ask, at_a_terminal
from kitting.cli.options import (
    By,
    Database,
    Json,
    Now,
    Registration,
    moment,
    open_database,
    print_json,
    remark,
    write_file,
)
from kitting.wording.language import _

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy import Engine

    from kitting.facts.found_fields import FoundField
    from kitting.files.pictures import Picture
    from kitting.views.cars import FoundPartView

_Text = str | None


def register(root: typer.Typer) -> None:
    """Add the command."""
    root.command()(note)


def note(
    registration: Registration,
    joint: Annotated[_Text, typer.Option("--joint", help="What was opened.")] = None,
    position: Annotated[_Text, typer.Option("--position", help="The part's place in it.")] = None,
    kind: Annotated[_Text, typer.Option("--kind", help="The kind of part.")] = None,
    count: Annotated[_Text, typer.Option("--count", help="How many there are.")] = None,
    thread: Annotated[_Text, typer.Option("--thread", help="Such as 'M12 x 1.5'.")] = None,
    head: Annotated[_Text, typer.Option("--head", help="Such as 'hexagon 17 mm'.")] = None,
    figure: Annotated[_Text, typer.Option("--figure", help="Such as '60 N·m; +90°'.")] = None,
    source: Annotated[_Text, typer.Option("--source", help="Where the figure was read.")] = None,
    size: Annotated[_Text, typer.Option("--size", help="Such as '17 x 2.5 mm'.")] = None,
    seen: Annotated[_Text, typer.Option("--seen", help="Colour, marks, number, damage.")] = None,
    photo: Annotated[
        Path | None,
        typer.Option("--photo", metavar="FILE", help="A picture of it: JPEG, PNG or WebP."),
    ] = None,
    back: Annotated[
        int | None,
        typer.Option("--take-back", metavar="NUMBER", help="Take back what was noted by mistake."),
    ] = None,
    draft: Annotated[
        Path | None,
        typer.Option("--draft", metavar="FILE", help="Write a catalogue file of what was noted."),
    ] = None,
    unit: Annotated[
        _Text, typer.Option("--unit", help="With --draft: the code of the unit.")
    ] = None,
    by: By = None,
    no_input: NoInput = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Note what is found while a car is stripped, part by part; show it; make a catalogue of it.

    At a terminal each thing is asked for, and an empty answer leaves it unknown. Each part is kept
    at once, and what was answered of one that is broken off too. The car need not be in the
    catalogue yet. --draft writes a unit in which what has to be filled in stands empty, and
    `kitting check` names what is left of that; what else is unknown stands there as a comment.

    Example: kitting note "PELL 117" --joint "rear hub left" --position "hub nut" --kind hub-nut
    """
    from kitting.facts.found_fields import FoundField
    from kitting.services.cars.found_parts import note_part

    engine, at = open_database(database), moment(now)
    given = (joint, position, kind, count, thread, head, figure, source, size, seen)
    told = {field: text for field, text in zip(FoundField, given, strict=True) if text}
    if draft is not None or unit is not None:
        _write_draft(engine, registration, draft, unit)
    elif back is not None:
        _take_back(engine, registration, back, at)
    elif told or photo is not None:
        picture = None if photo is None else _picture(str(photo))
        part = note_part(engine, registration, told, at, by, picture)
        _say(engine, registration, part, as_json=as_json)
    elif not no_input and not as_json and at_a_terminal():
        _ask_all(engine, registration, at, by)
    else:
        _show(engine, registration, as_json=as_json)


def _say(engine: Engine, registration: str, part: FoundPartView, *, as_json: bool = False) -> None:
    """What was noted, and what was noted otherwise of that place before."""
    from kitting.services.cars.found_parts import found_parts
    from kitting.services.cars.found_places import contradicted
    from kitting.store import reading
    from kitting.wording.found_parts import found_part_text

    with reading(engine) as session:
        otherwise = contradicted(found_parts(session, registration).found, part)
    if as_json:
        print_json(part)
    else:
        print(f"{part.number}  {found_part_text(part)}")
    if otherwise is not None:
        remark(
            _(
                "{otherwise}: a draft takes them as two parts. Take back the one that is "
                "wrong, or name the place of the other",
                otherwise=otherwise,
            )
        )


def _ask_all(engine: Engine, registration: str, at: datetime, by: str | None) -> None:
    """Ask part by part until no joint is named; what was answered is kept, broken off or not."""
    from kitting.facts.found_fields import PLACE, FoundField
    from kitting.services.cars.found_parts import note_part
    from kitting.wording.found_parts import PHOTO_QUESTION

    while (joint := _asked(engine, FoundField.JOINT)) is not None:
        while (position := _asked(engine, FoundField.POSITION)) is not None:
            noted: dict[FoundField, str | None] = dict(zip(PLACE, (joint, position), strict=True))
            picture = None
            try:
                _ask_rest(engine, noted)
                picture = ask(_(PHOTO_QUESTION), _picture)
            finally:
                part = note_part(engine, registration, _answered(noted), at, by, picture)
                _say(engine, registration, part)


def _ask_rest(engine: Engine, noted: dict[FoundField, str | None]) -> None:
    from kitting.facts.found_fields import FoundField
    from kitting.services.cars.found_parts import still_to_ask
    from kitting.store import reading

    while True:
        with reading(engine) as session:
            left = still_to_ask(session, noted)
        if not left:
            return
        noted[left[0]] = _asked(engine, left[0], noted.get(FoundField.KIND))


def _answered(noted: Mapping[FoundField, str | None]) -> dict[FoundField, str]:
    """What is known of a part."""
    from kitting.facts.found_fields import figures_with_source

    return figures_with_source({field: text for field, text in noted.items() if text})


def _asked(engine: Engine, field: FoundField, kind: str | None = None) -> str | None:
    from kitting.services.cars.found_parts import read_found
    from kitting.store import reading
    from kitting.wording.found_parts import QUESTIONS

    def read(text: str) -> str:
        with reading(engine) as session:
            return read_found(session, field, text, kind)

    return ask(_(QUESTIONS[field]), read)


def _picture(text: str) -> Picture:
    """The picture of a file, named as it is typed or dropped into a terminal."""
    from kitting.files.pictures import read_picture

    named = Path(text)
    return read_picture(named if named.exists() else Path(text.strip("'\"")).expanduser())


def _take_back(engine: Engine, registration: str, number: int, at: datetime) -> None:
    from kitting.services.cars.found_parts import take_back
    from kitting.wording.found_parts import found_part_text

    print(
        _(
            "taken back: {found_part}",
            found_part=found_part_text(take_back(engine, registration, number, at)),
        )
    )


def _write_draft(engine: Engine, registration: str, draft: Path | None, unit: str | None) -> None:
    from kitting.files.spreadsheets import OTHER_SPREADSHEETS, XLSX
    from kitting.services.cars.found_draft import draft_of_found
    from kitting.store import reading

    if draft is None or unit is None:
        raise typer.BadParameter(
            "a draft needs its file and the code of its unit: --draft rear-axle.yaml --unit"
            " rear-axle"
        )
    if draft.suffix.casefold() in {XLSX, *OTHER_SPREADSHEETS}:
        raise typer.BadParameter("a draft is YAML: end it in .yaml", param_hint="--draft")
    if draft.exists():
        raise typer.BadParameter(
            f"{draft} is there already, and may have been filled in: name another file",
            param_hint="--draft",
        )
    with reading(engine) as session:
        made = draft_of_found(session, registration, unit)
    write_file(draft, made.text.encode())
    print(_("wrote {draft}", draft=draft))
    for thing, what in made.unknown:
        remark(_("still unknown: {thing}: {what}", thing=thing, what=what))
    remark(f"Fill it in, then: kitting check {draft}")
    for photo in made.photos:
        place = f"{photo.joint} --position {shlex.quote(photo.position)}"
        remark(f"Once it is loaded: kitting photo copy {photo.number} --joint {place}")


def _show(engine: Engine, registration: str, *, as_json: bool) -> None:
    from kitting.services.cars.found_parts import found_parts
    from kitting.store import reading
    from kitting.wording.found_parts import found_part_text

    with reading(engine) as session:
        view = found_parts(session, registration)
    if as_json:
        print_json(view)
        return
    for part in view.found:
        print(f"{part.number}  {found_part_text(part)}")
