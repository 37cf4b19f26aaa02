"""A page of tightening and one of refit beside the pictures of how they are meant to look.

A picture is renewed with `KITTING_PICTURES=write pytest tests/reports/sheets/test_pictures.py`, and
looked at. Renderers differ in how they smooth edges: 2 of 100 grey on average are let pass, at 60
dots per inch, where a word that moves by a line or a figure of another size makes more.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from paper import drawn, pages
from PIL import Image, ImageChops, ImageStat

from factory import CAUTION, ON
from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.reasons import because
from kitting.facts.stages import parse_stage
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.units import parse_torque
from kitting.facts.verdicts import Verdict
from kitting.facts.words import NeedRule, PatternShape, Rule, ThreadState
from kitting.reports.sheets.refit import draw_refit
from kitting.reports.sheets.tightening import draw_tightening
from kitting.views.kit import ContentView, EndLabel
from kitting.views.plan import RingView
from kitting.views.refit import RefitBagView, RefitEndView, RefitView
from kitting.views.tightening import (
    DrawingView,
    HoleView,
    TightenJointView,
    TightenRowView,
    TightenStageView,
    TightenView,
)
from kitting.views.tools import TrainView

PICTURES = Path(__file__).parents[1] / "pictures"
WRITE = os.environ.get("KITTING_PICTURES") == "write"
DPI, MOST = 60, 2.0  # of 100 grey
# All invented.
TORQUE = TightenStageView(
    parse_stage("75 ± 5 lbf·in"),
    TrainView(("W-5-25", "S-10"), ("bay",), parse_torque("8.5 N·m"),
              resolution=parse_torque("0.5 N·m")),
    (),
)  # fmt: skip
TURN = TightenStageView(
    parse_stage("+90°"), None, (because(ToolReason.NO_ANGLE_GAUGE),), Verdict.NO
)
ROW = TightenRowView(
    "cover bolts", "BOLT-M6X25", "flange bolt M6 × 25", 4, "M6", False, ThreadState.DRY,
    Rule.RENEW, (TORQUE, TURN), None, "invented leaflet, page 12",
)  # fmt: skip
CORNERS = ((0.0, 60.0), (80.0, 60.0), (80.0, 0.0), (0.0, 0.0))
DRAWN = DrawingView(
    tuple(HoleView(n, x, y, 0, None) for n, (x, y) in enumerate(CORNERS, 1)),
    (1, 3, 2, 4), PatternShape.MAKER, "timing end", "the front of the engine",
)  # fmt: skip
JOINT = TightenJointView(3, "cover", "timing cover", (ROW,), DRAWN)
TIGHTENING = TightenView(
    "K42TV6M", ON, "Ulvander Pell …117", ("J3 timing cover reseal",), ("bay",), (JOINT,), (),
    (CAUTION,),
)  # fmt: skip
RING = EndLabel(
    "pipe into the cover", "short leg",
    ContentView("RING-A", "ring", NeedRule.RENEW, 1000, "each", size="17 × 2 mm"),
    because(LubricantReason.DRY), "FKM", 75, RingView(17.0, 2.0, "FKM", 75),
)  # fmt: skip
REFIT = RefitView(
    "K42TV6M", ON, "Ulvander Pell …117", ("J3 timing cover reseal",), ("bay",),
    (RefitBagView(3, "K42TV6M-03", "cover", "timing cover", ports=True,
                  ends=(RefitEndView("K42TV6M-03-1", RING),), tightening=JOINT),),
    (), (CAUTION,),
)  # fmt: skip
SHEETS = {"tightening": (draw_tightening, TIGHTENING), "refit": (draw_refit, REFIT)}


def differs(one: Image.Image, other: Image.Image) -> float:
    """How far two pictures of one size are apart on average over the inked part, in 100 grey."""
    inked = ImageChops.darker(one, other).point(lambda value: 255 if value < 250 else 0)
    grey = ImageStat.Stat(ImageChops.difference(one, other), mask=inked)
    return grey.mean[0] / 2.55


def page_of(draw: Callable[..., object], shown: object) -> Image.Image:
    """The first page, small."""
    return pages(drawn(draw, shown), DPI)[0]


@pytest.mark.parametrize("name", SHEETS)
def test_a_page_looks_as_its_picture(name: str) -> None:
    found, path = page_of(*SHEETS[name]), PICTURES / f"{name}.png"
    if WRITE:
        found.save(path, optimize=True)
    kept = Image.open(path).convert("L")
    assert found.size == kept.size
    assert differs(found, kept) <= MOST


def test_a_figure_of_another_size_would_be_noticed() -> None:
    kept = Image.open(PICTURES / "tightening.png").convert("L")
    other = replace(TIGHTENING, jobs=(*TIGHTENING.jobs, "J9 another job"))
    assert differs(page_of(draw_tightening, other), kept) > MOST
