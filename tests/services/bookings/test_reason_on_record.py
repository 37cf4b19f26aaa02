"""A reason on record is shown as what it was given for."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from sqlalchemy import Engine

from helpers import booked, load, shop, stock
from kitting.cli.render.bookings import show_booking
from kitting.facts.words import BookingState


@pytest.mark.parametrize(
    ("state", "said"),
    [
        (BookingState.CONFIRMED, "Confirmed incomplete: the seals come later"),
        (
            BookingState.ON_THE_RAMP,
            "Confirmed or put on the ramp incomplete: the seals come later",
        ),
        (BookingState.CLOSED, "Gone on or closed despite what was not fine: the seals come later"),
    ],
)
def test_a_reason_given_at_the_ramp_or_at_closing_is_not_called_one_of_confirming(
    lite: Engine, tmp_path: Path, state: BookingState, said: str
) -> None:
    load(lite, shop({"X1": {"RING": 1}}))
    stock(lite, tmp_path, "yard,RING,A,2 each,1Q26")
    view = replace(booked(lite, "X1"), state=state, override="the seals come later")
    out = StringIO()
    show_booking(Console(file=out, width=120), view)
    assert said in out.getvalue().splitlines()
