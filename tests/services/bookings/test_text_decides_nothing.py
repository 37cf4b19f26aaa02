"""What a person wrote never decides: whatever a reason, a colour or a name says, the answer stays."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, booked, load, needed, planned, shop, stock, unit
from kitting.facts.words import BookingState, LotState
from kitting.reports.drawings.rings import hatchings
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.kit_sheets import pick_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.kit.bags import kit_view
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.shelves import LotName
from kitting.store import reading
from kitting.wording.kit import rubber_text
from kitting.wording.pick_list import lot_texts

REASONS = ("EXPIRES soon", "HELD", "AGE UNKNOWN: ask", "may come as late as 2099-01-01", "good")


@pytest.mark.parametrize("reason", REASONS)
def test_the_words_of_a_hold_never_change_that_it_is_one(
    lite: Engine, tmp_path: Path, reason: str
) -> None:
    load(lite, shop({"X1": {"RING": 4}}))
    stock(lite, tmp_path, "yard,RING,A,6 each,1Q25")
    number = booked(lite, "X1").number
    put_on_hold(lite, LotName("yard", "RING", "A"), reason, NOW)
    with reading(lite) as session:
        view = booking_view(session, find_booking(session, number))
    (source,) = needed(view, "RING").sources
    assert (source.state, source.on_hold, source.may_be_fitted) == (
        LotState.ON_HOLD, reason, False,
    )  # fmt: skip
    assert view.ready is False
    assert step_to(lite, number, BookingState.CONFIRMED).state is BookingState.PROVISIONAL


def test_a_lot_named_like_a_sentence_is_printed_whole(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"RING": 4}}))
    stock(lite, tmp_path, "yard,RING,lot-B-EXPIRES,6 each,1Q25")
    number = booked(lite, "X1").number
    with reading(lite) as session:
        (line,) = pick_of(session, number).lines
    (source,) = line.sources
    assert lot_texts(source, line.content) == (
        "4 from lot", "lot-B-EXPIRES", "keeps to 2035-03-31",
    )  # fmt: skip
    assert source.state is LotState.GOOD


@pytest.mark.parametrize(
    ("stated", "rubber"),
    [
        ("elastomer: FKM, hardness: 75, ", ("FKM", 75)),
        ("elastomer: FKM, ", ("FKM", None)),
        ("", (None, None)),
    ],
)
def test_a_colour_or_a_name_that_reads_like_a_rubber_is_none(
    lite: Engine, stated: str, rubber: tuple[str | None, int | None]
) -> None:
    items = f"  - {{code: NBR-70, name: EPDM 70, kind: o-ring, {stated}colour: NBR 90}}"
    fits = "fits: [{item: NBR-70, position: p1}]"
    load(
        lite,
        unit(
            f"\n      - {{code: a, name: A, system: engine, {fits}}}",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
            items=items,
        ),
    )
    kit = kit_view(planned(lite, "PELL 001", "X1", on=ON))
    (end,) = (end for bag in kit.bags for end in bag.ends)
    assert (end.elastomer, end.hardness, end.ring) == (*rubber, None)
    assert rubber_text(end).startswith(rubber[0] or "rubber not stated")
    assert hatchings(kit) == {}
