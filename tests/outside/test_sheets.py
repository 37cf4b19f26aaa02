"""Sheets seen from outside: text, page numbers and boxes read by pypdfium2."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from paper import characters, drawn

from factory import HOSTILE, pick
from kitting.reports.picklist import draw_pick_list
from kitting.reports.stationery import PAPERS


def texts(pdf: bytes) -> list[str]:
    return ["".join(char for char, *_ in page) for page in characters(pdf)]


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_bears_reference_page_number_and_the_caution_to_the_makers_data(
    paper: str,
) -> None:
    found = texts(drawn(draw_pick_list, pick(60), paper=paper))
    assert len(found) > 2
    for number, text in enumerate(found, 1):
        assert "PicklistKBTGAB2" in text
        assert f"page{number}/{len(found)}" in text
        assert "Planninginformation,notaprocedure" in text


def test_every_row_of_300_is_there_once_with_all_its_characters() -> None:
    text = "".join(texts(drawn(draw_pick_list, pick(300))))
    for number in range(300):
        assert text.count(f"ITEM-{number}O-ring") == 1
    assert text.count("½°·μ€Łő") == 300
    assert text.count("■RENEW") == 100
    assert text.count("◪INSPECT") == 100


@pytest.mark.parametrize("text", ["plain", HOSTILE])
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_printed_outside_the_margins(paper: str, text: str) -> None:
    width, height = PAPERS[paper]
    for page in characters(drawn(draw_pick_list, pick(40, text), paper=paper)):
        for char, left, bottom, right, top in page:
            assert left >= 11.9, char
            assert right <= width - 11.5, char
            assert bottom >= 3, char
            assert top <= height - 11.5, char


def test_stopped_jobs_and_cautions_are_printed() -> None:
    (text,) = texts(drawn(draw_pick_list, pick(1)))
    assert "LEFTOFFTHISLIST" in text
    assert "J2STOPPED:Whichoilcoolerisfitted?" in text
    assert "Capoffcoldonly" in text


def test_an_empty_list_says_so() -> None:
    (text,) = texts(drawn(draw_pick_list, pick(0)))
    assert "Nothinghastobetaken." in text
