"""Figures on labels after two photocopies: no decimal sign is lost, no digit is empty or filled.

Labels are looked at as the 203 dots per inch of a label printer show them, then degraded by two
generations of copies. What a person needs to read a figure is that each of its signs is there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest
from paper import DPI, Box, characters, codes, degraded, drawn, lines, opened, pages
from PIL import Image
from sqlalchemy import Engine

from factory import bag, differs, end, kit, tightening
from helpers import load, planned
from kitting.errors import KittingError
from kitting.reports.labels.labels import draw_kit_labels
from kitting.reports.stationery import STOCKS, LabelStock, find_stock
from kitting.services.kit.bags import kit_view
from kitting.views.kit import KitView
from kitting.views.plan import RingView

DARK = 128
BRAKES = Path(__file__).parents[1] / "first_job" / "brakes.yaml"
RINGS = (
    ("17.17 × 1.78 mm", 17.17, 1.78),
    ("8.47 × 2.62 mm", 8.47, 2.62),
    ("1.1 × 1.1 mm", 1.1, 1.1),
)


def figures_kit() -> KitView:
    """A kit full of decimal signs, narrow digits beside them."""
    bags = []
    for number, (size, inside, section) in enumerate(RINGS, 1):
        other = differs("long leg", "17.12 × 2.62 mm", "EPDM 70", "FKM, not EPDM")
        ring = replace(
            end(1, size=size, item=f"RING-{size[:5]}"),
            ring=RingView(inside, section, "FKM", 75),
            differs=(other,),
            code=f"KBTGAB27-0{number}-1",
        )
        figure = tightening("bolts 1 to 4", "8.47 N·m", "11.1 N·m", "+90°")
        bags.append(replace(bag(number), ends=(ring,), tightening=(figure,)))
    return replace(kit(1), bags=tuple(bags))


def area(picture: Image.Image, box: Box) -> Image.Image:
    """What of a picture of a page is in a box."""
    dots = DPI / 25.4
    left, top = int(box.left * dots), int(picture.height - box.top * dots)
    return picture.crop(
        (left, top, int(box.right * dots) + 1, int(picture.height - box.bottom * dots) + 1)
    )


def dark_share(picture: Image.Image) -> float:
    """Which part of a picture is dark."""
    return dark_dots(picture) / (picture.width * picture.height)


def dark_dots(picture: Image.Image) -> int:
    """How many dots of a picture are dark."""
    return sum(value < DARK for value in picture.tobytes())


def widened(box: Box) -> Box:
    """A box with half a dot round it."""
    half = 25.4 / DPI / 2
    return replace(
        box, left=box.left - half, bottom=box.bottom - half,
        right=box.right + half, top=box.top + half,
    )  # fmt: skip


def printed(made: KitView, stock: LabelStock) -> bytes:
    """The labels, or nothing where the stock is refused as too small."""
    try:
        return drawn(draw_kit_labels, made, stock)
    except KittingError as error:
        assert "is too small for" in str(error)  # noqa: PT017
        return b""


def check(pdf: bytes, copies: list[Image.Image]) -> tuple[int, int]:
    """Hold every figure of some labels; how many digits and decimal signs there are."""
    digits = signs = 0
    for page, copy in zip(characters(pdf), copies, strict=True):
        for before, box, after in zip(page, page[1:], page[2:], strict=False):
            if box.text.isdecimal():
                digits += 1
                assert box.size >= 7 - 0.01
                assert 0.1 < dark_share(area(copy, box)) < 0.95, box
            elif box.text == "." and before.text.isdecimal() and after.text.isdecimal():
                signs += 1
                assert box.size >= 7 - 0.01
                assert dark_dots(area(copy, widened(box))) >= 3, box
    return digits, signs


@pytest.mark.parametrize("key", STOCKS)
def test_every_digit_and_decimal_sign_survives_two_photocopies(key: str) -> None:
    pdf = printed(figures_kit(), find_stock(key))
    digits, signs = check(pdf, [degraded(picture) for picture in pages(pdf)])
    assert digits > 100
    assert signs > 15


def require_readable(made: KitView, stock: LabelStock) -> None:
    """Figures and codes are read from the copy; every line within its page and over no other."""
    pdf = printed(made, stock)
    if not pdf:
        assert stock.height < 45
        return
    copies = [degraded(picture) for picture in pages(pdf)]
    assert check(pdf, copies)[0] > 0
    known = {made.reference, *(bag.code for bag in made.bags)}
    known |= {one.code for bag in made.bags for one in bag.ends}
    read = {code.text for copy in copies for code in codes(copy)}
    assert read <= known
    lettered = "".join(box.text for page in characters(pdf) for box in page)
    assert all(code in lettered for code in known - read)
    # Where room is scarce the letters of a code may stand at the foot instead.
    assert read == known or stock.key in ("50x25", "57x32", "67x25-30")
    for page in lines(pdf):
        for number, one in enumerate(page):
            assert one.inside(0, 0, stock.page_width, stock.page_height)
            assert not any(one.overlaps(other, by=0.3) for other in page[:number]), one


FEW = ("50x25", "57x32", "102x51-10", "120x60-tag")


@pytest.mark.parametrize(
    ("jobs", "keys"),
    [(("J1", "J2"), STOCKS), (("J3",), FEW), (("J4", "J5"), FEW), (("J6",), FEW), (("J7",), FEW)],
    ids=["J1+J2", "J3", "J4+J5", "J6", "J7"],
)
def test_the_labels_of_the_demo_survive_two_photocopies(
    lite_garage: Engine, jobs: tuple[str, ...], keys: Iterable[str]
) -> None:
    made = kit_view(planned(lite_garage, "PELL 117", *jobs))
    for key in keys:
        require_readable(made, find_stock(key))


def test_the_labels_of_the_first_own_job_survive_two_photocopies(lite: Engine) -> None:
    car = "\nvehicles:\n  - {registration: KITE 1, model: kite, equipment: {motor-brake: 'yes'}}\n"
    load(lite, BRAKES.read_text("utf-8") + car)
    made = kit_view(planned(lite, "KITE 1", "REAR"))
    for stock in STOCKS.values():
        require_readable(made, stock)


@pytest.mark.parametrize("key", [key for key, stock in STOCKS.items() if stock.eyelets])
def test_nothing_is_printed_under_an_eyelet_or_at_its_edge(key: str) -> None:
    stock = find_stock(key)
    for page in opened(drawn(draw_kit_labels, figures_kit(), stock)):
        picture = page.render(scale=DPI / 72).to_pil().convert("L")
        for eyelet in stock.eyelets:
            reach = eyelet.diameter / 2 + 1
            round_it = Box(
                "", eyelet.x - reach, eyelet.y - reach, eyelet.x + reach, eyelet.y + reach
            )
            assert dark_share(area(picture, round_it)) == 0
