"""The refit sheet read by pypdfium2. All figures, codes and names are invented."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pytest
from paper import characters, codes, degraded, drawn, pages, require_clear, squares, words

from factory import CAUTION, HOSTILE, ON, stopped
from kitting.errors import KittingError
from kitting.facts.plan_reasons import AmountReason, LubricantReason
from kitting.facts.reasons import because
from kitting.facts.ring_reasons import RingDifference
from kitting.facts.stages import parse_stage
from kitting.facts.units import Quantity, parse_torque
from kitting.facts.words import NeedRule, Rule, ThreadState
from kitting.reports.sheets.refit import draw_refit
from kitting.reports.stationery import PAPERS
from kitting.views.kit import (
    AppliedView,
    BagLine,
    ContentView,
    DiffersView,
    EndLabel,
    ShortageView,
)
from kitting.views.plan import RingView
from kitting.views.refit import RefitBagView, RefitEndView, RefitView, StepUseView
from kitting.views.tightening import TightenJointView, TightenRowView, TightenStageView
from kitting.views.tools import TrainView

STAGE = TightenStageView(
    parse_stage("45 N·m"),
    TrainView(("W-40-200", "S-13"), ("bay",), parse_torque("45 N·m"),
              resolution=parse_torque("1 N·m")),
    (),
)  # fmt: skip
TURN = TightenStageView(parse_stage("+60°"), TrainView(("GAUGE",), ("bay",)), ())
ROW = TightenRowView(
    "mount bolts", "BOLT-M10X70", "mount bolt", 3, "M10", True, ThreadState.OILED, Rule.RENEW,
    (STAGE, TURN), None, "invented leaflet, page 12",
)  # fmt: skip
JOINT = TightenJointView(3, "mount", "engine mount", (ROW,), None)
DRY = because(LubricantReason.DRY)


def content(item: str, rule: NeedRule = NeedRule.RENEW) -> ContentView:
    """Two of an item."""
    return ContentView(
        item, f"name of {item}", rule, 2000, "each", size="17 × 2 mm", material="FKM 75"
    )


OTHER = DiffersView(
    ("long leg",), "17 × 2.5 mm", "EPDM 70", because(RingDifference.SECTION, mine=2.0, other=2.5)
)
END = EndLabel(
    "pipe into the pump", "short leg", content("RING-A"), DRY, "FKM", 75,
    RingView(17.0, 2.0, "FKM", 75), (OTHER,),
)  # fmt: skip
BAG = RefitBagView(
    3, "K42TV6M-03", "mount", "engine mount", ports=True, cautions=(CAUTION,),
    ends=(RefitEndView("K42TV6M-03-1", END),),
    seals=(BagLine(content("GASKET"), ("flange face",), (DRY,)),),
    uses=(AppliedView("GREASE", "rubber grease", ("pipe into the pump",)),),
    parts=(BagLine(content("CLIP", NeedRule.KEEP), ("bracket",)),),
    tightening=JOINT,
)  # fmt: skip
VIEW = RefitView(
    "K42TV6M", ON, "Ulvander Pell …117", ("J3 engine mount",), ("bay",), (BAG,), (), (CAUTION,)
)


def texts(view: RefitView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_refit, view, paper=paper))]


def test_a_bag_shows_all_that_goes_in_and_how_it_is_closed_in_the_order_of_the_work() -> None:
    text = "".join(texts(VIEW))
    told = (
        "BAG3", "enginemount(mount)", "K42TV6M-03", "CAUTIONATTHISJOINT", "PORTSUNPLUGGED",
        "SEALS", "shortleg", "pipeintothepump", "17×2mm", "FKM", "FITDRY,nolubricant",
        "DONOTSWAP:notlongleg", "NEW:2×RING-A", "K42TV6M-03-1", "flangeface",
        "NEW:2×GASKET", "PUTON", "GREASErubbergrease", "PARTS", "bracket", "OLD:2×CLIP",
        "FASTENERS", "mountbolts3×BOLT-M10X70", "STAGE1of2LEFT-HANDTHREADSETTHEWRENCHTO45N·m",
        "STAGE2of2LEFT-HANDTHREADTURNONBY+60°", "BAG3empty,enginemountclosed",
    )  # fmt: skip
    places = [text.index(one) for one in told if one != "enginemount(mount)"]
    assert places == sorted(places)
    assert "enginemount(mount)" in text


def test_every_step_and_every_fastener_of_a_stage_has_a_box_of_7_mm() -> None:
    # Ports, ring, gasket, grease, clip, closed; three bolts in two stages.
    assert sum(map(len, squares(drawn(draw_refit, VIEW), 7))) == 6 + 3 * 2


def test_the_codes_of_the_bag_and_of_each_end_are_read_after_two_copies() -> None:
    found = {code.text for page in pages(drawn(draw_refit, VIEW)) for code in codes(degraded(page))}
    assert found == {"K42TV6M", "K42TV6M-03", "K42TV6M-03-1"}


def test_the_number_of_the_bag_is_the_largest_of_its_head() -> None:
    page = next(p for p in characters(drawn(draw_refit, VIEW)) if "BAG3" in words(p))
    at = words(page).index("BAG3")
    assert page[at].size >= 18


def test_what_is_short_left_off_or_not_proven_stands_at_the_top_of_its_bag() -> None:
    other = replace(BAG, bag=4, code="K42TV6M-04", ends=(), seals=())
    bag = replace(
        BAG, doubts=(stopped("Which mount is fitted?"),),
        left_off=(BagLine(content("BUSH"), ("eye",)),), short=(ShortageView("GASKET", 1000, "each"),)
    )  # fmt: skip
    other = replace(other, uses=())
    shortages = (ShortageView("GASKET", 2000, "each"), ShortageView("GREASE", 5000, "ml"))
    view = replace(VIEW, bags=(bag, other), shortages=shortages, booking="B0007")
    text = "".join(texts(view))
    assert text.count("SHORT,ORNOTPROVEN,FORTHISBAG") == 1
    assert text.count("SHORTforthisbag:1×GASKET") == 1
    assert text.count("SHORTforthiskit:5mlofGREASE") == 1
    head = text.index("SHORT,ORNOTPROVEN")
    for told in (
        "SHORTforthisbag",
        "SHORTforthiskit",
        "LEFTOFF,notinthisbag:2×BUSH",
        "Whichmountisfitted?",
    ):
        assert head < text.index(told, head) < text.index("PORTSUNPLUGGED")
    assert "REFITB0007·kitK42TV6M" in text


OIL = StepUseView(
    "A3", "oil drain and filter", "OIL", "engine oil", Quantity(4_600_000, "ml"),
    because(AmountReason.STATED, amount=Quantity(4_600_000, "ml")),
)  # fmt: skip


def test_what_steps_use_stands_at_the_joint_and_what_is_filled_in_at_the_end() -> None:
    cleaner = replace(OIL, step="P3", step_name="cover off", item="CLEANER", name="cleaner")
    bag = replace(BAG, step_uses=(cleaner,))
    view = replace(
        VIEW, bags=(bag,), fillings=(OIL, replace(OIL, item="LATER", left_off=True)),
        shortages=(ShortageView("OIL", 600_000, "ml"),),
    )  # fmt: skip
    text = "".join(texts(view))
    used = text.index("USEDFORTHISSTEP")
    assert (
        text.index("PORTSUNPLUGGED")
        < used
        < text.index("CLEANERcleaner:4.6L")
        < text.index("SEALS")
    )
    filled = text.index("FILLIN,wheneveryjointaboveisclosed")
    assert text.index("enginemountclosed") < filled < text.index("OILengineoil:4.6L")
    assert text.index("stepA3:oildrainandfilter") < text.index("SHORTforthiskit:600mlofOIL")
    assert text.index("LATERengineoil:4.6L") < text.index("LEFTOFF,notinthekit")


def test_a_joint_with_nothing_to_fit_is_named_with_a_box_to_close_it() -> None:
    bare = RefitBagView(None, "", "cover", "rocker cover")
    pdf = drawn(draw_refit, replace(VIEW, bags=(bare,)))
    text = "".join(map(words, characters(pdf)))
    assert "NOBAGrockercover(cover)" in text
    assert "Nothinggoesin;closerockercover." in text
    assert sum(map(len, squares(pdf, 7))) == 1
    empty = replace(bare, bag=4, code="K42TV6M-04")
    assert "BAG4:nothinggoesin;closerockercover." in "".join(texts(replace(VIEW, bags=(empty,))))
    fastened = replace(empty, tightening=JOINT)
    assert "Nothingbutitsfastenersgoesinatrockercover." in "".join(
        texts(replace(VIEW, bags=(fastened,)))
    )


def test_a_joint_of_which_something_is_left_off_has_no_box_to_close_it() -> None:
    bag = replace(BAG, left_off=(BagLine(content("BUSH"), ("eye",)),))
    pdf = drawn(draw_refit, replace(VIEW, bags=(bag,)))
    text = "".join(map(words, characters(pdf)))
    assert "DONOTCLOSEenginemount:whatisleftoffhastogoinfirst." in text
    assert "enginemountclosed" not in text
    assert sum(map(len, squares(pdf, 7))) == 5 + 3 * 2
    stopped_joint = RefitBagView(None, "", "cover", "rocker cover", left_off=bag.left_off)
    text = "".join(texts(replace(VIEW, bags=(stopped_joint,))))
    assert "Nothinggoesin" not in text
    assert "DONOTCLOSErockercover" in text


def test_bags_share_a_page_where_they_fit_whole_and_what_runs_over_says_so_on_both() -> None:
    small = [
        RefitBagView(n, f"K42TV6M-{n:02d}", f"j{n}", f"joint {n}.", seals=BAG.seals)
        for n in range(1, 9)
    ]
    found = texts(replace(VIEW, bags=tuple(small)))
    assert len(found) < 5
    assert not any("OVERLEAF" in text for text in found)
    for bag in small:
        (page,) = [text for text in found if f"joint{bag.bag}.(j{bag.bag})" in text]
        assert f"BAG{bag.bag}empty" in page
    long = replace(BAG, tightening=replace(JOINT, rows=(ROW,) * 5))
    first, *later = texts(replace(VIEW, bags=(long,)))
    broken = [text for text in (first, *later) if "CONTINUESOVERLEAF:" in text]
    assert broken
    for text, after in zip((first, *later), later, strict=False):
        if "CONTINUESOVERLEAF:" in text:
            called = text.rpartition("CONTINUESOVERLEAF:")[2]
            assert after.partition("CONTINUED:")[2].startswith(called)


def test_how_stages_follow_each_other_stands_before_the_first_and_again_overleaf() -> None:
    row = replace(ROW, stages=(STAGE, TURN) * 8, count=30, stage_order="each on all first")
    bag = replace(BAG, tightening=replace(JOINT, rows=(row,)))
    found = texts(replace(VIEW, bags=(bag,)))
    parts = [text for text in found if "of16" in text.partition("CONTINUED:mountbolts,")[2]]
    assert parts
    for text in parts:
        after = text.partition("CONTINUED:mountbolts,")[2]
        assert "of16" in after.partition("Stages:eachonallfirst")[2]
    (first,) = (text for text in found if "STAGE1of16" in text)
    assert first.index("Stages:eachonallfirst") < first.index("STAGE1of16")


def test_a_size_that_nobody_states_is_no_large_type_and_says_what_to_do() -> None:
    unknown = replace(END, ring=None, content=replace(END.content, size=None))
    bag = replace(BAG, ends=(RefitEndView("K42TV6M-03-1", unknown),))
    found = characters(drawn(draw_refit, replace(VIEW, bags=(bag,))))
    (page,) = [page for page in found if "sizenotstated" in words(page)]
    assert page[words(page).index("sizenotstated")].size <= 10


def hostile() -> RefitView:
    """Every text as bad as it gets, and more of everything than one page holds."""
    awful = replace(content(HOSTILE), name=HOSTILE, size=HOSTILE, material=HOSTILE)
    end = replace(END, position=HOSTILE, end=HOSTILE, content=awful,
                  differs=(replace(OTHER, ends=(HOSTILE,)),) * 3)  # fmt: skip
    line = BagLine(awful, (HOSTILE,) * 3, (DRY,))
    row = replace(ROW, position=HOSTILE, item=HOSTILE, name=HOSTILE, count=60, source=HOSTILE)
    bag = RefitBagView(
        123456, "K42TV6M-03", HOSTILE, HOSTILE, 2, 3, 4, True,
        (replace(CAUTION, title=HOSTILE, text=HOSTILE),) * 7, (stopped(HOSTILE),) * 12, (line,) * 3,
        (RefitEndView("K42TV6M-03-1", end),) * 5, (line,) * 4,
        (AppliedView(HOSTILE, HOSTILE, (HOSTILE,)),) * 3, (line,) * 4,
        replace(JOINT, rows=(row,) * 3), 5,
    )  # fmt: skip
    return replace(
        VIEW, vehicle=HOSTILE, jobs=(HOSTILE,) * 3, bags=(bag, bag), doubts=(stopped(HOSTILE),) * 9,
        cautions=(replace(CAUTION, title=HOSTILE, text=HOSTILE, applies_to=(HOSTILE,)),) * 3,
    )  # fmt: skip


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("view", [VIEW, hostile()], ids=["plain", "hostile"])
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    view: RefitView, paper: str
) -> None:
    width, height = PAPERS[paper]
    require_clear(drawn(draw_refit, view, paper=paper), width, height)


def test_every_box_of_a_hostile_sheet_is_there() -> None:
    found = squares(drawn(draw_refit, hostile()), 7)
    assert sum(map(len, found)) == 2 * (1 + 5 + 4 + 3 + 4 + 3 * 2 * 60)


def test_the_same_sheet_gives_the_same_bytes_and_the_number_of_pages() -> None:
    assert drawn(draw_refit, VIEW) == drawn(draw_refit, VIEW)
    assert draw_refit(VIEW, BytesIO()) == len(texts(VIEW))


def test_an_empty_plan_and_an_unknown_paper_are_told() -> None:
    assert "Nojointisopened." in "".join(texts(replace(VIEW, bags=())))
    with pytest.raises(KittingError, match=r"no paper 'A3'\. Known: A4, Letter"):
        drawn(draw_refit, VIEW, paper="A3")
