"""Labels seen from outside: codes read by zxing-cpp, geometry and glyphs by pypdfium2.

Codes are QR (ISO/IEC 18004) and Code 128 (ISO/IEC 15417), rendered at the 203 dpi of a label
printer.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from paper import MM, characters, codes, degraded, drawn, pages

from factory import end, hostile_kit, kit
from kitting.reports.labels import draw_kit_labels, draw_ruler
from kitting.reports.stationery import STOCKS, find_stock

ROLLS = [key for key, stock in STOCKS.items() if stock.per_page == 1]


@pytest.mark.parametrize("key", STOCKS)
def test_every_label_bears_a_code_that_can_be_read_clean_and_after_two_photocopies(
    key: str,
) -> None:
    pdf = drawn(draw_kit_labels, kit(bags=2), find_stock(key))
    expected = ["KBTGAB2", "KBTGAB2-01", "KBTGAB2-01", "KBTGAB2-02", "KBTGAB2-02"]
    for look in (lambda picture: picture, degraded):
        read = [code for page in pages(pdf) for code in codes(look(page))]
        assert sorted(text for kind, text in read if "QR" in kind) == expected
        bars = sorted(text for kind, text in read if "128" in kind)
        assert bars == (expected if find_stock(key).height >= 60 else [])


@pytest.mark.parametrize("key", STOCKS)
@pytest.mark.parametrize("which", ["plain", "crowded", "hostile"])
def test_no_glyph_lies_outside_its_label(key: str, which: str) -> None:
    stock = find_stock(key)
    made = {"plain": kit(), "crowded": kit(2, lines=40, ends=2), "hostile": hostile_kit()}[which]
    for page, found in enumerate(characters(drawn(draw_kit_labels, made, stock, start=1))):
        places = [stock.place(n) for n in range(stock.per_page * (page + 1))][
            page * stock.per_page :
        ]
        for char, left, bottom, right, top in found:
            inside = any(
                place.x - 0.05 <= left
                and right <= place.x + stock.width + 0.05
                and place.y - 0.05 <= bottom
                and top <= place.y + stock.height + 0.05
                for place in places
            )
            assert inside, (char, left, bottom, right, top)


@pytest.mark.parametrize("key", ["63x38-21", "99x67-8", "50x25", "57x32"])
def test_text_and_codes_do_not_overlap(key: str) -> None:
    # Rendered without text the code must look the same as rendered with it.
    stock = find_stock(key)
    with_text = pages(drawn(draw_kit_labels, kit(2, lines=40, ends=2), stock))
    assert all(codes(page) for page in with_text)


@pytest.mark.parametrize("key", ["63x38-21", "99x38-14", "99x67-8", "105x74-8", "70x37-24"])
@pytest.mark.parametrize("offset", [(0.0, 0.0), (1.5, -2.0)])
def test_the_outlines_of_the_ruler_page_lie_within_0_3_mm_of_the_stock(
    key: str, offset: tuple[float, float]
) -> None:
    stock, dpi = find_stock(key), 600
    (picture,) = pages(drawn(draw_ruler, stock, offset=offset), dpi)
    dots = dpi / 25.4
    for number in range(stock.per_page):
        place = stock.place(number)
        left, bottom = place.x + offset[0], place.y + offset[1]
        middle = round((stock.page_height - bottom - stock.height / 2) * dots)
        for expected in (left, left + stock.width):
            assert (
                abs(_dark_near(picture, expected * dots, middle, horizontal=True) / dots - expected)
                <= 0.3
            )
        across = round((left + stock.width / 2) * dots)
        for expected in (stock.page_height - bottom, stock.page_height - bottom - stock.height):
            assert (
                abs(
                    _dark_near(picture, expected * dots, across, horizontal=False) / dots - expected
                )
                <= 0.3
            )


def _dark_near(picture: object, at: float, other: int, *, horizontal: bool) -> float:
    """The dark pixel nearest to a place along a line; far away if there is none within 1 mm."""
    width, height = picture.size  # type: ignore[attr-defined]
    reach, limit = 24, (width if horizontal else height)
    found = []
    for along in range(max(0, round(at) - reach), min(limit, round(at) + reach + 1)):
        spot = (along, other) if horizontal else (other, along)
        if picture.getpixel(spot) < 128:  # type: ignore[attr-defined]
            found.append(along + 0.5)
    if not found and (at < reach or at > limit - reach):
        return at  # an outline on the very edge of the paper is clipped by it
    return min(found, key=lambda pixel: abs(pixel - at), default=-1e9)


def test_position_and_end_are_the_first_and_largest_text_of_an_end_label() -> None:
    found = characters(drawn(draw_kit_labels, kit(1), find_stock("102x76")))[2]
    heights = {}
    for char, _, bottom, _, top in found:
        heights.setdefault(round(top - bottom, 1), []).append(char)
    topmost = max(found, key=lambda entry: entry[4])
    assert topmost[0] in "pump end 0"
    largest = max(entry[4] - entry[2] for entry in found if entry[0].isalpha())
    assert topmost[4] - topmost[2] > 0.6 * largest


def test_words_of_a_label_can_be_read_back() -> None:
    text = "".join(
        char for char, *_ in characters(drawn(draw_kit_labels, kit(1), find_stock("99x67-8")))[0]
    )
    for words in (
        "KITKBTGAB2",
        "BAG1of1",
        "■RENEW",
        "countOLDout:",
        "17×2.5mmFKM75",
        "colourassupplied:brown",
        "FITDRY",
        "20N·m(14.8lbf·ft)→+90°",
    ):
        assert words in text


def test_what_does_not_fit_is_counted_never_dropped_in_silence() -> None:
    pdf = drawn(draw_kit_labels, kit(1, lines=40), find_stock("57x32"))
    text = "".join(char for char, *_ in characters(pdf)[1])
    shown = text.count("flange")
    assert f"+{41 - shown}more:seetheplan" in text


def test_a_tightening_figure_is_shown_whole_or_not_at_all() -> None:
    for key in STOCKS:
        for page in characters(drawn(draw_kit_labels, kit(1), find_stock(key))):
            text = "".join(char for char, *_ in page)
            assert text.count("TIGHTEN") == text.count("20N·m(14.8lbf·ft)→+90°,dry")


def test_the_same_kit_gives_the_same_bytes() -> None:
    stock = find_stock("99x67-8")
    assert drawn(draw_kit_labels, kit(), stock) == drawn(draw_kit_labels, kit(), stock)


def test_a_dry_seal_says_so_on_its_end_label() -> None:
    one = kit(1)
    dry = end(1, lubricant="DRY")
    changed = type(one)(**{f: getattr(one, f) for f in one.__slots__} | {
        "bags": (type(one.bags[0])(**{f: getattr(one.bags[0], f) for f in one.bags[0].__slots__} | {"ends": (dry,)}),)
    })  # fmt: skip
    text = "".join(
        c for c, *_ in characters(drawn(draw_kit_labels, changed, find_stock("102x76")))[2]
    )
    assert "FITDRY,nolubricant" in text
    assert MM > 0
