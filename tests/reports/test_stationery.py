"""Label stock by its dimensions. Figures of the stock: common practice, no source."""

from __future__ import annotations

import pytest

from kitting.errors import KittingError
from kitting.reports.stationery import PAPERS, STOCKS, LabelStock, Place, find_paper, find_stock


def test_the_first_and_last_label_of_the_sheet_of_21_lie_where_the_stock_says() -> None:
    # A4 with 63.5 × 38.1 × 21: top 15.15, left 7.2, gap 2.5 (common practice, no source).
    stock = find_stock("63x38-21")
    first, last = stock.place(0), stock.place(20)
    assert (first.page, round(first.x, 2), round(first.y, 2)) == (0, 7.2, 243.75)
    assert (last.page, round(last.x, 2), round(last.y, 2)) == (0, 139.2, 15.15)


@pytest.mark.parametrize(
    ("key", "count"),
    [
        ("63x38-21", 21),
        ("99x38-14", 14),
        ("99x67-8", 8),
        ("105x74-8", 8),
        ("70x37-24", 24),
        ("67x25-30", 30),
        ("102x34-14", 14),
        ("102x51-10", 10),
        ("102x85-6", 6),
    ],
)
def test_sheets_hold_as_many_labels_as_they_are_sold_with(key: str, count: int) -> None:
    assert find_stock(key).per_page == count


def test_a_begun_sheet_goes_on_at_its_first_free_label_and_over_to_the_next_page() -> None:
    stock = find_stock("99x67-8")
    assert stock.place(0, start=8) == stock.place(7)
    assert stock.place(1, start=8) == Place(1, stock.place(0).x, stock.place(0).y)


@pytest.mark.parametrize("start", [0, -1, 9])
def test_a_start_off_the_sheet_is_refused(start: int) -> None:
    with pytest.raises(KittingError, match="99x67-8 has labels 1 to 8"):
        find_stock("99x67-8").place(0, start)


def test_a_grid_larger_than_its_page_is_refused() -> None:
    with pytest.raises(KittingError, match="Check the dimensions"):
        LabelStock("x", "x", 210, 297, 110, 50, columns=2, rows=2)


@pytest.mark.parametrize(
    ("key", "inches"),
    [
        ("67x25-30", (2.625, 1)),
        ("102x34-14", (4, 4 / 3)),
        ("102x51-10", (4, 2)),
        ("102x85-6", (4, 10 / 3)),
    ],
)
def test_us_letter_stock_is_as_it_is_sold_in_inches(key: str, inches: tuple[float, float]) -> None:
    stock = find_stock(key)
    assert (stock.page_width, stock.page_height) == PAPERS["Letter"]
    assert (stock.width / 25.4, stock.height / 25.4) == pytest.approx(inches, abs=0.001)
    assert stock.name.startswith("Letter, ")
    # As far from the right edge as from the left, and from the foot as from the top.
    last = stock.place(stock.per_page - 1)
    assert stock.page_width - last.x - stock.width == pytest.approx(stock.left, abs=0.01)
    assert last.y == pytest.approx(stock.top, abs=0.01)


@pytest.mark.parametrize("stock", [one for one in STOCKS.values() if one.per_page > 1])
@pytest.mark.parametrize("off", [-0.9, 0.0, 0.9])
def test_a_size_that_a_sheet_has_is_never_silently_a_roll(stock: LabelStock, off: float) -> None:
    size = f"{stock.width + off:.1f}x{stock.height:.1f}"
    with pytest.raises(KittingError) as caught:
        find_stock(size)
    assert f"may be a sheet or a roll. Of a sheet write {stock.key} (" in str(caught.value)
    assert "roll'" in str(caught.value)
    asked = str(caught.value).rpartition("of a roll write '")[2].rstrip("'")
    roll = find_stock(asked)
    assert roll.per_page == 1
    assert roll.width == pytest.approx(stock.width + off, abs=0.06)


def test_a_size_in_inches_is_read() -> None:
    stock = find_stock("3x2 in")
    assert (stock.width, stock.height) == (76.2, 50.8)
    with pytest.raises(KittingError, match=r"write 102x51-10 \(Letter, 10 labels"):
        find_stock("4x2in")


@pytest.mark.parametrize(
    ("key", "offset", "works"),
    [
        ("63x38-21", (30.0, 20.0), "9.3,17.1"),
        ("63x38-21", (-30.0, 0.0), "-9.2,0"),
        ("50x25", (2.0, -1.6), "1.5,-1.5"),
        ("70x37-24", (0.5, -9.0), "0.5,-5.5"),
        ("120x60-tag", (-18.0, 0.0), "-17.5,0"),
    ],
)
def test_an_offset_off_the_paper_is_refused_with_the_largest_that_works(
    key: str, offset: tuple[float, float], works: str
) -> None:
    stock = find_stock(key)
    with pytest.raises(KittingError) as caught:
        stock.require_on_paper(offset)
    assert f"the largest offset that way is {works}. " in str(caught.value)
    right, up = map(float, works.split(","))
    stock.require_on_paper((right, up))


def test_what_is_printed_keeps_clear_of_an_eyelet() -> None:
    for stock in STOCKS.values():
        for eyelet in stock.eyelets:
            assert stock.area.left >= eyelet.x + eyelet.diameter / 2 + 1
    assert find_stock("120x60-tag").eyelets


def test_a_roll_of_any_size_is_a_page_of_one_label() -> None:
    stock = find_stock("60 x 40 mm")
    assert (stock.page_width, stock.page_height, stock.per_page) == (60, 40, 1)


@pytest.mark.parametrize("text", ["5x5", "900x10", "none", "", "1x", "<b>"])
def test_an_unknown_stock_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(KittingError, match=r"label"):
        find_stock(text)


def test_no_label_of_any_stock_overlaps_another_or_leaves_the_page() -> None:
    for stock in STOCKS.values():
        places = [stock.place(n) for n in range(stock.per_page)]
        for place in places:
            assert place.x >= -0.01
            assert place.y >= -0.01
            assert place.x + stock.width <= stock.page_width + 0.01
        for n, one in enumerate(places):
            for other in places[:n]:
                apart_x = abs(one.x - other.x) >= stock.width - 0.01
                apart_y = abs(one.y - other.y) >= stock.height - 0.01
                assert apart_x or apart_y


def test_paper_is_found_by_name_and_refused_in_a_sentence() -> None:
    assert find_paper("letter") == (215.9, 279.4)
    with pytest.raises(KittingError, match=r"no paper 'A5'\. Known: A4, Letter"):
        find_paper("A5")
