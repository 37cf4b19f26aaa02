"""The pick list as it is read on paper: what is ours to take, what is short. All is invented."""

from __future__ import annotations

import ctypes
from dataclasses import replace
from datetime import date, datetime
from itertools import pairwise
from typing import Any

import pypdfium2
import pytest
from paper import Box, characters, drawn, lines, opened, rectangles, require_clear, words

from factory import HOSTILE, pick
from kitting.facts.reasons import because
from kitting.facts.shelf_life import ShelfReason
from kitting.facts.words import LotState, NeedRule
from kitting.reports.sheets.pick_list import draw_pick_list
from kitting.reports.stationery import PAPERS
from kitting.views.bookings import ElsewhereKind, ElsewhereView, PromisedView, SourceKind
from kitting.views.kit import PickLine, PickView, ShareView

BOX = (13, 9)  # mm: what is written into by hand
FREE = ElsewhereView(ElsewhereKind.FREE, 4000, branch="canal")
THEIRS = ElsewhereView(ElsewhereKind.PROMISED, 4000, booking="B0001")


def lot(code: str, **changes: Any) -> PromisedView:
    """Two pieces of a lot, in the bin of its row."""
    good = PromisedView(SourceKind.LOT, 2000, 0, lot=code, state=LotState.GOOD)
    return replace(good, **changes)


SOONER = lot("SI-2411", keeps_to=date(2030, 1, 31))
LATER = lot("LX 9/4", keeps_to=date(2034, 12, 31))
ORDER = PromisedView(
    SourceKind.ORDER, 2000, 0, order="P0003", supplier="Ombrith", due=date(2026, 4, 10),
    due_late=date(2026, 4, 12),
)  # fmt: skip


def row(number: int = 0, *sources: PromisedView, **changes: Any) -> PickLine:
    """A row of the list with what covers it; four pieces, renewed."""
    return replace(pick(number + 1).lines[number], sources=sources, **changes)


def of_booking(*lines: PickLine) -> PickView:
    """The list of a booking."""
    return replace(pick(0), booking="B0002", lines=lines, doubts=())


def pages(view: PickView, paper: str = "A4") -> list[list[Box]]:
    return characters(drawn(draw_pick_list, view, paper=paper))


def told(view: PickView) -> str:
    """The characters of all pages."""
    return "".join(map(words, pages(view)))


def size_of(view: PickView, text: str) -> float:
    """The size in points of a text, where it stands for the last time on the first page."""
    (page, *_) = pages(view)
    start = words(page).rindex(text)
    (size,) = {box.size for box in page[start : start + len(text)]}
    return size


def shown(text: str) -> str:
    return text.replace(" ", "")


def test_only_what_is_promised_here_is_taken_and_the_rest_is_short_beside_it() -> None:
    text = told(of_booking(row(0, SOONER, lacks=2000, short=2000, elsewhere=(THEIRS, FREE))))
    assert shown("A-00 2 lot SI-2411 keeps to 2030-01-31") in text
    assert shown("SHORT 2: 4 promised to B0001; 4 free in canal") in text
    assert "TOTAKE·1" in text


def test_what_is_on_its_way_or_may_not_be_fitted_is_not_to_be_taken() -> None:
    held = lot("H-1", state=LotState.ON_HOLD, on_hold="wrong thread")
    text = told(of_booking(row(0, ORDER, awaited=2000), row(1, held, unfit=2000)))
    assert text.count("NOTHINGITEM") == 2
    assert shown("NOT HERE YET 2: order P0003 from Ombrith, due 2026-04-10") in text
    assert shown("MAY NOT BE FITTED 2: lot H-1: ON HOLD: wrong thread") in text
    assert text.count("TOTAKE·") == text.count("NOTHINGHERETOTAKE·2") == 1


def test_the_box_says_of_every_short_row_what_the_row_says_and_of_no_other() -> None:
    lines = (
        row(0, SOONER, lacks=2000, short=2000, elsewhere=(FREE,)),
        row(1, LATER, spares_lacking=1000, short=1000),
        row(2, SOONER, LATER),
        row(3, ORDER, awaited=2000),
    )
    text = told(of_booking(*lines))
    head, rows = text.split("pickedby")
    for said in (
        "SHORT 2: 4 free in canal",
        "SPARE SHORT 1: none free, here or on its way",
        "NOT HERE YET 2: order P0003 from Ombrith, due 2026-04-10",
    ):
        assert head.count(shown(said)) == rows.count(shown(said)) == 1
    assert [number for number in range(4) if f"ITEM-{number}:" in head] == [0, 1, 3]
    assert rows.count("SHORT") == 2
    assert "SHORT" not in told(of_booking(row(2, SOONER, LATER)))


def test_several_lots_stand_one_below_the_other_each_with_boxes_of_its_own() -> None:
    view = of_booking(row(0, SOONER, LATER))
    (page,) = pages(view)
    text = words(page)
    assert shown("A-00 4 ITEM-0") in text
    first = shown("2 from lot SI-2411 keeps to 2030-01-31")
    second = shown("2 from lot LX 9/4 keeps to 2034-12-31")
    assert page[text.index(first)].bottom > page[text.index(second)].top
    assert size_of(view, "SI-2411") == size_of(view, "LX9/4") == 11
    (boxes,) = rectangles(drawn(draw_pick_list, view), *BOX)
    assert len(boxes) == 4


def test_what_was_picked_is_marked_with_its_time_and_comes_last() -> None:
    when = {"picked_at": datetime(2026, 4, 14, 9, 0)}  # noqa: DTZ001
    done = row(0, replace(SOONER, picked=2000), **when, picked_by="Ann")
    begun = row(1, replace(LATER, picked=1000), **when)
    text = told(of_booking(done, begun, row(2, LATER)))
    assert shown("TO TAKE · 2") in text
    assert shown("1 picked, 2026-04-14 09:00 lot LX 9/4") in text
    start = text.index(shown("PICKED: in the kit already · 1"))
    assert text.index("ITEM-1") < start < text.index("ITEM-0")
    assert shown("PICKED 2 picked, 2026-04-14 09:00, Ann lot SI-2411") in text[start:]
    assert text.count("ALL") == 1


def test_what_was_picked_and_may_not_be_fitted_any_more_has_to_come_out() -> None:
    expired = lot("OLD-1", state=LotState.EXPIRED, keeps_to=date(2026, 4, 1), picked=2000)
    view = of_booking(row(0, expired, unfit=2000), row(1, SOONER), row(2, LATER))
    text = told(view)
    assert shown("TAKE OUT OF THE KIT: it may not be fitted · 1") in text
    assert text.index("TAKEOUTOFTHEKIT") < text.index("TOTAKE·2")
    assert shown("TAKE OUT 2") in text
    assert shown("MAY NOT BE FITTED 2: 2 IN THE KIT, of lot OLD-1: EXPIRE") in text
    assert "NOTHINGHERE" not in text


def test_packed_goods_are_taken_in_whole_packs() -> None:
    fluid = pick(3).lines[2]
    fluid = replace(
        fluid,
        content=replace(fluid.content, quantity=800, unit="ml", pack=10_000, packs=1),
        sources=(lot("FA-25", quantity=800),),
    )
    assert shown("1 pack of 10 ml (0.8 ml goes in) lot FA-25") in told(of_booking(fluid))
    assert shown("1 pack of 10 ml (0.8 ml goes in) ITEM-2") in told(
        replace(pick(0), lines=(replace(fluid, sources=()),))
    )


@pytest.mark.parametrize(
    ("unshared", "told_as"),
    [(1_000_000, "1 pack of 1 L"), (900_000, "850 ml"), (None, "1 pack of 1 L")],
)
def test_a_begun_pack_or_one_that_others_share_is_taken_by_amount(
    unshared: int | None, told_as: str
) -> None:
    content = replace(
        pick(1).lines[0].content, unit="ml", quantity=850_000, pack=1_000_000, packs=1
    )
    source = lot("L1", quantity=850_000, unshared=unshared)
    assert shown(told_as) in told(of_booking(replace(row(0, source), content=content)))


def test_a_lot_of_unknown_age_has_its_latest_day_told_as_such() -> None:
    begun = lot(
        "L1",
        state=LotState.AGE_UNKNOWN,
        keeps_to=date(2026, 6, 13),
        keeps_why=because(ShelfReason.OPENED_SINCE_UNKNOWN),
    )
    text = told(of_booking(row(0, begun)))
    assert shown("L1 AGE UNKNOWN, keeps to 2026-06-13 at most (not known: it is no whole") in text
    assert text.count("2026-06-13") == 1


def test_goods_that_should_have_come_are_overdue() -> None:
    assert shown("NOT HERE YET 2: order P0003 from") in told(
        of_booking(row(0, ORDER, awaited=2000))
    )
    late = told(of_booking(row(0, replace(ORDER, overdue=True), awaited=2000)))
    assert shown("NOT HERE YET 2: order P0003 from Ombrith, OVERDUE: was due 2026-04-10") in late


def test_several_bags_are_told_with_how_much_goes_into_each() -> None:
    line = row(0, SOONER, shares=(ShareView(1, 3000), ShareView(2, 1000)))
    assert shown("■ RENEW BAG 1: 3 BAG 2: 1") in told(of_booking(line))


def test_the_bin_is_the_largest_and_boldest_of_its_row() -> None:
    view = of_booking(row(0, SOONER, lacks=1000))
    (page,) = pages(view)
    text = words(page)
    start = text.index("A-00")
    size = page[start].size
    row_text = page[start + 4 : text.index("CAUTIONS", start)]
    assert size == 17
    assert all(box.size < size for box in row_text)


@pytest.mark.parametrize("paper", PAPERS)
def test_long_bins_and_many_bags_are_never_cut(paper: str) -> None:
    place = "MEZZANINE-GANG-7/REGAL-12/FACH-0042-LINKS-OB"
    shares = tuple(ShareView(number, 1000) for number in range(1, 25))
    line = row(0, SOONER, bin=place, bags=tuple(range(1, 25)), shares=shares)
    pdf = drawn(draw_pick_list, of_booking(line), paper=paper)
    text = "".join(map(words, characters(pdf)))
    # A hyphen at the end of a line is read as one that parts a word.
    assert place.replace("-", "") in text.replace("-", "").replace("\x02", "").replace("\ufffe", "")
    assert all(f"BAG{number}:1" in text for number in range(1, 25))
    assert "…" not in text.replace("…117", "")
    # The name is parted at its signs, and what stands between them stays whole.
    rows = [box.text for page in lines(pdf) for box in page]
    assert {"MEZZANINE", "GANG-7/", "REGAL-12/"} <= {row.strip("-\x02\ufffe\r\n ") for row in rows}
    require_clear(pdf, *PAPERS[paper])


def test_a_list_that_is_not_booked_says_that_nothing_is_promised_to_it() -> None:
    text = told(pick(3))
    assert "NOTBOOKED:nothingispromisedtothislist." in text
    assert "BINNEEDEDITEM" in text
    assert "NOTBOOKED" not in told(of_booking(row(0, SOONER)))
    spare = replace(pick(2), lines=pick(2).lines[1:])
    assert "A-01upto4ITEM-1" in told(spare)


def test_the_list_of_a_booking_names_it_in_the_title_and_on_every_page() -> None:
    found = list(map(words, pages(of_booking(*(row(n, SOONER) for n in range(60))))))
    assert "PICKLISTB0002·kitKBTGAB27" in found[0]
    assert len(found) > 2
    assert all("PicklistB0002·kitKBTGAB27" in text for text in found)


def test_every_line_is_broad_enough_for_a_copy_of_a_copy() -> None:
    """0.8 pt: thinner ones are gone in the second copy (seen at 203 dots per inch)."""
    for page in opened(
        drawn(draw_pick_list, of_booking(row(0, SOONER, lacks=1000), row(1, LATER)))
    ):
        for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH]):
            width = ctypes.c_float()
            assert pypdfium2.raw.FPDFPageObj_GetStrokeWidth(thing, width)
            assert width.value >= 0.79


@pytest.mark.parametrize("text", ["O-ring 17.0 × 2.5 mm", HOSTILE])
@pytest.mark.parametrize("paper", PAPERS)
def test_every_row_has_room_to_write_what_was_taken_and_what_came_back(
    paper: str, text: str
) -> None:
    found = rectangles(drawn(draw_pick_list, pick(40, text), paper=paper), *BOX)
    assert sum(map(len, found)) == 80
    for boxes in found:
        tops = sorted({round(box.top, 2) for box in boxes}, reverse=True)
        assert all(upper - lower >= BOX[1] for upper, lower in pairwise(tops))


@pytest.mark.parametrize("paper", PAPERS)
def test_bad_text_of_a_booking_keeps_rows_whole_and_within_the_margins(paper: str) -> None:
    held = lot(HOSTILE, state=LotState.ON_HOLD, on_hold=HOSTILE)
    order = replace(ORDER, order=HOSTILE, supplier=HOSTILE)
    bad = row(1, lot(HOSTILE), lot(HOSTILE), held, order, bin=HOSTILE, lacks=1000)
    bad = replace(bad, content=replace(bad.content, unit=HOSTILE, rule=NeedRule.RENEW))
    view = of_booking(bad, *(row(n, SOONER) for n in range(40)), bad)
    pdf = drawn(draw_pick_list, view, paper=paper)
    require_clear(pdf, *PAPERS[paper])
