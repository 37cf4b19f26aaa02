"""`photo` at the command line, and photos on the sheets and labels that they belong to."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from commands import Run
from PIL import Image

NOW = ("--now", "2026-04-02 14:20")
KIT = ("PELL 117", "J1", "--on", "2026-04-15")


@pytest.fixture
def picture(garage_folder: Path) -> Path:
    path = garage_folder / "flange.png"
    Image.new("RGB", (400, 300), "orange").save(path)
    return path


def pictures_in(path: Path) -> int:
    """How many images the pages of a PDF hold."""
    document = pypdfium2.PdfDocument(path)
    try:
        kinds = [one.type for page in document for one in page.get_objects()]
    finally:
        document.close()
    return kinds.count(pypdfium2.raw.FPDF_PAGEOBJ_IMAGE)


def test_a_photo_is_added_listed_saved_and_removed(picture: Path, run: Run) -> None:
    added = run(
        "photo", "add", "flange.png", "--joint", "grebe-4t/rear-pipe-heater", "--caption",
        "seen from above", "--by", "Ann", *NOW,
    )  # fmt: skip
    told = "1  grebe-4t/rear-pipe-heater: seen from above; 400 × 300 pixels"
    assert added.out.startswith(told)
    assert run("photo", "list").out.startswith(told)
    (view,) = run("photo", "list", "--json").data["photos"]
    assert (view["number"], view["width"], view["known"], "jpeg" in view) == (1, 400, True, False)
    assert run("photo", "save", "1", "--out", "kept.jpg").code == 0
    with Image.open(picture.parent / "kept.jpg") as kept:
        assert (kept.format, kept.size) == ("JPEG", (400, 300))
    assert run("photo", "remove", "1").out.startswith("removed: 1")
    assert run("photo", "list").out == "no photo is kept\n"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("photo", "add", "none.jpg", "--item", "RING-FKM-14X2"), "none.jpg: cannot be read"),
        (("photo", "add", "flange.png"), "a photo is of an item or of a joint"),
        (("photo", "add", "flange.png", "--item", "RING-FKM-14X3"), "unknown name"),
        (
            ("photo", "add", "flange.png", "--joint", "rear-pipe-heater"),
            "unknown name. Say grebe-4t/rear-pipe-heater",
        ),
        (("photo", "remove", "7"), "there is no photo 7. Known: none"),
        (("photo", "save", "7", "--out", "x.jpg"), "there is no photo 7"),
    ],
)
def test_what_cannot_be_is_refused(
    picture: Path, run: Run, words: tuple[str, ...], message: str
) -> None:
    ended = run(*words)
    assert ended.code == 1
    assert message in ended.err
    assert not (picture.parent / "x.jpg").exists()


@pytest.mark.parametrize(
    ("sheet", "of", "more"),
    [
        ("pick", ("--item", "RING-EPDM-17X2"), 1),
        ("seals", ("--joint", "grebe-4t/rear-pipe-heater"), 1),
        ("labels", ("--joint", "grebe-4t/rear-pipe-heater"), 1),
        ("pick", ("--item", "RING-FKM-66X3"), 0),  # of another job
    ],
)
def test_a_photo_stands_on_the_sheets_of_what_it_is_of(
    picture: Path, run: Run, sheet: str, of: tuple[str, ...], more: int
) -> None:
    folder = picture.parent
    run("sheet", sheet, *KIT, "--out", "before.pdf")
    before = pictures_in(folder / "before.pdf")
    assert run("photo", "add", "flange.png", *of, *NOW).code == 0
    run("sheet", sheet, *KIT, "--out", "after.pdf")
    assert pictures_in(folder / "after.pdf") == before + more


def test_a_photo_stands_on_the_pick_list_of_a_booking(picture: Path, run: Run) -> None:
    run("photo", "add", "flange.png", "--item", "SEAL-INTAKE", *NOW)
    run("sheet", "pick", "--booking", "B0001", "--out", "pick.pdf", *NOW)
    assert pictures_in(picture.parent / "pick.pdf") == 1
