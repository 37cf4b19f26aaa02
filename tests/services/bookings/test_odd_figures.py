"""An odd figure keeps a booking from being ready, and is told in words when it is read back."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import SUPPLY, booked, load, said, unit
from kitting.facts.verdicts import Verdict

BOLT = """
  - {code: BOLT8, name: bolt, kind: bolt, thread: M8, property_class: "8.8", head: hexagon 13 mm}
"""


@pytest.mark.parametrize(
    ("stages", "why"),
    [
        ("60 N·m", "60 N·m takes a M8 bolt of class 8.8"),
        ("20 N·m, +400°", "400° in all is more than a whole turn"),
        ("2 N·m", "2 N·m is very little for M8"),
    ],
)
def test_an_odd_figure_keeps_a_booking_from_being_ready(
    lite: Engine, stages: str, why: str
) -> None:
    # Invented figures, each odd in a way of its own.
    fit = (
        "{item: BOLT8, position: b, rules: [{rule: keep, source: maker, reference: test}],"
        f" tightening: {{stages: [{stages}], thread: dry, source: x}}}}"
    )
    text = unit(
        f"      - {{code: a, name: A, system: engine, fits: [{fit}]}}",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        items=BOLT,
    )
    load(lite, text + SUPPLY)
    view = booked(lite, "X1")
    assert (view.verdict, view.ready) == (Verdict.UNKNOWN, False)
    (text,) = said(doubt.because for doubt in view.doubts)
    assert text.startswith("the figure of a: b (BOLT8) is odd, look it up again: ")
    assert why in text
