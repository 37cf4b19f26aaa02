"""What the audit asks of kits: each check finds its fault, and a word of why is enough."""

from __future__ import annotations

from pathlib import Path

import pytest
from kits import LATER, SURE, at, faults, kit, piece, sound, to_the_ramp, why, yard
from sqlalchemy import Engine
from sqlalchemy import text as sql

from helpers import NOW, booked
from kitting.actions import Action, next_step
from kitting.facts.units import Quantity
from kitting.facts.words import KitWhy
from kitting.services.bookings.change import Change
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.correct import Became, Correction, correct
from kitting.services.bookings.kit_moves import draw
from kitting.services.bookings.pick import cancel
from kitting.services.purchasing.booking_change import make_change
from kitting.services.upkeep.audit import audit
from kitting.wording.reasons import say
from kitting.wording.upkeep import fault_text

STOCK = (
    "RING,A,9 each,1Q25", "CAP,C,9 each", "OIL,O,1000 ml,,2028-01-01", "BOLT,K,9 each",
    "PASTE,P,1500 ml,,2028-01-01",
)  # fmt: skip


def changed(engine: Engine, *statements: str) -> None:
    """Do what no service does, within the rules of the tables."""
    with engine.begin() as connection:
        for statement in statements:
            connection.execute(sql(statement))


def closed(engine: Engine) -> str:
    number = to_the_ramp(engine, kit(engine, "RINGS"), {"x1": 4})
    close(engine, number, Closing(), NOW)
    return number


def texts(engine: Engine) -> list[str]:
    return [fault_text(one) for check in audit(engine, LATER).checks for one in check.shown]


def test_what_is_lost_without_a_word_is_a_fault(store: Engine, tmp_path: Path) -> None:
    number = kit(yard(store, tmp_path, *STOCK), "RINGS")
    draw(store, number, piece("RING", 1), why(), at())
    sound(store)
    changed(store, "DELETE FROM kit_event WHERE kind = 'gone'")
    assert faults(store) == {"lost": ["lost"]}
    assert texts(store) == [
        "booking B0001: RING, lot A, in yard: what it says is lost is not what was told of its kit:"
        " 1 recorded, 0 recomputed"
    ]


def test_what_a_kit_lost_at_another_branch_is_no_fault(lite: Engine, tmp_path: Path) -> None:
    """The booking moves, the piece stays where it was lost."""
    number = kit(yard(lite, tmp_path, *STOCK), "RINGS")
    draw(lite, number, piece("RING", 1), why(), at())
    make_change(lite, number, Change(branch="quay"), NOW)
    sound(lite)


def test_p2_more_promised_than_is_needed_is_a_fault_unless_told_why(
    store: Engine, tmp_path: Path
) -> None:
    """A promise that a plan of before left behind would be picked, and fitted."""
    yard(store, tmp_path, *STOCK)
    number = booked(store, "RINGS").number
    changed(store, "UPDATE booking_need SET quantity = 3000")
    assert faults(store) == {"not needed": ["promised needlessly"]}
    (check,) = (one for one in audit(store, LATER).checks if one.faults)
    assert check.advice is not None
    assert check.advice.then == (next_step(Action.SHOW_KIT),)
    assert say(check.advice).startswith("look into the kit")
    assert texts(store) == [
        f"booking {number}: RING, in yard: more is promised than it needs, and nobody said why:"
        " 4 recorded, 3 recomputed"
    ]


def test_picked_beyond_the_plan_is_no_fault_if_it_is_told_why(
    store: Engine, tmp_path: Path
) -> None:
    number = to_the_ramp(store, kit(yard(store, tmp_path, *STOCK), "RINGS"), {"x1": 4})
    draw(store, number, piece("RING", 1), why(KitWhy.EXTRA, "one more than planned"), at())
    sound(store)
    close(store, number, Closing(used={"RING": 1000}), NOW)
    sound(store)
    changed(store, "DELETE FROM kit_event")
    assert faults(store) == {"not needed": ["used needlessly"]}


def test_p4_closed_with_needs_unmet_and_no_reason_is_a_fault(store: Engine, tmp_path: Path) -> None:
    yard(store, tmp_path, *STOCK)
    number = closed(store)
    changed(store, "UPDATE booking SET override = NULL")
    assert faults(store) == {}
    changed(store, "UPDATE promise SET used = used - 1000, scrapped = scrapped + 1000")
    assert faults(store) == {"unmet needs": ["unmet"]}
    assert texts(store) == [
        f"booking {number}: RING, in yard: closed without all that had to be renewed or used up,"
        " and without a reason: 3 recorded, 4 recomputed"
    ]
    changed(store, f"UPDATE booking SET override = '{SURE}'")
    assert faults(store) == {}


def test_p4_a_consumable_that_was_never_there_is_a_fault(store: Engine, tmp_path: Path) -> None:
    yard(store, tmp_path, *STOCK)
    number = to_the_ramp(store, booked(store, "OPEN").number)
    close(store, number, Closing(), NOW, SURE)
    sound(store)
    changed(store, "UPDATE booking SET override = NULL")
    assert faults(store) == {"unmet needs": ["unmet", "unmet"]}


def test_what_was_put_right_afterwards_has_its_own_reason(store: Engine, tmp_path: Path) -> None:
    number = closed(yard(store, tmp_path, *STOCK))
    changed(store, "UPDATE booking SET override = NULL")
    one = Quantity(1000, "each")
    correct(store, number, Correction("RING", one, Became.USED, Became.BACK, "miscounted"), LATER)
    sound(store)


def test_p1_the_opened_part_of_what_comes_back_among_sealed_goods_is_a_fault(
    store: Engine, tmp_path: Path
) -> None:
    number = kit(yard(store, tmp_path, *STOCK), "STICK")
    cancel(store, number, LATER)
    sound(store)
    # As if it had been put to the sealed packs again: what parted it is of another time.
    with store.begin() as connection:
        lite = store.dialect.name == "sqlite"
        drop = "DROP TRIGGER movement_kept_UPDATE" if lite else (
            "ALTER TABLE movement DISABLE TRIGGER movement_kept"
        )  # fmt: skip
        connection.execute(sql(drop))
        connection.execute(
            sql("UPDATE movement SET at = '2026-04-04 09:00:00' WHERE kind = 'opened' AND id >"
                " (SELECT max(id) FROM movement WHERE kind = 'put back')")
        )  # fmt: skip
    found = faults(store)
    assert found["stays opened"] == ["sealed again"]  # type: ignore[index]
    assert any("lies among what is sealed" in text for text in texts(store))


def test_what_was_sent_opened_and_arrives_as_sealed_is_a_fault(
    store: Engine, tmp_path: Path
) -> None:
    yard(store, tmp_path, *STOCK)
    changed(
        store,
        "UPDATE lot SET opened_on = '2026-03-01' WHERE code = 'P'",
        "INSERT INTO lot (branch_id, item_id, code, received_on, on_hand, promised)"
        " SELECT (SELECT id FROM branch WHERE code = 'quay'), item_id, code, received_on, 0, 0"
        " FROM lot WHERE code = 'P'",
        "INSERT INTO transfer (from_lot_id, to_lot_id, from_branch_id, to_branch_id, quantity,"
        " sent_at, due) SELECT a.id, b.id, a.branch_id, b.branch_id, 1000, '2026-04-02 09:00:00',"
        " '2026-04-03' FROM lot a JOIN lot b ON a.code = 'P' AND b.code = 'P' AND a.id < b.id",
    )
    assert faults(store)["stays opened"] == ["sent sealed"]  # type: ignore[index]


def test_what_comes_back_before_it_was_picked_is_a_fault(store: Engine, tmp_path: Path) -> None:
    yard(store, tmp_path, *STOCK)
    booked(store, "RINGS")
    changed(
        store,
        "INSERT INTO movement (at, lot_id, kind, quantity, balance, booking_id) SELECT"
        " '2026-04-03 09:00:00', lot.id, 'put back', 1000, on_hand + 1000, booking.id"
        " FROM lot, booking WHERE code = 'A'",
        "INSERT INTO movement (at, lot_id, kind, quantity, balance, booking_id) SELECT"
        " '2026-04-03 09:00:00', lot.id, 'picked', -1000, on_hand, booking.id"
        " FROM lot, booking WHERE code = 'A'",
    )
    assert faults(store) == {"causes": ["before its picking"]}


def test_a_time_before_its_cause_is_told_and_is_no_fault(store: Engine, tmp_path: Path) -> None:
    """A clock may be set back: the number of an entry tells what came first."""
    kit(yard(store, tmp_path, *STOCK), "RINGS")
    changed(store, "UPDATE booking SET made_at = '2026-04-02 15:00:00'")
    view = audit(store, LATER)
    assert view.fine
    assert [say(remark) for remark in view.remarks] == [
        "entries with an earlier time than their cause: 1 (picked before the booking was made,"
        " arrived before it was sent, received before it was ordered). Compare the papers; amounts"
        " go by number"
    ]


@pytest.mark.parametrize("check", ["lost", "not needed", "unmet needs", "stays opened", "causes"])
def test_each_check_of_kits_looks_at_something(lite: Engine, tmp_path: Path, check: str) -> None:
    closed(yard(lite, tmp_path, *STOCK))
    (found,) = (one for one in audit(lite, LATER).checks if one.check == check)
    assert found.looked_at
