"""The findings sheet read back by pypdfium2: every piece, its criterion, boxes to tick."""

from __future__ import annotations

import ctypes
from collections import Counter
from dataclasses import replace
from datetime import date
from typing import Any

import pypdfium2
import pytest
from paper import MM, characters, drawn, opened, require_clear, squares, words

from factory import CAUTION, HOSTILE
from kitting.facts.reasons import because
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import FindingResult
from kitting.reports.sheets.findings import MOST, draw_findings
from kitting.reports.stationery import PAPERS
from kitting.views.bookings import Lack
from kitting.views.counted import FindingsView, InspectView

ROW = InspectView(
    bag=2, bag_code="KBTGAB27-02", joint="cooler", position="plate groove 1", item="SEAL-A",
    name="cooler seal", quantity=1000, unit="each", criterion="springs back, no cut",
    said_by="common practice", group=True, recorded=None, recorded_reason=None,
)  # fmt: skip
CLIPS = replace(ROW, position="connectors", item="CLIP", name="clip", quantity=3000, group=False)
BAD = replace(
    ROW, bag_code=HOSTILE, position=HOSTILE, joint=HOSTILE, item=HOSTILE, name=HOSTILE,
    unit="each", quantity=5000, criterion=HOSTILE, said_by=HOSTILE,
    recorded=FindingResult.FAILED, recorded_reason=HOSTILE, recorded_quantity=5000,
)  # fmt: skip


def view(*rows: InspectView) -> FindingsView:
    return FindingsView(
        booking="B0002", reference="KBTGAB27", on=date(2026, 4, 15), vehicle="Ulvander Pell …117",
        jobs=("J2 oil cooler reseal",), rows=rows, cautions=(CAUTION,),
    )  # fmt: skip


def text_of(*rows: InspectView) -> str:
    return "".join(map(words, characters(drawn(draw_findings, view(*rows)))))


@pytest.mark.parametrize("paper", PAPERS)
def test_every_piece_has_three_boxes_of_7_mm_and_every_page_its_number(paper: str) -> None:
    rows = [replace(ROW, position=f"groove {n}") for n in range(60)]
    pdf = drawn(draw_findings, view(*rows), paper=paper)
    pages = [words(page) for page in characters(pdf)]
    assert len(pages) > 2
    for number, text in enumerate(pages, 1):
        assert "FindingsB0002·kitKBTGAB27" in text
        assert f"page{number}/{len(pages)}" in text
    assert sum(map(len, squares(pdf, 7))) == 180
    everything = "".join(pages)
    for n in range(60):
        assert f"groove{n}1×SEAL-A·coolerseal·cooler" in everything


def test_the_code_of_a_bag_is_whole_at_every_position() -> None:
    wide = replace(ROW, bag=12, bag_code="KWMMW0MM-12")
    text = text_of(ROW, wide)
    assert text.count("KBTGAB27-02") == 1
    assert text.count("KWMMW0MM-12") == 1


def test_three_pieces_at_one_position_are_ticked_one_by_one() -> None:
    pdf = drawn(draw_findings, view(CLIPS))
    assert sum(map(len, squares(pdf, 7))) == 9
    text = text_of(CLIPS)
    assert "connectors3×CLIP·clip·cooler" in text
    assert "PASSEDFAILEDRENEWEDWITHOUTALOOKREASONpiece1of3piece2of3piece3of3" in text


def test_one_piece_is_not_numbered_and_lengths_are_not_pieces() -> None:
    assert "piece1" not in text_of(ROW)
    hose = replace(ROW, quantity=500_000, unit="mm")
    assert sum(map(len, squares(drawn(draw_findings, view(hose)), 7))) == 3


def test_of_very_many_pieces_the_rest_has_a_line() -> None:
    many = replace(CLIPS, quantity=1000 * (MOST + 5))
    pdf = drawn(draw_findings, view(many))
    assert sum(map(len, squares(pdf, 7))) == 3 * MOST
    text = text_of(many)
    assert "5morepieces:writehowmanypassedandhowmanyfailed" in text
    assert "BAG2connectors·continued" in text


def line_of(thing: Any) -> float | None:
    """How long in mm a line of 0.8 points to write on is; None for what is none."""
    weight = ctypes.c_float()
    assert pypdfium2.raw.FPDFPageObj_GetStrokeWidth(thing, weight)
    left, bottom, right, top = (value / MM for value in thing.get_bounds())
    return right - left if abs(weight.value - 0.8) < 0.01 and top - bottom < 1 else None


@pytest.mark.parametrize("paper", PAPERS)
def test_the_reason_of_each_piece_has_60_mm_to_write_on(paper: str) -> None:
    pdf = drawn(draw_findings, view(CLIPS), paper=paper)
    # The blanks at the head of the sheet are as strong, and of other widths.
    widths = Counter(
        round(width, 1)
        for page in opened(pdf)
        for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH])
        if (width := line_of(thing)) is not None and 60 <= width < 150
    )
    assert 3 in widths.values()


def test_criterion_source_and_group_stand_at_the_position_in_full() -> None:
    long = " ".join(f"word{n}" for n in range(60))
    text = text_of(replace(ROW, criterion=long))
    assert "".join(long.split()) + "(commonpractice)Onefails:allofitsgrouparerenewed." in text
    assert "BAG2KBTGAB27-02" in text


def test_what_was_recorded_says_of_how_many() -> None:
    one = replace(ROW, recorded=FindingResult.FAILED, recorded_reason="cut")
    assert "RECORDED:failed,1:cut" in text_of(one)
    three = replace(CLIPS, recorded=FindingResult.PASSED, recorded_quantity=3000)
    assert "RECORDED:passed,3" in text_of(three)
    assert "RECORDED" not in text_of(CLIPS)


def test_of_some_pieces_that_failed_the_sheet_says_how_many_and_why_in_words() -> None:
    some = replace(
        CLIPS, recorded=FindingResult.FAILED, recorded_reason="SP", recorded_quantity=3000,
        recorded_failed=1000,
    )  # fmt: skip
    assert "RECORDED:failed,1of3:spread" in text_of(some)


def test_the_sheet_of_a_kit_that_is_not_fine_says_so_first() -> None:
    doubt = Doubt(
        Verdict.NO,
        Aspect.STOCK,
        because(Lack.NOT_FITTED, item="CLIP", quantity=Quantity(1000, "each")),
    )
    pdf = drawn(draw_findings, replace(view(CLIPS), doubts=(doubt,)))
    text = "".join(map(words, characters(pdf)))
    assert text.index("NOTFINE") < text.index("connectors")


def test_what_is_typed_stands_at_the_position_where_it_is_short() -> None:
    text = text_of(CLIPS)
    assert "totype:cooler:connectors=" in text
    assert "failed:1of3,cut" in text
    assert "totype" not in text_of(replace(CLIPS, position="x" * 120))


def test_a_position_without_a_criterion_says_so() -> None:
    assert "NOCRITERIONISSTATED:askwhomaydecide" in text_of(replace(ROW, criterion=None))


def test_nothing_to_look_at_is_said() -> None:
    assert "thereisnothingtoinspect" in text_of()


@pytest.mark.parametrize("paper", PAPERS)
def test_hostile_text_is_no_markup_and_stays_within_the_margins(paper: str) -> None:
    pdf = drawn(draw_findings, view(BAD, BAD), paper=paper)
    assert sum(map(len, squares(pdf, 7))) == 2 * 5 * 3
    require_clear(pdf, *PAPERS[paper])
