"""Orders of tightening from catalogues: each case by its number. The catalogue is invented."""

from __future__ import annotations

import random
from itertools import pairwise
from pathlib import Path

import pytest
from paper import characters, words
from paper import drawn as drawn_pdf
from sqlalchemy import Engine

from helpers import ON, load, said
from kitting.calc.tightening.patterns import general_pattern
from kitting.errors import FileProblemsError
from kitting.facts.words import PatternShape
from kitting.reports.sheets.tightening import draw_tightening
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.store import reading
from kitting.views.tightening import DrawingView

TEXT = (Path(__file__).parent / "r-t.yaml").read_text(encoding="utf-8")
# What the catalogue has wrong, put right: an order names only what is tightened, each hole is one.
ORDER, TWICE = "order: [3, 5, 4, 6, 1, 2]", "[[0,0],[0,0],[80,0],[0,50]]"
RIGHT = TEXT.replace(ORDER, "order: [3, 5, 4, 6]").replace(TWICE, "[[0,0],[80,50],[80,0],[0,50]]")


def drawn(engine: Engine, job: str) -> DrawingView:
    with reading(engine) as session:
        sheet = tighten(session, ToolRequest(PlanRequest("TT 1", (job,), ON)))
    (joint,) = sheet.joints
    assert joint.drawing is not None
    return joint.drawing


def faults(engine: Engine, text: str) -> list[str]:
    with pytest.raises(FileProblemsError) as refused:
        load(engine, text)
    return str(refused.value).splitlines()


def test_an_order_that_names_a_dowel_is_refused_with_line_and_reason(lite: Engine) -> None:
    told = faults(lite, TEXT)
    assert told[0] == (
        "test.yaml:24: unit tu joint dowels: the order names hole 1 (DOWEL-8), where nothing is"
        " tightened. Leave it out of the order; it keeps its number"
    )
    assert "hole 2 (DOWEL-8)" in told[1]


def test_with_a_right_order_dowels_keep_their_numbers(lite: Engine) -> None:
    load(lite, RIGHT)
    assert drawn(lite, "T2").order == (3, 5, 4, 6)
    general = drawn(lite, "T3")
    assert general.order == (3, 4, 6, 5)
    assert [hole.number for hole in general.holes if hole.row is None] == [1, 2]


def test_five_bolts_in_whole_millimetres_go_in_a_star(lite: Engine) -> None:
    load(lite, RIGHT)
    assert (drawn(lite, "T5").shape, drawn(lite, "T5").order) == ("circle", (1, 3, 5, 2, 4))


def test_a_circle_with_one_hole_missing_stays_a_circle(lite: Engine) -> None:
    load(lite, RIGHT)
    assert (drawn(lite, "T6").shape, drawn(lite, "T6").order) == ("circle", (1, 5, 3, 7, 2, 6, 4))


def test_a_plate_measured_to_a_quarter_of_a_millimetre_goes_like_the_exact_one() -> None:
    """Two rows of five, 60 and 90 mm apart: from the middle outwards, sides in turn."""
    exact = [(60.0 * across, 90.0 * up) for up in range(2) for across in range(5)]
    assert general_pattern(exact).shape == PatternShape.PLATE
    luck = random.Random("measured")
    for _ in range(100):
        holes = [(x + luck.uniform(-0.25, 0.25), y + luck.uniform(-0.25, 0.25)) for x, y in exact]
        steps = [exact[number - 1] for number in general_pattern(holes).order]
        far = [(x - 120) ** 2 + (y - 45) ** 2 for x, y in steps]
        assert far == sorted(far)
        for (x, y), (to_x, to_y) in pairwise(steps):
            if abs(x - 120) == abs(to_x - 120) > 0:
                assert (to_x - 120, to_y - 45) != (x - 120, 45 - y) or (
                    240 - x, 90 - y
                ) in steps[: steps.index((x, y))]  # fmt: skip


def test_holes_for_a_part_of_the_bolts_give_no_order(lite: Engine) -> None:
    load(lite, RIGHT)
    found = drawn(lite, "T7")
    assert found.order == ()
    assert "holes are stated for 3 of 6 fasteners only" in said(found.remarks)[0]


def test_two_fasteners_in_one_place_are_refused(lite: Engine) -> None:
    (told,) = faults(lite, RIGHT.replace("[[0,0],[80,50],[80,0],[0,50]]", TWICE))[:1]
    assert "holes" in told
    assert "are in one place (0, 0). Give each fastener its own hole" in told


def test_from_where_a_drawing_is_seen_is_data_and_else_unknown(lite: Engine) -> None:
    load(lite, RIGHT.replace("name: pump of five", "name: sump\n        seen_from: below"))
    assert (drawn(lite, "T5").seen_from, drawn(lite, "T6").seen_from) == ("below", None)


def test_loosening_in_reverse_is_called_general_practice_under_a_makers_order(
    lite: Engine,
) -> None:
    load(lite, RIGHT)
    with reading(lite) as session:
        sheet = tighten(session, ToolRequest(PlanRequest("TT 1", ("T1",), ON)))
    text = "".join(map(words, characters(drawn_pdf(draw_tightening, sheet, paper="A4"))))
    order = text.index("MAKER'SORDERTIGHTENorder5-3-6-1-4-2")
    loosen = text.index("Generalpractice,notthemaker's:looseninreverse2-4-1-6-3-5")
    assert order < loosen
