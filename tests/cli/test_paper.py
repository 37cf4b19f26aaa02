"""Paper, labels and units follow the country of the language, unless something is asked for."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from commands import Run
from paper import MM

CAR = ("PELL 117", "J1", "--on", "2026-04-15")
A4, LETTER = (210, 297), (216, 279)


def size(pdf: Path) -> tuple[int, int]:
    document = pypdfium2.PdfDocument(pdf.read_bytes())
    width, height = document[0].get_size()
    document.close()
    return round(width / MM), round(height / MM)


@pytest.mark.parametrize(
    ("language", "paper"),
    [("en", A4), ("en-GB", A4), ("de", A4), ("de-AT", A4), ("en-US", LETTER), ("en-CA", LETTER)],
)
@pytest.mark.parametrize("sheet", ["pick", "labels", "tighten"])
def test_paper_and_label_stock_are_those_of_the_country(
    run: Run, garage_folder: Path, language: str, paper: tuple[int, int], sheet: str
) -> None:
    ended = run("--language", language, "sheet", sheet, *CAR, "--out", "x.pdf")
    assert "x.pdf" in ended.err
    assert size(garage_folder / "x.pdf") == paper


@pytest.mark.parametrize(
    ("language", "options", "paper"),
    [
        ("en-US", ("pick", *CAR, "--paper", "A4"), A4),
        ("de", ("pick", *CAR, "--paper", "Letter"), LETTER),
        ("en-US", ("labels", *CAR, "--stock", "99x67-8"), A4),
        ("de", ("ruler", "--stock", "102x85-6"), LETTER),
    ],
)
def test_what_is_asked_for_comes_before_the_country(
    run: Run, garage_folder: Path, language: str, options: tuple[str, ...], paper: tuple[int, int]
) -> None:
    ended = run("--language", language, "sheet", *options, "--out", "x.pdf")
    assert ended.code == 0, ended.err
    assert size(garage_folder / "x.pdf") == paper


@pytest.mark.parametrize(
    ("language", "pounds"), [("en", True), ("en-GB", True), ("en-US", True), ("de-AT", False)]
)
def test_pounds_stand_beside_newton_metres_where_they_are_read(
    run: Run, garage_folder: Path, language: str, pounds: bool
) -> None:
    shown = run("--language", language, "plan", *CAR, "--full").out
    assert ("(70.8 lbf·in)" in shown, "8.47 N·m" in shown.replace(",", ".")) == (pounds, True)
