"""The frame that all sheets share, read back from the page. All names are invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from io import BytesIO

import pytest
from paper import characters, codes, degraded, pages, require_clear, words

from kitting.reports.sheet import Block, Heading, Sheet, render
from kitting.reports.stamp import printed_at
from kitting.reports.stationery import PAPERS
from kitting.views.plan import CautionView
from kitting.views.vehicle import VehicleView
from kitting.wording.cautions import CAUTION_DEFERS

AT = datetime(2026, 4, 14, 8, 30)  # noqa: DTZ001  (time on the wall)
CAUTION = CautionView("lifting", "Lifting", f"A jack lifts, stands hold. {CAUTION_DEFERS}", ("J1",))
HEADING = Heading("Strip", "B0002 · kit K42TV6M", "PELL 117 · Ulvander Pell", (CAUTION,))


def sheet_of(heading: Heading, body: Callable[[Sheet], None], paper: str = "A4") -> bytes:
    target = BytesIO()
    render(target, paper, heading, body)
    return target.getvalue()


def filled(pages_full: float, sheet: Sheet) -> None:
    """So many pages of blocks, then the cautions."""
    sheet.text("STRIP B0002", 18, bold=True)
    height = 20.0
    for _number in range(round(pages_full * sheet.whole_page / height)):
        sheet.keep([Block(height, lambda sheet: sheet.tick_box(0, 0))])
    sheet.cautions()


def three_pages(sheet: Sheet) -> None:
    filled(2.4, sheet)


def texts(pdf: bytes) -> list[str]:
    return [words(page) for page in characters(pdf)]


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_names_sheet_booking_kit_car_page_and_when_it_was_printed(paper: str) -> None:
    with printed_at(AT):
        found = texts(sheet_of(HEADING, three_pages, paper))
    assert len(found) == 3
    for number, text in enumerate(found, 1):
        named = "StripB0002·kitK42TV6M·PELL117·UlvanderPell"
        assert text.count(named) == (1 if number == 1 else 2)
        assert f"page{number}/3" in text
        assert "printed2026-04-1408:30" in text


def test_without_a_time_nothing_is_said_of_it_and_the_same_time_gives_the_same_bytes() -> None:
    assert "printed" not in texts(sheet_of(HEADING, three_pages))[0]
    with printed_at(AT):
        one, other = (sheet_of(HEADING, three_pages) for _ in range(2))
    assert one == other
    assert "printed" not in texts(sheet_of(HEADING, three_pages))[0]


def test_that_the_makers_data_decides_stands_once_in_full_and_shortly_on_what_parts_from_it() -> (
    None
):
    first, *rest = texts(sheet_of(HEADING, three_pages))
    assert first.count("Planninginformation,notaprocedure") == 1
    for text in rest:
        assert "notaprocedure" not in text
        assert "Planninginformation:themaker'sdatagoesfirst." in text
    assert "Ajacklifts,standshold." in rest[-1]


def test_what_a_caution_says_otherwise_at_its_end_is_kept() -> None:
    own = replace(CAUTION, text="Two people lift it. Ask the maker.")
    pdf = sheet_of(replace(HEADING, cautions=(own,)), three_pages)
    assert "Twopeopleliftit.Askthemaker." in "".join(texts(pdf))


@pytest.mark.parametrize(("reference", "code"), [("B0002 · kit K42TV6M", "B0002"), ("K42", "K42")])
def test_the_head_of_the_first_page_has_a_code_that_a_copy_of_a_copy_still_shows(
    reference: str, code: str
) -> None:
    pdf = sheet_of(replace(HEADING, reference=reference), three_pages)
    first, *rest = pages(pdf)
    (read,) = codes(degraded(first))
    assert (read.kind, read.text) == ("QR", code)
    assert all(codes(page) == [] for page in rest)


def test_what_is_no_plain_code_is_not_drawn_as_one() -> None:
    for reference in ("any old text", "Überlänge", "X" * 99):
        assert codes(pages(sheet_of(replace(HEADING, reference=reference), three_pages))[0]) == []


def test_nothing_of_the_head_stands_over_the_code() -> None:
    long = " ".join(["a very long heading"] * 9)

    def body(sheet: Sheet) -> None:
        sheet.text(long, 18, bold=True)
        sheet.box("SHORT", (long,))

    pdf = sheet_of(HEADING, body)
    require_clear(pdf, *PAPERS["A4"])
    (code,) = codes(pages(pdf)[0])
    left, bottom = code.left / 203 * 25.4, 297 - code.bottom / 203 * 25.4
    page = characters(pdf)[0]
    assert not [box for box in page if box.right > left - 1 and box.top > bottom]


def test_cautions_that_would_take_a_page_of_their_own_are_set_smaller() -> None:
    text = "Nobody works under a car that only a jack carries. " * 8
    many = tuple(replace(CAUTION, title=f"Caution {n}", text=text) for n in range(4))
    heading = replace(HEADING, cautions=many)

    def body(sheet: Sheet) -> None:
        sheet.keep([Block(sheet.room - 90, lambda sheet: None)])
        sheet.cautions()

    (page,) = characters(sheet_of(heading, body))
    told = words(page)
    assert all(f"Caution{n}(J1)" in told for n in range(4))
    start = told.index("Caution0(J1)")
    assert 7.5 <= page[start].size < 9


def test_the_plate_is_whole_in_the_house_and_shortened_for_anyone() -> None:
    car = VehicleView("PELL 117", "Ulvander Pell", None, None, ())
    assert (car.whole_name, car.public_name) == ("PELL 117 · Ulvander Pell", "Ulvander Pell …117")
    nobodys = replace(car, registration="")
    assert nobodys.whole_name == nobodys.public_name == "any Ulvander Pell"


def test_later_pages_name_the_jobs_by_their_codes_before_what_may_be_cut() -> None:
    about = "PELL 117, " + "a model with a very long name " * 9
    heading = Heading("Plan", "B0001", about, (), jobs=("J1 Clutch", "J22"))
    assert heading.running.startswith("Plan B0001 · J1, J22 · PELL 117, a model")
    pdf = BytesIO()
    assert render(pdf, "A4", heading, lambda sheet: sheet.new_page()) == 2
    _, later = (words(page) for page in characters(pdf.getvalue()))
    assert "PlanB0001·J1,J22·PELL117,amodel" in later
