"""Fasteners of two kinds in one order of tightening: the paper follows that order. Invented data."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import pytest
from paper import characters, drawn, require_clear, squares, words

from factory import ON
from kitting.facts.stages import parse_stage
from kitting.facts.words import PatternShape, Rule, ThreadState
from kitting.reports.sheets.joint_order import runs_of
from kitting.reports.sheets.refit import draw_refit
from kitting.reports.sheets.tightening import draw_tightening
from kitting.reports.stationery import PAPERS
from kitting.views.refit import RefitBagView, RefitView
from kitting.views.tightening import (
    DrawingView,
    HoleView,
    TightenJointView,
    TightenRowView,
    TightenStageView,
    TightenView,
)

ORDER = (5, 3, 9, 8, 2, 4, 7, 1, 6)
# Holes 1 to 5 take the studs, 6 to 9 the bolts.
HOLES = [(float(40 * (n % 3)), float(40 * (n // 3))) for n in range(9)]


def stage(figure: str) -> TightenStageView:
    """A stage that no tool here sets."""
    return TightenStageView(parse_stage(figure), None, ())


STUDS = TightenRowView(
    "studs", "STUD-M8", "stud", 5, "M8", False, ThreadState.DRY, Rule.KEEP,
    (stage("11 N·m"), stage("22 N·m")), None, "invented leaflet, page 12",
)  # fmt: skip
BOLTS = replace(
    STUDS, position="long bolts", item="BOLT-M6", count=4, stages=(stage("7 N·m"), stage("+90°"))
)


def mixed(
    studs: TightenRowView = STUDS, bolts: TightenRowView = BOLTS, order: Sequence[int] = ORDER
) -> TightenJointView:
    """A joint of which one order leads through studs and bolts."""
    holes = tuple(
        HoleView(n, x, y, int(n > 5), "bolt M6" if n > 5 else "stud M8")
        for n, (x, y) in enumerate(HOLES, 1)
    )
    picture = DrawingView(holes, tuple(order), PatternShape.MAKER, "timing end")
    return TightenJointView(3, "cover", "timing cover to block", (studs, bolts), picture)


def view(joint: TightenJointView) -> TightenView:
    """The tightening sheet of one joint."""
    return TightenView(
        "KBTGAB27", ON, "Ulvander Pell …117", ("J3 cover",), ("bay",), (joint,), (), ()
    )


def texts(joint: TightenJointView) -> str:
    """The characters of its tightening sheet."""
    return "".join(map(words, characters(drawn(draw_tightening, view(joint)))))


def test_the_runs_of_an_order_follow_it_position_by_position() -> None:
    assert [(run.row, run.holes) for run in runs_of(mixed())] == [
        (0, (5, 3)), (1, (9, 8)), (0, (2, 4)), (1, (7,)), (0, (1,)), (1, (6,)),
    ]  # fmt: skip


def test_kinds_one_after_the_other_share_the_order_only_where_there_are_stages() -> None:
    after = tuple(range(1, 10))
    assert [run.row for run in runs_of(mixed(order=after))] == [0, 1]
    once = (replace(STUDS, stages=STUDS.stages[:1]), replace(BOLTS, stages=BOLTS.stages[:1]))
    assert runs_of(mixed(*once, order=after)) == ()
    assert runs_of(mixed(replace(STUDS, count=6), BOLTS)) == ()
    assert runs_of(replace(mixed(), drawing=None)) == ()


def test_a_kind_that_comes_first_in_the_order_is_tightened_first_though_it_is_listed_second() -> (
    None
):
    one = (replace(STUDS, stages=STUDS.stages[:1]), replace(BOLTS, stages=BOLTS.stages[:1]))
    joint = mixed(*one, order=(6, 7, 8, 9, 1, 2, 3, 4, 5))
    assert [(run.row, run.holes) for run in runs_of(joint)] == [
        (1, (6, 7, 8, 9)),
        (0, (1, 2, 3, 4, 5)),
    ]
    assert runs_of(mixed(*one, order=range(1, 10))) == ()


@pytest.mark.parametrize("sheet", ["tighten", "refit"])
def test_every_stage_goes_through_all_kinds_in_the_order_with_what_is_set_for_each(
    sheet: str,
) -> None:
    if sheet == "tighten":
        pdf = drawn(draw_tightening, view(mixed()))
    else:
        bag = RefitBagView(3, "KBTGAB27-03", "cover", "timing cover", tightening=mixed())
        about = ("KBTGAB27", ON, "Ulvander Pell …117", ("J3 cover",), ("bay",))
        pdf = drawn(draw_refit, RefitView(*about, (bag,), (), ()))
    text = "".join(map(words, characters(pdf)))
    order = "-".join(map(str, ORDER))
    first, second = text.split(f"STAGE1of2,inthisorderthroughallkinds:{order}")[1:][-1].split(
        f"STAGE2of2,inthisorderthroughallkinds:{order}"
    )[:2]
    for part, studs, bolts in ((first, "11N·m", "7N·m"), (second, "22N·m", "+90°")):
        assert "A=studs:holes1,2,3,4,5" in part
        assert "B=longbolts:holes6,7,8,9" in part
        kinds = f"{re.escape(studs)}(studs)|{re.escape(bolts)}(longbolts)"
        _before, *runs = re.split(kinds, part)
        named = [one or other for one, other in zip(runs[::3], runs[1::3], strict=True)]
        assert named == ["studs", "longbolts"] * 3
        holes = [re.match("[0-9]*", after) for after in runs[2::3]]
        assert [one and one.group() for one in holes] == ["53", "98", "24", "7", "1", "6"]


def test_there_is_a_box_for_every_hole_of_every_stage_and_time() -> None:
    again = mixed(replace(STUDS, times=2), replace(BOLTS, times=2))
    for shown, boxes in ((mixed(), 18), (again, 36)):
        pdf = drawn(draw_tightening, view(shown))
        assert sum(map(len, squares(pdf, 7))) == boxes


def test_what_the_order_leaves_open_of_the_stages_is_told_before_the_first() -> None:
    text = texts(mixed())
    assert text.index("Howthestagesfolloweachotherisnotstated.") < text.index("STAGE1of2,")
    stated = mixed(replace(STUDS, stage_order="each stage on all"), BOLTS)
    told = texts(stated)
    assert "Howthestagesfolloweachother" not in told
    assert "Stages:eachstageonall" in told
    unequal = texts(mixed(replace(STUDS, stages=())))
    assert "Notallhaveasmanystages,oronehasnofigure" in unequal
    assert "NOFIGURE" in unequal


@pytest.mark.parametrize("paper", PAPERS)
def test_a_stage_over_the_page_says_so_on_both_and_repeats_the_order(paper: str) -> None:
    width, height = PAPERS[paper]
    rows = (
        replace(STUDS, stages=STUDS.stages * 4, left_hand=True),
        replace(BOLTS, stages=BOLTS.stages * 4),
    )
    pdf = drawn(draw_tightening, view(mixed(*rows)), paper=paper)
    require_clear(pdf, width, height)
    found = [words(page) for page in characters(pdf)]
    ticked = [page for page, boxes in enumerate(squares(pdf, 7)) if boxes]
    assert len(ticked) > 2
    for page in ticked[1:]:
        assert "CONTINUESOVERLEAF:" in found[page - 1]
        assert "CONTINUED:" in found[page]
        assert "throughallkinds:" + "-".join(map(str, ORDER)) in found[page]
