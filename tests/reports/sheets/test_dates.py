"""The date sheet read by pypdfium2. All names and figures are invented."""

from __future__ import annotations

import ctypes
from dataclasses import replace
from datetime import date, datetime, timedelta
from io import BytesIO

import pypdfium2
import pytest
from paper import MM, Box, characters, drawn, opened, require_clear, words

from factory import HOSTILE
from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.facts.words import DateState
from kitting.reports.drawings.chance_chart import percent
from kitting.reports.sheets.dates import KitAsked, draw_dates
from kitting.reports.stationery import PAPERS
from kitting.views.on_the_way import AwaitedView, VanComingView
from kitting.views.possible_dates import ClosedDayView, DatesView, DateView, OrderByView

FIRST = date(2026, 4, 14)
SAFE, RISKY, IMPOSSIBLE = DateState.SAFE, DateState.RISKY, DateState.IMPOSSIBLE


def day(number: int, chance: float, state: DateState, cost: int | None) -> DateView:
    """The so-manieth day; goods have to be there on the day before."""
    on = FIRST + timedelta(days=number)
    money = None if cost is None else Money(cost, "GBP")
    return DateView(on, on - timedelta(days=1), money, chance, state)


VIEW = DatesView(
    ("B0002", "B0005"), datetime(2026, 4, 13, 11, 5), 0.95,  # noqa: DTZ001
    (
        day(0, 0.0, IMPOSSIBLE, None), day(1, 0.5, RISKY, 12620),
        day(2, 0.9496, RISKY, 11610), day(3, 0.962, SAFE, 10120),
        day(4, 1.0, SAFE, 9905),
    ),
    date(2026, 4, 17),
    (
        OrderByView("Quandrel Parts", datetime(2026, 4, 15, 16, 30), datetime(2026, 4, 14, 16, 30)),  # noqa: DTZ001
        OrderByView("Tarn Seals", datetime(2026, 4, 15, 12, 0), datetime(2026, 4, 13, 12, 0)),  # noqa: DTZ001
    ),
    (ClosedDayView(date(2026, 5, 4), "Early May bank holiday"),),
)  # fmt: skip
VAN = VanComingView(1, "RING", "each", 2000, "quay", date(2026, 4, 15))
USUAL = replace(VIEW, dates=tuple(day(n, n / 11, RISKY, 20_000 - 100 * n) for n in range(12)))
LONG = replace(
    USUAL, dates=tuple(day(n, 0.96, SAFE, 20_000 + 100 * n) for n in range(80)),
    order_by=VIEW.order_by * 20,
)  # fmt: skip
HUGE = replace(
    day(0, 0.3, RISKY, None),
    cost=Money(999_999_999_999_999_999, "XTS"),  # of ISO 4217, from memory
)
VANS = replace(LONG, vans=(VAN, replace(VAN, transfer=2)))
BAD = replace(
    VIEW, bookings=(HOSTILE,) * 5, dates=(HUGE,) * 12,
    order_by=tuple(replace(row, supplier=HOSTILE) for row in VIEW.order_by), closed=(ClosedDayView(FIRST, HOSTILE),) * 9,
)  # fmt: skip


def texts(view: DatesView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_dates, view, paper=paper))]


def bars(view: DatesView) -> list[tuple[Box, bool]]:
    """The bars of the first page from the left, and whether they are filled black.

    A bar has 0.56 of the width of its column, which is 22 mm at most.
    """
    found = []
    page = next(opened(drawn(draw_dates, view)))
    for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH]):
        line = ctypes.c_float()
        assert pypdfium2.raw.FPDFPageObj_GetStrokeWidth(thing, line)
        left, bottom, right, top = thing.get_bounds()
        edges = (left + line.value, bottom + line.value, right - line.value, top - line.value)
        box = Box("", *(value / MM for value in edges))
        if abs(box.right - box.left - 0.56 * 22) < 0.05 and box.top - box.bottom > 0.5:
            red = ctypes.c_uint()
            rest = [ctypes.c_uint() for _ in range(3)]
            assert pypdfium2.raw.FPDFPageObj_GetFillColor(thing, red, *rest)
            found.append((box, red.value == 0))
    return sorted(found, key=lambda bar: bar[0].left)


def test_the_earliest_safe_date_is_the_largest_text() -> None:
    (page,) = characters(drawn(draw_dates, VIEW))
    text = words(page)
    start = text.index("Fri17Apr2026EARLIESTSAFEDATE")
    assert {box.size for box in page[start : start + 12]} == {26.0}
    assert max(box.size for box in page[:start] + page[start + 12 :]) < 26
    assert "EARLIESTSAFEDATE·chance96.2%·£101.20·everythingherebyThu16Apr2026" in text


@pytest.mark.parametrize("paper", PAPERS)
def test_a_date_that_counts_on_a_van_is_safe_only_if_it_keeps_its_day(paper: str) -> None:
    (text,) = texts(replace(VIEW, vans=(VAN,)), paper)
    assert "EARLIEST,SAFEIFTHEVANKEEPSITSDAY·chanceatmost96.2%·£101.20" in text
    assert "Fri17Apr?SAFEIFTHEVANKEEPSITSDAYatmost96.2%£101.20" in text
    assert "Thu16Apr◐RISKYatmost94.9%£116.10" in text
    assert "●SAFE" not in text
    assert not any(filled for _, filled in bars(replace(VIEW, vans=(VAN,))))
    twelve = replace(USUAL, dates=tuple(day(n, 0.96, SAFE, 20_000 + n) for n in range(12)))
    (text,) = texts(replace(twelve, vans=(VAN, replace(VAN, transfer=2))), paper)
    assert text.count("?SAFEIFTHEVANSKEEPTHEIRDAYSatmost96%") == 12


def test_an_order_that_nobody_knows_of_is_told_and_the_chance_that_hangs_on_it_is_not_known() -> (
    None
):
    late = AwaitedView("P0001", FIRST, FIRST, None, late=True)
    dates = (day(0, 0.0, RISKY, None),)
    view = replace(VIEW, dates=dates, earliest=None, not_known=(late,))
    (text,) = texts(view)
    assert "Tue14Apr◐RISKYNOTKNOWNcostunknown" in text
    assert "askthesupplier" in text


@pytest.mark.parametrize("paper", PAPERS)
def test_each_booking_is_named_with_its_kit_car_and_jobs(paper: str) -> None:
    kits = [
        KitAsked("B0002", "K42TV6M", "PELL 117 · Ulvander Pell", ("J1 pipe seals", "J2 cooler")),
        KitAsked("B0005", "KC6XN6X", HOSTILE, (HOSTILE,)),
    ]
    pdf = drawn(draw_dates, VIEW, paper=paper, kits=kits)
    told = "".join(map(words, characters(pdf)))
    assert "B0002·kitK42TV6M·PELL117·UlvanderPell·J1pipeseals,J2cooler" in told
    assert "B0005·kitKC6XN6X·" in told
    require_clear(pdf, *PAPERS[paper])


def test_without_a_safe_date_it_says_so() -> None:
    (text,) = texts(replace(VIEW, dates=VIEW.dates[:3], earliest=None, order_by=()))
    assert "NOSAFEDATEnoneof3datesreaches95%" in text
    assert "EARLIEST" not in text
    assert "ORDERBY" not in text


def test_every_date_shows_state_in_word_and_shape_chance_cost_and_when_goods_are_due() -> None:
    (text,) = texts(VIEW)
    for part in (
        "Tue14Apr×NO0%cannotbehadhereby13Apr",
        "Wed15Apr◐RISKY50%£126.20hereby14Apr",
        "Thu16Apr◐RISKY94.9%£116.10hereby15Apr",
        "Fri17Apr●SAFE96.2%£101.20hereby16Apr",
        "Sat18Apr●SAFE100%£99.05hereby17Apr",
    ):
        assert part in text


def test_a_cost_that_is_not_known_is_told_in_words() -> None:
    dates = (day(0, 1.0, SAFE, None), day(1, 0.5, RISKY, None), day(2, 0.0, RISKY, None))
    (text,) = texts(replace(VIEW, dates=dates, earliest=FIRST, order_by=()))
    assert "100%nothingtobuy" in text
    assert "50%nothingtobuy" in text
    assert "NOTKNOWNcostunknown" in text


@pytest.mark.parametrize("paper", PAPERS)
def test_where_nobody_offers_a_part_no_bar_stands_for_the_rest(paper: str) -> None:
    twelve = tuple(replace(day(n, 0.0, RISKY, 5400), rest=0.9994) for n in range(12))
    view = replace(VIEW, dates=twelve, earliest=None, order_by=())
    (text,) = texts(view, paper)
    assert text.count("NOTKNOWN99.9%ofwhatisoffered£54.00") == 12
    assert bars(view) == []


@pytest.mark.parametrize(
    ("chance", "text"),
    [(0.0, "0 %"), (0.0002, "< 0.1 %"), (0.5, "50 %"), (0.29, "29 %"), (0.9499, "94.9 %"),
     (0.95, "95 %"), (0.9999, "99.9 %"), (1.0, "100 %")],
)  # fmt: skip
def test_a_chance_never_looks_higher_than_it_is(chance: float, text: str) -> None:
    assert percent(chance) == text


def test_bars_are_as_high_as_their_chance_and_filled_where_safe() -> None:
    found = bars(VIEW)
    assert [filled for _, filled in found] == [False, False, True, True]
    heights = [box.top - box.bottom for box, _ in found]
    assert heights == pytest.approx([50 * 0.5, 50 * 0.9496, 50 * 0.962, 50.0], abs=0.1)


def test_the_level_asked_for_is_named_and_order_by_and_closed_days_follow() -> None:
    (text,) = texts(VIEW)
    assert "dashedline:asked95%" in text
    assert "ORDERBY,forFri17Apr2026" in text
    assert "QuandrelPartsTue2026-04-1416:30Wed2026-04-1516:30" in text
    assert "TarnSealsMon2026-04-1312:00Wed2026-04-1512:00" in text
    assert "CLOSED2026-05-04EarlyMaybankholiday" in text
    (text,) = texts(replace(VIEW, weekend=(5, 6)))
    assert "CLOSEDeveryweek:Sat,Sun2026-05-04EarlyMaybankholiday" in text


@pytest.mark.parametrize("paper", PAPERS)
def test_the_usual_twelve_dates_stand_on_one_page(paper: str) -> None:
    (text,) = texts(USUAL, paper)
    assert "FittingdatesB0002,B0005" in text
    assert "page1/1" in text
    assert "Planninginformation,notaprocedure" in text
    assert text.count("RISKY") == 12


@pytest.mark.parametrize("paper", PAPERS)
def test_eighty_dates_take_further_charts_and_none_is_lost(paper: str) -> None:
    found = texts(LONG, paper)
    for number, text in enumerate(found, 1):
        assert "FittingdatesB0002,B0005" in text
        assert f"page{number}/{len(found)}" in text
    whole = "".join(found)
    assert whole.count("●SAFE") == 80
    assert all(whole.count(f"£{200 + n}.00hereby") == 1 for n in range(80))
    assert "INTIME7of7" in whole
    assert whole.count("QuandrelParts") == 20


@pytest.mark.parametrize(
    "view", [VIEW, USUAL, LONG, BAD, VANS], ids=["plain", "usual", "long", "bad", "vans"]
)
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    paper: str, view: DatesView
) -> None:
    width, height = PAPERS[paper]
    pdf = drawn(draw_dates, view, paper=paper)
    for page in opened(pdf):
        assert page.get_size() == pytest.approx((width * MM, height * MM), abs=0.5)
    require_clear(pdf, width, height)


def test_the_sheet_is_black_and_white() -> None:
    for page in opened(drawn(draw_dates, VIEW)):
        red, green, blue = page.render(scale=1).to_pil().convert("RGB").split()
        assert red.tobytes() == green.tobytes() == blue.tobytes()


def test_no_dates_at_all_are_told() -> None:
    (text,) = texts(replace(VIEW, dates=(), earliest=None, order_by=(), closed=()))
    assert "NOSAFEDATEnoneof0dates" in text
    assert "Nodatewasjudged." in text
    assert "CLOSED" not in text


def test_the_number_of_pages_is_returned_and_an_unknown_paper_refused() -> None:
    assert draw_dates(LONG, BytesIO()) == len(texts(LONG))
    with pytest.raises(KittingError, match="no paper 'A3'"):
        drawn(draw_dates, VIEW, paper="A3")


def test_what_nobody_booked_says_why_it_has_no_kit_code() -> None:
    why = "Notbooked:akithasacodeforonefittingdate,andnoneischosenyet."
    assert why not in texts(VIEW)[0]
    page = texts(replace(VIEW, bookings=(), car="PELL 117", jobs=("J1", "J2")))[0]
    assert "PELL117:J1,J2(notbooked)" in page
    assert why in page
