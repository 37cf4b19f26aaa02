"""Sheets seen from outside: text, page numbers and boxes read by pypdfium2."""

from __future__ import annotations

from dataclasses import replace

import pytest
from paper import characters, drawn, require_clear, words

from factory import CAUTION, HOSTILE, pick, stopped
from kitting.errors import KittingError
from kitting.facts.words import NeedRule
from kitting.reports.sheets.pick_list import draw_pick_list
from kitting.reports.stationery import PAPERS
from kitting.views.kit import PickView


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
    row = "ITEM-0O-ring17.0×2.5mmFKM75·colourassupplied"
    assert f"A-004{row}" in text
    assert "notsoldsingly■RENEWBAGS1,2" in text
    one = pick(1).lines[0]
    line = replace(one, bin=None, bags=(), content=replace(one.content, rule=NeedRule.KEEP))
    (text,) = texts(replace(pick(0), lines=(line,)))
    assert "nobin4ITEM-0" in text
    assert "↩KEEPKIT,loose" in text


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
