"""The seal map and the rings on labels, read by pypdfium2. All rings are invented."""

from __future__ import annotations

import ctypes
from dataclasses import replace
from io import BytesIO

import pypdfium2
import pytest
from paper import (
    MM,
    characters,
    degraded,
    drawn,
    opened,
    pages,
    require_clear,
    squares,
    words,
)
from sqlalchemy import Engine

from factory import CAUTION, DRY, HOSTILE, bag, differs, end, hostile_kit, kit, stopped
from helpers import planned
from kitting.errors import KittingError
from kitting.reports.document import new_canvas
from kitting.reports.drawings.rings import (
    hatch_text,
    hatchings,
    label_picture,
    outer,
    paint_hatched_disc,
)
from kitting.reports.sheets.seal_map import draw_seal_map
from kitting.reports.stationery import PAPERS
from kitting.services.kit.bags import kit_view
from kitting.views.kit import EndLabel, KitView
from kitting.views.plan import RingView
from kitting.wording.kit import differs_text

THICK = RingView(17.0, 2.5, "FKM", 75)
THIN = RingView(17.0, 2.0, "EPDM", 70)
OTHERS = (
    differs("long leg", "17 × 2 mm", "EPDM 70", "section 2.5 mm, not 2 mm; FKM, not EPDM"),
    differs("bleeder", "17.2 × 1.8 mm", "HNBR 70", "inside 17 mm, not 17.2 mm"),
    differs("cap", "18 × 2.5 mm", "FKM 75", "inside 17 mm, not 18 mm"),
)
TOLD = tuple(map(differs_text, OTHERS))
PUMP = replace(end(1), ring=THICK, differs=OTHERS)
HEATER = end(
    2, 2, position="heater flange", end="long leg", item="RING-EPDM-17X2", size="17 × 2 mm",
    material="EPDM 70", colour="black", lubricated=DRY,
)  # fmt: skip
HEATER = replace(HEATER, ring=THIN)
VAGUE = end(
    3, position="plate groove", end=None, item="MOULDED", size=None, material=None, colour=None
)


def made(*bags: tuple[EndLabel, ...], joint: str = "rear-pipe") -> KitView:
    """A kit with one joint, its ring ends in these bags."""
    parts = len(bags)
    listed = tuple(
        replace(bag(n), joint=joint, ends=ends, part=n, parts=parts)
        for n, ends in enumerate(bags, 1)
    )
    return replace(kit(1), bags=listed)


def texts(view: KitView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_seal_map, view, paper=paper))]


def shows(pdf: bytes, diameter: float) -> int:
    """How many circles of a diameter (mm) are drawn on all pages.

    The boxes that pypdfium2 gives reach one width of the line beyond it on every side.
    """
    found = 0
    for page in opened(pdf):
        for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH]):
            # A circle is four curves of three points each; lines and frames have fewer.
            if pypdfium2.raw.FPDFPath_CountSegments(thing) < 13:
                continue
            line = ctypes.c_float()
            assert pypdfium2.raw.FPDFPageObj_GetStrokeWidth(thing, line)
            left, bottom, right, top = thing.get_bounds()
            sides = ((right - left - 2 * line.value) / MM, (top - bottom - 2 * line.value) / MM)
            found += all(abs(side - diameter) < 0.05 for side in sides)
    return found


def test_the_head_names_kit_car_date_jobs_and_ring_ends() -> None:
    (text,) = texts(made((PUMP,), (HEATER, VAGUE)))
    assert "SEALMAPkitKBTGAB27UlvanderPell…117·fittingdate2026-04-15" in text
    assert "J1rearcoolantpipeseals3ringendsin1joint,intheorderofrefitting." in text
    assert "Printat100%:thisbaris50mm." in text
    assert "Coolant(A2)Capoffcoldonly;themaker'sdatadecide." in text


def test_the_map_of_a_booking_bears_its_number() -> None:
    (text,) = texts(replace(made((PUMP,)), booking="B0002"))
    assert "SEALMAPB0002·kitKBTGAB27" in text


def test_every_end_shows_all_that_tells_its_ring() -> None:
    (text,) = texts(made((PUMP,), (HEATER,)))
    assert "BAGS1,2rearcoolantpipe,pumpend(rear-pipe)Rings:truesize.Sections:×4." in text
    assert "Ringsthatcouldbeswappedliein2bags." in text
    assert (
        "shortlegpumpend117×2.5mmFKM,fluorocarbonrubber,hardness75coloursupplied"
        "rubberassemblyfluid(LUBE),0.2ml■RENEW1×RING-FKM-17X2.5BAG1"
    ).replace("coloursupplied", "colourassupplied:brown") in text
    assert (
        "longlegheaterflange17×2mmEPDM,ethylene-propylene-dienerubber,hardness70"
        "colourassupplied:blackFITDRY,nolubricant■RENEW2×RING-EPDM-17X2BAG2"
    ) in text
    assert "Ø17" in text


def test_a_lubricant_without_a_source_is_marked() -> None:
    (text,) = texts(made((replace(PUMP, lubricant_sourced=False),)))
    assert "rubberassemblyfluid(LUBE),0.2ml(nosourcestated)" in text


def test_what_nobody_states_is_said_and_never_drawn_as_a_ring() -> None:
    view = made((VAGUE,))
    (text,) = texts(view)
    assert "plategroovesizenotstated:measuregrooveandborerubbernotstated" in text
    assert "?" in text
    assert "Ø" not in text
    bare = replace(end(1, material=None), ring=RingView(17.0, 2.5, None, None))
    assert "rubbernotstated,hardnessnotstated" in texts(made((bare,)))[0]
    soft = replace(end(1, material="FKM"), ring=RingView(17.0, 2.5, "FKM", None))
    assert "FKM,fluorocarbonrubber,hardnessnotstated" in texts(made((soft,)))[0]


def test_all_that_a_ring_could_be_swapped_with_is_told_in_full() -> None:
    (text,) = texts(made((PUMP, HEATER)))
    assert "DONOTSWAP" in text
    for told in TOLD:
        assert f"≠shortleg:{told}".replace(" ", "") in text
    assert "DONOTSWAP" not in texts(made((HEATER,)))[0]


def test_ends_that_are_told_the_same_are_told_once() -> None:
    twin = replace(PUMP, position="bypass", end="bent leg")
    (text,) = texts(made((PUMP, twin)))
    assert f"≠shortleg/bentleg:{TOLD[0]}".replace(" ", "") in text
    assert text.count("section2.5mm,not2mm") == 1


def test_rings_are_drawn_true_to_size_and_sections_four_times_as_large() -> None:
    pdf = drawn(draw_seal_map, made((PUMP, HEATER)))
    # Outside and inside diameters: 17 + 2 × 2.5, 17 + 2 × 2, 17 twice; sections 4 × 2.5, 4 × 2.
    assert shows(pdf, 22.0) == 1
    assert shows(pdf, 21.0) == 1
    assert shows(pdf, 17.0) == 2
    assert shows(pdf, 10.0) == 1
    assert shows(pdf, 8.0) == 1


def test_a_ring_too_large_for_the_paper_brings_the_whole_joint_to_a_smaller_scale() -> None:
    large = replace(end(1, size="150 × 5 mm"), ring=RingView(150.0, 5.0, "FKM", 75))
    pdf = drawn(draw_seal_map, made((large, HEATER)))
    text = "".join(map(words, characters(pdf)))
    assert "Rings:scale1:2.Sections:×2." in text
    assert shows(pdf, 80.0) == 1
    assert shows(pdf, 10.5) == 1
    huge = replace(PUMP, ring=RingView(9000.0, 99.0, "FKM", 75))
    assert "Toolargeortoosmalltobedrawn." in texts(made((huge,)))[0]


def test_hatchings_come_in_the_order_of_the_rubbers_and_the_key_tells_them() -> None:
    view = made((PUMP,), (HEATER, VAGUE))
    assert hatchings(view) == {"FKM": 0, "EPDM": 1}
    (text,) = texts(view)
    assert "FKM:linesrisingtotherightfluorocarbonrubber" in text
    assert "EPDM:linesfallingtotherightethylene-propylene-dienerubber" in text


def test_every_hatching_has_words_of_its_own_until_there_are_no_more() -> None:
    told = [hatch_text(number) for number in range(13)]
    assert len(set(told[:12])) == 12
    assert told[12] == "not hatched, read the words"


def hatched(number: int | None) -> bytes:
    """A section of 10 mm as it looks at 203 dots per inch."""
    target = BytesIO()
    canvas = new_canvas(target, 12, 12, "hatching")
    paint_hatched_disc(canvas, 6 * MM, 6 * MM, 5 * MM, number)
    canvas.save()
    return degraded(pages(target.getvalue())[0]).tobytes()


def test_twelve_hatchings_differ_on_paper_after_two_photocopies_and_the_next_is_plain() -> None:
    assert len({hatched(number) for number in range(12)} | {hatched(None)}) == 13
    assert hatched(12) == hatched(None)


def test_every_end_has_a_box_to_tick() -> None:
    view = made((PUMP, HEATER, VAGUE, PUMP))
    assert sum(map(len, squares(drawn(draw_seal_map, view), 7))) == 4


def test_a_kit_without_a_ring_has_no_seal_map() -> None:
    view = replace(kit(2, ends=0), doubts=(stopped("Which cooler?"),))
    with pytest.raises(
        KittingError, match=r"no joint of kit KBTGAB27 has a ring.* STOPPED: J2: Which cooler\?"
    ):
        drawn(draw_seal_map, view)


def test_what_is_stopped_is_told() -> None:
    view = replace(made((PUMP,)), doubts=(stopped("Which cooler?"),))
    assert "NOTFINE:READTHISFIRSTSTOPPED:J2:Whichcooler?Lookatit." in texts(view)[0]


def many(count: int) -> KitView:
    """A kit of so many joints of four ends each."""
    bags = [
        replace(
            bag(n), joint=f"joint-{n}", joint_name=f"pipe {n}",
            ends=tuple(
                replace(PUMP, end=f"end {n}.{m}", differs=(differs("x", "1", "FKM", f"told {n}.{m}"),))
                for m in range(4)
            ),
        )
        for n in range(1, count + 1)
    ]  # fmt: skip
    return replace(kit(1), bags=tuple(bags))


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_bears_reference_car_page_number_and_cautions(paper: str) -> None:
    found = texts(many(7), paper)
    assert len(found) > 3
    for number, text in enumerate(found, 1):
        assert "SealmapKBTGAB27·UlvanderPell" in text
        assert f"page{number}/{len(found)}" in text
        assert "CAUTIONS(infullattheend):Coolant" in text
        assert "UlvanderPell…117·fittingdate2026-04-15" in text
    text = "".join(found)
    for n in range(1, 8):
        assert text.count(f"BAG{n}pipe{n}(joint-{n})") == 1
        for m in range(4):
            assert text.count(f"end{n}.{m}pumpend1") == 1
            assert f"told{n}.{m}" in text
    assert text.index("pipe1(joint-1)") < text.index("pipe2(joint-2)") < text.index("pipe7(")


def test_a_joint_that_runs_over_a_page_is_named_again() -> None:
    view = made(tuple(replace(PUMP, end=f"end {n}", differs=()) for n in range(30)))
    found = texts(view)
    assert len(found) > 2
    for text in found[1:]:
        assert "BAG1rearcoolantpipe,pumpend·continued" in text


def hostile(ring: RingView | None) -> KitView:
    """A kit as bad as it gets."""
    label = hostile_kit().bags[0].ends[0]
    other = differs(HOSTILE, HOSTILE, HOSTILE, HOSTILE)
    rubber = ring.elastomer if ring else HOSTILE
    bad = replace(label, ring=ring, elastomer=rubber, differs=(other,) * 4)
    one = replace(hostile_kit().bags[0], ends=(bad,) * 5)
    return replace(hostile_kit(), bags=(one, replace(one, number=2, part=2, parts=2)))


BAD_RINGS = (
    None,
    RingView(17.0, 2.5, HOSTILE, None),
    RingView(0.1, 0.05, None, 70),
    RingView(9999.0, 99.0, "FKM", 75),
)


@pytest.mark.parametrize("ring", BAD_RINGS)
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    paper: str, ring: RingView | None
) -> None:
    width, height = PAPERS[paper]
    pdf = drawn(draw_seal_map, hostile(ring), paper=paper)
    require_clear(pdf, width, height)


def test_text_from_data_is_not_read_as_markup() -> None:
    view = made((replace(PUMP, end="<b>short</b> & <font size=40>leg"),))
    assert "<b>short</b>&<fontsize=40>leg" in texts(view)[0]


def test_the_map_is_black_and_white_and_the_same_each_time() -> None:
    view = made((PUMP, HEATER, VAGUE))
    pdf = drawn(draw_seal_map, view)
    assert pdf == drawn(draw_seal_map, view)
    for page in opened(pdf):
        red, green, blue = page.render(scale=1).to_pil().convert("RGB").split()
        assert red.tobytes() == green.tobytes() == blue.tobytes()


def test_a_ring_on_a_label_is_of_true_size_with_its_section_in_it_where_it_fits() -> None:
    assert (label_picture(THICK).scale, label_picture(THICK).inside) == (1.0, True)
    tight = RingView(4.0, 2.5, "FKM", 75)
    assert label_picture(tight).inside is False
    assert label_picture(tight).width == outer(tight) + 3.0 + 5.0


@pytest.mark.parametrize("cooler", ["early", "late"])
def test_the_map_of_the_demo_holds_every_end_and_size(lite_garage: Engine, cooler: str) -> None:
    jobs = ("J1", "J2", "J3", "J4", "J5", "J6")
    view = kit_view(planned(lite_garage, "PELL 117", *jobs, assumed={"cooler": cooler}))
    text = "".join(texts(view))
    ends = [one for each in view.bags for one in each.ends]
    assert len(ends) > 10
    for one in ends:
        for part in (
            one.end or one.position,
            one.content.size or "size not stated",
            one.content.item,
        ):
            assert part.replace(" ", "") in text, part
        for other in one.differs:
            assert differs_text(other).replace(" ", "") in text, other
    assert CAUTION.title in text
