"""Dates of commands and of lists lie within the years that catalogues take."""

from __future__ import annotations

from datetime import date, datetime

import pytest
import typer

from kitting.cli.options import fitting_date, moment
from kitting.errors import FigureError
from kitting.files.lists.cells import day

BEYOND = ("0001-01-01", "1884-12-31", "2100-01-01", "9999-12-31")


@pytest.mark.parametrize("text", BEYOND)
def test_a_date_of_a_year_out_of_reason_is_named_with_the_years_known(text: str) -> None:
    with pytest.raises(typer.BadParameter, match="1885 to 2099") as option:
        fitting_date(text, "--until")
    assert option.value.param_hint == "--until"
    for now in (text, f"{text} 08:00", f"{text}T08:00+14:00"):
        with pytest.raises(typer.BadParameter, match="1885 to 2099") as time:
            moment(now)
        assert time.value.param_hint == "--now"
    with pytest.raises(FigureError, match="1885 to 2099"):
        day(text)


@pytest.mark.parametrize("text", ["1885-01-01", "2099-12-31"])
def test_the_first_and_the_last_day_are_taken(text: str) -> None:
    found = date.fromisoformat(text)
    assert fitting_date(text) == found == day(text)
    assert moment(f"{text} 08:00") == datetime(found.year, found.month, found.day, 8)  # noqa: DTZ001


@pytest.mark.parametrize("text", ["2026-02-30", "soon", ""])
def test_what_is_no_date_is_told_as_before(text: str) -> None:
    with pytest.raises(typer.BadParameter, match="is no date"):
        fitting_date(text)
    with pytest.raises(FigureError, match="is no date"):
        day(text)
