"""The findings sheet read back by pypdfium2: every position, its criterion, boxes to tick."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from paper import characters, drawn, squares, words

from factory import CAUTION, HOSTILE
from kitting.facts.words import FindingResult
from kitting.reports.sheets.findings import draw_findings
from kitting.reports.stationery import PAPERS
from kitting.views.kit import FindingsView, InspectView

ROW = InspectView(
    bag=2, joint="cooler", position="plate groove 1", item="SEAL-A", name="cooler seal", quantity=1000, unit="each",
    criterion="springs back, no cut", said_by="common practice", group=True, recorded=None,
    recorded_reason=None,
)  # fmt: skip


def view(*rows: InspectView) -> FindingsView:
    return FindingsView(
        booking="B0002", reference="KBTGAB27", on=date(2026, 4, 15), vehicle="Ulvander Pell …117",
        jobs=("J2 oil cooler reseal",), rows=rows, cautions=(CAUTION,),
    )  # fmt: skip


@pytest.mark.parametrize("paper", PAPERS)
def test_every_row_has_three_boxes_of_7_mm_and_every_page_its_number(paper: str) -> None:
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


def test_criterion_source_group_and_what_was_recorded_stand_at_the_position() -> None:
    (page,) = characters(
        drawn(
            draw_findings, view(replace(ROW, recorded=FindingResult.FAILED, recorded_reason="cut"))
        )
    )
    text = words(page)
    assert "springsback,nocut(commonpractice).Onefails:allofthemarerenewed." in text
    assert "RECORDEDfailed:cut" in text


def test_a_position_without_a_criterion_says_so() -> None:
    (page,) = characters(drawn(draw_findings, view(replace(ROW, criterion=None))))
    assert "nocriterionisstated:askwhomaydecide" in words(page)


def test_nothing_to_look_at_is_said_and_hostile_text_is_no_markup() -> None:
    (page,) = characters(drawn(draw_findings, view()))
    assert "thereisnothingtoinspect" in words(page)
    bad = replace(
        ROW,
        position=HOSTILE,
        name=HOSTILE,
        criterion=HOSTILE,
        recorded=FindingResult.FAILED,
        recorded_reason=HOSTILE,
    )
    pdf = drawn(draw_findings, view(bad, bad))
    assert sum(map(len, squares(pdf, 7))) == 6
