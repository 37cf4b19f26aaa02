"""Commands about photos: add, copy, list, save, remove."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.options import (
    By,
    Database,
    Json,
    Now,
    console,
    moment,
    open_database,
    print_json,
    write_file,
)
from kitting.wording.language import _

photo = typer.Typer(
    help="Keep photos of items, joints and positions, which sheets and labels show.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
_Item = Annotated[str | None, typer.Option("--item", help="Of this item, by code.")]
_Joint = Annotated[str | None, typer.Option("--joint", metavar="UNIT/JOINT", help="Of this joint.")]
_Position = Annotated[str | None, typer.Option("--position", help="Of one position of the joint.")]
_Number = Annotated[int, typer.Argument(help="The number of the photo.")]


def register(root: typer.Typer) -> None:
    """Add the group."""
    root.add_typer(photo, name="photo")


@photo.command()
def add(
    file: Annotated[Path, typer.Argument(help="A JPEG, PNG or WebP file.")],
    item: _Item = None,
    joint: _Joint = None,
    position: _Position = None,
    caption: Annotated[str | None, typer.Option("--caption", help="What it shows.")] = None,
    by: By = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Keep a photo of an item, a joint or a position; the newest of each is shown on paper.

    It is turned upright and made small; where and with what it was taken is not kept.

    Example: kitting photo add my-plug.png --joint grebe-4t/oil-drain --caption "seen from below"
    """
    from kitting.files.pictures import read_picture
    from kitting.services.catalogue.photos import Said, Shows, add_photo
    from kitting.wording.photos import photo_text

    shows, said = Shows(item, joint, position), Said(caption, by)
    view = add_photo(open_database(database), read_picture(file), shows, moment(now), said)
    if as_json:
        print_json(view)
    else:
        print(photo_text(view))


@photo.command("copy")
def copy_command(
    number: _Number,
    item: _Item = None,
    joint: _Joint = None,
    position: _Position = None,
    caption: Annotated[
        str | None, typer.Option("--caption", help="What it shows; else as it said before.")
    ] = None,
    by: By = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Keep a photo of something else too, such as the position that a noted part has now.

    Example: kitting photo copy 1 --joint grebe-4t/oil-drain
    """
    from kitting.services.catalogue.photos import Said, Shows, copy_photo
    from kitting.wording.photos import photo_text

    shows, said = Shows(item, joint, position), Said(caption, by)
    view = copy_photo(open_database(database), number, shows, moment(now), said)
    if as_json:
        print_json(view)
    else:
        print(photo_text(view))


@photo.command("list")
def list_command(
    item: _Item = None,
    joint: _Joint = None,
    position: _Position = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List the photos that are kept, and which of them the catalogue has nothing for any more.

    Example: kitting photo list
    """
    from kitting.services.catalogue.photos import Shows, list_photos
    from kitting.store import reading
    from kitting.wording.photos import photo_text

    with reading(open_database(database)) as session:
        view = list_photos(session, Shows(item, joint, position))
    if as_json:
        print_json(view)
        return
    for one in view.photos:
        console().print(photo_text(one))
    if not view.photos:
        print(_("no photo is kept"))


@photo.command()
def save(
    number: _Number,
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="Where to write.")],
    database: Database = None,
) -> None:
    """Write a photo as it is kept to a JPEG file.

    Example: kitting photo save 1 --out plug-kept.jpg
    """
    from kitting.services.catalogue.photos import photo_bytes
    from kitting.store import reading

    with reading(open_database(database)) as session:
        picture = photo_bytes(session, number)
    write_file(out, picture)
    print(_("wrote {out}", out=out))


@photo.command()
def remove(number: _Number, database: Database = None) -> None:
    """Take a photo out for good.

    Example: kitting photo remove 1
    """
    from kitting.services.catalogue.photos import remove_photo
    from kitting.wording.photos import photo_text

    print(_("removed: {photo}", photo=photo_text(remove_photo(open_database(database), number))))
