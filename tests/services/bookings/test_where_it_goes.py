"""Where a part of a kit goes is one answer: pick list, labels and what lies in the kit agree."""

from __future__ import annotations

from sqlalchemy import Engine

from helpers import NOW, ON
from kitting.facts.words import NeedRule
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.kit_contents import kit_contents
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import pick
from kitting.store import reading
from kitting.wording.pick_list import bags_texts


def test_pick_list_labels_and_kit_agree_where_everything_goes(garage: Engine) -> None:
    number = book(garage, BookingRequest("PELL 117", ("J1", "J2", "J3"), ON, "upper"), NOW).number
    pick(garage, number, NOW)
    with reading(garage) as session:
        listed, labels = pick_of(session, number), labels_of(session, number)
        lying = kit_contents(session, number, ON)
    in_bags = {
        (line.content.item, line.content.rule): {
            bag.number
            for bag in labels.bags
            if any(
                (one.content.item, one.content.rule) == (line.content.item, line.content.rule)
                for one in bag.lines
            )
        }
        for line in listed.lines
    }
    into = {
        (row.content.item, row.content.rule): set(row.bags)
        for row in listed.lines
        if row.content.rule is not NeedRule.USE
    }
    assert into.items() <= in_bags.items()
    shown = {(line.item, line.rule): set(line.bags) for line in lying.lines}
    assert shown.items() <= in_bags.items()
    assert any(shown.values())
    used = {line.content.item for line in labels.loose if line.content.rule is NeedRule.USE}
    assert {"OIL-ENGINE", "FLUID-ASSEMBLY"} <= used
    for row in listed.lines:
        told = bags_texts(row)[0].startswith("KIT, loose")
        assert (row.content.item in used) == told, row.content.item
    told = {row.content.item: bags_texts(row) for row in listed.lines}
    assert told["OIL-ENGINE"] == ("KIT, loose: for BAGS 4, 9",)
