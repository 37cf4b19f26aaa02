"""Sheets seen from outside: text, page numbers and boxes read by pypdfium2."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import Any

import pytest
from paper import characters, drawn, require_clear, squares, words

from factory import CAUTION, HOSTILE, pick, stopped
from kitting.errors import KittingError
from kitting.facts.words import LotState, NeedRule
from kitting.reports.sheets.pick_list import draw_pick_list
from kitting.reports.stationery import PAPERS
from kitting.views.bookings import ElsewhereKind, ElsewhereView, PromisedView, SourceKind
from kitting.views.kit import PickView, ShortageView


def texts(pick_list: PickView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_pick_list, pick_list, paper=paper))]


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_bears_reference_page_number_cautions_and_the_makers_precedence(
    paper: str,
) -> None:
    found = texts(pick(60), paper)
    assert len(found) > 2
    for number, text in enumerate(found, 1):
        assert "PicklistKBTGAB27" in text
        assert f"page{number}/{len(found)}" in text
        assert "CAUTIONS(infullattheend):Coolant" in text
        assert ("Planninginformation,notaprocedure" in text) == (number == 1)
        assert ("Planninginformation:themaker'sdatagoesfirst" in text) == (number > 1)
    for text in found[1:]:
        assert "UlvanderPell…117·fittingdate2026-04-15" in text


def test_every_row_of_300_is_there_once_with_all_its_characters() -> None:
    text = "".join(texts(pick(300)))
    for number in range(300):
        assert text.count(f"ITEM-{number}O-ring") == 1
    assert text.count("½°·μ€Łő") == 300
    assert text.count("■RENEW") == 100
    assert text.count("◪INSPECT") == 100
    assert text.index("ITEM-0O-ring") < text.index("ITEM-1O-ring") < text.index("ITEM-299O-ring")


def test_a_row_shows_bin_amount_item_detail_rule_bags_and_notes() -> None:
    (text,) = texts(pick(1))
    row = "ITEM-0O-ring17.0×2.5mm·FKM75,coloursupplied".replace(
        "coloursupplied", "colourassupplied"
    )
    assert f"A-004{row}" in text
    assert "notsoldsingly■RENEW1,2" in text
    one = pick(1).lines[0]
    line = replace(one, bin=None, bags=(), content=replace(one.content, rule=NeedRule.KEEP))
    (text,) = texts(replace(pick(0), lines=(line,)))
    assert "nobin4ITEM-0" in text
    assert "□KEEPkit" in text


@pytest.mark.parametrize("text", ["O-ring 17.0 × 2.5 mm", HOSTILE])
@pytest.mark.parametrize("paper", PAPERS)
def test_every_row_has_a_tick_box_of_7_mm_and_is_at_least_9_mm_high(paper: str, text: str) -> None:
    pdf = drawn(draw_pick_list, pick(40, text), paper=paper)
    found = squares(pdf, 7)
    assert sum(map(len, found)) == 40
    for boxes in found:
        tops = sorted((box.top for box in boxes), reverse=True)
        assert all(upper - lower >= 8.99 for upper, lower in pairwise(tops))


@pytest.mark.parametrize("text", ["plain", HOSTILE])
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    paper: str, text: str
) -> None:
    width, height = PAPERS[paper]
    hostile = replace(
        pick(40, text), vehicle=text, jobs=(text,) * 3, doubts=(stopped(text),) * 30,
        cautions=(replace(CAUTION, title=text, text=text, applies_to=(text,)),) * 9,
    )  # fmt: skip
    pdf = drawn(draw_pick_list, hostile, paper=paper)
    require_clear(pdf, width, height)


def test_stopped_jobs_and_cautions_are_printed_in_full() -> None:
    (text,) = texts(pick(1))
    assert "NOTFINE:READTHISFIRSTSTOPPED:J2:Whichoilcoolerisfitted?Lookatit." in text
    assert "Coolant(A2)Capoffcoldonly;themaker'sdatadecide." in text


def test_a_long_caution_is_not_cut() -> None:
    caution = replace(CAUTION, text=" ".join(f"word{n}" for n in range(150)))
    text = "".join(texts(replace(pick(30), cautions=(caution,) * 12)))
    assert text.count("".join(f"word{n}" for n in range(150))) == 12


def test_forty_stopped_jobs_run_over_into_further_boxes() -> None:
    reasons = tuple(stopped(f"{n}: {'which cooler is fitted? ' * 8}") for n in range(40))
    text = "".join(texts(replace(pick(1), doubts=reasons)))
    assert all(f"STOPPED:J2:{n}:" in text for n in range(40))
    assert text.count("NOTFINE:READTHISFIRST") > 1


def test_an_empty_list_says_so_and_has_no_box() -> None:
    (text,) = texts(replace(pick(0), doubts=(), cautions=()))
    assert "Nothinghastobetaken." in text
    assert "LEFTOFF" not in text
    assert "CAUTIONS" not in text


def test_text_from_data_is_not_read_as_markup() -> None:
    (text,) = texts(pick(1, "<b>seal</b> &amp; <font size=40>ring"))
    assert "<b>seal</b>&amp;<fontsize=40>ring" in text


def test_the_same_list_gives_the_same_bytes() -> None:
    assert drawn(draw_pick_list, pick(9)) == drawn(draw_pick_list, pick(9))


def test_the_number_of_pages_is_returned() -> None:
    from io import BytesIO

    assert draw_pick_list(pick(60), BytesIO()) == len(texts(pick(60)))


def test_an_unknown_paper_is_refused_in_a_sentence() -> None:
    with pytest.raises(KittingError, match=r"no paper 'A3'\. Known: A4, Letter"):
        drawn(draw_pick_list, pick(1), paper="A3")


def lot(code: str, **changes: Any) -> PromisedView:
    """Two pieces of a lot."""
    good = PromisedView(SourceKind.LOT, 2000, 0, lot=code, state=LotState.GOOD)
    return replace(good, **changes)


def booked(rows: int) -> PickView:
    """The pick list of a booking, with lots and something short."""
    made = pick(rows)
    sources = (
        lot("SI-2411", keeps_to=date(2034, 12, 31)),
        lot("LX 9/4", keeps_to=date(2030, 1, 31)),
    )
    free = ElsewhereView(ElsewhereKind.FREE, 4000, branch="canal")
    short = (ShortageView("ITEM-0", 2000, "each", (free,)), ShortageView("ITEM-7", 1000, "each"))
    return replace(
        made, booking="B0002", shortages=short,
        lines=tuple(replace(line, sources=sources, short=2000) for line in made.lines),
    )  # fmt: skip


def test_the_pick_list_of_a_booking_names_it_in_the_title_and_on_every_page() -> None:
    found = texts(booked(60))
    assert "PICKLISTB0002·kitKBTGAB27" in found[0]
    assert len(found) > 2
    assert all("PicklistB0002·kitKBTGAB27" in text for text in found)
    assert "kitKBTGAB27" not in "".join(texts(pick(60))[1:])


def test_what_a_booking_lacks_stands_in_a_box_before_the_lines() -> None:
    (text,) = texts(booked(1))
    assert "SHORT2×ITEM-0(4freeincanal)1×ITEM-7" in text
    assert text.index("1×ITEM-7") < text.index("BINTAKEITEM")
    assert "SHORT" not in texts(pick(1))[0]


def test_each_lot_is_a_line_of_its_own_with_its_code_larger_and_what_is_short_below() -> None:
    (page,) = characters(drawn(draw_pick_list, booked(1)))
    text = words(page)
    assert "2fromlotSI-2411,keepsto2034-12-312fromlotLX9/4,keepsto2030-01-31SHORT2" in text
    for before, code in (("2fromlot", "SI-2411"), ("2fromlot", "LX9/4")):
        start = text.index(before + code) + len(before)
        assert {box.size for box in page[start : start + len(code)]} == {11.0}
        assert page[start - 1].size < 11
        assert page[start + len(code)].size < 11
    first, second = text.index("2fromlotSI"), text.index("2fromlotLX")
    assert page[first].bottom > page[second].top


@pytest.mark.parametrize("paper", PAPERS)
def test_the_pick_list_of_a_booking_keeps_rows_whole_and_within_the_margins(paper: str) -> None:
    width, height = PAPERS[paper]
    made = booked(40)
    held = lot(HOSTILE, bin=HOSTILE, state=LotState.ON_HOLD, on_hold=HOSTILE)
    order = PromisedView(SourceKind.ORDER, 1000, 0, order=HOSTILE, supplier=HOSTILE)
    one = made.lines[1]
    bad = replace(one, sources=(held, order), content=replace(one.content, unit=HOSTILE))
    short = ShortageView(HOSTILE, 1000, HOSTILE)
    hostile = replace(made, shortages=(short,) * 9, lines=(bad, *made.lines, bad))
    pdf = drawn(draw_pick_list, hostile, paper=paper)
    require_clear(pdf, width, height)
    assert sum(map(len, squares(pdf, 7))) == 42
