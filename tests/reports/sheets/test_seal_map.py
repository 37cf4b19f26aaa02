"""The seal map and the rings on labels, read by pypdfium2. All rings are invented."""

from __future__ import annotations

import ctypes
from dataclasses import replace
from io import BytesIO
from itertools import combinations
from typing import Any

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
from PIL import Image, ImageChops, ImageStat
from sqlalchemy import Engine

from factory import CAUTION, DRY, HOSTILE, ON, differs, end, hostile_kit, kit, pick, stopped
from helpers import planned
from kitting.errors import KittingError
from kitting.facts.elastomers import ELASTOMERS
from kitting.facts.seal_shapes import SealShape
from kitting.facts.words import ItemFamily, LotState
from kitting.reports.document import new_canvas
from kitting.reports.drawings.rings import label_picture, outer, paint_hatched_disc
from kitting.reports.drawings.rubber_hatches import HATCHES, Hatch, hatch_of
from kitting.reports.sheets.seal_map import draw_seal_map
from kitting.reports.stationery import PAPERS
from kitting.services.kit.seal_map import seal_map
from kitting.store import reading
from kitting.views.bookings import ElsewhereKind, ElsewhereView, PromisedView, SourceKind
from kitting.views.kit import EndLabel
from kitting.views.photos import Photograph, Photographs
from kitting.views.plan import RingView
from kitting.views.seal_map import HoleView, SealJointView, SealMapView, SealPlaceView
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


def made(
    *bags: tuple[EndLabel, ...], joint: str = "rear-pipe", shape: SealShape = SealShape.OTHER
) -> SealMapView:
    """A map with one joint, its ring ends in these bags."""
    return mapped(
        [
            SealPlaceView(number, f"KBTGAB27-{number:02d}-{n}", label, shape)
            for number, ends in enumerate(bags, 1)
            for n, label in enumerate(ends, 1)
        ],
        joint=joint,
    )


def mapped(places: list[SealPlaceView], joint: str = "rear-pipe") -> SealMapView:
    """A map with one joint and these seals."""
    plain = kit(1)
    one = SealJointView(joint, "rear coolant pipe, pump end", tuple(places))
    return SealMapView(plain.reference, ON, plain.vehicle, plain.jobs, (one,), (), plain.cautions)


def texts(view: SealMapView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_seal_map, view, paper=paper))]


def circles(page: Any, diameter: float) -> list[tuple[float, float]]:
    """The middles (points) of the circles of a diameter (mm) that are drawn on a page.

    The boxes that pypdfium2 gives reach one width of the line beyond it on every side.
    """
    found = []
    for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH]):
        # A circle is four curves of three points each; lines and frames have fewer.
        if pypdfium2.raw.FPDFPath_CountSegments(thing) < 13:
            continue
        line = ctypes.c_float()
        assert pypdfium2.raw.FPDFPageObj_GetStrokeWidth(thing, line)
        left, bottom, right, top = thing.get_bounds()
        sides = ((right - left - 2 * line.value) / MM, (top - bottom - 2 * line.value) / MM)
        if all(abs(side - diameter) < 0.05 for side in sides):
            found.append(((left + right) / 2, (bottom + top) / 2))
    return found


def shows(pdf: bytes, diameter: float) -> int:
    """How many circles of a diameter (mm) are drawn on all pages."""
    return sum(len(circles(page, diameter)) for page in opened(pdf))


def section(view: SealMapView, diameter: float) -> Image.Image:
    """The first section of a diameter (mm) on the pages of a map, as it is hatched."""
    scale, half = 6, diameter / 2 * MM
    for page in opened(drawn(draw_seal_map, view)):
        for x, y in circles(page, diameter)[:1]:
            picture = page.render(scale=scale).to_pil().convert("L")
            middle = (x * scale, picture.height - y * scale)
            box = [round(one + way * half * scale) for way in (-1, 1) for one in middle]
            return picture.crop(tuple(box)).resize((200, 200))
    raise AssertionError(diameter)


def unlike(one: Image.Image, other: Image.Image) -> float:
    """How much two pictures differ: 0 for the same, 1 for black and white."""
    return ImageStat.Stat(ImageChops.difference(one, other)).mean[0] / 255


def shown(text: str) -> str:
    return text.replace(" ", "")


def sizes(view: SealMapView, text: str) -> set[float]:
    """The sizes in points of a text, where it stands for the last time on the first page."""
    (page, *_) = characters(drawn(draw_seal_map, view))
    start = words(page).rindex(text)
    return {box.size for box in page[start : start + len(text)]}


def test_the_head_names_kit_car_date_jobs_and_seals() -> None:
    text = "".join(texts(made((PUMP,), (HEATER, VAGUE))))
    assert "SEALMAPkitKBTGAB27UlvanderPell…117·fittingdate2026-04-15" in text
    assert "J1rearcoolantpipeseals3sealsin1joint,intheorderofrefitting." in text
    assert "Printat100%:thisbaris50mm." in text
    assert "Coolant(A2)Capoffcoldonly;themaker'sdatadecide." in text


def test_the_map_of_a_booking_bears_its_number() -> None:
    text = "".join(texts(replace(made((PUMP,)), booking="B0002")))
    assert "SEALMAPB0002·kitKBTGAB27" in text


def test_every_end_shows_all_that_tells_its_ring_and_its_own_code() -> None:
    text = "".join(texts(made((PUMP,), (HEATER,))))
    assert "BAGS1,2rearcoolantpipe,pumpend(rear-pipe)" in text
    assert "Ringsthatcouldbeswappedliein2bags." in text
    assert (
        shown(
            "short leg pump end 1 17 × 2.5 mm true size, section ×4 FKM 75, fluorocarbon rubber"
            " colour as supplied: brown rubber assembly fluid (LUBE), 0.2 ml"
            " ■ RENEW 1 × RING-FKM-17X2.5 BAG 1 · KBTGAB27-01-1"
        )
        in text
    )
    assert (
        shown(
            "long leg heater flange 17 × 2 mm true size, section ×4"
            " EPDM 70, ethylene-propylene-diene rubber colour as supplied: black"
            " FIT DRY, no lubricant ■ RENEW 2 × RING-EPDM-17X2 BAG 2 · KBTGAB27-02-1"
        )
        in text
    )
    assert "Ø17" in text


def test_that_a_ring_goes_in_dry_is_as_large_as_where_it_goes() -> None:
    assert sizes(made((HEATER,)), "FITDRY") == sizes(made((HEATER,)), "longleg") == {13}


def test_a_lubricant_without_a_source_is_marked() -> None:
    text = "".join(texts(made((replace(PUMP, lubricant_sourced=False),))))
    assert "rubberassemblyfluid(LUBE),0.2ml(nosourcestated)" in text


def test_what_nobody_states_is_said_in_small_letters_and_never_drawn_as_a_ring() -> None:
    view = made((VAGUE,), shape=SealShape.MOULDED)
    text = "".join(texts(view))
    assert (
        shown("plate groove MOULDED: MATCH THE PART O-ring size not stated RUBBER NOT STATED")
        in text
    )
    assert max(sizes(view, "sizenotstated")) < min(sizes(view, "MOULDED:MATCHTHEPART"))
    assert max(sizes(view, "MOULDED:MATCHTHEPART")) < min(sizes(view, "plategroove"))
    assert "?" in text
    assert "Ø" not in text
    bare = replace(end(1, material=None), ring=RingView(17.0, 2.5, None, None))
    text = "".join(texts(made((bare,))))
    assert text.count("RUBBERNOTSTATED") == 2
    assert "RUBBERNOTSTATED:nohatch" in text
    soft = replace(end(1, material="FKM"), ring=RingView(17.0, 2.5, "FKM", None))
    assert "FKM,fluorocarbonrubber,hardnessnotstated" in texts(made((soft,)))[0]


@pytest.mark.parametrize(
    ("shape", "told"),
    [
        (SealShape.SHAFT, "SHAFT SEAL: MATCH THE PART"),
        (SealShape.WASHER, "WASHER: MATCH THE PART"),
        (SealShape.GASKET, "GASKET: MATCH THE PART"),
        (SealShape.OTHER, "MATCH THE PART"),
    ],
)
def test_a_seal_that_is_no_ring_says_what_to_match_by_name_and_code(
    shape: SealShape, told: str
) -> None:
    place = SealPlaceView(1, "KBTGAB27-01", VAGUE, shape, rubber=False)
    text = "".join(texts(mapped([place])))
    assert shown(f"plate groove {told} O-ring size not stated") in text
    assert "1×MOULDEDBAG1·KBTGAB27-01" in text
    assert "RUBBER" not in text


def test_the_hole_of_a_washer_is_drawn_true_to_size_and_its_outside_is_not() -> None:
    hole = HoleView(10.0, 1.0)
    view = mapped([SealPlaceView(1, "K-01", VAGUE, SealShape.WASHER, rubber=False, hole=hole)])
    pdf = drawn(draw_seal_map, view)
    assert shows(pdf, 10.0) == 1
    assert "hole10mm,1mmthick,outsidenotstated" in words(characters(pdf)[0])


def test_a_seal_without_a_size_is_shown_by_its_photo() -> None:
    target = BytesIO()
    Image.new("L", (40, 30), 90).save(target, "JPEG")
    photo = Photograph(target.getvalue(), 40, 30, "from below")
    view = made((VAGUE,), shape=SealShape.MOULDED)
    pdf = drawn(draw_seal_map, view, photographs=Photographs(items={"MOULDED": photo}))
    kinds = [thing.type for page in opened(pdf) for thing in page.get_objects()]
    assert kinds.count(pypdfium2.raw.FPDF_PAGEOBJ_IMAGE) == 1
    assert "?" not in words(characters(pdf)[0])


def test_all_that_a_ring_could_be_swapped_with_is_told_in_full() -> None:
    text = "".join(texts(made((PUMP, HEATER))))
    assert "DONOTSWAP" in text
    for told in TOLD:
        assert f"≠shortleg:{told}".replace(" ", "") in text
    assert "DONOTSWAP" not in texts(made((HEATER,)))[0]


def test_ends_that_are_told_the_same_are_told_once() -> None:
    twin = replace(PUMP, position="bypass", end="bent leg")
    text = "".join(texts(made((PUMP, twin))))
    assert f"≠shortleg/bentleg:{TOLD[0]}".replace(" ", "") in text
    assert text.count("section2.5mm,not2mm") == 1


def test_rings_that_must_not_be_swapped_stand_side_by_side_at_one_scale_in_one_frame() -> None:
    """Also where the other one belongs to another joint, on another page."""
    big = RingView(110.0, 5.0, "FKM", 75)
    other = replace(differs("cap", "114 × 5 mm", "EPDM 70", "inside 110 mm, not 114 mm"), item="B")
    mine = replace(end(1, item="A", size="110 × 5 mm"), ring=big, differs=(other,))
    theirs = replace(
        end(2, item="B", size="114 × 5 mm", material="EPDM 70"),
        ring=RingView(114.0, 5.0, "EPDM", 70),
    )
    one, two = made((mine,)).joints[0], made((theirs,)).joints[0]
    view = replace(made((mine,)), joints=(one, replace(two, joint="cap", joint_name="the cap")))
    pdf = drawn(draw_seal_map, view)
    (page, *_) = characters(pdf)
    text = words(page)
    frame = text[text.index("DONOTSWAP") : text.index("≠")]
    assert shown("NOT THIS RING 114 × 5 mm") in frame
    assert "belongsto:cap" in frame
    # 120 mm is the largest on paper: neither finds room, both are drawn half as large.
    assert frame.count("scale1:2,NOTtruesize") == 2
    assert shows(pdf, 60.0) == 1
    # Beside the other, and on its own: 124 mm outside.
    assert shows(pdf, 62.0) == 2


def test_rings_are_drawn_true_to_size_and_sections_four_times_as_large() -> None:
    pdf = drawn(draw_seal_map, made((PUMP, HEATER)))
    # Outside and inside diameters: 17 + 2 × 2.5, 17 + 2 × 2, 17 twice; sections 4 × 2.5, 4 × 2.
    assert shows(pdf, 22.0) == 1
    assert shows(pdf, 21.0) == 1
    assert shows(pdf, 17.0) == 2
    assert shows(pdf, 10.0) == 1
    assert shows(pdf, 8.0) == 1


def test_a_ring_too_large_for_the_paper_has_a_scale_of_its_own_that_is_stated_at_it() -> None:
    large = replace(end(1, size="150 × 5 mm"), ring=RingView(150.0, 5.0, "FKM", 75))
    pdf = drawn(draw_seal_map, made((large, HEATER)))
    text = "".join(map(words, characters(pdf)))
    assert shown("150 × 5 mm scale 1:2, NOT true size, section ×2") in text
    assert shown("17 × 2 mm true size, section ×4") in text
    assert shows(pdf, 80.0) == 1
    assert shows(pdf, 21.0) == 1
    huge = replace(PUMP, ring=RingView(9000.0, 99.0, "FKM", 75), differs=())
    assert "Toolargeortoosmalltobedrawn." in texts(made((huge,)))[0]


def test_a_rubber_has_the_same_hatch_in_every_kit_and_the_key_tells_it() -> None:
    """Whatever other rubbers there are, and in whatever order they come."""
    for view in (made((PUMP,), (HEATER, VAGUE)), made((HEATER,), (PUMP,)), made((PUMP,))):
        text = "".join(texts(view))
        assert "FKM:linesrisingtotheright,closetogetherfluorocarbonrubber" in text
    assert (
        "EPDM:levellines,closetogetherethylene-propylene-dienerubber" in texts(made((HEATER,)))[0]
    )


def test_the_section_of_a_rubber_looks_the_same_on_the_sheets_of_different_kits() -> None:
    other = replace(HEATER, ring=RingView(17.0, 2.5, "EPDM", 70))
    alone, after = section(made((PUMP,)), 10.0), section(made((HEATER,), (PUMP,)), 10.0)
    assert unlike(alone, after) < 0.1
    assert unlike(alone, section(made((other,)), 10.0)) > 0.2


def test_every_rubber_that_is_known_has_a_hatch_and_words_of_its_own() -> None:
    assert HATCHES.keys() == ELASTOMERS.keys()
    assert len({hatch.told for hatch in HATCHES.values()}) == len(ELASTOMERS)
    assert hatch_of(None) is None
    assert hatch_of("XYZ") is None


def test_what_is_short_is_told_at_the_head_and_marked_at_the_ends_that_lack_it() -> None:
    free = ElsewhereView(ElsewhereKind.FREE, 2000, branch="canal")
    line = pick(1).lines[0]
    short = replace(
        line, content=replace(line.content, item="RING-FKM-17X2.5"), lacks=1000, short=1000,
        elsewhere=(free,),
    )  # fmt: skip
    lacking, there = replace(PUMP, short=1000), replace(PUMP, position="other end")
    view = replace(made((lacking, there), (HEATER,)), booking="B0002", short=(short,), also_short=2)
    text = "".join(texts(view))
    assert (
        shown(
            "NOT ALL IS HERE: marked at each seal RING-FKM-17X2.5: SHORT 1: 2 free in canal"
            " 2 lines that are no seals are short too: see the pick list."
        )
        in text
    )
    assert shown("1 × RING-FKM-17X2.5 SHORT 1 BAG 1") in text
    assert shown("1 × RING-FKM-17X2.5 BAG 1") in text


def test_what_is_not_here_yet_or_not_proven_is_marked_at_its_seal() -> None:
    coming = PromisedView(SourceKind.ORDER, 1000, 0, order="P0003", due=ON)
    old = PromisedView(SourceKind.LOT, 1000, 0, lot="L1", state=LotState.AGE_UNKNOWN)
    ends = (replace(PUMP, lots=(coming,)), replace(PUMP, position="b", lots=(old,)))
    text = "".join(texts(replace(made(ends), booking="B0002")))
    assert shown("NOT HERE YET: 1 × RING-FKM-17X2.5 (order P0003, due 2026-04-15)") in text
    assert text.count("AGEUNKNOWN") == 1


def hatched(hatch: Hatch | None) -> Image.Image:
    """A section of 10 mm after two photocopies, at 203 dots per inch."""
    target = BytesIO()
    canvas = new_canvas(target, 12, 12, "hatching")
    paint_hatched_disc(canvas, 6 * MM, 6 * MM, 5 * MM, hatch)
    canvas.save()
    return degraded(pages(target.getvalue())[0])


def test_all_hatches_can_be_told_apart_after_two_photocopies() -> None:
    """Of the dots of a section at least 8 % differ between any two, and from a plain one."""
    pictures = {code: hatched(hatch) for code, hatch in HATCHES.items()}
    pictures["none"] = hatched(None)
    area = 3.14 * (5 * 203 / 25.4) ** 2
    for one, other in combinations(pictures, 2):
        differing = ImageChops.difference(pictures[one], pictures[other]).histogram()[255]
        assert differing / area > 0.08, (one, other)


def test_every_end_has_a_box_to_tick() -> None:
    view = made((PUMP, HEATER, VAGUE, PUMP))
    assert sum(map(len, squares(drawn(draw_seal_map, view), 7))) == 4


def test_a_kit_without_a_seal_has_no_seal_map() -> None:
    view = replace(made((PUMP,)), joints=(), doubts=(stopped("Which cooler?"),))
    with pytest.raises(
        KittingError, match=r"no joint of kit KBTGAB27 has a seal.* STOPPED: J2: Which cooler\?"
    ):
        drawn(draw_seal_map, view)


def test_what_is_stopped_is_told() -> None:
    view = replace(made((PUMP,)), doubts=(stopped("Which cooler?"),))
    assert "NOTFINE:READTHISFIRSTSTOPPED:J2:Whichcooler?Lookatit." in texts(view)[0]


def many(count: int) -> SealMapView:
    """A map of so many joints of four ends each."""
    joints = []
    for n in range(1, count + 1):
        ends = [
            replace(PUMP, end=f"end {n}.{m}", differs=(differs("x", "1", "FKM", f"told {n}.{m}"),))
            for m in range(4)
        ]
        places = tuple(
            SealPlaceView(n, f"KBTGAB27-{n:02d}-{m}", one, SealShape.OTHER)
            for m, one in enumerate(ends, 1)
        )
        joints.append(SealJointView(f"joint-{n}", f"pipe {n}", places))
    return replace(made((PUMP,)), joints=tuple(joints))


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


def hostile(ring: RingView | None) -> SealMapView:
    """A map as bad as it gets."""
    bad_kit = hostile_kit()
    label = bad_kit.bags[0].ends[0]
    other = differs(HOSTILE, HOSTILE, HOSTILE, HOSTILE)
    rubber = ring.elastomer if ring else HOSTILE
    bad = replace(label, ring=ring, elastomer=rubber, differs=(other,) * 4)
    alone = replace(bad, differs=())
    places = [
        SealPlaceView(number, HOSTILE, one, SealShape.MOULDED)
        for number in (1, 2)
        for one in (bad, bad, alone, alone)
    ]
    joint = SealJointView(HOSTILE, HOSTILE, tuple(places), bad_kit.bags[0].uses)
    return SealMapView(
        bad_kit.reference, ON, HOSTILE, bad_kit.jobs, (joint,) * 2, bad_kit.doubts,
        bad_kit.cautions,
    )  # fmt: skip


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
def test_the_map_of_the_demo_holds_every_seal_of_every_joint(
    lite_garage: Engine, cooler: str
) -> None:
    jobs = ("J1", "J2", "J3", "J4", "J5", "J6")
    plan = planned(lite_garage, "PELL 117", *jobs, assumed={"cooler": cooler})
    with reading(lite_garage) as session:
        view = seal_map(session, plan)
    seals = {
        (place.joint, place.position, line.item)
        for line in plan.lines
        if line.family in (ItemFamily.RING, ItemFamily.SEAL) and not line.stopped_by
        for place in line.positions
    }
    places = [(joint.joint, one.label) for joint in view.joints for one in joint.places]
    assert {(joint, one.position, one.content.item) for joint, one in places} == seals
    assert len(places) == len(seals) > 10
    text = "".join(texts(view))
    for _, one in places:
        for part in (one.end or one.position, one.content.item):
            assert part.replace(" ", "") in text, part
        for other in one.differs:
            assert differs_text(other).replace(" ", "") in text, other
    shapes = {one.label.content.item: one.shape for joint in view.joints for one in joint.places}
    assert shapes["SEAL-CRANK-FRONT"] is SealShape.SHAFT
    assert shapes["WASHER-AL-14X20"] is SealShape.WASHER
    assert "SHAFTSEAL:MATCHTHEPART" in text
    assert CAUTION.title in text
