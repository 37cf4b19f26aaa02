"""What is put on a thread against the state of its figure: on plan, sheet and label."""

from __future__ import annotations

from io import BytesIO

import pytest
from paper import characters, words
from sqlalchemy import Engine

from helpers import ON, line_of, load, planned, said, unit
from kitting.facts.verdicts import Aspect, Verdict
from kitting.reports.labels.labels import draw_kit_labels
from kitting.reports.sheets.tightening import draw_tightening
from kitting.reports.stationery import find_stock
from kitting.services.kit.bags import kit_view
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.store import reading

ITEMS = """
  - {code: GREASE, name: grease, kind: assembly-lubricant, medium: petroleum-grease, unit: g}
  - {code: LOCKER, name: locker, kind: threadlocker, unit: ml}
  - {code: PATCH, name: patch, kind: patch-bolt, thread: M6, property_class: "8.8", head: hexagon 8 mm}
"""
ON_IT = "lubricant: {item: GREASE, amount: 1 g}"
LOCKER, GREASE = "{item: LOCKER, amount: 1 ml}", "{item: GREASE, amount: 1 g}"
OTHER = """
          - {item: BOLT, position: other, tightening: {stages: [9 N·m], thread: %s, source: x}}"""
RING = """
          - {item: RING, position: ring}"""


def catalogue(state: str, more: str, uses: str, others: str = "", item: str = "BOLT") -> str:
    return unit(
        f"""
      - code: a
        name: Hub
        system: engine
        fits:
          - {{item: {item}, position: bolt, {more}
             tightening: {{stages: [9 N·m], thread: {state}, source: x}}}}{others}
        uses: [{uses}]""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        ITEMS,
    )


@pytest.mark.parametrize(
    ("state", "more", "uses", "told"),
    [
        ("dry", f"{ON_IT},", "", "figure for a DRY thread, and GREASE is put on it"),
        ("dry", "", LOCKER, "figure for a DRY thread, and LOCKER used at the joint"),
        ("dry", "", GREASE, "figure for a DRY thread, and GREASE used at the joint"),
        ("oiled", "", "", "figure for an OILED thread, and nothing is stated to oil it with"),
        ("oiled", "lubricant: dry,", "", "figure for an OILED thread, and it is to go together dry"),
        ("oiled", "", LOCKER, "figure for an OILED thread, and LOCKER locks it"),
        ("locked", f"{ON_IT},", LOCKER, "figure for a LOCKED thread, and GREASE is put on it"),
    ],
)  # fmt: skip
def test_a_contradiction_is_told_on_plan_sheet_and_label_its_entry_on_screens_only(
    lite: Engine, state: str, more: str, uses: str, told: str
) -> None:
    load(lite, catalogue(state, more, uses))
    view = planned(lite, "PELL 001", "X1")
    bolt = line_of(view, "BOLT")
    assert bolt.verdict is Verdict.UNKNOWN
    assert [doubt.aspect for doubt in bolt.doubts] == [Aspect.FIGURE]
    assert f"a: bolt (BOLT): {told}" in said([bolt.doubts[0].because])[0]
    (on_screen,) = said(view.tightenings[0].remarks)
    assert told in on_screen
    assert on_screen.endswith("thread: in its tightening:)")
    with reading(lite) as session:
        sheet = tighten(session, ToolRequest(PlanRequest("PELL 001", ("X1",), ON)))
    for draw in (
        lambda target: draw_tightening(sheet, target),
        lambda target: draw_kit_labels(kit_view(view), find_stock("99x67-8"), target),
    ):
        target = BytesIO()
        draw(target)
        text = " ".join("".join(map(words, characters(target.getvalue()))).split())
        assert f"CANNOT BE PROVEN: {told}".replace(" ", "") in text.replace(" ", "")
        assert "initstightening" not in text.replace(" ", "")


@pytest.mark.parametrize(
    ("state", "more", "uses", "others"),
    [
        ("dry", "", "", ""),
        ("dry", "lubricant: dry,", f"{LOCKER}, {GREASE}", ""),
        ("dry", "", LOCKER, OTHER % "locked"),
        ("dry", "", GREASE, OTHER % "oiled"),
        ("dry", "", GREASE, RING),
        ("oiled", f"{ON_IT},", "", ""),
        ("oiled", "", GREASE, ""),
        ("locked", "", LOCKER, ""),
        ("locked", "lubricant: {item: LOCKER, amount: 1 ml},", "", ""),
    ],
)
def test_what_has_its_place_contradicts_nothing(
    lite: Engine, state: str, more: str, uses: str, others: str
) -> None:
    load(lite, catalogue(state, more, uses, others))
    view = planned(lite, "PELL 001", "X1")
    row = next(row for row in view.tightenings if row.position == "bolt")
    assert said(row.remarks) == []
    assert not any(doubt.aspect is Aspect.FIGURE for doubt in line_of(view, "BOLT").doubts)


def test_a_new_coated_bolt_is_not_dry(lite: Engine) -> None:
    load(lite, catalogue("dry", "", "", item="PATCH"))
    view = planned(lite, "PELL 001", "X1")
    assert "brings its own locker" in said(view.tightenings[0].remarks)[0]
    assert line_of(view, "PATCH").verdict is Verdict.UNKNOWN


@pytest.mark.parametrize(
    ("state", "more", "told"),
    [
        ("dry", f"{ON_IT},", ["figure for a DRY thread, and GREASE is put on it"]),
        ("oiled", "lubricant: dry,", ["figure for an OILED thread, and it is to go together dry"]),
        (
            "oiled",
            "lubricant: {item: LOCKER, amount: 1 ml},",
            ["OILED thread, and LOCKER locks it"],
        ),
        ("locked", f"{ON_IT},", ["figure for a LOCKED thread, and GREASE is put on it"]),
        ("oiled", f"{ON_IT},", []),
        ("locked", "lubricant: {item: LOCKER, amount: 1 ml},", []),
        ("dry", "lubricant: dry,", []),
        ("unknown", f"{ON_IT},", []),
    ],
)
def test_an_entry_that_contradicts_itself_is_told_when_it_is_loaded(
    lite: Engine, state: str, more: str, told: list[str]
) -> None:
    """What a joint or a step uses depends on the car: that is told by the plan."""
    report = load(lite, catalogue(state, more, LOCKER))
    lines = [line for line in said(report.remarks) if "thread" in line and "bolt" in line]
    assert len(lines) == len(told)
    for line, part in zip(lines, told, strict=True):
        assert "grebe/a" in line
        assert part in line
