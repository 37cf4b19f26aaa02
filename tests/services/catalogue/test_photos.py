"""Photos: kept with what they show, found for a plan by its own names, taken out. Invented."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import Engine

from conftest import Templates
from helpers import NOW, load, planned, unit
from kitting.errors import KittingError, UnknownNameError
from kitting.files.pictures import Picture
from kitting.services.catalogue.photos import (
    Said,
    Shows,
    add_photo,
    list_photos,
    photo_bytes,
    photographs_of,
    remove_photo,
)
from kitting.services.upkeep.backup import back_up
from kitting.services.upkeep.restore import restore
from kitting.store import open_existing, reading
from kitting.views.photos import NO_PHOTOGRAPHS

JOINTS = """
      - code: drain
        name: drain
        system: engine
        fits:
          - {item: RING, position: groove}
      - code: lid
        name: lid
        system: engine
        fits:
          - {item: RING, position: groove}
"""
STEPS = """
      - {code: S1, name: drain off, hours: 1 h, opens: [drain]}
      - {code: S2, name: lid off, hours: 1 h, opens: [lid]}
"""
JOBS = "      - {code: X1, name: drain, needs: [S1]}\n"
TEXT = unit(JOINTS, STEPS, JOBS)


def picture(colour: str = "navy") -> Picture:
    target = BytesIO()
    Image.new("RGB", (40, 30), colour).save(target, "JPEG")
    return Picture(target.getvalue(), 40, 30)


def test_a_photo_is_kept_with_what_it_shows(store: Engine) -> None:
    load(store, TEXT)
    kept = picture()
    view = add_photo(
        store, kept, Shows(joint="GREBE/drain", position="groove"), NOW, Said("from below", "Ann")
    )
    assert (view.joint, view.position, view.caption, view.told_by, view.known) == (
        "grebe/drain", "groove", "from below", "Ann", True,
    )  # fmt: skip
    assert (view.size, view.sha256) == (len(kept.jpeg), kept.sha256)
    with reading(store) as session:
        assert list_photos(session).photos == (view,)
        assert photo_bytes(session, view.number) == kept.jpeg


@pytest.mark.parametrize(
    ("shows", "error", "message"),
    [
        (Shows(), KittingError, "a photo is of an item or of a joint"),
        (Shows(item="RING", joint="grebe/drain"), KittingError, "name one of them"),
        (Shows(item="RING", position="groove"), KittingError, "a position is one of a joint"),
        (Shows(item="RIMG"), UnknownNameError, "Did you mean RING"),
        (Shows(joint="grebe/drian"), UnknownNameError, "Did you mean grebe/drain"),
        (Shows(joint="drain"), UnknownNameError, "joint 'drain'"),
        (Shows(joint="grebe/drain", position="grove"), UnknownNameError, "Did you mean groove"),
    ],
)
def test_what_the_catalogue_does_not_have_is_refused(
    store: Engine, shows: Shows, error: type[Exception], message: str
) -> None:
    load(store, TEXT)
    with pytest.raises(error, match=message):
        add_photo(store, picture(), shows, NOW)
    with reading(store) as session:
        assert list_photos(session).photos == ()


def test_the_same_picture_of_the_same_thing_is_kept_once(store: Engine) -> None:
    load(store, TEXT)
    add_photo(store, picture(), Shows(item="RING"), NOW)
    with pytest.raises(KittingError, match="kept of it already: photo 1"):
        add_photo(store, picture(), Shows(item="ring"), NOW)
    add_photo(store, picture(), Shows(joint="grebe/drain"), NOW)


def test_a_plan_gets_the_newest_photos_of_its_own_joints_and_items(store: Engine) -> None:
    load(store, TEXT)
    load(
        store,
        TEXT.replace("code: grebe", "code: swan").split("models:")[0].split("items:")[0]
        + "units"
        + TEXT.replace("code: grebe", "code: swan").split("models:")[0].split("units")[1],
    )
    old, new, other = picture("red"), picture("green"), picture("blue")
    add_photo(store, old, Shows(joint="grebe/drain"), NOW)
    add_photo(store, new, Shows(joint="grebe/drain"), NOW, Said("newer"))
    add_photo(store, other, Shows(joint="swan/drain"), NOW)  # of a unit that the car has not
    add_photo(store, other, Shows(joint="grebe/lid"), NOW)  # of a joint that stays shut
    add_photo(store, other, Shows(item="RING"), NOW)
    add_photo(store, other, Shows(item="BOLT"), NOW)  # of an item that is not in it
    view = planned(store, "PELL 001", "X1")
    with reading(store) as session:
        found = photographs_of(session, view)
    assert {place: photo.jpeg for place, photo in found.places.items()} == {
        ("drain", None): new.jpeg
    }
    assert {item: photo.jpeg for item, photo in found.items.items()} == {"RING": other.jpeg}
    assert found.places["drain", None].caption == "newer"


def test_a_photo_outlives_what_it_is_of_and_says_so(store: Engine) -> None:
    load(store, TEXT)
    view = add_photo(store, picture(), Shows(joint="grebe/lid"), NOW)
    load(store, TEXT.replace("code: lid", "code: cover").replace("[lid]", "[cover]"))
    with reading(store) as session:
        (kept,) = list_photos(session).photos
    assert (kept.number, kept.known) == (view.number, False)


def test_a_photo_is_taken_out_for_good(store: Engine) -> None:
    load(store, TEXT)
    number = add_photo(store, picture(), Shows(item="RING"), NOW).number
    remove_photo(store, number)
    with reading(store) as session:
        assert photographs_of(session, planned(store, "PELL 001", "X1")) == NO_PHOTOGRAPHS
        with pytest.raises(UnknownNameError, match=f"there is no photo {number}. Known: none"):
            photo_bytes(session, number)
    with pytest.raises(UnknownNameError, match="there is no photo"):
        remove_photo(store, number)


def photo_in(url: str, number: int) -> bytes:
    engine = open_existing(url)
    try:
        with reading(engine) as session:
            return photo_bytes(session, number)
    finally:
        engine.dispose()


def test_a_backup_has_the_photos(store: Engine, tmp_path: Path) -> None:
    load(store, TEXT)
    kept = picture()
    number = add_photo(store, kept, Shows(item="RING"), NOW).number
    back_up(store.url.render_as_string(hide_password=False), tmp_path / "b.db", NOW)
    restore(f"sqlite:///{tmp_path / 'again.db'}", tmp_path / "b.db", NOW)
    assert photo_in(f"sqlite:///{tmp_path / 'again.db'}", number) == kept.jpeg


def test_photos_of_a_backup_go_to_a_server(
    lite: Engine, templates: Templates, tmp_path: Path
) -> None:
    blank = templates.new()
    load(lite, TEXT)
    kept = picture()
    number = add_photo(lite, kept, Shows(item="RING"), NOW).number
    back_up(lite.url.render_as_string(hide_password=False), tmp_path / "b.db", NOW)
    restore(blank, tmp_path / "b.db", NOW)
    assert photo_in(blank, number) == kept.jpeg
    templates.drop(blank)
