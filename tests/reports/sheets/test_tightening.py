"""The tightening sheet read by pypdfium2. All figures, codes and names are invented."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO
from itertools import pairwise

import pytest
from paper import Box, characters, drawn, require_clear, squares, words

from factory import CAUTION, HOSTILE, ON, stopped
from kitting.calc.tightening.patterns import general_pattern
from kitting.errors import KittingError
from kitting.facts.plan_reasons import AmountReason, LubricantReason
from kitting.facts.reasons import because
from kitting.facts.scale_reasons import ScaleReason
from kitting.facts.stages import parse_stage
from kitting.facts.tightening_reasons import GeneralTorqueReason, PatternRemark
from kitting.facts.tool_reasons import ToolReason, TrainNote
from kitting.facts.torque_reasons import TorqueRemark
from kitting.facts.units import Quantity, parse_torque
from kitting.facts.verdicts import Verdict
from kitting.facts.words import PatternShape, Rule, ThreadState
from kitting.reports.drawings.holes import LEAST, Pattern, in_order, letters, plan_drawing
from kitting.reports.drawings.pattern import FRAMES, NARROWEST
from kitting.reports.sheets.tightening import draw_tightening
from kitting.reports.stationery import PAPERS
from kitting.views.tightening import (
    BareBagView,
    CircleView,
    CureTimes,
    DrawingView,
    GeneralTorqueView,
    HoleView,
    PutOnView,
    TightenJointView,
    TightenRowView,
    TightenStageView,
    TightenView,
)
from kitting.views.tools import TrainView

Points = Sequence[tuple[float, float]]
CIRCLE = [(60 * math.sin(math.tau * n / 8), 60 * math.cos(math.tau * n / 8)) for n in range(8)]
LINES = [(x, y) for y in (280.0, 210.0, 140.0, 70.0, 0.0) for x in (0.0, 160.0)]
PLATE = [
    (0, 200), (60, 205), (120, 200), (180, 205), (240, 200), (250, 130), (250, 60),
    (240, 0), (180, 5), (120, 0), (60, 5), (0, 0), (-10, 65), (-10, 135),
]  # fmt: skip
# A sump of 40 bolts round its edge.
EDGE = [
    *((x * 40.0, 300.0) for x in range(16)),
    *((600.0, y * 60.0) for y in (4, 3, 2, 1)),
    *((x * 40.0, 0.0) for x in range(15, -1, -1)),
    *((0.0, y * 60.0) for y in (1, 2, 3, 4)),
]
STAGE = TightenStageView(
    parse_stage("10 N·m"),
    TrainView(
        ("W-5-25", "A-14-38", "T-45-L"), ("bay",), parse_torque("10 N·m"),
        resolution=parse_torque("0.5 N·m"),
    ),
    (),
)  # fmt: skip
LENT = because(ToolReason.LENT, to="Canal Yard", until=date(2026, 4, 17))
ANGLE = TightenStageView(
    parse_stage("+90°"), None, (because(ToolReason.OF_TOOL, tool="GAUGE-ANGLE", reason=LENT),)
)
SET = parse_torque("19.56 N·m")
CROWFOOT = TightenStageView(
    parse_stage("22 N·m"),
    TrainView(("V-5-60", "CF-17"), ("van",), SET, because(TrainNote.CROWFOOT_STRAIGHT)),
    (because(ToolReason.OF_TOOL, tool="V-5-60", reason=because(ScaleReason.STEPS_NOT_STATED)),),
    Verdict.UNKNOWN,
)
PLAIN = TightenRowView(
    "cover bolts", "BOLT-M6X25", "flange bolt M6 × 25", 4, "M6", False, ThreadState.DRY,
    Rule.KEEP, (STAGE,), None, "invented leaflet, page 12",
)  # fmt: skip
NO_FIGURE = replace(
    PLAIN, position="bleed screw", count=1, thread_state=ThreadState.UNKNOWN, stages=(),
    source=None, why_not_general=because(GeneralTorqueReason.SYSTEM, system="brakes"),
)  # fmt: skip


def drawing(
    points: Points, *, order: Sequence[int] = (), front: str | None = "timing end",
    fasteners: Sequence[str | None] = (), rows: Sequence[int] = (),
) -> DrawingView:  # fmt: skip
    """Holes numbered as they stand; the general order unless a maker's is given."""
    rows = [*rows, *[0] * len(points)]
    pattern = general_pattern(points)
    names = [*fasteners, *[None] * len(points)]
    holes = tuple(HoleView(n + 1, x, y, rows[n], names[n]) for n, (x, y) in enumerate(points))
    shape = PatternShape.MAKER if order else pattern.shape
    return DrawingView(holes, tuple(order) or pattern.order, shape, front)


def joint(
    *rows: TightenRowView, bag: int = 3, picture: DrawingView | None = None
) -> TightenJointView:
    """A joint with its bag."""
    return TightenJointView(bag, f"joint-{bag}", "timing cover to block", rows, picture)


def view(*joints: TightenJointView) -> TightenView:
    """A sheet of some joints."""
    return TightenView(
        "KBTGAB27", ON, "Ulvander Pell …117", ("J3 timing cover reseal",), ("bay", "van"),
        joints, (), (CAUTION,),
    )  # fmt: skip


def texts(sheet: TightenView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_tightening, sheet, paper=paper))]


def hostile() -> TightenView:
    """Every text as bad as it gets, and more of everything than one page holds."""
    note = because(TrainNote.NEAR_ENOUGH, sizes=(HOSTILE,), size=HOSTILE)
    train = TrainView((HOSTILE,) * 3, (HOSTILE,) * 3, parse_torque("123456.789 lbf·in"), note)
    stage = TightenStageView(parse_stage("123456.789 lbf·in"), train, ())
    away = because(ToolReason.OF_TOOL, tool=HOSTILE, reason=because(ToolReason.BROKEN))
    none = replace(stage, train=None, reasons=(away,) * 3)
    row = TightenRowView(
        HOSTILE, HOSTILE, HOSTILE, 90, HOSTILE, True, ThreadState.UNKNOWN, Rule.INSPECT,
        (stage, none) * 4, HOSTILE, HOSTILE, times=2, renewed=90,
    )  # fmt: skip
    unknown = replace(
        row, stages=(),
        general=GeneralTorqueView(parse_torque("25 N·m"), HOSTILE, ThreadState.OILED),
        why_not_general=because(GeneralTorqueReason.KIND, kind=HOSTILE),
    )  # fmt: skip
    picture = drawing(PLATE, front=HOSTILE, fasteners=[f"{n} {HOSTILE}" for n in range(14)])
    laid = PutOnView(
        HOSTILE,
        HOSTILE,
        HOSTILE,
        because(AmountReason.NOTED, how=BEAD, note=HOSTILE),
        Quantity(1, "ml"),
        CureTimes(10, None, HOSTILE),
    )
    one = TightenJointView(123456, HOSTILE, HOSTILE, (row, unknown, PLAIN), picture, (laid,) * 3)
    return TightenView(
        "KBTGAB27", ON, HOSTILE, (HOSTILE,) * 3, (HOSTILE,) * 3, (one, one),
        (stopped(HOSTILE),) * 20,
        (replace(CAUTION, title=HOSTILE, text=HOSTILE, applies_to=(HOSTILE,)),) * 3,
        (laid,) * 9,
    )  # fmt: skip


MANY = view(
    joint(replace(PLAIN, count=14, stages=(STAGE, CROWFOOT)), picture=drawing(PLATE)),
    joint(replace(PLAIN, count=8, stages=(STAGE, ANGLE)), bag=4, picture=drawing(CIRCLE)),
    joint(replace(PLAIN, count=10), bag=5, picture=drawing(LINES)),
    joint(NO_FIGURE, bag=6),
    joint(replace(PLAIN, count=40, stages=(STAGE,) * 3), bag=7, picture=drawing(EDGE)),
)
NUMBER_OF_BOXES = 14 * 2 + 8 * 2 + 10 + 1 + 40 * 3


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_bears_reference_page_number_cautions_and_the_makers_precedence(
    paper: str,
) -> None:
    found = texts(MANY, paper)
    assert len(found) > 3
    for number, text in enumerate(found, 1):
        assert "TighteningKBTGAB27" in text
        assert f"page{number}/{len(found)}" in text
        assert "CAUTIONS(infullattheend):Coolant" in text
        assert ("Planninginformation,notaprocedure" in text) == (number == 1)
        assert ("Planninginformation:themaker'sdatagoesfirst" in text) == (number > 1)
    for text in found[1:]:
        assert "UlvanderPell…117·fittingdate2026-04-15" in text


def test_the_first_page_says_vehicle_jobs_boxes_and_that_the_hand_start_is_general_practice() -> (
    None
):
    text = texts(MANY)[0]
    assert "TIGHTENINGkitKBTGAB27UlvanderPell…117·fittingdate2026-04-15" in text
    assert "J3timingcoverreseal" in text
    assert "Wrenchesfrom:bay,van." in text
    assert "Generalpractice,nosource:starteveryfastenerbyhand,2to3turns" in text


def test_a_row_shows_count_item_thread_its_state_and_whether_new_bolts_go_in() -> None:
    row = replace(PLAIN, left_hand=True, thread_state=ThreadState.LOCKED, rule=Rule.INSPECT)
    (text,) = texts(view(joint(row)))
    assert "BAG3timingcovertoblock(joint-3)" in text
    assert "coverbolts4×BOLT-M6X25·flangeboltM6×25" in text
    assert "THREADM6LEFT-HAND" in text
    assert "STATEOFTHREADLOCKED" in text
    assert "FASTENERAFTERALOOK" in text
    (text,) = texts(view(joint(replace(PLAIN, thread_state=ThreadState.UNKNOWN, thread=None))))
    assert "STATEOFTHREADNOTSTATED" in text
    assert "THREADNOTSTATED" in text
    assert "LEFT-HAND" not in text


def test_a_joint_that_is_closed_twice_has_its_boxes_twice_and_says_what_is_new_later() -> None:
    row = replace(PLAIN, rule=Rule.INSPECT, stages=(STAGE, ANGLE), times=2, renewed=4)
    (text,) = texts(view(joint(row)))
    assert "FASTENERAFTERALOOK;4NEWLATER" in text
    assert "2of2times,STAGE1of2,10N·m" in text
    assert "2of2times,STAGE2of2,+90°" in text
    for times, stages in ((1, (STAGE,)), (2, (STAGE, ANGLE)), (3, ()), (3, (STAGE, CROWFOOT))):
        again = replace(PLAIN, count=5, stages=stages, times=times)
        pages = drawn(draw_tightening, view(joint(again)), paper="A4")
        assert sum(map(len, squares(pages, 7.0))) == 5 * times * (len(stages) or 1)


def test_a_stage_shows_what_is_set_what_was_published_wrench_note_and_source() -> None:
    (text,) = texts(view(joint(replace(PLAIN, stages=(STAGE, CROWFOOT)))))
    assert "STAGE1of2SETTHEWRENCHTO10N·mpublished10N·m(7.38lbf·ft)" in text
    assert "W-5-25+A-14-38+T-45-L(bay)" in text
    assert "STAGE2of2CORRECTEDFORTHECROWFOOT:SETTHEWRENCHTO19.6N·m" in text
    assert "HASTHISMARK(stepsnotstated)published22N·m(16.2lbf·ft),atthefastener" in text
    assert "V-5-60+CF-17(van)crowfootstraightahead" in text
    assert text.count("Sourceofthefigures:inventedleaflet,page12") == 1


def sizes(page: Sequence[Box], text: str) -> set[float]:
    """The sizes of the letters of a text on a page, rounded to half a point."""
    start = words(list(page)).index(text)
    return {round(2 * char.size) / 2 for char in page[start : start + len(text)]}


IN_INCHES = TightenStageView(
    parse_stage("75 ± 4 lbf·in"),
    TrainView(("W-5-25",), ("bay",), parse_torque("8.5 N·m"), resolution=parse_torque("0.5 N·m")),
    (),
)


@pytest.mark.parametrize(
    ("stage", "largest"),
    [(IN_INCHES, "8.5N·m"), (CROWFOOT, "19.6N·m"), (ANGLE, "+90°"), (STAGE, "10N·m")],
)
def test_what_the_hand_sets_is_the_largest_of_a_stage_in_the_unit_of_the_wrench(
    stage: TightenStageView, largest: str
) -> None:
    (page,) = characters(drawn(draw_tightening, view(joint(replace(PLAIN, stages=(stage,))))))
    (found,) = sizes(page, largest)
    assert found >= 20
    others = [char for char in page if round(2 * char.size) / 2 >= found]
    assert words(others) == largest


def test_the_published_figure_and_the_second_unit_stand_smaller_below_the_setting() -> None:
    (page,) = characters(drawn(draw_tightening, view(joint(replace(PLAIN, stages=(IN_INCHES,))))))
    assert sizes(page, "published75lbf·in±4(8.47N·m)") == {9.5}
    assert "8.5N·mpublished" in words(page)
    assert "scaleinstepsof0.5N·m" in words(page)


def test_a_wrench_of_which_nobody_states_the_scale_is_not_rounded_and_the_sheet_says_so() -> None:
    (page,) = characters(drawn(draw_tightening, view(joint(replace(PLAIN, stages=(CROWFOOT,))))))
    check, text = "CHECKTHATITSSCALEHASTHISMARK", words(page)
    assert text.index("19.6N·m") < text.index(check)
    assert sizes(page, check) == {9.5}
    assert "NOTOOLPROVENFORTHISSTAGEV-5-60:thestepsofitsscalearenotstated:state" in text
    assert text.index("howfartwomarksofitareapart") < text.index("V-5-60+CF-17(van)")
    assert "toolusedsetto" in text


def test_a_wrench_that_is_read_is_not_said_to_be_set() -> None:
    stage = replace(STAGE, train=replace(STAGE.train, read=True))
    (text,) = texts(view(joint(replace(PLAIN, stages=(stage,)))))
    assert "TIGHTENUNTILTHESCALESHOWS10N·m" in text
    assert "SETTHE" not in text


def test_a_single_stage_says_nothing_of_stages_and_several_each_say_of_how_many() -> None:
    (one,) = texts(view(joint(PLAIN)))
    assert "STAGE" not in one
    assert "1.10N·m" not in one
    (page,) = characters(drawn(draw_tightening, view(joint(replace(PLAIN, stages=(STAGE, ANGLE))))))
    for text in ("STAGE1of2", "STAGE2of2"):
        assert min(sizes(page, text)) >= 12


def test_a_figure_that_no_tool_here_sets_is_called_published_with_lines_for_what_was_used() -> None:
    stage = replace(STAGE, train=None, reasons=(LENT,))
    (page,) = characters(drawn(draw_tightening, view(joint(replace(PLAIN, stages=(stage,))))))
    text = words(page)
    assert "PUBLISHEDFIGURE,NOTHINGISSETYET10N·m7.38lbf·ft" in text
    assert "NOTOOLFORTHISSTAGE" in text
    assert "toolusedsetto" in text
    assert sizes(page, "10N·m") == {17.0}


def test_another_tool_than_the_planned_one_has_a_line_to_be_written_on() -> None:
    (text,) = texts(view(joint(PLAIN)))
    assert "ifanothertoolwasused:whichsetto" in text


def test_bags_without_a_figure_are_named_in_one_line() -> None:
    bare = (BareBagView(2, "return line"), BareBagView(5, "oil cooler line"))
    (text,) = texts(replace(view(joint(PLAIN)), bare=bare))
    assert "NofigureisaskedinBAGS2,5:returnline;oilcoolerline." in text
    (text,) = texts(replace(view(joint(PLAIN)), bare=bare[:1]))
    assert "NofigureisaskedinBAG2:returnline." in text
    (text,) = texts(view(joint(PLAIN)))
    assert "Nofigureisasked" not in text


def test_a_sheet_of_a_booking_has_its_number_on_every_page() -> None:
    found = texts(replace(MANY, booking="B0007"))
    assert "TIGHTENINGB0007·kitKBTGAB27" in found[0]
    assert all("TighteningB0007·kitKBTGAB27" in text for text in found)


def test_what_locks_a_thread_stands_at_its_fastener_and_not_over_a_dry_one() -> None:
    banjo = replace(PLAIN, position="banjo bolt", lubricant=because(LubricantReason.DRY))
    bracket = replace(
        PLAIN, position="bracket bolt", thread_state=ThreadState.LOCKED, put_on=(LOCKER,)
    )
    (text,) = texts(view(joint(banjo, bracket)))
    assert text.count("PUTONLOCKER") == 1
    assert text.index("banjobolt") < text.index("FITDRY") < text.index("bracketbolt")
    assert text.index("bracketbolt") < text.index("PUTONLOCKER") < text.rindex("SETTHEWRENCH")


def test_what_goes_on_a_fastener_is_told_at_it_once() -> None:
    oil = because(LubricantReason.PRODUCT, name="engine oil", item="OIL-5W30", amount="1 ml")
    (text,) = texts(view(joint(replace(PLAIN, lubricant=oil, lubricant_sourced=False))))
    assert "engineoil(OIL-5W30),1ml(nosourcestated)" in text
    locked = because(LubricantReason.PRODUCT, name="threadlocker", item="LOCKER", amount="1 ml")
    (text,) = texts(view(joint(replace(PLAIN, lubricant=locked, put_on=(LOCKER,)))))
    assert text.count("threadlocker") == 1


@pytest.mark.parametrize("before", range(2, 9))
def test_rows_of_a_joint_on_another_page_than_its_drawing_are_told_on_both(before: int) -> None:
    rows = [replace(PLAIN, position=f"bolt {n}.", count=1) for n in range(before)]
    picture = replace(
        drawing(LINES[:before], rows=range(before)), order=tuple(range(1, before + 1))
    )
    found = texts(view(joint(*rows, picture=picture)))
    for number, text in enumerate(found[:-1], 1):
        if "BAG3" not in found[number]:
            continue
        overleaf = text.rpartition("CONTINUESOVERLEAF:")[2]
        continued = found[number].partition("CONTINUED:")[2]
        name = overleaf[: overleaf.index(".") + 1]
        assert continued.startswith(name)
    assert before < 4 or len(found) > 1


def test_a_stage_without_wrench_says_why_in_words() -> None:
    (text,) = texts(view(joint(replace(PLAIN, stages=(ANGLE,)))))
    assert "+90°NOTOOLFORTHISSTAGEGAUGE-ANGLE:lenttoCanalYarduntilFri17Apr2026" in text


def test_figures_without_a_source_are_marked() -> None:
    (worded,) = texts(view(joint(replace(PLAIN, source=None, stages=(), pattern="crosswise"))))
    assert "Order:crosswiseNOSOURCESTATED" in worded
    (text,) = texts(view(joint(replace(PLAIN, source=None))))
    assert "SOURCEOFTHEFIGURESNOTSTATED" in text


def test_no_figure_is_printed_with_lines_to_write_it_and_why_no_general_one_stands_in() -> None:
    (text,) = texts(view(joint(NO_FIGURE)))
    assert "NOFIGURE:LOOKITUPnogeneralfiguremaystandin:brakes" in text
    assert "figureandunititssource" in text
    assert "N·m" not in text
    assert "GENERALTABLE" not in text


def test_a_general_figure_is_printed_only_as_not_makers_data() -> None:
    general = GeneralTorqueView(parse_torque("25 N·m"), "8.8", ThreadState.DRY)
    row = replace(NO_FIGURE, general=general, why_not_general=None)
    (text,) = texts(view(joint(row)))
    assert "NOFIGURE:LOOKITUPGENERALTABLE,NOTMAKER'SDATA:25N·m,class8.8,dry" in text
    assert text.count("25N·m") == 1


@pytest.mark.parametrize("paper", PAPERS)
def test_every_bolt_of_every_stage_has_a_tick_box_of_7_mm_inside_the_margins(paper: str) -> None:
    width, _ = PAPERS[paper]
    found = squares(drawn(draw_tightening, MANY, paper=paper), 7)
    assert sum(map(len, found)) == NUMBER_OF_BOXES
    for boxes in found:
        for number, one in enumerate(boxes):
            assert one.left >= 12
            assert one.right <= width - 12 + 0.05
            assert not any(one.overlaps(other, by=0) for other in boxes[:number])


def test_lines_of_boxes_are_at_least_9_mm_apart() -> None:
    for boxes in squares(drawn(draw_tightening, MANY), 7):
        tops = sorted({round(box.top, 2) for box in boxes}, reverse=True)
        assert all(upper - lower >= 9 for upper, lower in pairwise(tops))


def test_boxes_stand_in_the_order_of_tightening_with_the_hole_number_over_each() -> None:
    pdf = drawn(draw_tightening, view(joint(replace(PLAIN, count=8), picture=drawing(CIRCLE))))
    (page,), (boxes,) = characters(pdf), squares(pdf, 7)
    over = [
        "".join(c.text for c in page if c.inside(box.left, box.top, box.right, box.top + 4))
        for box in sorted(boxes, key=lambda box: box.left)
    ]
    assert over == ["1", "5", "3", "7", "2", "6", "4", "8"]
    assert "Boxesintheorderoftightening,byholenumber." in words(page)


def test_without_a_drawing_boxes_are_counted_and_the_missing_order_is_said() -> None:
    (text,) = texts(view(joint(PLAIN)))
    assert "NOORDEROFTIGHTENINGISSTATED." in text
    (text,) = texts(view(joint(replace(PLAIN, pattern="crosswise"))))
    assert "Order:crosswise" in text
    assert "NOORDER" not in text


def test_words_about_stages_are_printed_as_such_and_the_missing_order_is_still_said() -> None:
    (text,) = texts(view(joint(replace(PLAIN, stage_order="each on all before the next"))))
    assert "Stages:eachonallbeforethenext" in text
    assert "NOORDEROFTIGHTENINGISSTATED." in text


def test_how_fasteners_and_stages_follow_each_other_is_told_before_the_first_and_overleaf() -> None:
    two = replace(
        PLAIN, stages=(STAGE, ANGLE), pattern="crosswise", stage_order="each on all four first"
    )
    (text,) = texts(view(joint(two)))
    assert text.index("Order:crosswise") < text.index("Stages:eachonall") < text.index("STAGE1of2")
    found = texts(view(joint(replace(two, count=40, stages=(STAGE, ANGLE) * 6))))
    parts = [text for text in found if "of12" in text]
    assert len(parts) > 1
    for text in parts:
        after = text.partition("CONTINUED:")[2] or text
        called = re.search(r"STAGE\d+of12", after.partition("Stages:eachonallfourfirst")[2])
        assert called is not None


def test_a_general_pattern_is_marked_in_full_and_a_makers_order_as_such() -> None:
    (text,) = texts(view(joint(replace(PLAIN, count=8), picture=drawing(CIRCLE))))
    assert "GENERALPATTERN,NOTMAKER'STIGHTENorder1-5-3-7-2-6-4-8" in text
    assert "looseninreverse8-4-6-2-7-3-5-1" in text
    order = (5, 6, 4, 7, 3, 8, 2, 9, 1, 10)
    (text,) = texts(view(joint(replace(PLAIN, count=10), picture=drawing(LINES, order=order))))
    assert "MAKER'SORDERTIGHTENorder5-6-4-7-3-8-2-9-1-10" in text
    assert "GENERAL" not in text
    assert "tighteningbegins:hole5." in text


def test_the_front_is_named_or_said_not_to_be_stated() -> None:
    (text,) = texts(view(joint(PLAIN, picture=drawing(LINES, front="cylinder head"))))
    assert "cylinderhead" in text
    assert "frontnotstated" not in text.lower()
    (text,) = texts(view(joint(PLAIN, picture=drawing(LINES, front=None))))
    assert "frontnotstated" in text
    assert "FRONTNOTSTATED" in text


@pytest.mark.parametrize("points", [CIRCLE, LINES, PLATE, EDGE])
@pytest.mark.parametrize("paper", PAPERS)
def test_every_hole_number_is_printed_inside_the_frame_at_its_place(
    points: Points, paper: str
) -> None:
    width, _ = PAPERS[paper]
    picture = drawing(points)
    pattern = plan_drawing(picture, FRAMES, NARROWEST)
    assert pattern is not None
    sheet = view(joint(replace(PLAIN, count=len(points)), picture=picture))
    pdf = drawn(draw_tightening, sheet, paper=paper)
    (page,) = [page for page in characters(pdf) if "timingend" in words(page)]
    # Hole 1 follows the front; from there all others are where the scale of the drawing puts them.
    one = page[words(page).index("timingend") + len("timingend")]
    left = (one.left + one.right) / 2 - pattern.holes[0].x
    low = (one.bottom + one.top) / 2 - pattern.holes[0].y
    assert left == pytest.approx(12, abs=0.5)
    for hole in pattern.holes:
        x, y, r = left + hole.x, low + hole.y, pattern.radius
        glyphs = [glyph for glyph in page if glyph.inside(x - r, y - r, x + r, y + r)]
        glyphs.sort(key=lambda glyph: glyph.left)
        assert "".join(glyph.text for glyph in glyphs) == str(hole.number)
        assert all(glyph.size >= 6 for glyph in glyphs)
        assert r <= hole.x <= pattern.width - r
        assert r <= hole.y <= pattern.height - r
        assert x + r <= width - 12


def test_unequal_bolts_are_keyed_by_a_letter_at_the_hole() -> None:
    names = ["M8 × 40 mm"] * 4 + ["M8 × 65 mm"] * 6
    rows = (replace(PLAIN, count=4), replace(PLAIN, position="long bolts", count=6))
    sheet = view(joint(*rows, picture=drawing(LINES, fasteners=names, rows=[0] * 4 + [1] * 6)))
    text = "".join(texts(sheet))
    assert "1A2A3A4A5B6B7B8B9B10B" in text
    assert "A=M8×40mm:holes1,2,3,4" in text
    assert "B=M8×65mm:holes5,6,7,8,9,10" in text


def test_rows_whose_holes_nobody_can_tell_say_so_and_their_boxes_bear_no_number() -> None:
    rows = [replace(PLAIN, position=f"bolts {n}", count=5) for n in range(3)]
    pdf = drawn(draw_tightening, view(joint(*rows, picture=drawing(LINES))))
    text = "".join(map(words, characters(pdf)))
    assert text.count("Whichholesofthedrawingtheseareinisnotstated.") == 1
    assert text.count("Notinthedrawing.") == 2
    assert sum(map(len, squares(pdf, 7))) == 15


@pytest.mark.parametrize("paper", PAPERS)
def test_heading_drawing_and_first_stage_of_a_joint_are_on_one_page(paper: str) -> None:
    joints = [
        joint(replace(PLAIN, position=f"bolts {n}.", count=10, stages=(STAGE,) * (n % 4 + 1)),
              bag=n, picture=drawing(LINES, front=f"front {n}."))
        for n in range(1, 13)
    ]  # fmt: skip
    found = texts(view(*joints), paper)
    for n in range(1, 13):
        (page,) = [text for text in found if f"front{n}." in text]
        assert f"BAG{n}timingcover" in page
        start = page.index(f"bolts{n}.10×BOLT-M6X25")
        assert "10N·m" in page[start:]


def test_a_row_that_runs_over_names_its_joint_and_position_again() -> None:
    found = texts(view(joint(replace(PLAIN, count=90, stages=(STAGE,) * 6))))
    assert len(found) > 1
    assert "BAG3timingcovertoblock(joint-3)CONTINUED:coverbolts,STAGE2of6" in found[1]
    assert "CONTINUESOVERLEAF:coverbolts,STAGE2of6" in found[0]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("before", [0, 1, 2, 3])
def test_the_stages_of_one_fastener_are_on_one_page_where_a_page_holds_them(
    before: int, paper: str
) -> None:
    rows = [replace(PLAIN, position=f"bolts {n}.", stages=(STAGE,) * 2) for n in range(before)]
    stages = (STAGE,) * 5
    found = texts(view(joint(*rows, replace(PLAIN, position="hub bolts", stages=stages))), paper)
    (page,) = [text for text in found if "hubbolts4×" in text]
    row = page[page.index("hubbolts4×") :]
    assert [f"STAGE{n}of5SETTHEWRENCHTO10N·m" in row for n in range(1, 6)] == [True] * 5
    broken = ("OVERLEAF:hubbolts,STAGE", "CONTINUED:hubbolts,STAGE")
    assert not any(sign in text for text in found for sign in broken)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("times", [1, 2])
@pytest.mark.parametrize("count", [60, 90, 200])
def test_every_break_within_a_fastener_is_told_on_both_pages(
    count: int, times: int, paper: str
) -> None:
    row = replace(PLAIN, position="hub bolts", count=count, stages=(STAGE,) * 9, times=times)
    pdf = drawn(draw_tightening, view(joint(row)), paper=paper)
    ticked = [page for page, boxes in enumerate(squares(pdf, 7)) if boxes]
    found = [words(page) for page in characters(pdf)]
    assert len(ticked) > 1
    assert [page for page, text in enumerate(found) if "OVERLEAF" in text] == ticked[:-1]
    assert [page for page, text in enumerate(found) if "CONTINUED:" in text] == ticked[1:]
    for page in ticked[:-1]:
        _, _, rest = found[page].partition("CONTINUESOVERLEAF:")
        _, _, after = found[page + 1].partition("CONTINUED:")
        told = rest[: rest.index("of9") + 3]
        assert "STAGE" in told
        assert after.startswith(told)


def test_stages_of_very_many_bolts_go_on_over_the_page() -> None:
    pdf = drawn(draw_tightening, view(joint(replace(PLAIN, count=400))))
    assert sum(map(len, squares(pdf, 7))) == 400
    assert "continued" in "".join(map(words, characters(pdf)))


def test_what_is_stopped_and_the_cautions_are_printed_in_full() -> None:
    left_off = (stopped("Which oil cooler is fitted?"),)
    (text,) = texts(replace(view(joint(PLAIN)), doubts=left_off))
    assert "NOTFINE:READTHISFIRSTSTOPPED:J2:Whichoilcoolerisfitted?Lookatit." in text
    assert "Coolant(A2)Capoffcoldonly;themaker'sdatadecide." in text


# Invented product; the amount as in the trade: 3 mm × 1.64 m → 18.9 ml (no source).
BEAD = because(
    AmountReason.BEAD,
    diameter=Quantity(3_000, "mm"),
    length=Quantity(1_640_000, "mm"),
    allowance=Decimal("1.2"),
    nozzle=Quantity(5_000, "ml"),
)
DROP = because(AmountReason.DROPS, threads=1, drops=1, thread="M6")
SEALANT = PutOnView(
    "joint pan", "SEALANT", "form-in-place sealant", BEAD,
    Quantity(18_911, "ml"), CureTimes(10, 1440, "invented leaflet"),
)  # fmt: skip
LOCKER = PutOnView(
    "joint pan", "LOCKER", "threadlocker", DROP, Quantity(50, "ml"),
    CureTimes(None, None, None),
)  # fmt: skip


def test_what_is_put_on_stands_under_its_joint_before_the_bolts_with_both_times() -> None:
    sheet = view(
        replace(joint(PLAIN, picture=drawing(LINES)), put_on=(SEALANT, LOCKER)), joint(PLAIN, bag=4)
    )
    text = "".join(texts(sheet))
    told = (
        "PUTONSEALANTform-in-placesealant:bead3mm×1.64m×1.2+5mlnozzle→18.9ml"
        "closewithin10minofputtingiton;wait24hbeforefluidscomeinortheengineruns"
        "(inventedleaflet;temperaturenotstated)"
        "PUTONLOCKERthreadlocker:1×1droponM6→0.05mlopentimeandcuretimeNOTSTATED:LOOKITUP"
    )
    assert text.count(told) == 1
    assert text.index("BAG3") < text.index(told) < text.index("coverbolts") < text.index("BAG4")
    assert "Timesaretheproduct'sown,attheconditions" in text


def test_an_amount_without_a_source_is_marked_where_it_is_put_on() -> None:
    laid = replace(joint(PLAIN), put_on=(replace(SEALANT, sourced=False),))
    assert "nozzle→18.9ml(nosourcestated)closewithin" in "".join(texts(view(laid)))


def test_what_is_put_on_where_nothing_is_tightened_stands_in_a_box_and_else_there_is_none() -> None:
    (text,) = texts(replace(view(joint(PLAIN)), put_on=(LOCKER,)))
    assert (
        "PUTONWHERENOTHINGISTIGHTENEDjointpan:LOCKERthreadlocker,1×1droponM6→0.05ml:"
        "opentimeandcuretimeNOTSTATED:LOOKITUP" in text
    )
    (text,) = texts(view(joint(PLAIN)))
    assert "PUTON" not in text


def test_times_of_a_product_are_never_cut_short() -> None:
    source = "and let the product's sheet decide " * 14 + "last word"
    laid = replace(SEALANT, times=CureTimes(10, 1440, source))
    (text,) = texts(view(replace(joint(PLAIN), put_on=(laid,))))
    assert f"theengineruns({source};temperature not stated)".replace(" ", "") in text


def test_an_empty_plan_says_so() -> None:
    pdf = drawn(draw_tightening, replace(view(), boxes=(), cautions=()))
    (page,) = characters(pdf)
    assert "Nothinghastobetightened." in words(page)
    assert "Notoolboxisdescribed" in words(page)
    assert squares(pdf, 7) == [[]]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("sheet", [MANY, hostile()], ids=["plain", "hostile"])
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    sheet: TightenView, paper: str
) -> None:
    width, height = PAPERS[paper]
    pdf = drawn(draw_tightening, sheet, paper=paper)
    require_clear(pdf, width, height)


def test_every_box_of_a_hostile_sheet_is_there() -> None:
    found = squares(drawn(draw_tightening, hostile()), 7)
    assert sum(map(len, found)) == 2 * (2 * (90 * 8 + 90) + 4)


def test_text_from_data_is_not_read_as_markup() -> None:
    row = replace(PLAIN, position="<b>bolt</b> &amp; <font size=40>x", name="שלום عالم")
    text = "".join(texts(view(joint(row, picture=drawing(LINES, front="<i>up</i>")))))
    assert "<b>bolt</b>&amp;<fontsize=40>x" in text
    assert "<i>up</i>" in text


def test_the_same_sheet_gives_the_same_bytes_and_the_number_of_pages() -> None:
    assert drawn(draw_tightening, MANY) == drawn(draw_tightening, MANY)
    assert draw_tightening(MANY, BytesIO()) == len(texts(MANY))


def test_an_unknown_paper_is_refused_in_a_sentence() -> None:
    with pytest.raises(KittingError, match=r"no paper 'A3'\. Known: A4, Letter"):
        drawn(draw_tightening, view(), paper="A3")


def test_circles_of_a_drawing_are_to_scale_inside_their_frame_and_do_not_touch() -> None:
    for points in (CIRCLE, LINES, PLATE, EDGE):
        view_ = drawing(points)
        pattern = plan_drawing(view_, ((66.0, 50.0), (72.0, 66.0), (186.0, 130.0)))
        assert pattern is not None
        assert pattern.radius >= LEAST
        for n, one in enumerate(pattern.holes):
            assert pattern.radius <= one.x <= pattern.width - pattern.radius
            assert pattern.radius <= one.y <= pattern.height - pattern.radius
            for m, other in enumerate(pattern.holes[:n]):
                apart = math.dist((one.x, one.y), (other.x, other.y))
                assert apart >= 2 * pattern.radius
                assert apart * pattern.scale == pytest.approx(math.dist(points[n], points[m]))


def test_the_least_frame_in_which_the_numbers_read_well_is_taken() -> None:
    frames = ((66.0, 50.0), (72.0, 66.0), (186.0, 130.0))
    few = plan_drawing(drawing(CIRCLE), frames)
    assert few is not None
    assert few.height <= 50
    many = plan_drawing(drawing(EDGE), frames)
    assert many is not None
    assert many.width > 72


def test_a_circle_is_drawn_under_its_holes_unless_it_runs_out_of_the_frame() -> None:
    whole = ring_of(CIRCLE)
    assert len(whole.rings) == 1
    ((x, y, size),) = whole.rings
    for hole in whole.holes:
        assert math.dist((x, y), (hole.x, hole.y)) == pytest.approx(size)
    # Four corners of a plate lie on a circle that is higher than they are.
    assert ring_of([(0.0, 0.0), (80.0, 0.0), (80.0, 50.0), (0.0, 50.0)]).rings == ()


def ring_of(points: Points) -> Pattern:
    """Holes on paper with the circles that they lie on."""
    circles = tuple(CircleView(one.x, one.y, one.radius) for one in general_pattern(points).circles)
    assert circles
    found = plan_drawing(replace(drawing(points), circles=circles), FRAMES, NARROWEST)
    assert found is not None
    return found


def test_remarks_on_a_figure_and_a_left_hand_thread_stand_before_the_first_stage() -> None:
    told = because(TorqueRemark.TURNS_FAR, degrees=990)
    row = replace(PLAIN, left_hand=True, remarks=(told,), stages=(STAGE, ANGLE))
    (text,) = texts(view(joint(row)))
    assert "ODDFIGURE:990°inallismorethanawholeturn" in text
    assert text.index("ODDFIGURE") < text.index("10N·m")
    assert text.count("LEFT-HANDTHREAD") == 2


def test_a_row_that_runs_over_names_its_left_hand_thread_again() -> None:
    row = replace(PLAIN, left_hand=True, count=90, stages=(STAGE,) * 6)
    first, *later = texts(view(joint(row)))
    assert later
    for text in (first, *later):
        assert "coverbolts,LEFT-HANDTHREAD" in text or text is first
        assert "LEFT-HANDTHREAD" in text


def test_the_side_that_holes_are_seen_from_is_named_or_said_not_to_be_stated() -> None:
    (text,) = texts(view(joint(PLAIN, picture=replace(drawing(LINES), seen_from="below"))))
    assert "Seenfrom:below" in text
    (text,) = texts(view(joint(PLAIN, picture=drawing(LINES))))
    assert "SEENFROM:NOTSTATED" in text


def test_loosening_in_reverse_is_general_practice_under_a_makers_order_too() -> None:
    picture = drawing(LINES, order=(5, 6, 4, 7, 3, 8, 2, 9, 1, 10))
    (text,) = texts(view(joint(replace(PLAIN, count=10), picture=picture)))
    assert "Generalpractice,notthemaker's:looseninreverse10-1-9-2-8-3-7-4-6-5" in text


def test_a_hole_where_nothing_is_tightened_has_its_number_and_no_box() -> None:
    picture = drawing(LINES[:6])
    holes = (*(replace(hole, row=None, fastener="DOWEL-8") for hole in picture.holes[:2]),
             *picture.holes[2:])  # fmt: skip
    told = because(PatternRemark.NOT_TIGHTENED, holes=("1", "2"), item="DOWEL-8")
    picture = replace(picture, holes=holes, order=(3, 6, 4, 5), remarks=(told,))
    pdf = drawn(draw_tightening, view(joint(PLAIN, picture=picture)))
    (page,) = characters(pdf)
    assert "nothingistightenedinholes1,2:DOWEL-8" in words(page)
    (boxes,) = squares(pdf, 7)
    assert len(boxes) == PLAIN.count == 4
    placed = plan_drawing(picture, FRAMES, NARROWEST)
    assert placed is not None
    assert [hole.tightened for hole in placed.holes] == [False, False, True, True, True, True]


def test_where_no_order_can_be_given_none_is_printed() -> None:
    told = because(PatternRemark.NOT_DRAWN, drawn=4, all=8, positions=("other bolts",))
    picture = replace(drawing(LINES[:4]), order=(), remarks=(told,))
    (text,) = texts(view(joint(PLAIN, picture=picture)))
    assert "NOORDEROFTIGHTENINGISSTATED" in text
    assert "holesarestatedfor4of8fastenersonly" in text
    assert "TIGHTENorder" not in text
    assert "looseninreverse" not in text
    assert "Boxesbyholenumber,notinanorderoftightening." in text
    assert "Boxesintheorder" not in text


def test_holes_too_close_to_be_numbered_are_not_drawn_and_the_sheet_says_so() -> None:
    close = drawing([(0.0, 0.0), (0.001, 0.0), (300.0, 0.0), (0.0, 300.0)], order=(1, 2, 3, 4))
    assert plan_drawing(close, ((186.0, 130.0),)) is None
    (text,) = texts(view(joint(PLAIN, picture=close)))
    assert "Theholeslietooclosetogethertobenumberedinadrawing." in text
    assert "TIGHTENorder" not in text
    assert "THEORDERCANNOTBESHOWN:nodrawingnumberstheholes" in text
    assert "Nodrawingnumberstheholes." in text
    assert "Boxesintheorder" not in text


def test_one_hole_and_holes_that_are_no_numbers_break_nothing() -> None:
    one = plan_drawing(drawing([(5.0, 5.0)], order=(1,)), ((66.0, 50.0),))
    assert one is not None
    assert one.across == one.up == 0
    odd = DrawingView(
        (HoleView(1, math.nan, 0, 0, None), HoleView(2, 0, 0, 0, None)), (1, 2), "maker", None
    )
    assert plan_drawing(odd, ((66.0, 50.0),)) is None
    assert plan_drawing(DrawingView((), (), "plate", None), ((66.0, 50.0),)) is None


def test_numbers_that_the_order_leaves_out_come_last() -> None:
    assert in_order((1, 2, 3, 4), (3, 1)) == (3, 1, 2, 4)


def test_fasteners_are_lettered_in_turn_and_only_where_they_differ() -> None:
    names = [HoleView(n, 0, 0, 0, f"bolt {n}") for n in range(28)]
    assert list(letters(names).values())[24:] == ["Y", "Z", "AA", "AB"]
    assert letters([replace(hole, fastener="same") for hole in names]) == {}
