"""The strip sheet read by pypdfium2. All names and figures are invented."""

from __future__ import annotations

import ctypes
from dataclasses import replace
from functools import partial
from io import BytesIO
from typing import Any

import pypdfium2
import pytest
from paper import MM, characters, drawn, opened, pages, require_clear, squares, words
from PIL import Image

from factory import CAUTION, HOSTILE, ON, stopped
from kitting.errors import KittingError
from kitting.facts.reasons import because
from kitting.facts.strip_down import ComesOut
from kitting.facts.units import Quantity
from kitting.facts.words import PatternShape, Rule
from kitting.reports.sheets.strip import draw_strip
from kitting.reports.stationery import PAPERS
from kitting.views.photos import Photograph, Photographs
from kitting.views.strip import (
    BagTagView,
    ComesOffView,
    FluidOutView,
    PhotoOf,
    RefillView,
    StripJointView,
    StripStepView,
    StripView,
    UndoView,
)

BOLTS = ComesOffView(
    ("cover bolts",), "BOLT-M6X25", "flange bolt", Quantity(6000, "each"), Rule.KEEP,
    thread="M6", length=25.0,
)  # fmt: skip
RINGS = ComesOffView(("port 1", "port 2"), "RING", "O-ring", Quantity(2000, "each"), Rule.RENEW)
JOINT = StripJointView(
    "cover", "pump cover", (BagTagView(3, "KBTGAB27-03"),), (RINGS, BOLTS), 2,
    UndoView((4, 2, 3, 1), PatternShape.CIRCLE),
)  # fmt: skip
COOLANT = FluidOutView(
    "coolant", ComesOut.RUNS_OUT, ("POISONOUS",),
    (RefillView("COOLANT", "coolant concentrate", Quantity(1_600_000, "ml")),),
)  # fmt: skip
STEP = StripStepView(
    1, "A2", "pump cover off", ("J1",), ("refrigerant handling",), ("drain tray",),
    (replace(CAUTION, word="POISONOUS"),), (JOINT,), (COOLANT,), True, 4,
    (because(PhotoOf.ENDS, name="pump cover", places=("short leg", "long leg")),),
)  # fmt: skip
VIEW = StripView(
    "KBTGAB27",
    ON,
    "Ulvander Pell …117",
    ("J1 pump seals",),
    (STEP,),
    (stopped("look"),),
    (),
    (CAUTION,),
)
BARE = replace(
    STEP, joints=(), fluids=(), closers=None, open_ends=False, photos=(), cautions=(), licences=()
)
LONG = replace(VIEW, steps=tuple(replace(STEP, number=n, code=f"S{n}") for n in range(1, 41)))
DEEP = replace(
    VIEW,
    steps=(replace(STEP, joints=tuple(replace(JOINT, off=(RINGS, BOLTS) * 20) for _ in range(3))),),
)
BAD_OFF = ComesOffView(
    (HOSTILE,) * 3, HOSTILE, HOSTILE, Quantity(10**12, HOSTILE), Rule.INSPECT, HOSTILE, 1e9, None,
    (HOSTILE,),
)  # fmt: skip
BAD_JOINT = StripJointView(
    HOSTILE, HOSTILE, tuple(BagTagView(n, HOSTILE) for n in range(900, 903)), (BAD_OFF,) * 3,
    10**9, UndoView((), PatternShape.MAKER, (HOSTILE,)), 10**9, None, True, True,
)  # fmt: skip
BAD_STEP = StripStepView(
    1, HOSTILE, HOSTILE, (HOSTILE,) * 3, (HOSTILE,), (HOSTILE,), (replace(CAUTION, title=HOSTILE),) * 3,
    (BAD_JOINT,) * 3, (FluidOutView(HOSTILE, ComesOut.RUNS_OUT, (HOSTILE,), (), HOSTILE),), True,
    10**9, (because(PhotoOf.RUNS, name=HOSTILE, places=(HOSTILE,)),), (HOSTILE,), (stopped(HOSTILE),),
)  # fmt: skip
BAD = StripView(
    "KBTGAB27", ON, HOSTILE, (HOSTILE,) * 3, (BAD_STEP,) * 2, (stopped(HOSTILE),) * 9,
    (stopped(HOSTILE),), (replace(CAUTION, title=HOSTILE, text=HOSTILE, applies_to=(HOSTILE,)),) * 2,
    HOSTILE,
)  # fmt: skip


def texts(view: StripView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_strip, view, paper=paper))]


def of(step: StripStepView) -> str:
    """The whole sheet of one step."""
    return "".join(texts(replace(VIEW, steps=(step,))))


def with_joint(**changes: object) -> StripStepView:
    return replace(STEP, joints=(replace(JOINT, **changes),))


def test_the_caution_stands_before_its_step_and_the_step_names_who_may_do_it() -> None:
    text = of(STEP)
    caution = text.index("CAUTIONBEFORETHISSTEP:Coolant(POISONOUS).Infullattheend.")
    assert caution < text.index("STEP1of1·A2pumpcoveroffforJ1LICENCEASKEDFOR:refrigeranthandling")
    assert "tools:draintray" in text


def test_what_runs_out_is_named_with_its_own_hazard_and_how_much_is_filled_in_again() -> None:
    text = of(STEP)
    assert "coolantRUNSOUT:drainitfirstorcatchit.coolant:POISONOUS" in text
    assert "filledinagainatthisstep:1.6LCOOLANTcoolantconcentrate" in text
    left = replace(COOLANT, refills=(), drained_at="A1")
    assert "drainedatA1:howmuchisleftisNOTSTATED" in of(replace(STEP, fluids=(left,)))
    unknown = replace(COOLANT, refills=())
    assert "howmuch:NOTSTATED" in of(replace(STEP, fluids=(unknown,)))
    fuel = replace(unknown, fluid="petrol", comes_out=ComesOut.UNDER_PRESSURE)
    assert "petrolMAYSTANDUNDERPRESSURE:relieveitbythemaker'smethodfirst" in of(
        replace(STEP, fluids=(fuel,))
    )
    gas = replace(unknown, fluid="refrigerant", comes_out=ComesOut.RECOVERED)
    assert "refrigerantUNDERPRESSURE:recoveredbeforethejointisopened" in of(
        replace(STEP, fluids=(gas,))
    )


def test_a_joint_shows_its_bag_its_seals_to_count_and_what_becomes_of_each_part() -> None:
    text = of(STEP)
    assert "BAG3pumpcover(cover)tagwhatgoesbackwithKBTGAB27-032oldsealsout" in text
    assert "then:removalcount" in text
    assert "port1;port22×RING·O-ring■RENEW:anewonegoesin" in text
    assert "coverbolts6×BOLT-M6X25·flangebolt·M6×25mm↩KEEP:goesback" in text
    assert "counted1" in of(with_joint(counted=1))
    assert "atmost2oldseals" in of(with_joint(seals_depend=True))
    assert "NOBAG" in of(with_joint(bags=()))


def test_the_number_of_the_bag_is_white_on_black() -> None:
    (page,) = drawn_pages(replace(VIEW, steps=(STEP,)))
    dark = sum(value < 40 for value in page.crop((0, 0, page.width // 3, page.height)).tobytes())
    plain = replace(VIEW, steps=(BARE,))
    (other,) = drawn_pages(plain)
    light = sum(value < 40 for value in other.crop((0, 0, other.width // 3, page.height)).tobytes())
    # 26 × 13 mm at 203 dpi are some 20 000 dots, less the letters.
    assert dark - light > 15_000


def drawn_pages(view: StripView) -> list[Image.Image]:
    return pages(drawn(draw_strip, view))


def test_loosening_in_reverse_is_marked_as_general_practice() -> None:
    assert (
        "Loosen in reverse of the order of tightening (general practice and general pattern, not the"
        " maker's): 4-2-3-1."
    ).replace(" ", "") in of(STEP)
    maker = with_joint(undo=UndoView((4, 2, 3, 1), PatternShape.MAKER))
    assert "inreverseofthemaker'sorderoftightening(generalpractice,notthemaker's):4-2-3-1" in of(
        maker
    )
    worded = with_joint(undo=UndoView((), PatternShape.MAKER, ("crosswise",)))
    assert "whichisgiveninwords:crosswise" in of(worded)
    assert "Loosen" not in of(with_joint(undo=None))


def test_a_left_hand_thread_and_an_unknown_one_stand_at_their_fastener() -> None:
    left = replace(BOLTS, left_hand=True)
    assert "M6×25mmLEFT-HANDTHREAD:undoneclockwise" in of(with_joint(off=(left,)))
    unknown = replace(BOLTS, left_hand=None)
    assert "THREADNOTSTATED:whichwayitisundoneisnotknown" in of(with_joint(off=(unknown,)))
    assert "THREAD" not in of(STEP)


def test_every_open_end_has_a_box_and_an_unknown_number_a_line() -> None:
    one = with_joint()
    found = [
        sum(
            map(len, squares(drawn(draw_strip, replace(VIEW, steps=(replace(one, closers=n),))), 7))
        )
        for n in (4, 9)
    ]
    # One for the step, one for the photo.
    assert found == [4 + 2, 9 + 2]
    text = of(replace(STEP, closers=None))
    assert "CAPORPLUGeachopenend:howmanyisNOTSTATED.Countthemopenendsclosed,counted" in text
    assert "CAPORPLUG" not in of(replace(STEP, closers=None, open_ends=False))


def test_what_to_photograph_has_a_box_and_a_blank_where_nothing_is_known() -> None:
    assert "PHOTO:whichringsitsonwhichend:shortleg;longleg(pumpcover)" in of(STEP)
    text = of(BARE)
    assert "photoof" in text
    assert text.index("photoof") < text.index("foundonthiscar")


def stroke(thing: Any) -> float | None:
    """The weight in points of a line across that is at least 60 mm long; None for what is none."""
    weight = ctypes.c_float()
    assert pypdfium2.raw.FPDFPageObj_GetStrokeWidth(thing, weight)
    left, bottom, right, top = (value / MM for value in thing.get_bounds())
    return weight.value if right - left > 60 and top - bottom < 1 else None


def test_lines_to_write_on_are_not_so_thin_that_copies_lose_them() -> None:
    def weights(view: StripView) -> list[float]:
        return [
            round(weight, 2)
            for page in opened(drawn(draw_strip, view))
            for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH])
            if (weight := stroke(thing)) is not None
        ]

    bare, without = (weights(replace(VIEW, steps=steps)) for steps in ((BARE,), ()))
    # A photo, and two lines for what was found: 0.4 points were gone after two generations.
    assert sorted(bare) == sorted([*without, 0.8, 0.8, 0.8])


def test_photos_of_a_joint_stand_below_its_rows() -> None:
    target = BytesIO()
    Image.new("L", (40, 30), 128).save(target, "JPEG")
    photo = Photograph(target.getvalue(), 40, 30, "cover from above")
    kept = Photographs(places={("cover", None): photo, ("other", None): photo})
    pdf = drawn(partial(draw_photographed, kept), VIEW)
    text = "".join(map(words, characters(pdf)))
    assert text.count("Photo:coverfromabove") == 1
    assert text.index("coverbolts6") < text.index("Photo:cover") < text.index("CAPORPLUG")


def draw_photographed(kept: Photographs, view: StripView, target: BytesIO) -> int:
    return draw_strip(view, target, "A4", kept)


def test_what_cannot_be_proven_of_a_step_stands_at_it() -> None:
    waits = replace(STEP, waits_for=("cooler",), doubts=(stopped("bare"),))
    text = of(waits)
    band, first = text.index("STEP1of1"), text.index("BAG3")
    assert band < text.index("NOTKNOWNWHETHERTHISSTEPISDONE:settlecoolerfirst") < first
    assert band < text.rindex("STOPPED:") < first
    only = replace(RINGS, only_with=("cooler/early",))
    assert "CANNOTBEPROVEN:onlytherewithcooler/early" in of(with_joint(off=(only,)))
    assert "WHATITHOLDSBACKISNOTSTATED:bereadytocatchit" in of(with_joint(holds_unknown=True))
    assert "WhatcomesoffhereisNOTSTATED." in of(with_joint(off=(), seals=0))


def test_doubts_of_what_goes_in_are_counted_and_sent_to_the_plan() -> None:
    (text,) = texts(replace(VIEW, other_doubts=(stopped("a"), stopped("b"))))
    assert "2moredoubtsofwhatgoesin,notofwhatcomesoff:seetheplan" in text
    (text,) = texts(replace(VIEW, doubts=(), other_doubts=(stopped("a"),)))
    assert "READTHISFIRST1doubtofwhatgoesin,notofwhatcomesoff:seetheplan" in text


@pytest.mark.parametrize("paper", PAPERS)
def test_forty_steps_run_over_pages_that_all_say_whose_they_are(paper: str) -> None:
    found = texts(replace(LONG, booking="B0002"), paper)
    assert len(found) > 5
    for number, text in enumerate(found, 1):
        assert "Strip-downB0002·kitKBTGAB27" in text
        assert f"page{number}/{len(found)}" in text
    whole = "".join(found)
    assert all(whole.count(f"STEP{n}of40·S{n}pumpcoverofffor") == 1 for n in range(1, 41))


def test_a_step_that_runs_over_names_itself_and_its_bag_again() -> None:
    found = texts(DEEP)
    assert len(found) > 2
    for text in found[1:-1]:
        assert "STEP1of1·A2BAG3,pumpcover·continued" in text


def test_a_joint_never_parts_from_its_first_row() -> None:
    for text in texts(LONG):
        for after in text.split("BAG3pumpcover(cover)")[1:]:
            assert "port1;port2" in after


@pytest.mark.parametrize("view", [VIEW, DEEP, BAD], ids=["plain", "deep", "hostile"])
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    paper: str, view: StripView
) -> None:
    require_clear(drawn(draw_strip, view, paper=paper), *PAPERS[paper])


@pytest.mark.parametrize("view", [LONG, DEEP, BAD], ids=["long", "deep", "hostile"])
def test_boxes_to_tick_do_not_overlap(view: StripView) -> None:
    for boxes in squares(drawn(draw_strip, view), 7):
        for number, one in enumerate(boxes):
            for other in boxes[:number]:
                assert not one.overlaps(other, by=0.0), (one, other)


def test_nothing_to_strip_is_said_and_the_number_of_pages_is_returned() -> None:
    assert "Nothingcomesoff." in texts(replace(VIEW, steps=()))[0]
    assert draw_strip(LONG, BytesIO()) == len(texts(LONG))
    with pytest.raises(KittingError, match="no paper 'A3'"):
        drawn(draw_strip, VIEW, paper="A3")
