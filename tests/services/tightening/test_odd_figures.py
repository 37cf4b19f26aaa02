"""Odd figures and left-hand threads are told wherever a figure stands: load, plan, sheet, bag."""

from __future__ import annotations

from io import BytesIO, StringIO
from pathlib import Path

import pytest
from paper import characters, words
from rich.console import Console
from sqlalchemy import Engine

from helpers import ON, load, planned, said, unit
from kitting.cli.render.plan import show_plan
from kitting.reports.sheets.tightening import draw_tightening
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.store import reading
from kitting.views.plan import PlanView
from kitting.views.tightening import TightenView
from kitting.wording.tightening import tightening_text

CASES = Path(__file__).parents[2] / "cases"
ODD = (CASES / "u1b.yaml").read_text(encoding="utf-8")
OF_KINDS = (CASES / "u1c.yaml").read_text(encoding="utf-8")
LEFT = unit(
    """
      - code: a
        name: Hub
        system: engine
        fits:
          - {item: LEFT, position: hub nut, tightening: {stages: [20 N·m, 30 N·m], thread: dry, source: test}}
          - {item: LEFT, position: other nut}
          - {item: BOLT, position: bolt, tightening: {stages: [8 N·m], thread: dry, source: test}}""",
    "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
    "      - {code: X1, name: One, needs: [S1]}",
    "  - {code: LEFT, name: Left, kind: nut, thread: M10-LH, head: hexagon 16 mm}",
)


def sheet(engine: Engine, car: str, job: str) -> TightenView:
    with reading(engine) as session:
        return tighten(session, ToolRequest(PlanRequest(car, (job,), ON)))


def on_paper(view: TightenView) -> str:
    target = BytesIO()
    draw_tightening(view, target)
    return "".join(map(words, characters(target.getvalue())))


def on_screen(view: PlanView) -> str:
    out = Console(file=StringIO(), width=400, markup=False)
    show_plan(out, view)
    assert isinstance(out.file, StringIO)
    return out.file.getvalue()


TOLD = {
    "b": "96 N·m takes a thread of M8 beyond its yield point even of class 12.9",
    "c": "960 N·m cannot be checked: no thread is stated",
    "d": "60 N·m takes a M8 bolt of class 8.8, dry, beyond its yield point",
    "f": "2.5 N·m is very little for M8",
    "g": "990° in all is more than a whole turn",
    "g2": "stage 2 (20 N·m) is less than stage 1 (60 N·m)",
    "h": "150 N·m takes a thread of M10 beyond its yield point even of class 12.9",
    "i": "250 N·m takes a thread of M14×1.5 beyond its yield point even of class 8.8",
    "k": "100 N·m takes a thread of M10×1 beyond its yield point even of class 8.8",
    "w": "120 lbf·in is very little for M14×1.5",
}


@pytest.mark.parametrize("text", [ODD, OF_KINDS])
def test_what_is_odd_about_a_figure_is_told_on_load_plan_sheet_and_bag(
    lite: Engine, text: str
) -> None:
    loaded = said(load(lite, text).remarks)
    view = planned(lite, "C 1", "J")
    tightened = sheet(lite, "C 1", "J")
    assert len(view.tightenings) in (4, 6)
    rows = {row.position: row for joint in tightened.joints for row in joint.rows}
    paper, screen = on_paper(tightened), on_screen(view)
    for row in view.tightenings:
        told = TOLD[row.position]
        (remark,) = said(row.remarks)
        assert remark.startswith(told)
        assert said(rows[row.position].remarks) == [remark]
        assert told in screen
        assert "".join(told.split()) in paper
        checked = "cannot be checked" not in told
        assert any(f"u/j '{row.position}': {told}" in one for one in loaded) == checked
        assert ("ODD FIGURE" in tightening_text(row)) == checked


def test_figures_without_a_thread_are_named_in_one_remark_of_the_load(lite: Engine) -> None:
    remarks = said(load(lite, ODD).remarks)
    assert "1 figure cannot be checked, since no thread is stated: u/j 'c'" in remarks


def test_a_thread_in_plastic_is_told_on_load_plan_sheet_and_bag(lite: Engine) -> None:
    plug = "{item: BOLT, position: bolt, tightening: {stages: [8 N·m]"
    assert plug in LEFT
    text = LEFT.replace(
        plug, plug.replace("8 N·m", "6 lbf·in").replace("bolt,", "bolt, into: plastic,")
    )
    assert (
        "1 figure cannot be checked, since the thread is in plastic and the figure of the maker of"
        " the plastic part decides: grebe/a 'bolt'"
    ) in said(load(lite, text).remarks)
    view = planned(lite, "PELL 001", "X1")
    (row,) = (row for row in view.tightenings if row.position == "bolt")
    (told,) = said(row.remarks)
    assert told.startswith("6 lbf·in cannot be checked: the thread is in plastic")
    assert told in on_screen(view)
    assert "".join(told.split()) in on_paper(sheet(lite, "PELL 001", "X1"))
    bag = tightening_text(row)
    assert bag.endswith("thread in plastic: the figure of the maker of the plastic part decides")
    assert "ODD FIGURE" not in bag


def test_a_usual_figure_is_not_remarked_on(lite: Engine) -> None:
    load(lite, LEFT)
    view = planned(lite, "PELL 001", "X1")
    assert {row.position: row.remarks for row in view.tightenings if row.stages} == {
        "hub nut": (), "bolt": (),
    }  # fmt: skip


def test_a_left_hand_thread_stands_at_every_figure(lite: Engine) -> None:
    load(lite, LEFT)
    view = planned(lite, "PELL 001", "X1")
    assert [(row.position, row.left_hand) for row in view.tightenings] == [
        ("hub nut", True), ("other nut", True), ("bolt", False),
    ]  # fmt: skip
    nut, other, bolt = (tightening_text(row) for row in view.tightenings)
    assert nut.startswith("hub nut: LEFT-HAND THREAD, 20 N·m")
    assert other.startswith("other nut: LEFT-HAND THREAD, NO FIGURE")
    assert "LEFT-HAND" not in bolt
    assert on_screen(view).count("LEFT-HAND THREAD") == 2
    # Of the sheet: at both stages of one nut, and at the frame where there is no figure.
    assert on_paper(sheet(lite, "PELL 001", "X1")).count("LEFT-HANDTHREAD") == 3


@pytest.mark.parametrize("thread", ["7/16-20 UNF LH", "G 1/4 LH", "1/8 NPT LH"])
def test_a_left_hand_thread_in_inches_is_told_too(lite: Engine, thread: str) -> None:
    load(lite, LEFT.replace("M10-LH", thread))
    nut, *_ = (tightening_text(row) for row in planned(lite, "PELL 001", "X1").tightenings)
    assert nut.startswith("hub nut: LEFT-HAND THREAD, 20 N·m")


def test_turning_back_stands_on_plan_sheet_and_bag_and_is_asked_of_the_tools(lite: Engine) -> None:
    load(lite, LEFT.replace("[20 N·m, 30 N·m]", "[50 N·m, then loosen 90°, 30 N·m]"))
    view = planned(lite, "PELL 001", "X1")
    (nut,) = (row for row in view.tightenings if row.position == "hub nut")
    assert nut.remarks == ()
    assert tightening_text(nut).startswith(
        "hub nut: LEFT-HAND THREAD, 50 N·m (36.9 lbf·ft) → turn back 90° → 30 N·m"
    )
    assert "50 N·m → turn back 90° → 30 N·m" in on_screen(view)
    tightened = sheet(lite, "PELL 001", "X1")
    assert "turnback90°" in on_paper(tightened)
    (row,) = (row for joint in tightened.joints for row in joint.rows if row.position == "hub nut")
    assert [one.stage.kind for one in row.stages] == ["torque", "back", "torque"]
