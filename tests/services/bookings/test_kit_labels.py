"""Reading a label: whether the kit is still what it was when the label was printed. Invented."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, booked, load, shop, stock
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import FindingResult, KitWhy
from kitting.services.bookings.change import Change
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.kit_labels import read_label
from kitting.services.bookings.kit_moves import Exchange, Moment, Piece, Told, draw, swap
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import pick
from kitting.services.bookings.trays import split
from kitting.services.purchasing.booking_change import make_change
from kitting.store import reading
from kitting.views.kit_life import LabelReadView
from kitting.wording.kit_life import label_text

LOST = Told("fell into the drain", "Ann", KitWhy.LOST)
JOBS = {"X1": {"RING": 2}, "X2": {"BOLT": 1}}


@pytest.fixture
def yard(lite: Engine, tmp_path: Path) -> Engine:
    load(lite, shop(JOBS))
    stock(lite, tmp_path, "yard,RING,A,9 each,1Q25", "yard,BOLT,B,9 each")
    return lite


def printed(engine: Engine, number: str) -> list[str]:
    """The codes on the labels of a booking: the kit's, then the bags'."""
    with reading(engine) as session:
        kit = labels_of(session, number)
        assert pick_of(session, number).reference == kit.reference
    return [kit.reference, *(bag.code for bag in kit.bags)]


def read(engine: Engine, code: str) -> LabelReadView:
    with reading(engine) as session:
        return read_label(session, code)


def test_a_label_of_now_names_its_kit_and_bag(yard: Engine) -> None:
    booked(yard, "X1", "X2")
    kit, *bags = printed(yard, "B0001")
    view = read(yard, kit)
    assert (view.current, view.bag, [one.booking for one in view.kits]) == (True, None, ["B0001"])
    joints = [read(yard, bag).joint for bag in bags]
    assert sorted(filter(None, joints)) == ["x1", "x2"]
    text, now = label_text(read(yard, bags[0].lower()))
    assert now.startswith("By now")
    assert text.startswith(f"{bags[0]}: bag 1 ({joints[0]}) of the kit of B0001 PELL 001")


def test_the_code_of_a_ring_end_names_its_place_wherever_the_code_of_a_bag_does(
    yard: Engine,
) -> None:
    booked(yard, "X1", "X2")
    with reading(yard) as session:
        (ringed,) = (bag for bag in labels_of(session, "B0001").bags if bag.ends)
    (end,) = ringed.ends
    assert end.code == f"{ringed.code}-1"
    view = read(yard, end.code.lower())
    assert (view.bag, view.end, view.joint) == (ringed.number, 1, "x1")
    assert view.positions == ("RING",)
    text, *_ = label_text(view)
    assert text.startswith(f"{end.code}: RING in bag {ringed.number} (x1) of the kit of B0001")
    with pytest.raises(KittingError, match=rf"has no ring 2 \(its rings: {end.code}\)"):
        read(yard, f"{ringed.code}-2")


def test_a_label_from_before_the_catalogue_was_changed_is_outdated(yard: Engine) -> None:
    booked(yard, "X1")
    kit, bag = printed(yard, "B0001")
    load(yard, shop({"X1": {"RING": 3}, "X2": {"BOLT": 1}}))
    for code in (kit, bag):
        view = read(yard, code)
        assert not view.current
        assert [(one.booking, one.code) for one in view.kits] == [
            ("B0001", printed(yard, "B0001")[0])
        ]
    first, *_ = label_text(read(yard, bag))
    assert first == (
        f"{bag} IS OUTDATED: the kit was changed since this label was printed; whether this bag is"
        " one of what changed is not known."
    )
    assert read(yard, printed(yard, "B0001")[0]).current


@pytest.mark.parametrize("change", [Change(on=date(2026, 4, 22)), Change(add=("X2",))])
def test_a_label_from_before_the_booking_was_changed_is_outdated(
    yard: Engine, change: Change
) -> None:
    booked(yard, "X1")
    kit, _ = printed(yard, "B0001")
    make_change(yard, "B0001", change, NOW)
    assert not read(yard, kit).current


def test_a_label_from_before_a_look_failed_is_outdated(lite: Engine) -> None:
    hose = "  - {code: HOSE, name: Hose, kind: hose, elastomer: FKM}"
    text = shop({"X1": {"HOSE": 1}}, items=hose)
    load(lite, text.replace("rule: renew", "rule: inspect, criterion: looks good"))
    booked(lite, "X1")
    kit, _ = printed(lite, "B0001")
    record_findings(lite, "B0001", [Found("x1", "HOSE", FindingResult.FAILED, "torn")], NOW)
    assert not read(lite, kit).current


def test_of_two_bookings_of_a_car_the_label_finds_its_own(yard: Engine) -> None:
    booked(yard, "X1")
    booked(yard, "X2")
    for number in ("B0001", "B0002"):
        view = read(yard, printed(yard, number)[0])
        assert (view.current, [one.booking for one in view.kits]) == (True, [number])
    kit, _ = printed(yard, "B0001")
    make_change(yard, "B0001", Change(on=date(2026, 4, 22)), NOW)
    assert [one.booking for one in read(yard, kit).kits] == ["B0002", "B0001"]


@pytest.mark.parametrize(
    ("code", "told"),
    [
        ("K42TV6M", "is no code of a kit"),
        ("K0000000", "no open booking is of the car"),
        ("{kit}-09", "has 1 bags, and no bag 9"),
    ],
)
def test_what_cannot_be_read_is_refused(yard: Engine, code: str, told: str) -> None:
    booked(yard, "X1", on=ON)
    kit, _ = printed(yard, "B0001")
    with pytest.raises(KittingError, match=told):
        read(yard, code.format(kit=kit))


def test_what_of_a_label_is_not_in_its_code_is_told_as_it_is_now(
    lite: Engine, tmp_path: Path
) -> None:
    """Another lot with an earlier end is exchanged in: the code is the same, the day is not."""
    load(lite, shop(JOBS))
    stock(lite, tmp_path, "yard,RING,A,2 each,1Q25,2026-12-31", "yard,BOLT,B,1 each")
    number = booked(lite, "X1", "X2").number
    pick(lite, number, NOW)
    stock(lite, tmp_path, "yard,RING,C,2 each,1Q25,2026-09-30")
    kit, *bags = printed(lite, number)
    (before,) = read(lite, kit).kits
    assert (before.keeps_to, before.short) == (date(2026, 12, 31), ())
    swap(lite, number, Exchange(Piece("RING", Quantity(2000, "each"))), Told(), Moment(NOW))
    draw(lite, number, Piece("BOLT", Quantity(1000, "each")), LOST, Moment(NOW))
    split(lite, number, {"x2": 2})
    view = read(lite, kit)
    assert view.current
    assert label_text(view)[1:] == [
        "By now: earliest expiry 2026-09-30; SHORT: 1 × BOLT. Compare the label."
    ]
    trays = {one.joint: one.tray for one in (read(lite, bag) for bag in bags)}
    assert trays == {"x1": 1, "x2": 2}
    assert any("tray 2" in text for bag in bags for text in label_text(read(lite, bag)))


def test_the_label_of_a_bag_is_told_what_that_bag_lacks_and_no_other(
    lite: Engine, tmp_path: Path
) -> None:
    """Rings of a lot that keeps to a day are there, the bolt is not; each has a bag of its own."""
    load(lite, shop(JOBS))
    stock(lite, tmp_path, "yard,RING,A,2 each,1Q25,2026-12-31")
    kit, *bags = printed(lite, booked(lite, "X1", "X2").number)
    assert label_text(read(lite, kit))[1:] == [
        "By now: earliest expiry 2026-12-31; SHORT: 1 × BOLT. Compare the label."
    ]
    of_joint = {view.joint: label_text(view)[1:] for view in (read(lite, bag) for bag in bags)}
    assert of_joint == {
        "x1": [
            "By now nothing of this bag is short.",
            "What expires first in this bag keeps to 2026-12-31.",
        ],
        "x2": ["By now, of this bag: SHORT: 1 × BOLT. Compare the label."],
    }
