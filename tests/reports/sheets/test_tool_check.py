"""The tool check read by pypdfium2. All figures, codes and names are invented."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO
from itertools import pairwise

import pytest
from paper import characters, drawn, require_clear, squares, words

from factory import CAUTION, HOSTILE, ON
from kitting.errors import KittingError
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.heads import parse_head
from kitting.facts.money import Money
from kitting.facts.reasons import Reason, because
from kitting.facts.scale_reasons import ScaleReason
from kitting.facts.tool_reasons import ToolReason, TrainNote
from kitting.facts.tool_words import FigureVerdict, RangePolicy, ToolOfferWay, ToolTask, ToolVerdict
from kitting.facts.units import parse_torque
from kitting.facts.verdicts import Verdict
from kitting.reports.drawings.ranges import LogScale, lanes, scale_for
from kitting.reports.sheets.tool_check import draw_tool_check
from kitting.reports.stationery import PAPERS
from kitting.views.tools import (
    BoughtView,
    BuyView,
    FigureView,
    LayOutView,
    MarkedScale,
    NeedView,
    RequirementView,
    ScaleView,
    ToolCheckView,
    TrainView,
)
from kitting.wording.tools import FIGURE_MARKS


def tighten(figure: str, head: str) -> RequirementView:
    """A figure on a head."""
    return RequirementView(ToolTask.TORQUE, parse_head(head), torque=parse_torque(figure))


def wrench(
    code: str, low: int, high: int, *, box: str = "bay", to: date | None = ON,
    away: Reason | None = None,
) -> ScaleView:  # fmt: skip
    """A wrench in N·m."""
    scale = MarkedScale(parse_torque(f"{low} N·m"), parse_torque(f"{high} N·m"))
    return ScaleView(code, box, low, high, scale, to, away)


def figure(text: str, state: FigureVerdict = FigureVerdict.HAVE) -> FigureView:
    """A figure as published."""
    torque = parse_torque(text)
    return FigureView(float(torque.newton_metres), torque, state)


TRAIN = TrainView(
    ("W-5-25", "A-14-38", "T-45-L"), ("bay",), parse_torque("10 N·m"),
    resolution=parse_torque("0.25 N·m"),
)  # fmt: skip
HAVE = NeedView(
    tighten("10 N·m", "six-lobe T45"), ("cover: bolts 1 to 10",), ToolVerdict.HAVE, (TRAIN,), ()
)
OFF_SCALE = because(
    ToolReason.FIGURE_OFF_SCALE, setting=parse_torque("3.5 N·m"), low=Decimal(5), high=Decimal(25)
)
GAP = NeedView(
    tighten("3.5 N·m", "hexagon 5 mm"), ("drain: plug",), ToolVerdict.GAP, (),
    (because(ToolReason.OF_TOOL, tool="W-5-25", reason=OFF_SCALE),),
)  # fmt: skip
UNKNOWN = NeedView(
    RequirementView(ToolTask.TORQUE, parse_head("hexagon 9 mm")), ("caliper: bleed screw",),
    ToolVerdict.UNKNOWN, (), (because(ToolReason.NO_FIGURE),),
)  # fmt: skip
ENDED = because(ToolReason.CALIBRATION_ENDED, ended=date(2026, 2, 28))
WRENCHES = (
    wrench("W-5-25", 5, 25),
    wrench("W-20-100", 20, 100, away=ENDED),
    wrench("W-40-200", 40, 200, box="van", to=None),
)
FIGURES = (
    figure("3.5 N·m", FigureVerdict.GAP),
    figure("75 lbf·in"),
    figure("24 N·m"),
    figure("210 N·m", FigureVerdict.GAP),
)
VIEW = ToolCheckView(
    "KBTGAB27", ON, "Ulvander Pell …117", ("J3 timing cover reseal",), ("bay", "van"),
    RangePolicy.MARKED, (HAVE, UNKNOWN, GAP), WRENCHES, FIGURES, (CAUTION,),
)  # fmt: skip


def lent(day: int) -> Reason:
    """Away until a day of May."""
    return because(ToolReason.LENT, to="Canal Yard", until=date(2026, 5, day))


# Twelve wrenches that are half of them away, twelve figures that crowd.
CROWDED = replace(
    VIEW,
    scales=tuple(
        wrench(f"W-{n}", 2 + n * 3, 20 + n * 25, away=lent(n + 1) if n % 2 else None)
        for n in range(12)
    ),
    figures=tuple(
        figure(f"{torque} N·m", FigureVerdict.GAP if n % 3 == 0 else FigureVerdict.HAVE)
        for n, torque in enumerate((3.5, 8, 9, 10, 20, 22, 24, 25, 30, 45, 60, 210))
    ),
    needs=tuple(
        replace(HAVE, what=tighten(f"{n + 1} N·m", f"hexagon {n % 20 + 8} mm")) for n in range(30)
    ),
    lay_out=tuple(
        LayOutView("bay", f"S-{n}", f"socket {n} mm", {ToolTask.UNDO: n + 1}) for n in range(30)
    ),
)
BAD_REASON = because(ToolReason.OF_TOOL, tool=HOSTILE, reason=because(ToolReason.BROKEN))
BAD_NEED = NeedView(
    RequirementView(ToolTask.GENERAL, tool=HOSTILE), (HOSTILE,) * 20, ToolVerdict.GAP, (),
    (BAD_REASON,) * 20,
)  # fmt: skip
BAD_TRAIN = TrainView(
    (HOSTILE,) * 3, (HOSTILE,) * 3, parse_torque("123456.789 lbf·in"),
    because(TrainNote.NEAR_ENOUGH, sizes=(HOSTILE,), size=HOSTILE),
)  # fmt: skip
BOUGHT = BoughtView(
    HOSTILE, HOSTILE, HOSTILE, ToolOfferWay.BUY, Money(10**12, "GBP"), (), ()
)  # fmt: skip
BAD = ToolCheckView(
    "KBTGAB27", ON, HOSTILE, (HOSTILE,) * 3, (HOSTILE,) * 3, RangePolicy.FIFTH,
    (BAD_NEED, replace(BAD_NEED, state=ToolVerdict.HAVE, trains=(BAD_TRAIN,) * 3),
     replace(BAD_NEED, state=ToolVerdict.UNKNOWN)) * 3,
    (wrench(HOSTILE, 5, 25, box=HOSTILE, away=because(ToolReason.LENT_WITHOUT_DATE, to=HOSTILE)),)
    * 30,
    (figure("123456.789 lbf·in", FigureVerdict.WRENCH),) * 30,
    (replace(CAUTION, title=HOSTILE, text=HOSTILE, applies_to=(HOSTILE,)),) * 3,
    BuyView((BOUGHT,) * 20, Money(10**12, "GBP"), None, (), (), ()),
    stopped=(because(DoubtReason.VARIANT_OPEN, variant=HOSTILE),) * 5,
    lay_out=(
        LayOutView(HOSTILE, HOSTILE, HOSTILE, dict.fromkeys(ToolTask, 10**9), (BAD_TRAIN,) * 9),
    )
    * 7,
)  # fmt: skip


def texts(view: ToolCheckView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_tool_check, view, paper=paper))]


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_bears_reference_page_number_cautions_and_the_makers_precedence(
    paper: str,
) -> None:
    found = texts(CROWDED, paper)
    assert len(found) > 1
    for number, text in enumerate(found, 1):
        assert "ToolcheckKBTGAB27" in text
        assert f"page{number}/{len(found)}" in text
        assert "CAUTIONS(infullattheend):Coolant" in text
        assert ("Planninginformation,notaprocedure" in text) == (number == 1)
        assert ("Planninginformation:themaker'sdatagoesfirst" in text) == (number > 1)
    assert "Coolant(A2)Capoffcoldonly;themaker'sdatadecide." in found[-1]


def test_the_first_page_says_vehicle_jobs_boxes_policy_in_words_and_how_it_came_out() -> None:
    (text,) = texts(VIEW)
    assert "TOOLCHECKkitKBTGAB27UlvanderPell…117·fittingdate2026-04-15" in text
    assert "J3timingcoverresealBoxes:bay,van" in text
    assert "thewholescale,fromitslowestmarkup(ISO6789:2017)" in text
    assert "1gap1cannotbeproven1inorder" in text
    (text,) = texts(replace(VIEW, policy=RangePolicy.FIFTH, needs=(GAP, GAP), boxes=()))
    assert "20%to100%ofthescale(ISO6789:2003)" in text
    assert "2gaps0cannotbeproven0inorder" in text
    assert "Boxes:notoolboxisdescribed" in text


def test_gaps_come_first_then_what_cannot_be_proven_then_what_is_there() -> None:
    (text,) = texts(VIEW)
    rows = text[text.index("HOW,ORWHYNOT") :]
    gap = "GAP3.5N·monhexagon5mmW-5-25:figure3.5N·misoffitsscale(5to25N·m)drain:plug"
    unknown = "NOTPROVENtightenhexagon9mm:nofigureNOFIGURE:LOOKITUPcaliper:bleedscrew"
    have = "HAVE10N·monsix-lobeT45W-5-25+A-14-38+T-45-L(bay)set10N·mcover:bolts1to10"
    assert rows.index(gap) < rows.index(unknown) < rows.index(have)


def test_every_tool_is_laid_out_once_with_its_box_and_what_it_is_for() -> None:
    wrench_ = LayOutView(
        "bay", "W-5-25", "torque wrench", {ToolTask.TORQUE: 2},
        (TRAIN, replace(TRAIN, setting=parse_torque("20 N·m"))),
    )  # fmt: skip
    bar = LayOutView("van", "BAR", "BAR", {ToolTask.UNDO: 5, ToolTask.ANGLE: 1})
    pdf = drawn(draw_tool_check, replace(VIEW, lay_out=(wrench_, bar)))
    text = "".join(map(words, characters(pdf)))
    assert text.index("LAYOUTBOXFOR") < text.index("NOTTOBELAIDOUT") < text.index("WHATEACHTASK")
    assert "W-5-25torquewrenchbaytighten:2tasksset to10N·m,20N·m".replace(" ", "") in text
    assert "BARvanundo:5tasks,turnbyangle:1task" in text
    assert sum(map(len, squares(pdf, 7))) == 2


def test_gaps_and_what_cannot_be_proven_have_no_box_to_tick() -> None:
    pdf = drawn(draw_tool_check, VIEW)
    assert sum(map(len, squares(pdf, 7))) == 0
    assert "NOTTOBELAIDOUT:gaps,andwhatcannotbeproven" in "".join(map(words, characters(pdf)))


def test_a_stopped_job_is_never_shown_as_checked() -> None:
    waiting = (because(DoubtReason.VARIANT_OPEN, variant="cooler"),)
    view = replace(VIEW, needs=(HAVE,), stopped=waiting)
    (text,) = texts(view)
    assert "NOTCHECKED:whatisaskedofthetoolsisnotallknown" in text
    assert "variantcoolerisnotsettled" in text
    assert "1stopped" in text
    assert view.verdict is Verdict.STOPPED
    (text,) = texts(replace(VIEW, needs=(), stopped=waiting))
    assert "Nothingisaskedofthetools." not in text
    assert "NOTCHECKED" in text


def test_a_sheet_of_a_booking_has_its_number_on_every_page() -> None:
    found = texts(replace(CROWDED, booking="B0007"))
    assert "TOOLCHECKB0007·kitKBTGAB27" in found[0]
    assert all("ToolcheckB0007·kitKBTGAB27" in text for text in found)


def test_what_would_close_the_gaps_stands_in_a_box_before_the_rows_if_anything_would() -> None:
    hired = BoughtView(
        "GAUGE-HIRE", "angle gauge, one week", "Fennimuth", ToolOfferWay.HIRE, Money(600, "GBP"),
        (), (),
    )  # fmt: skip
    cover = BuyView((hired,), Money(600, "GBP"), None, (), (), ())
    (text,) = texts(replace(VIEW, cover=cover))
    told = "WHATWOULDCLOSETHEGAPS£6.00hireGAUGE-HIRE:anglegauge,oneweek£6.00inall,proventhecheapest"
    assert text.index(told) < text.index("HOW,ORWHYNOT")
    (text,) = texts(VIEW)
    assert "WHATWOULDCLOSETHEGAPS" not in text


def test_a_wrench_whose_steps_nobody_states_is_not_proven_and_its_setting_is_printed() -> None:
    unstated = because(
        ToolReason.OF_TOOL, tool="W-5-25", reason=because(ScaleReason.STEPS_NOT_STATED)
    )
    need = replace(
        HAVE,
        state=ToolVerdict.UNKNOWN,
        trains=(replace(TRAIN, resolution=None),),
        reasons=(unstated,),
    )
    (text,) = texts(replace(VIEW, needs=(need,)))
    reason = "W-5-25:thestepsofitsscalearenotstated:stateits'resolution'"
    check = "set10N·mCHECKTHATITSSCALEHASTHISMARK(stepsnotstated)"
    assert text.index("NOTPROVEN") < text.index(reason) < text.index(check)


def test_other_trains_follow_with_or_and_their_notes() -> None:
    setting = parse_torque("19.6 N·m")
    note = because(TrainNote.CROWFOOT_STRAIGHT)
    step = parse_torque("0.1 N·m")
    other = TrainView(("V-20-100", "CF-17"), ("van",), setting, note, resolution=step)
    (text,) = texts(replace(VIEW, needs=(replace(HAVE, trains=(TRAIN, other)),)))
    assert "orV-20-100+CF-17(van)set19.6N·mcrowfootstraightahead" in text


def test_many_places_are_shortened_and_the_rest_counted() -> None:
    places = tuple(f"intake: port {n}" for n in range(9))
    (text,) = texts(replace(VIEW, needs=(replace(HAVE, places=places),)))
    assert "intake:port3and5more" in text


@pytest.mark.parametrize("paper", PAPERS)
def test_every_tool_has_a_tick_box_of_7_mm_and_is_at_least_9_mm_high(paper: str) -> None:
    found = squares(drawn(draw_tool_check, CROWDED, paper=paper), 7)
    assert sum(map(len, found)) == 30
    for boxes in found:
        tops = sorted((box.top for box in boxes), reverse=True)
        assert all(upper - lower >= 8.99 for upper, lower in pairwise(tops))


def test_the_chart_names_wrenches_figures_and_decades_and_why_a_wrench_is_away() -> None:
    (text,) = texts(VIEW)
    chart = text[text.index("TORQUERANGES") : text.index("HOW,ORWHYNOT")]
    assert "bayW-5-255to25N·mcalibratedto2026-04-15" in chart
    assert "bayW-20-100AWAY:calibrationended28Feb202620to100N·m" in chart
    assert "vanW-40-20040to200N·m" in chart
    assert "3.5N·mNOWRENCH" in chart
    assert "210N·mNOWRENCH" in chart
    assert "75lbf·in" in chart
    assert "75lbf·inNOWRENCH" not in chart
    assert chart.count("NOWRENCH") == 2
    assert "5102050100200N·m" in chart


@pytest.mark.parametrize("paper", PAPERS)
def test_twelve_wrenches_and_twelve_figures_are_all_on_one_chart(paper: str) -> None:
    text = texts(replace(CROWDED, lay_out=()), paper)[0]
    assert text.count("TORQUERANGES") == 1
    for n in range(12):
        assert f"bayW-{n}" in text
    for figure in ("3.5", "8", "9", "10", "20", "22", "24", "25", "30", "45", "60", "210"):
        assert f"{figure}N·m" in text
    assert text.count("NOWRENCH") == 4


def test_headings_of_the_rows_never_stand_alone_at_the_foot_of_a_page() -> None:
    for jobs in range(40):
        for text in texts(replace(CROWDED, jobs=("J3 timing cover reseal",) * jobs)):
            if "HOW,ORWHYNOT" in text:
                assert "WHEREHAVE" in text
            if "LAYOUTBOXFOR" in text:
                assert "LAYOUTBOXFORS-" in text


def test_more_than_one_chart_holds_is_put_on_further_charts() -> None:
    scales = tuple(replace(WRENCHES[0], code=f"X{n}-") for n in range(30))
    text = "".join(texts(replace(VIEW, scales=scales)))
    assert "TORQUERANGES1of3" in text
    assert "TORQUERANGES3of3" in text
    assert all(f"bayX{n}-" in text for n in range(30))


def test_without_torques_there_is_no_chart_and_an_empty_check_says_so() -> None:
    pdf = drawn(draw_tool_check, replace(VIEW, needs=(), scales=(), figures=(), cautions=()))
    (page,) = characters(pdf)
    assert "TORQUERANGES" not in words(page)
    assert "Nothingisaskedofthetools." in words(page)
    assert squares(pdf, 7) == [[]]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("view", [VIEW, CROWDED, BAD], ids=["plain", "crowded", "hostile"])
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    view: ToolCheckView, paper: str
) -> None:
    width, height = PAPERS[paper]
    pdf = drawn(draw_tool_check, view, paper=paper)
    assert sum(map(len, squares(pdf, 7))) == len(view.lay_out)
    require_clear(pdf, width, height)


def test_text_from_data_is_not_read_as_markup() -> None:
    text = "".join(
        texts(
            replace(
                VIEW,
                needs=(
                    replace(
                        GAP, what=RequirementView(ToolTask.GENERAL, tool="<b>x</b> &amp; שלום")
                    ),
                ),
            )
        )
    )
    assert "GAP<b>x</b>&amp;" in text


def test_the_same_check_gives_the_same_bytes_and_the_number_of_pages() -> None:
    assert drawn(draw_tool_check, CROWDED) == drawn(draw_tool_check, CROWDED)
    assert draw_tool_check(CROWDED, BytesIO()) == len(texts(CROWDED))


def test_an_unknown_paper_is_refused_in_a_sentence() -> None:
    with pytest.raises(KittingError, match=r"no paper 'A3'\. Known: A4, Letter"):
        drawn(draw_tool_check, VIEW, paper="A3")


def test_equal_ratios_are_equal_lengths_on_the_scale() -> None:
    scale = LogScale(1, 1000, 90)
    assert [scale.at(value) for value in (1, 10, 100, 1000)] == pytest.approx([0, 30, 60, 90])
    assert scale.at(0) == scale.at(-5) == scale.at(math.nan) == 0
    assert scale.at(math.inf) == 90


def test_a_bar_is_seen_even_where_it_has_no_length() -> None:
    scale = LogScale(1, 100, 80)
    assert scale.bar(10, 100) == (40, 40)
    assert scale.bar(100, 10) == (40, 40)
    start, length = scale.bar(100, 100)
    assert length > 0
    assert start + length == 80


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (3, 220, [5, 10, 20, 50, 100, 200]),
        (0.4, 6, [0.5, 1, 2, 5]),
        (1, 10**7, [10**n for n in range(8)]),
    ],
)
def test_ticks_are_1_2_5_of_each_decade_or_fewer_where_they_would_crowd(
    low: float, high: float, ticks: list[float]
) -> None:
    assert LogScale(low, high, 100).ticks() == ticks


def test_ticks_never_crowd() -> None:
    for decades in (0.7, 1, 2, 3, 5, 9, 25, 60):
        scale = LogScale(0.5, 0.5 * 10**decades, 106)
        places = [scale.at(tick) for tick in scale.ticks()]
        assert places
        assert all(after - before > 7.9 for before, after in pairwise(places))


def test_a_scale_takes_only_what_is_above_zero_and_has_air_at_its_ends() -> None:
    assert scale_for([], 100) is None
    assert scale_for([0, -3, math.inf, math.nan], 100) is None
    scale = scale_for([0, 5, 200], 100)
    assert scale is not None
    assert scale.low < 5
    assert scale.high > 200
    one = scale_for([20], 100)
    assert one is not None
    assert one.low < 20 < one.high


def test_no_line_from_a_mark_runs_through_the_words_of_another() -> None:
    places = [0.0, 1.0, 4.0, 4.0, 12.0, 13.0, 40.0, 90.0]
    widths = [9.0, 30.0, 9.0, 9.0, 9.0, 9.0, 30.0, 9.0]
    found = lanes(places, widths)
    for one, (left, width) in enumerate(zip(places, widths, strict=True)):
        for other in range(one + 1, len(places)):
            if places[other] < left + width:
                # The line of the other begins below the words of this one.
                assert found[other] < found[one]
    assert found[-1] == 0


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("state", [s for s in FigureVerdict if s is not FigureVerdict.HAVE])
def test_the_words_of_a_mark_are_whole_at_the_end_of_the_scale_too(
    state: FigureVerdict, paper: str
) -> None:
    figures = (figure("75 lbf·in", state), figure("1110 N·m", state))
    text = "".join(map(words, characters(drawn(
        draw_tool_check, replace(VIEW, figures=figures), paper=paper
    ))))  # fmt: skip
    mark = FIGURE_MARKS[state].replace(" ", "")
    assert f"75lbf·in{mark}" in text
    assert f"1110N·m{mark}" in text
