"""Drawings of joints: what is tightened, what is not, and which orders nobody may give."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import ON, load, said, source, unit
from kitting.errors import FileProblemsError
from kitting.facts.words import PatternShape
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.store import reading
from kitting.views.tightening import DrawingView, TightenView

HOLES = Path(__file__).parents[2].joinpath("cases/hole_patterns.yaml").read_text(encoding="utf-8")
TWICE = "[[0,0],[0.2,0],[80,0],[0,50]]"
WHOLE = HOLES.replace(TWICE, "[[0,0],[80,50],[80,0],[0,50]]")
SHORT = "{item: ZBOLT-A30, position: short bolts, quantity: 3 each}"


def sheet(engine: Engine, job: str, car: str = "TT 1") -> TightenView:
    with reading(engine) as session:
        return tighten(session, ToolRequest(PlanRequest(car, (job,), ON)))


def drawn(engine: Engine, job: str) -> DrawingView:
    """The drawing of the only joint of a job."""
    (joint,) = sheet(engine, job).joints
    assert joint.drawing is not None
    return joint.drawing


def tightened(view: DrawingView) -> dict[int, bool]:
    return {hole.number: hole.row is not None for hole in view.holes}


def test_holes_of_dowels_keep_their_numbers_beside_the_makers_order(store: Engine) -> None:
    load(store, WHOLE)
    found = drawn(store, "T2")
    assert (found.shape, found.order) == (PatternShape.MAKER, (3, 5, 4, 6))
    assert tightened(found) == {1: False, 2: False, 3: True, 4: True, 5: True, 6: True}
    assert said(found.remarks) == [
        "no source stated",
        "nothing is tightened in holes 1, 2: DOWEL-8",
    ]


def test_a_general_order_is_given_by_the_numbers_of_what_is_tightened(lite: Engine) -> None:
    load(lite, WHOLE)
    found = drawn(lite, "T3")
    # Holes 1 and 2 are of dowels; four corners go crosswise, then clockwise.
    assert (found.shape, found.order) == (PatternShape.CIRCLE, (3, 4, 6, 5))
    assert said(found.remarks) == ["nothing is tightened in holes 1, 2: DOWEL-8"]


def test_holes_for_a_part_of_the_fasteners_give_no_general_order(lite: Engine) -> None:
    load(lite, WHOLE)
    found = drawn(lite, "T7")
    assert found.order == ()
    assert said(found.remarks) == [
        "holes are stated for 3 of 6 fasteners only, so that no general order can be given."
        " Not in the drawing: short bolts"
    ]


def test_a_single_bolt_of_another_kind_outside_the_drawing_stops_no_general_order(
    lite: Engine,
) -> None:
    plug = SHORT.replace("ZBOLT-A30", "PLUG").replace("3 each", "1 each")
    text = WHOLE.replace(SHORT, plug).replace(
        "units:", "  - {code: PLUG, name: plug, kind: drain-plug, thread: M14x1.5}\nunits:", 1
    )
    load(lite, text)
    found = drawn(lite, "T7")
    assert sorted(found.order) == [1, 2, 3]
    assert said(found.remarks) == [
        "this is the order of 3 of 4 fasteners. Not in the drawing: short bolts; the maker's data"
        " say when they are tightened"
    ]


def test_two_sizes_of_bolt_in_one_joint_share_the_makers_order(lite: Engine) -> None:
    load(lite, WHOLE)
    found = drawn(lite, "T1")
    assert (found.shape, found.order) == (PatternShape.MAKER, (5, 3, 6, 1, 4, 2))
    assert said(found.remarks) == ["no source stated"]


def test_an_order_has_the_source_of_its_file(lite: Engine) -> None:
    load(lite, "about: {author: A. Sample}\n" + WHOLE)
    assert said(drawn(lite, "T1").remarks) == ["no source stated"]
    load(lite, "about: {author: A. Sample, source: handbook}\n" + WHOLE)
    assert said(drawn(lite, "T1").remarks) == []


def test_five_bolts_in_whole_millimetres_and_seven_of_eight_go_crosswise(lite: Engine) -> None:
    load(lite, WHOLE)
    assert drawn(lite, "T5").order == (1, 3, 5, 2, 4)
    assert drawn(lite, "T6").order == (1, 5, 3, 7, 2, 6, 4)


def test_it_is_told_from_where_holes_are_seen_or_that_nobody_says(lite: Engine) -> None:
    load(lite, WHOLE.replace("name: pump of five", "name: pump\n        seen_from: below"))
    assert drawn(lite, "T5").seen_from == "below"
    assert drawn(lite, "T6").seen_from is None


def test_two_fasteners_in_one_hole_are_refused(lite: Engine) -> None:
    with pytest.raises(FileProblemsError, match=r"holes 1 and 2 are in one place \(0, 0\)"):
        load(lite, HOLES)


def test_a_dowel_round_a_bolt_is_no_second_fastener(lite: Engine) -> None:
    round_it = WHOLE.replace("holes: [[0,25],[80,25]]", "holes: [[0,0],[80,50]]")
    assert round_it != WHOLE
    load(lite, round_it)
    assert drawn(lite, "T3").order == (3, 4, 6, 5)


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ("[3, 5, 4, 1, 2]", "the order names hole 1 (DOWEL-8), where nothing is tightened"),
        ("[3, 5, 4]", "the order does not name hole 6 (ZBOLT-A30), which is tightened"),
    ],
)
def test_an_order_names_each_hole_that_is_tightened_and_no_other(
    lite: Engine, order: str, told: str
) -> None:
    with pytest.raises(FileProblemsError) as refused:
        load(lite, WHOLE.replace("[3, 5, 4, 6]", order))
    assert told in str(refused.value)


@pytest.mark.parametrize("order", ["[3, 5, 4, 6, 3]", "[3, 5, 4, 7]"])
def test_an_order_that_names_a_hole_twice_or_one_that_is_not_there_is_refused(order: str) -> None:
    with pytest.raises(FileProblemsError, match="names a hole twice, or one that is not among"):
        source(WHOLE.replace("[3, 5, 4, 6]", order))


def test_two_orders_of_the_maker_are_refused() -> None:
    """One drawn and one in words: nobody could say which one counts."""
    joint = """
      - code: a
        name: A
        system: engine
        order: [2, 1]
        fits:
          - {item: BOLT, position: bolts, quantity: 2 each, holes: [[0, 0], [40, 0]],
             tightening: {stages: [10 N·m], thread: dry, pattern: outwards, source: invented}}"""
    parts = ("      - {code: S1, name: One, hours: 1 h, opens: [a]}",
             "      - {code: X1, name: One, needs: [S1]}")  # fmt: skip
    source(unit(joint.replace(" pattern: outwards,", ""), *parts))
    with pytest.raises(FileProblemsError, match="two orders are stated"):
        source(unit(joint, *parts))


def positions(engine: Engine, job: str) -> Sequence[str]:
    (joint,) = sheet(engine, job).joints
    return [row.position for row in joint.rows]


def test_what_has_neither_thread_nor_figure_has_no_row_on_the_sheet(lite: Engine) -> None:
    load(lite, WHOLE)
    assert positions(lite, "T2") == ["short bolts"]


def test_a_makers_order_in_words_goes_before_a_general_one(lite: Engine) -> None:
    words = "clockwise, beginning with bolt 3 (invented)"
    text = unit(
        f"""
      - code: a
        name: A
        system: engine
        fits:
          - item: BOLT
            position: bolts
            quantity: 4 each
            holes: [[40, 0], [0, 40], [-40, 0], [0, -40]]
            tightening: {{stages: [9 N·m], thread: dry, source: x, pattern: "{words}"}}""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
    )
    load(lite, text)
    view = sheet(lite, "X1", "PELL 001").joints[0].drawing
    assert view is not None
    assert (view.order, said(view.remarks)) == ((), [f"the order is given in words: {words}"])


def test_how_stages_follow_each_other_is_no_order_of_the_fasteners(lite: Engine) -> None:
    """Both in words by the same maker: the words about the stages forbid no general order."""
    words = "each stage on all four before the next (invented)"
    text = unit(
        f"""
      - code: a
        name: A
        system: engine
        fits:
          - item: BOLT
            position: bolts
            quantity: 4 each
            holes: [[40, 0], [0, 40], [-40, 0], [0, -40]]
            tightening:
              {{stages: [5 N·m, 9 N·m], thread: dry, source: x, stage_order: "{words}"}}""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
    )
    load(lite, text)
    (joint,) = sheet(lite, "X1", "PELL 001").joints
    assert joint.drawing is not None
    assert joint.drawing.shape == PatternShape.CIRCLE
    assert sorted(joint.drawing.order) == [1, 2, 3, 4]
    assert joint.drawing.remarks == ()
    assert [(row.pattern, row.stage_order) for row in joint.rows] == [(None, words)]
