"""The order sheet read by pypdfium2, and the order as CSV. All names and figures are invented."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, datetime
from io import BytesIO

import pytest
from paper import MM, characters, drawn, opened, require_clear, squares, words

from factory import HOSTILE
from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.facts.words import OrderState
from kitting.files.output.order_csv import order_csv
from kitting.reports.sheets.order import draw_order
from kitting.reports.stationery import PAPERS
from kitting.views.orders import OrderLineView, OrderView


def gbp(minor: int) -> Money:
    return Money(minor, "GBP")


HUGE = Money(
    999_999_999_999_999_999, "XTS"
)  # the code that ISO 4217 reserves for tests, from memory
RINGS = OrderLineView(
    1, "Q-4401-A", "RING-FKM-17X2.5", "O-ring 17.0 × 2.5 mm", "each", 2, 20_000, 0, 0,
    ("B0002", "B0005"), gbp(420), gbp(840), True, date(2026, 4, 14), date(2026, 4, 16),
)  # fmt: skip
COOLANT = OrderLineView(
    2, "Q-88", "COOLANT", "coolant concentrate", "ml", 3, 15_000_000, 5_000_000, 1_000_000,
    (), gbp(1410), gbp(4230), False, date(2026, 4, 14), date(2026, 4, 16),
)  # fmt: skip
VIEW = OrderView(
    "O0007", "quandrel", "Quandrel Parts", "mill-lane", datetime(2026, 4, 13, 11, 5),  # noqa: DTZ001
    date(2026, 4, 14), date(2026, 4, 16), OrderState.PLACED, (RINGS, COOLANT), gbp(5070),
    gbp(595), gbp(5665), gbp(0), gbp(0),
)  # fmt: skip
LONG = replace(
    VIEW, lines=tuple(replace(RINGS, seq=n, part=f"Q-{n:04d}") for n in range(1, 81))
)  # fmt: skip
BAD_LINE = replace(
    RINGS, part=HOSTILE, item=HOSTILE, name=HOSTILE, promised=(HOSTILE,) * 5, price=HUGE,
    total=HUGE, returnable=False,
)  # fmt: skip
BAD = replace(
    VIEW, supplier=HOSTILE, supplier_name=HOSTILE, branch=HOSTILE, state=OrderState.CANCELLED,
    branch_name=HOSTILE, address=HOSTILE, invoice_address=HOSTILE, supplier_address=HOSTILE,
    account=HOSTILE, lines=(BAD_LINE,) * 9, goods=HUGE, carriage=HUGE, total=HUGE, cores=HUGE, lost=HUGE,
)  # fmt: skip


STATED = replace(
    VIEW, branch_name="Mill Lane Yard", address="Mill Lane Yard\n3 Sample Lane\nSampleton",
    invoice_address="Accounts\nPO Box 0", supplier_address="Unit 0\nOtherby", account="ACC-17",
)  # fmt: skip


def texts(view: OrderView, paper: str = "A4", *, inside: bool = True) -> list[str]:
    """The characters of each page."""
    pdf = drawn(draw_order, view, paper=paper, inside=inside)
    return [words(page) for page in characters(pdf)]


def test_the_supplier_gets_addresses_account_and_lines_by_its_own_numbers() -> None:
    (text,) = texts(STATED, inside=False)
    assert "ORDERO0007datemade2026-04-13·2lines" in text
    for told in (
        "TOQuandrelPartsUnit0Otherby", "FROM,DELIVERTOMillLaneYard3SampleLaneSampleton",
        "INVOICETOAccountsPOBox0", "ouraccountnumber:ACC-17",
        "Q-4401-Aourreference:RING-FKM-17X2.5·O-ring17.0×2.5mm2×10→20£8.40£4.20apack",
        "goods£50.70carriage£5.95TOTAL£56.65",
    ):  # fmt: skip
        assert told in text
    for blank in ("supplier'saddress", "deliveryaddress", "invoiceaddress"):
        assert blank not in text


@pytest.mark.parametrize("paper", PAPERS)
def test_the_supplier_gets_nothing_of_the_house(paper: str) -> None:
    pdf = drawn(draw_order, STATED, paper=paper)
    (text,) = (words(page) for page in characters(pdf))
    for internal in (
        "B0002", "waited", "INSIDE", "mill-lane", "(quandrel)", "CAME", "damaged", "lot",
        "received", "RETURN", "goback", "lateafter", "deliverynote", "checkedby", "placed",
    ):  # fmt: skip
        assert internal not in text
    assert squares(pdf, 7) == [[]]


def test_an_address_or_account_that_nobody_stated_is_a_line_to_fill_in() -> None:
    (text,) = texts(VIEW, inside=False)
    for blank in (
        "supplier'saddress", "deliveryaddress", "invoiceaddress", "ouraccountnumber"
    ):  # fmt: skip
        assert blank in text
    (partly,) = texts(replace(STATED, invoice_address=None), inside=False)
    assert "invoiceaddress" in partly
    assert "deliveryaddress" not in partly


def test_a_line_without_a_part_number_is_told_by_our_item() -> None:
    (text,) = texts(replace(STATED, lines=(replace(RINGS, part=""),)), inside=False)
    assert "RING-FKM-17X2.5·O-ring17.0×2.5mm2×10→20" in text
    assert "ourreference" not in text


def test_the_head_names_supplier_branch_state_and_when_it_was_placed_and_is_due() -> None:
    (text,) = texts(VIEW)
    assert "ORDERO0007QuandrelParts(quandrel)formill".replace("formill", "forbranchmill") in text
    assert "forbranchmill-lane·2lines·placed" in text
    assert "placed2026-04-1311:05dueTue2026-04-14·lateafterThu2026-04-16" in text
    assert "cut-off" not in text
    assert "CANCELLED" not in text


def test_the_cut_off_is_shown_where_it_is_known() -> None:
    cutoff = datetime(2026, 4, 13, 16, 30)  # noqa: DTZ001
    (page,) = characters(drawn(draw_order, VIEW, cutoff=cutoff, inside=True))
    assert "placed2026-04-1311:05,beforethecut-offat2026-04-1316:30" in words(page)


def test_a_line_shows_part_item_packs_and_money() -> None:
    (text,) = texts(replace(VIEW, lines=(replace(RINGS, promised=()), COOLANT)))
    assert "Q-4401-ARING-FKM-17X2.5·O-ring17.0×2.5mm2×10→20£8.40£4.20apackmaygoback" in text
    assert (
        "Q-88COOLANT·coolantconcentrate3×5L→15L5Lreceived1Llostorrefused"
        "£42.30£14.10apackNORETURN" in text
    )
    assert "goods£50.70carriage£5.95TOTAL£56.65" in text


def test_who_waits_for_a_line_stands_on_the_copy_for_the_house_alone() -> None:
    (supplier,) = texts(VIEW, inside=False)
    assert "B0002" not in supplier
    assert "waited" not in supplier
    (page,) = characters(drawn(draw_order, VIEW, inside=True))
    assert "INSIDECOPY:itstaysinthehouse" in words(page)
    assert "waitedforbyB0002andB00052×10→20" in words(page)


def test_the_part_number_is_the_largest_of_its_line() -> None:
    (page,) = characters(drawn(draw_order, VIEW, inside=True))
    start = words(page).index("Q-4401-A")
    row = page[start : words(page).index("maygoback")]
    assert [box.size for box in row[:8]] == [16.0] * 8
    assert max(box.size for box in row[8:]) < 16


def test_a_pack_that_does_not_come_out_whole_is_not_told() -> None:
    (text,) = texts(replace(VIEW, lines=(replace(RINGS, packs=3),)))
    assert "3packs→20" in text
    (text,) = texts(replace(VIEW, lines=(replace(RINGS, packs=0, ordered=0),)))
    assert "0packs→0" in text


def test_only_what_cannot_go_back_bears_the_mark() -> None:
    assert "NORETURN" not in texts(replace(VIEW, lines=(RINGS,)))[0]
    assert texts(replace(VIEW, lines=(COOLANT, RINGS, COOLANT)))[0].count("NORETURN") == 2


def test_every_line_has_a_box_and_blanks_for_when_it_comes() -> None:
    (text,) = texts(VIEW)
    assert text.count("gooddamagedwronglot") == 2
    assert text.count("CAMEPARTNUMBER,ITEMPACKS×PACK→QUANTITYPRICE,TOTALRETURN") == 1
    for blank in (
        "datemade", "orderedby", "confirmedby", "supplier'sordernumber", "confirmedfor",
        "receivedby", "checkedby", "deliverynote",
    ):  # fmt: skip
        assert blank in text
    assert sum(map(len, squares(drawn(draw_order, VIEW, inside=True), 7))) == 2


@pytest.mark.parametrize("paper", PAPERS)
def test_eighty_lines_run_over_pages_that_all_say_whose_they_are(paper: str) -> None:
    found = texts(LONG, paper)
    assert len(found) > 5
    for number, text in enumerate(found, 1):
        assert "OrderO0007" in text
        assert f"page{number}/{len(found)}" in text
    for text in found[1:]:
        assert "OrderO0007·QuandrelParts·formill-lane·placed2026-04-1311:05" in text
    whole = "".join(found)
    assert all(whole.count(f"Q-{number:04d}") == 1 for number in range(1, 81))
    assert sum(map(len, squares(drawn(draw_order, LONG, paper=paper, inside=True), 7))) == 80


@pytest.mark.parametrize("inside", [False, True], ids=["supplier", "inside"])
@pytest.mark.parametrize(
    "view", [VIEW, STATED, LONG, BAD], ids=["plain", "stated", "long", "hostile"]
)
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    paper: str, view: OrderView, inside: bool
) -> None:
    width, height = PAPERS[paper]
    pdf = drawn(draw_order, view, paper=paper, inside=inside)
    for page in opened(pdf):
        assert page.get_size() == pytest.approx((width * MM, height * MM), abs=0.5)
    require_clear(pdf, width, height)


def test_the_no_return_mark_stands_within_its_frame() -> None:
    (page,) = characters(drawn(draw_order, VIEW, inside=True))
    start = words(page).index("NORETURN")
    # The frame ends at the right margin, 12 mm from the edge of A4 (210 mm wide).
    assert max(box.right for box in page[start : start + 8]) < 210 - 12 - 0.5


def test_an_order_without_lines_and_a_cancelled_one_say_so() -> None:
    (text,) = texts(replace(VIEW, lines=(), state=OrderState.CANCELLED))
    assert "Nothingisordered." in text
    assert "CANCELLEDThisorderiscancelled:acceptnothingonitbeforeasking." in text
    assert squares(drawn(draw_order, replace(VIEW, lines=()), inside=True), 7) == [[]]


def test_the_number_of_pages_is_returned_and_an_unknown_paper_refused() -> None:
    assert draw_order(LONG, BytesIO(), inside=True) == len(texts(LONG))
    with pytest.raises(KittingError, match="no paper 'A3'"):
        drawn(draw_order, VIEW, paper="A3")


def test_the_csv_has_a_row_per_line_with_packs_and_our_order_number() -> None:
    assert order_csv(VIEW) == (
        "part,packs,item,description,order\r\n"
        "Q-4401-A,2,RING-FKM-17X2.5,O-ring 17.0 × 2.5 mm,O0007\r\n"
        "Q-88,3,COOLANT,coolant concentrate,O0007\r\n"
    )
    assert order_csv(replace(VIEW, lines=())) == "part,packs,item,description,order\r\n"


def test_what_was_kept_of_what_came_too_much_is_in_no_list_and_marked_on_the_sheet() -> None:
    view = replace(VIEW, lines=(*VIEW.lines, replace(RINGS, seq=3, part="Q-KEPT", kept=True)))
    assert order_csv(view) == order_csv(VIEW)
    (text,) = texts(view)
    assert text.count("KEPTofwhatcametoomuch:donotorder") == 1


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
def test_a_text_that_a_spreadsheet_would_run_gets_an_apostrophe(sign: str) -> None:
    text = f'{sign}cmd|" /C calc"!A0,\n'
    line = replace(RINGS, part=text, item=text, name=text)
    told = order_csv(replace(VIEW, number=text, lines=(line,)))
    (_, row) = csv.reader(io.StringIO(told, newline=""))
    assert row == [f"'{text}", "2", f"'{text}", f"'{text}", f"'{text}"]


def test_a_sign_within_a_text_and_a_hostile_text_come_through_the_csv() -> None:
    line = replace(RINGS, part="Q-4=4+1@A", item=HOSTILE, name='say "ring", then\nturn')
    told = order_csv(replace(VIEW, lines=(line,)))
    (_, row) = csv.reader(io.StringIO(told, newline=""))
    assert row == [
        "Q-4=4+1@A", "2", HOSTILE.replace("\0", ""), 'say "ring", then\nturn', "O0007"
    ]  # fmt: skip
