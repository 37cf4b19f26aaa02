"""Labels seen from outside: codes read by zxing-cpp, geometry and glyphs by pypdfium2.

Codes are QR (ISO/IEC 18004: quiet zone of 4 modules) and Code 128 (ISO/IEC 15417: quiet zones of
10 modules), looked at as the 203 dots per inch of a label printer show them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paper import (
    DPI,
    MM,
    Box,
    Code,
    characters,
    codes,
    degraded,
    drawn,
    lines,
    opened,
    pages,
    words,
)
from PIL import Image

from factory import (
    DRY,
    HOSTILE,
    bag,
    content,
    differs,
    end,
    hostile_kit,
    kit,
    stopped,
    tightening,
)
from kitting.facts.reasons import because
from kitting.facts.torque_reasons import TorqueRemark
from kitting.facts.words import NeedRule
from kitting.reports.labels.labels import draw_kit_labels, draw_ruler
from kitting.reports.stationery import STOCKS, LabelStock, find_stock
from kitting.views.kit import BagLine, KitView, ShortageView
from kitting.views.plan import RingView
from kitting.wording.kit import differs_text

SHEETS = [key for key, stock in STOCKS.items() if stock.per_page > 1]
BENCH = [key for key, stock in STOCKS.items() if stock.width >= 99 and stock.height >= 67]
TORQUE = "bolts1to4:20N·m(14.8lbf·ft)→+90°,dry"


RING = RingView(17.0, 2.5, "FKM", 75)
OTHERS = (
    differs("long leg", "17 × 2 mm", "EPDM 70", "section 2.5 mm, not 2 mm; FKM, not EPDM"),
    differs("bleeder", "17.2 × 1.8 mm", "HNBR 70", "section 2.5 mm, not 1.8 mm; FKM, not HNBR"),
    differs("cap", "18 × 2.5 mm", "FKM 90", "inside 17 mm, not 18 mm; hardness 75, not 90"),
)
TOLD = tuple(map(differs_text, OTHERS))


def told_kit(count: int, ring: RingView | None = RING) -> KitView:
    """A kit whose only ring could be taken for so many others."""
    one = replace(end(1), ring=ring, differs=OTHERS[:count])
    return replace(kit(1), bags=(replace(bag(1), ends=(one,)),))


LOOKS = {
    "plain": kit(2),
    "crowded": kit(2, lines=40, ends=2),
    "hostile": hostile_kit(),
    "ringed": told_kit(3),
}


@cache
def looked_at(key: str, which: str) -> bytes:
    """Labels as usual, with far too much for them, or hostile in every text."""
    return drawn(draw_kit_labels, LOOKS[which], find_stock(key))


@cache
def characters_of(key: str, which: str) -> list[list[Box]]:
    """The characters of these labels."""
    return characters(looked_at(key, which))


def by_label(boxes: list[list[Box]], stock: LabelStock, count: int) -> list[list[Box]]:
    """What stands on each label, which it must lie within; nothing may lie elsewhere."""
    found: list[list[Box]] = [[] for _ in range(count)]
    for number in range(count):
        place = stock.place(number)
        area = (place.x, place.y, place.x + stock.width, place.y + stock.height)
        found[number] = [box for box in boxes[place.page] if box.inside(*area)]
    assert sum(map(len, found)) == sum(map(len, boxes))
    return found


def label_texts(made: KitView, key: str) -> list[str]:
    """The characters of each label in the order of the kit."""
    stock, count = find_stock(key), 1 + sum(1 + len(one.ends) for one in made.bags)
    return [
        words(found)
        for found in by_label(characters(drawn(draw_kit_labels, made, stock)), stock, count)
    ]


def label_of(code: Code, page: int, stock: LabelStock) -> int:
    """The number of the label on which the middle of a code lies."""
    x = (code.left + code.right) / 2 / DPI * 25.4
    y = stock.page_height - (code.top + code.bottom) / 2 / DPI * 25.4
    for number in range(stock.per_page):
        place = stock.place(number)
        if 0 <= x - place.x <= stock.width and 0 <= y - place.y <= stock.height:
            return number + page * stock.per_page
    raise AssertionError(f"{code} lies on no label")


@pytest.mark.parametrize("look", [lambda picture: picture, degraded], ids=["clean", "copied"])
@pytest.mark.parametrize("key", STOCKS)
def test_every_label_bears_its_own_code_readable_clean_and_after_two_photocopies(
    key: str, look: Callable[[Image.Image], Image.Image]
) -> None:
    stock = find_stock(key)
    expected = ["KBTGAB27", "KBTGAB27-01", "KBTGAB27-01", "KBTGAB27-02", "KBTGAB27-02"]
    found: dict[str, dict[int, str]] = {"QR": {}, "Code 128": {}}
    for page, picture in enumerate(pages(drawn(draw_kit_labels, kit(2), stock))):
        for code in codes(look(picture)):
            found[code.kind][label_of(code, page, stock)] = code.text
    assert found["QR"] == dict(enumerate(expected))
    # Bars stand where the label is high enough for text and bars.
    assert found["Code 128"] == (dict(enumerate(expected)) if stock.height >= 60 else {})


@pytest.mark.parametrize("which", LOOKS)
@pytest.mark.parametrize("key", STOCKS)
def test_codes_have_whole_modules_level_q_and_a_white_quiet_zone(key: str, which: str) -> None:
    qr_codes = 0
    for picture in pages(looked_at(key, which)):
        for code in codes(picture):
            if code.kind == "QR":
                qr_codes += 1
                # 21 modules: version 1 of ISO/IEC 18004; 4 dots each: the least we draw.
                module = (code.right - code.left) / 21
                assert module >= 3.95
                assert code.level == "Q"
                zone = 4 * module
                clear(picture, code.left - zone, code.top - zone, code.right + zone, code.top)
                clear(picture, code.left - zone, code.bottom, code.right + zone, code.bottom + zone)
                clear(picture, code.left - zone, code.top, code.left, code.bottom)
                clear(picture, code.right, code.top, code.right + zone, code.bottom)
            else:
                # Start, data, check of 11 modules each, stop of 13 (ISO/IEC 15417).
                module = (code.right - code.left) / (11 * (len(code.text) + 2) + 13)
                clear(picture, code.left - 10 * module, code.top, code.left, code.bottom)
                clear(picture, code.right, code.top, code.right + 10 * module, code.bottom)
    assert qr_codes >= 3


def clear(picture: Image.Image, left: float, top: float, right: float, bottom: float) -> None:
    """Nothing dark in a rectangle, give or take two dots at its edges; off the page is white."""
    area = picture.crop((
        max(0, round(left) + 2), max(0, round(top) + 2), min(picture.width, round(right) - 2),
        min(picture.height, round(bottom) - 2),
    ))  # fmt: skip
    assert area.width > 0
    assert area.height > 0
    assert area.getextrema()[0] > 200


def test_a_label_too_small_for_a_code_says_it_in_letters() -> None:
    stock = find_stock("40x20")
    pdf = drawn(draw_kit_labels, kit(1), stock)
    assert [codes(picture) for picture in pages(pdf)] == [[], [], []]
    for text, code in zip(
        map(words, characters(pdf)), ("KBTGAB27", *["KBTGAB27-01"] * 2), strict=True
    ):
        assert code in text


@pytest.mark.parametrize("which", LOOKS)
@pytest.mark.parametrize("key", [*STOCKS, "40x20", "20x20", "30x60"])
def test_text_stays_within_its_label_and_lines_do_not_overlap(key: str, which: str) -> None:
    count = 1 + sum(1 + len(one.ends) for one in LOOKS[which].bags)
    for found in by_label(characters_of(key, which), find_stock(key), count):
        assert found
    for page in lines(looked_at(key, which)):
        for number, one in enumerate(page):
            for other in page[:number]:
                assert not one.overlaps(other, by=0.3), (one, other)


TEXTS = st.text(st.characters(codec="utf-8"), max_size=60)


@settings(max_examples=15, deadline=None)
@given(TEXTS, TEXTS, TEXTS, st.sampled_from(["50x25", "63x38-21", "99x67-8"]))
def test_text_of_any_kind_stays_within_its_label(
    name: str, position: str, torque: str, key: str
) -> None:
    line = replace(bag(1).lines[0], content=content(1, name=name, unit=name), positions=(position,))
    one = replace(
        bag(1), joint_name=name, lines=(line,) * 3, ends=(end(1, position=position, end=name),),
        tightening=(tightening(torque, "20 N·m"),),
    )  # fmt: skip
    stock = find_stock(key)
    pdf = drawn(draw_kit_labels, replace(kit(1), bags=(one,), vehicle=name, hazards=(name,)), stock)
    assert len(by_label(characters(pdf), stock, 3)) == 3


@pytest.mark.parametrize("key", STOCKS)
def test_no_letter_is_too_small_to_read(key: str) -> None:
    # Bench labels are read at arm's length: 10 pt (common practice, no source); else 6 pt.
    least = 10 if key in BENCH else 6
    for which in LOOKS:
        found = characters_of(key, which)
        assert min(box.size for page in found for box in page) >= least - 0.01


def test_a_long_amount_is_not_squeezed_below_what_can_be_read() -> None:
    long = content(0, rule=NeedRule.USE, quantity=18_900, unit="ml of a 70 ml pack open for weeks")
    line = replace(kit(1).loose[0], content=long)
    pdf = drawn(draw_kit_labels, replace(kit(0), loose=(line,) * 3), find_stock("102x152"))
    assert min(box.size for box in characters(pdf)[0]) >= 10 - 0.01
    assert words(characters(pdf)[0]).count("18.9mlofa") == 3


@pytest.mark.parametrize("key", STOCKS)
def test_position_then_end_then_size_come_first_and_largest_on_an_end_label(key: str) -> None:
    stock = find_stock(key)
    found = by_label(characters(drawn(draw_kit_labels, kit(1), stock)), stock, 3)[2]
    text = words(found)
    # The code under the QR and the foot are drawn first.
    start = text.index("pumpend0shortleg17×2.5mmFKM75")
    sizes = [box.size for box in found]
    position, short_leg, ring = sizes[start], sizes[start + 8], sizes[start + 16]
    assert position > short_leg > ring
    assert ring == max(sizes[:start] + sizes[start + 16 :])
    body = found[start:]
    assert all(body[0].top >= box.bottom for box in body)


@pytest.mark.parametrize("key", [key for key in STOCKS if key != "50x25"])
def test_an_end_label_names_material_colour_lubricant_rule_quantity_and_the_count(key: str) -> None:
    text = label_texts(kit(1), key)[2]
    for part in (
        "17×2.5mmFKM75",
        "colourassupplied:brown",
        "rubberassemblyfluid(LUBE),0.2ml",
        "■RENEW1×RING-FKM-17X2.5",
        "bag1·countOLDout:____of1",
    ):
        assert part in text


def test_an_end_label_says_what_is_not_known_and_what_goes_in_dry() -> None:
    unknown = end(1, size=None, material=None, colour=None, lubricated=DRY)
    text = label_texts(replace(kit(1), bags=(replace(bag(1), ends=(unknown,)),)), "63x38-21")[2]
    assert "materialnotstated,sizenotstated" in text
    assert "FITDRY,nolubricant" in text
    assert "colour" not in text


@pytest.mark.parametrize("key", BENCH)
def test_a_bag_label_shows_contents_with_word_and_sign_torque_hazard_and_count(key: str) -> None:
    text = label_texts(kit(2, lines=3), key)[1]
    for part in (
        "BAG1of2",
        "rearcoolantpipe,pumpend",
        "UlvanderPell…117,fiton2026-04-15",
        "POISONOUS",
        "■RENEW4×flangeboltM6×0:bolts0to3",
        "◪INSPECTupto4×flangeboltM6×1:bolts1to4·FITDRY",
        "□KEEP4×flangeboltM6×2:bolts2to5",
        f"TIGHTEN(themaker'sdatagoesfirst){TORQUE}",
        "countOLDout:____of1",
    ):
        assert part in text


def test_a_figure_nobody_published_is_printed_as_unknown() -> None:
    one = replace(bag(1), tightening=(tightening("bleed screw"),))
    assert (
        "bleedscrew:NOFIGURE:LOOKITUP,dry" in label_texts(replace(kit(1), bags=(one,)), "76x51")[1]
    )


def test_a_joint_without_old_seals_has_no_count() -> None:
    made = replace(kit(1), bags=(replace(bag(1, ends=0), count_out=None),))
    assert "count" not in label_texts(made, "76x51")[1]


@pytest.mark.parametrize("key", BENCH)
def test_the_kit_label_shows_jobs_stops_hazards_loose_items_and_the_picker(key: str) -> None:
    stop = stopped("Which oil cooler is fitted?")
    text = label_texts(replace(kit(3), doubts=(stop,)), key)[0]
    for part in (
        "KITKBTGAB27",
        "UlvanderPell…117,fiton2026-04-15",
        "3bags",
        "POISONOUS·FLAMMABLE",
        "STOPPED:J2:Whichoilcoolerisfitted?Lookatit.",
        "J1rearcoolantpipeseals",
        "1.6Lcoolantconcentrate(1packof5L)",
        "pickedby____________",
    ):
        assert part in text


@pytest.mark.parametrize("key", STOCKS)
def test_hazard_words_are_whole_on_every_label_that_has_them(key: str) -> None:
    made = replace(kit(1, lines=40), hazards=("IRRITANT", "FLAMMABLE", "POISONOUS"))
    made = replace(made, jobs=made.jobs * 9, doubts=(stopped("Which oil cooler is fitted?"),))
    kit_label, bag_label, _ = label_texts(made, key)
    assert "IRRITANT·FLAMMABLE·POISONOUS" in kit_label
    assert "POISONOUS" in bag_label


@pytest.mark.parametrize("key", STOCKS)
def test_what_can_hurt_and_the_verdict_stand_on_every_label_however_long_the_names(
    key: str,
) -> None:
    long = "high-voltage battery, lower carrier with its seals and the earth strap"
    turned = replace(tightening("bolts", "20 N·m"), left_hand=True)
    one = replace(
        bag(1, lines=9, ends=0), joint_name=long, hazards=("HIGH VOLTAGE",), tightening=(turned,)
    )
    made = replace(
        kit(1), bags=(one,), vehicle=f"Ulvander {long} …117", jobs=(long,) * 4,
        hazards=("HIGH VOLTAGE",), doubts=(stopped(long), stopped(long)),
    )  # fmt: skip
    kit_label, bag_label = label_texts(made, key)
    assert "HIGHVOLTAGE" in kit_label
    assert "STOPPED" in kit_label
    assert "HIGHVOLTAGE" in bag_label
    assert "LEFT-HANDTHREAD" in bag_label


@pytest.mark.parametrize("key", STOCKS)
def test_a_bag_says_what_of_its_joint_is_left_off(key: str) -> None:
    left = BagLine(content(1), positions=("groove",))
    text = label_texts(replace(kit(1), bags=(replace(bag(1, ends=0), left_off=(left,)),)), key)[1]
    assert "LEFTOFF,notinthisbag" in text


@pytest.mark.parametrize("key", STOCKS)
def test_what_does_not_fit_is_counted_never_dropped_in_silence(key: str) -> None:
    (_, text) = label_texts(kit(1, lines=90, ends=0), key)
    shown = text.count("×flangebolt") + text.count("bolts1to4:20N·m")
    assert f"+{91 - shown}more:seetheplan" in text


@pytest.mark.parametrize("count", range(1, 12))
def test_no_size_of_bag_loses_anything_without_a_word(count: int) -> None:
    for key in ("63x38-21", "99x67-8", "57x32"):
        (_, text) = label_texts(kit(1, lines=count, ends=0), key)
        missing = count + 1 - text.count("×flangebolt") - text.count("bolts1to4:20N·m")
        assert (f"+{missing}more:seetheplan" in text) == (missing > 0)


@pytest.mark.parametrize("width", range(30, 110, 10))
@pytest.mark.parametrize("height", range(20, 80, 10))
def test_a_tightening_figure_is_shown_whole_or_not_at_all(width: int, height: int) -> None:
    (_, text) = label_texts(kit(1, ends=0), f"{width}x{height}")
    assert text.count("N·m") == text.count(TORQUE)
    assert text.count("TIGHTEN") >= text.count(TORQUE)


def test_a_crowded_label_says_first_how_many_figures_nobody_knows() -> None:
    one = bag(1, lines=4, ends=0)
    rows = tuple(tightening(f"bolt {n}", "20 N·m") for n in range(30))
    crowded = replace(one, tightening=(*rows, tightening("bleed screw")))
    text = label_texts(replace(kit(1), bags=(crowded,)), "99x67-8")[1]
    assert "TIGHTEN31positions,1WITHOUTAFIGURE:seethetighteningsheet" in text
    assert "bleedscrew:NOFIGURE:LOOKITUP,dry" in text


def test_a_crowded_label_keeps_left_hand_threads_and_odd_figures() -> None:
    one = bag(1, lines=1, ends=0)
    rows = tuple(tightening(f"bolt {n}", "20 N·m") for n in range(30))
    left = replace(tightening("hub nut", "30 N·m"), left_hand=True)
    odd = replace(
        tightening("stud", "+900°"), remarks=(because(TorqueRemark.TURNS_FAR, degrees=900),)
    )
    crowded = replace(one, tightening=(*rows, left, odd))
    text = label_texts(replace(kit(1), bags=(crowded,)), "99x67-8")[1]
    assert "TIGHTEN32positions,1LEFT-HANDTHREAD,1ODDFIGURE:seethetighteningsheet" in text
    assert "hubnut:LEFT-HANDTHREAD,30N·m" in text
    assert "stud:+900°,dry,ODDFIGURE:seethetighteningsheet" in text


def test_a_long_text_may_not_crowd_out_the_tightening() -> None:
    one = bag(1, lines=1, ends=0)
    long = replace(one, lines=(replace(one.lines[0], positions=(HOSTILE,)),) * 20)
    assert TORQUE in label_texts(replace(kit(1), bags=(long,)), "63x38-21")[1]


@pytest.mark.parametrize("key", SHEETS)
@pytest.mark.parametrize("offset", [(0.0, 0.0), (1.5, -2.0)])
def test_the_outlines_of_the_ruler_page_lie_within_0_3_mm_of_the_stock(
    key: str, offset: tuple[float, float]
) -> None:
    stock, dpi = find_stock(key), 300
    (picture,) = pages(drawn(draw_ruler, stock, offset=offset), dpi)
    dots = dpi / 25.4
    for number in range(stock.per_page):
        place = stock.place(number)
        left, foot = place.x + offset[0], stock.page_height - place.y - offset[1]
        # A line across the upper half meets the sides; one down the right half, top and foot.
        # Both keep clear of the ticks and of the text.
        y, x = foot - stock.height + 1.5, left + stock.width - 1.5
        for edge in (left, left + stock.width):
            assert abs(dark_near(picture, edge * dots, y * dots, across=True) / dots - edge) <= 0.3
        for edge in (foot, foot - stock.height):
            assert abs(dark_near(picture, edge * dots, x * dots, across=False) / dots - edge) <= 0.3


def dark_near(picture: Image.Image, at: float, other: float, *, across: bool) -> float:
    """The dark dot nearest to a place along a line; far away if there is none within 1 mm.

    An outline on the very edge of the paper is clipped by it: it counts as where it should be.
    """
    limit = picture.width if across else picture.height
    if not 2 < at < limit - 2:
        return at
    found = [
        along + 0.5
        for along in range(max(0, round(at) - 12), min(limit, round(at) + 13))
        if picture.getpixel((along, round(other)) if across else (round(other), along)) < 128
    ]
    return min(found, key=lambda dot: abs(dot - at), default=-1e9)


def test_the_ruler_page_numbers_its_labels() -> None:
    stock = find_stock("63x38-21")
    found = by_label(characters(drawn(draw_ruler, stock)), stock, 21)
    numbers = [[box for box in label if box.size == 16] for label in found]
    assert [words(number) for number in numbers] == [str(n) for n in range(1, 22)]


def test_a_begun_sheet_goes_on_at_its_first_free_label() -> None:
    stock = find_stock("63x38-21")
    plain = characters(drawn(draw_kit_labels, kit(2), stock))
    begun = characters(drawn(draw_kit_labels, kit(2), stock, start=19))
    assert len(plain) == 1
    first, later = begun
    assert words(first) + words(later) == words(plain[0])
    assert min(box.bottom for box in first) > stock.place(18).y
    assert max(box.top for box in first) < stock.place(18).y + stock.height
    assert min(box.bottom for box in later) > stock.place(0).y


def test_the_offset_moves_everything_right_and_up() -> None:
    stock = find_stock("99x67-8")
    plain = characters(drawn(draw_kit_labels, kit(1), stock))[0]
    moved = characters(drawn(draw_kit_labels, kit(1), stock, offset=(1.5, -2.0)))[0]
    for before, after in zip(plain, moved, strict=True):
        assert after.left - before.left == pytest.approx(1.5, abs=0.01)
        assert after.bottom - before.bottom == pytest.approx(-2.0, abs=0.01)


def test_a_roll_has_one_label_to_a_page_of_its_size() -> None:
    sizes = [
        page.get_size() for page in opened(drawn(draw_kit_labels, kit(1), find_stock("57x32")))
    ]
    assert sizes == [pytest.approx((57 * MM, 32 * MM), abs=0.1)] * 3


def test_labels_are_black_and_white() -> None:
    for page in opened(drawn(draw_kit_labels, kit(2), find_stock("99x67-8"))):
        red, green, blue = page.render(scale=1).to_pil().convert("RGB").split()
        assert red.tobytes() == green.tobytes() == blue.tobytes()


def test_the_same_kit_gives_the_same_bytes_and_names_no_person() -> None:
    stock = find_stock("99x67-8")
    pdf = drawn(draw_kit_labels, kit(), stock)
    assert pdf == drawn(draw_kit_labels, kit(), stock)
    document = pypdfium2.PdfDocument(pdf)
    about = document.get_metadata_dict()
    document.close()
    assert (about["Title"], about["Author"], about["Creator"]) == (
        "Labels of kit KBTGAB27",
        "",
        "kitting",
    )


def booked_kit(shortages: int) -> KitView:
    """The kit of a booking that lacks so many things."""
    return replace(
        kit(3), booking="B0002", keeps_to=date(2026, 5, 10),
        shortages=tuple(
            ShortageView(f"RING-{n}", 1000 * n, "each") for n in range(1, shortages + 1)
        ),
    )  # fmt: skip


@pytest.mark.parametrize("key", STOCKS)
def test_the_kit_label_of_a_booking_begins_with_its_number_which_is_largest(key: str) -> None:
    stock = find_stock(key)
    found = by_label(characters(drawn(draw_kit_labels, booked_kit(1), stock)), stock, 7)[0]
    text = words(found)
    start = text.index("B0002KITKBTGAB27")
    assert {box.size for box in found[start : start + 5]} == {found[start].size}
    assert max(box.size for box in found[:start] + found[start + 5 :]) < found[start].size


@pytest.mark.parametrize("key", BENCH)
def test_the_kit_label_of_a_booking_shows_what_is_short_and_the_earliest_expiry(key: str) -> None:
    text = label_texts(booked_kit(2), key)[0]
    assert "SHORT:1×RING-1" in text
    assert "SHORT:2×RING-2" in text
    assert "earliestexpiry2026-05-10" in text
    assert "SHORT" not in label_texts(kit(3), key)[0]
    assert "earliest" not in label_texts(kit(3), key)[0]


@pytest.mark.parametrize("count", [1, 2, 3, 5, 9, 40])
def test_shortages_that_find_no_room_are_counted_never_dropped_in_silence(count: int) -> None:
    for key in ("63x38-21", "57x32", "99x67-8"):
        text = label_texts(booked_kit(count), key)[0]
        missing = count - text.count("SHORT:")
        counted = re.search(r"\+(\d+)more:seetheplan", text)
        assert missing == 0 or (counted is not None and int(counted[1]) >= missing)
        # Forty find room on none of these labels, so that the count above is put to the test.
        assert missing > 0 or count < 40


@pytest.mark.parametrize("key", [*STOCKS, "40x20"])
def test_a_hostile_booking_stays_within_its_label(key: str) -> None:
    bad = replace(
        hostile_kit(),
        booking=HOSTILE,
        shortages=(ShortageView(HOSTILE, 1000, HOSTILE),) * 5,
        keeps_to=date(2026, 5, 10),
    )
    stock = find_stock(key)
    pdf = drawn(draw_kit_labels, bad, stock)
    assert all(by_label(characters(pdf), stock, 3))
    for page in lines(pdf):
        for number, one in enumerate(page):
            for other in page[:number]:
                assert not one.overlaps(other, by=0.3), (one, other)


@pytest.mark.parametrize("count", [1, 2, 3])
@pytest.mark.parametrize("key", [*STOCKS, "40x20"])
def test_an_end_label_names_whole_differences_and_counts_the_rest(key: str, count: int) -> None:
    text = label_texts(told_kit(count), key)[2]
    named = sum(f"≠{told}".replace(" ", "") in text for told in TOLD)
    # Half a difference would name the wrong ring, or none.
    assert text.count("≠not") == named <= 2
    rest = re.search(r"≠and(\d)more:seethesealmap", text)
    if rest is not None:
        assert named + int(rest[1]) == count
    elif named < count:
        assert re.search(r"\+\dmore:seethesealmap", text)


@pytest.mark.parametrize("key", [key for key in STOCKS if key not in ("50x25", "57x32")])
def test_an_end_label_names_the_nearest_ring_it_could_be_swapped_with(key: str) -> None:
    for count in (1, 2, 3):
        text = label_texts(told_kit(count), key)[2]
        assert f"≠{TOLD[0]}".replace(" ", "") in text
        assert "■RENEW1×RING-FKM-17X2.5" in text
        assert "rubberassemblyfluid(LUBE),0.2ml" in text


@pytest.mark.parametrize("key", STOCKS)
def test_a_ring_drawn_on_a_label_takes_no_word_from_it(key: str) -> None:
    plain, drawing = (label_texts(told_kit(2, ring), key)[2] for ring in (None, RING))
    # The last line is put where there is room for it: smaller text may have more.
    assert drawing.replace("truesize,section×2", "").startswith(plain)


@pytest.mark.parametrize(
    "ring", [RING, RingView(3.0, 2.5, "FKM", 75), RingView(300.0, 9.0, None, None)]
)
@pytest.mark.parametrize("key", [*STOCKS, "40x20", "20x20", "30x60"])
def test_a_drawn_ring_stays_within_its_label_and_clear_of_text_and_codes(
    key: str, ring: RingView
) -> None:
    stock = find_stock(key)
    pdf = drawn(draw_kit_labels, told_kit(1, ring), stock)
    place = stock.place(2)
    # A circle is four curves of three points each; lines and bars have fewer points.
    boxes = [
        Box("ring", *(value / MM for value in thing.get_bounds()))
        for number, page in enumerate(opened(pdf))
        if number == place.page
        for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH])
        if pypdfium2.raw.FPDFPath_CountSegments(thing) == 13
    ]
    area = (place.x, place.y, place.x + stock.width, place.y + stock.height)
    assert all(box.inside(*area) for box in boxes)
    for line in lines(pdf)[place.page]:
        assert not any(box.overlaps(line, by=0.3) for box in boxes), line


def test_a_ring_is_drawn_on_labels_that_have_room_for_it() -> None:
    having = {key for key in STOCKS if "truesize,section×2" in label_texts(told_kit(1), key)[2]}
    assert {"102x152", "62-continuous"} <= having
    assert "50x25" not in having
    # One too large for the label is left to the seal map.
    assert (
        "truesize" not in label_texts(told_kit(1, RingView(300.0, 9.0, None, None)), "102x152")[2]
    )


@pytest.mark.parametrize("key", STOCKS)
def test_labels_of_a_joint_of_two_bags_bear_codes_of_their_own_and_say_which(key: str) -> None:
    bags = tuple(
        replace(bag(n), ends=(replace(end(n), ring=RING, differs=OTHERS[:1]),), part=n, parts=2)
        for n in (1, 2)
    )
    made = replace(kit(1), bags=bags)
    stock = find_stock(key)
    found = {
        label_of(code, page, stock): code.text
        for page, picture in enumerate(pages(drawn(draw_kit_labels, made, stock)))
        for code in codes(degraded(picture))
        if code.kind == "QR"
    }
    assert found == {0: "KBTGAB27", 1: "KBTGAB27-01", 2: "KBTGAB27-01", 3: "KBTGAB27-02",
                     4: "KBTGAB27-02"}  # fmt: skip
    if key != "50x25":
        written = label_texts(made, key)
        assert "bag1of2ofthisjoint" in written[1]
        assert "bag2of2ofthisjoint" in written[3]


@pytest.mark.parametrize("key", STOCKS)
def test_hostile_differences_stay_within_their_label(key: str) -> None:
    one = replace(
        end(1, end=HOSTILE), ring=RING, differs=(differs(HOSTILE, HOSTILE, HOSTILE, HOSTILE),) * 5
    )
    made = replace(kit(1), bags=(replace(bag(1), ends=(one,), part=1, parts=2),))
    stock = find_stock(key)
    assert all(by_label(characters(drawn(draw_kit_labels, made, stock)), stock, 3))
