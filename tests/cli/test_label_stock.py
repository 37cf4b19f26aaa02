"""Labels that cannot be printed as they were asked for: told in a sentence, and nothing written."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands import Run
from paper import characters, words

CAR = ("PELL 117", "J1", "J2", "--on", "2026-04-15")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--stock", "38x21"), "label stock 38x21 is too small for BAG 1"),
        (("--stock", "38x21"), ": use 50x25 or larger"),
        (("--stock", "63x38"), "may be a sheet or a roll. Of a sheet write 63x38-21"),
        (("--offset", "30,20"), "the largest offset that way is 6.6,15.1"),
    ],
)
def test_labels_that_would_lose_something_are_refused_and_nothing_is_written(
    run: Run, garage_folder: Path, options: tuple[str, ...], told: str
) -> None:
    ended = run("sheet", "labels", *CAR, *options, "--out", "labels.pdf")
    assert ended.code == 1
    assert told in ended.err
    assert not (garage_folder / "labels.pdf").exists()


def test_a_roll_of_the_size_of_a_sheets_labels_is_asked_for_by_name(
    run: Run, garage_folder: Path
) -> None:
    ended = run("sheet", "labels", *CAR, "--stock", "63x38 roll", "--out", "labels.pdf")
    assert (ended.code, "labels on roll, 63 × 38 mm" in ended.err) == (0, True)
    assert (garage_folder / "labels.pdf").read_bytes().startswith(b"%PDF")


def test_an_offset_off_the_paper_is_refused_for_the_ruler_page_too(
    run: Run, garage_folder: Path
) -> None:
    ended = run("sheet", "ruler", "--offset", "30,20", "--out", "ruler.pdf")
    assert (ended.code, "the largest offset that way is" in ended.err) == (1, True)
    assert not (garage_folder / "ruler.pdf").exists()


@pytest.mark.parametrize(
    ("options", "plate"), [((), "PELL117,fiton"), (("--public",), "…117,fiton")]
)
def test_the_plate_is_whole_in_the_house_and_shortened_for_anyone(
    run: Run, garage_folder: Path, options: tuple[str, ...], plate: str
) -> None:
    assert run("sheet", "labels", *CAR, *options, "--out", "labels.pdf").code == 0
    text = "".join(map(words, characters((garage_folder / "labels.pdf").read_bytes())))
    assert f"{plate}2026-04-15" in text
    assert ("PELL117" in text) == (not options)


def test_what_a_run_says_of_labels_speaks_of_labels(run: Run, garage_folder: Path) -> None:
    ended = run("sheet", "labels", "--booking", "B0001", "--out", "labels.pdf")
    assert ended.code == 3
    assert "(marked SHORT on the labels)" in ended.err
    assert "sheet)" not in ended.err
