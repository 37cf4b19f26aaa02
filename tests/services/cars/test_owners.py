"""Owners: kept apart from everything else, forgotten without a trace, read by who calls them."""

from __future__ import annotations

import ast
import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Engine, func, select

from helpers import NOW, load, shop
from kitting.errors import KittingError
from kitting.services.cars.notes import note_car
from kitting.services.cars.owners import forget_owner, set_owner, show_owner
from kitting.services.cars.view import car_view
from kitting.services.upkeep.backup import back_up
from kitting.store import reading
from kitting.tables.cars import CarNote, CarOwner
from kitting.views.cars import ForgottenView, OwnerView

ROOT = Path(__file__).parents[3]
NAME, CALL = "Zarathea Quillfeather", "00 555 7719 004"  # invented
CAR = "PELL 001"


@pytest.fixture
def owned(lite: Engine) -> Engine:
    """A car with its owner."""
    load(lite, shop({"X1": {"RING": 1}}))
    set_owner(lite, "pell001", NAME, CALL, NOW)
    return lite


def bytes_of(engine: Engine) -> bytes:
    """Everything that a SQLite database has on disk."""
    path = Path(str(engine.url.database))
    return b"".join(file.read_bytes() for file in path.parent.glob(f"{path.name}*"))


def test_an_owner_is_shown_replaced_and_forgotten(store: Engine) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    set_owner(store, CAR, NAME, CALL, NOW)
    assert show_owner(store, "pell-001") == OwnerView(CAR, NAME, CALL, NOW)
    set_owner(store, CAR, "Other Person", None, NOW)
    assert show_owner(store, CAR) == OwnerView(CAR, "Other Person", None, NOW)
    note_car(store, CAR, "thread repaired", "Ann", NOW)
    assert forget_owner(store, CAR) == ForgottenView(CAR, 0)
    for ask in (show_owner, forget_owner):
        with pytest.raises(KittingError, match="nobody is written down as the owner of PELL 001"):
            ask(store, CAR)
    with reading(store) as session:
        assert session.scalar(select(func.count()).select_from(CarOwner)) == 0
        assert [one.text for one in car_view(session, CAR).notes] == ["thread repaired"]


def test_what_is_forgotten_or_replaced_is_in_no_byte_of_the_file(owned: Engine) -> None:
    assert NAME.encode() in bytes_of(owned)
    set_owner(owned, CAR, "Yolandor Brimblewick", None, NOW)
    assert NAME.encode() not in bytes_of(owned)
    forget_owner(owned, CAR)
    assert b"Brimblewick" not in bytes_of(owned)
    assert CALL.encode() not in bytes_of(owned)


def test_a_backup_holds_the_owner_and_one_to_share_does_not(owned: Engine, tmp_path: Path) -> None:
    url = owned.url.render_as_string(hide_password=False)
    whole, shared = tmp_path / "whole.db", tmp_path / "shared.db"
    both = [
        back_up(url, whole, NOW),
        back_up(url, shared, NOW, without_owners=True),
    ]
    assert NAME.encode() in whole.read_bytes()
    for word in (NAME, CALL):
        assert word.encode() not in shared.read_bytes()
    assert both[0].rows == both[1].rows + 1
    assert both[1].fine
    with closing(sqlite3.connect(shared)) as connection:
        assert connection.execute("SELECT registration FROM vehicle").fetchall() == [(CAR,)]


@pytest.mark.parametrize("text", [f"call {NAME.upper()}", f"ring {CALL.replace(' ', '')} first"])
def test_a_note_may_not_name_the_owner(owned: Engine, text: str) -> None:
    with pytest.raises(KittingError, match="the note names the owner of PELL 001"):
        note_car(owned, CAR, text, "Ann", NOW)
    with reading(owned) as session:
        assert session.scalar(select(func.count()).select_from(CarNote)) == 0


def test_notes_that_named_somebody_before_they_were_the_owner_are_counted(lite: Engine) -> None:
    load(lite, shop({"X1": {"RING": 1}}))
    note_car(lite, CAR, f"bought by {NAME}", "Ann", NOW)
    set_owner(lite, CAR, NAME, None, NOW)
    assert forget_owner(lite, CAR).notes == 1


@pytest.mark.parametrize(("name", "telephone"), [(" ", None), ("x" * 201, None), ("A\nB", None),
                                                 ("A", "1\x1b2")])  # fmt: skip
def test_a_name_or_a_telephone_that_is_none_is_refused(
    owned: Engine, name: str, telephone: str | None
) -> None:
    with pytest.raises(KittingError, match="as one line of at most 200 signs"):
        set_owner(owned, CAR, name, telephone, NOW)
    assert show_owner(owned, CAR).name == NAME


def test_one_module_reads_owners_and_the_views_of_a_car_have_nothing_of_them() -> None:
    """Beside the tables, the migration, and what leaves them out of a file to share."""
    naming = {
        str(path.relative_to(ROOT))
        for folder in ("kitting", "reports")
        for path in (ROOT / folder).rglob("*.py")
        if re.search(r"\bCarOwner\b|\bcar_owner\b", ast.unparse(ast.parse(path.read_text("utf-8"))))
    }
    assert naming == {
        "kitting/services/cars/owners.py",
        "kitting/services/group/privileges.py",
        "kitting/services/upkeep/backup.py",
        "kitting/tables/cars.py",
    }
