"""A stripped car that waits with its kit, and a kit on two trays. All stock is invented."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from kits import contents, kit, shown, sound, to_the_ramp, yard
from sqlalchemy import Engine

from helpers import NOW
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.words import KitEventKind
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.listing import list_bookings
from kitting.services.bookings.set_aside import SetAside, set_aside, take_up
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.trays import split, tray_views
from kitting.services.purchasing.shortages import read_wanting
from kitting.store import reading
from kitting.views.bookings import Lack

PASTE = "PASTE,P,1500 ml,,2026-06-01"
WAITS = SetAside("bay 4", "the head is away", None, "Ann")


def test_a_stripped_car_is_set_aside_with_its_kit_and_listed_so(
    store: Engine, tmp_path: Path
) -> None:
    number = to_the_ramp(store, kit(yard(store, tmp_path, "RING,A,6 each,1Q25"), "RINGS"))
    set_aside(store, number, WAITS, NOW)
    found = shown(store, number).set_aside
    assert found is not None
    assert (found.place, found.why, found.since, found.until) == (
        "bay 4", "the head is away", NOW, None,
    )  # fmt: skip
    with reading(store) as session:
        (line,) = list_bookings(session, None, ["on the ramp"], NOW.date())
    assert line.set_aside == "bay 4"
    with pytest.raises(KittingError, match="is set aside in bay 4; it is not closed there"):
        close(store, number, Closing(), NOW, "so")
    assert take_up(store, number, NOW) == "bay 4"
    assert shown(store, number).set_aside is None
    assert [event.kind for event in contents(store, number).events] == [
        KitEventKind.SET_ASIDE, KitEventKind.TAKEN_UP,
    ]  # fmt: skip
    sound(store)


def test_its_kit_is_judged_at_today_and_at_the_later_day(store: Engine, tmp_path: Path) -> None:
    number = to_the_ramp(store, kit(yard(store, tmp_path, PASTE), "STICK"))
    assert shown(store, number, NOW.date()).ready
    set_aside(store, number, WAITS, NOW)
    assert shown(store, number, NOW.date()).ready
    opened_to = date(2026, 5, 2)  # opened on 2 April for 30 days
    late = shown(store, number, opened_to + timedelta(days=1))
    assert [reason.code for reason in late.lacking] == [Lack.EXPIRED_SINCE]
    set_aside(store, number, SetAside("bay 5", "longer", date(2026, 7, 1)), NOW)
    until = shown(store, number, NOW.date())
    assert [reason.code for reason in until.lacking] == [Lack.EXPIRED]
    assert contents(store, number).judged_for == date(2026, 7, 1)
    take_up(store, number, NOW)
    assert shown(store, number, NOW.date()).ready


@pytest.mark.parametrize(
    ("told", "message"),
    [
        (SetAside(" ", "why"), "say where"),
        (SetAside("bay 4", ""), "say where"),
        (SetAside("bay 4", "why", date(2026, 4, 1)), "2026-04-01 is past"),
    ],
)
def test_where_why_and_until_when_have_to_make_sense(
    lite: Engine, tmp_path: Path, told: SetAside, message: str
) -> None:
    number = to_the_ramp(lite, kit(yard(lite, tmp_path, "RING,A,6 each,1Q25"), "RINGS"))
    with pytest.raises(KittingError, match=message):
        set_aside(lite, number, told, NOW)


def test_only_what_is_on_the_ramp_is_set_aside_and_only_that_taken_up(
    lite: Engine, tmp_path: Path
) -> None:
    number = kit(yard(lite, tmp_path, "RING,A,6 each,1Q25"), "RINGS")
    with pytest.raises(KittingError, match="only what is on the ramp is set aside"):
        set_aside(lite, number, WAITS, NOW)
    with pytest.raises(KittingError, match="is not set aside"):
        take_up(lite, number, NOW)


def test_split_a_kit_puts_bags_on_trays_that_labels_and_pick_list_name(
    store: Engine, tmp_path: Path
) -> None:
    yard(store, tmp_path, "RING,A,6 each,1Q25", "SEAL,S,2 each,1Q25")
    number = kit(store, "RINGS", "LOOK")
    with reading(store) as session:
        booking = find_booking(session, number)
        assert [tray.tray for tray in tray_views(session, booking)] == [1]
        assert {bag.tray for bag in labels_of(session, number).bags} == {None}
    first, second = split(store, number, {"x2": 2})
    assert (first.joints, second.joints) == (("x1",), ("x2",))
    with reading(store) as session:
        assert {bag.joint: bag.tray for bag in labels_of(session, number).bags} == {
            "x1": 1, "x2": 2,
        }  # fmt: skip
        picked = {line.content.item: line.trays for line in pick_of(session, number).lines}
    assert (picked["RING"], picked["SEAL"]) == ((1,), (2,))
    assert {line.item: line.trays for line in contents(store, number).lines} == {
        "RING": (1,), "SEAL": (2,),
    }  # fmt: skip
    split(store, number, {"x2": 1})
    with pytest.raises(UnknownNameError, match="has no bag for 'x9'"):
        split(store, number, {"x9": 2})
    with pytest.raises(KittingError, match="number trays from 1 to 99"):
        split(store, number, {"x1": 100})
    sound(store)


def test_what_it_lacks_is_bought_for_the_later_day(lite: Engine, tmp_path: Path) -> None:
    yard(lite, tmp_path, "RING,A,2 each,1Q25")
    number = to_the_ramp(lite, kit(lite, "RINGS"))
    set_aside(lite, number, SetAside("bay 4", "waits", date(2026, 6, 1)), NOW)
    with reading(lite) as session:
        (one,) = read_wanting(session, [number]).bookings
    assert one.fit_on == date(2026, 6, 1)
