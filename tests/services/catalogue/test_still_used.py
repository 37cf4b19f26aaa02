"""What recorded work refers to is not taken out, and it is said what refers to it. All invented."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, load, planned, unit
from kitting.errors import FileProblemsError
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.pick import cancel
from kitting.services.catalogue.still_used import REFERENCES
from kitting.services.planning.variants import settle_variant
from kitting.tables.all import Base

CAR = "PELL 001"
ITEMS = """
  - {code: PAD, name: Pad, kind: brake-pad}
  - {code: PAD-LONG, name: Long-life pad, kind: brake-pad}
  - {code: PAD-OLD, name: Old pad, kind: brake-pad}
"""
OLD = ", {code: old, name: old pads}"
SPLIT = f"""
      {{code: pads, question: "Which pads?", check: "Look.", BY
        options: [{{code: plain, name: as fitted}}, {{code: long, name: long-life}}{OLD}]}}
"""
OLD_FIT = "\n          - {item: PAD-OLD, position: pads, quantity: 2 each, option: pads/old}"
BRAKE = f"""
      - code: brake
        name: brake
        system: brakes
        fits:
          - {{item: PAD, position: pads, quantity: 2 each, option: pads/plain}}
          - {{item: PAD-LONG, position: pads, quantity: 2 each, option: pads/long}}{OLD_FIT}
"""
STEPS = "      - {code: C1, name: brake open, hours: 0.5 h, opens: [brake]}"
JOBS = "      - {code: PADS, name: pads, needs: [C1], renews: [{kind: brake-pad}]}"


def garage(by: str = "") -> str:
    return unit(BRAKE, STEPS, JOBS, ITEMS, SPLIT.replace("BY", by)) + SUPPLY


CHOSEN = garage("settled_by: customer,")
SEEN = garage()
HISTORY = (
    "vehicles: [{registration: PELL 001, model: pell, history:"
    " [{joint: grebe/brake, position: pads, on: 2025-05-20, outcome: refitted}]}]"
)


def without_old(text: str) -> str:
    return text.replace(OLD, "").replace(OLD_FIT, "")


def told(engine: Engine, text: str) -> list[str]:
    with pytest.raises(FileProblemsError) as caught:
        load(engine, text)
    return [str(problem).partition(": ")[2] for problem in caught.value.problems]


def test_every_reference_that_keeps_something_of_a_unit_is_told() -> None:
    of_units = {
        "split", "split_option", "joint", "fit", "tightening", "step", "job", "use", "opening",
    }  # fmt: skip
    keeping = {
        (key.column.table.name, f"{table.name}.{column.name}")
        for table in Base.metadata.tables.values()
        for column in table.columns
        for key in column.foreign_keys
        if key.column.table.name in of_units and key.ondelete != "CASCADE"
    }
    # Entries of the same unit: they are described anew with it, and go first.
    inside = {
        ("split_option", f"{table}.option_id")
        for table in ("fit", "use", "step_option", "job_service")
    }
    named = {
        (table, f"{one.column.class_.__tablename__}.{one.column.key}")
        for table, references in REFERENCES.items()
        for one in references
    }
    assert keeping == named | inside


def test_an_option_that_a_booking_was_made_with_is_named_with_the_booking(store: Engine) -> None:
    load(store, CHOSEN)
    number = book(
        store, BookingRequest(CAR, ("PADS",), ON, "yard", chosen={"pads": "old"}), NOW
    ).number
    line = 2 + CHOSEN[: CHOSEN.index("units:")].count("\n")
    with pytest.raises(FileProblemsError) as caught:
        load(store, without_old(CHOSEN))
    assert [one.line for one in caught.value.problems] == [line]
    assert told(store, without_old(CHOSEN)) == [
        f"unit grebe: option pads/old: it is taken out, but booking {number} (provisional) was made"
        " with it. Choose otherwise for the booking first. Or leave option pads/old in the file"
    ]
    assert planned(store, CAR, "PADS", assumed={"pads": "old"}).lines != ()


def test_an_option_of_a_booking_that_is_over_may_stay_by_name_only(store: Engine) -> None:
    load(store, CHOSEN)
    request = BookingRequest(CAR, ("PADS",), ON, "yard", chosen={"pads": "old"})
    number = book(store, request, NOW).number
    cancel(store, number, NOW)
    assert told(store, without_old(CHOSEN)) == [
        f"unit grebe: option pads/old: it is taken out, but booking {number} (cancelled) was made"
        " with it. Leave option pads/old in the file, and let its name say that it is no longer to"
        " be had: what was chosen for a booking that is over stays on record"
    ]
    load(store, CHOSEN.replace(OLD_FIT, "").replace("name: old pads", "name: no longer to be had"))


def test_an_option_that_a_car_is_settled_as_can_go_once_it_is_settled_otherwise(
    store: Engine,
) -> None:
    load(store, SEEN)
    settle_variant(store, CAR, "pads", "old")
    assert told(store, without_old(SEEN)) == [
        "unit grebe: option pads/old: it is taken out, but PELL 001 is settled so. Settle the car"
        " otherwise first. Or leave option pads/old in the file"
    ]
    settle_variant(store, CAR, "pads", "long")
    load(store, without_old(SEEN))


def test_a_variant_that_a_car_is_settled_for_may_stay_where_nothing_depends_on_it(
    store: Engine,
) -> None:
    load(store, SEEN)
    settle_variant(store, CAR, "pads", "long")
    plain = BRAKE.replace(OLD_FIT, "").replace(", option: pads/plain", "")
    plain = "\n".join(line for line in plain.splitlines() if "PAD-LONG" not in line)
    assert told(store, unit(plain, STEPS, JOBS, ITEMS) + SUPPLY) == [
        "unit grebe: variant pads: it is taken out, but PELL 001 is settled so. Leave it in the"
        " file with its options: where nothing depends on it, it is not asked"
    ]
    kept = unit(plain, STEPS, JOBS, ITEMS, SPLIT.replace("BY", "")) + SUPPLY
    load(store, kept)
    load(store, "vehicles: [{registration: PELL 002, model: pell}]")
    assert planned(store, "PELL 002", "PADS").unresolved == ()


def test_a_joint_with_history_stays_readable_beside_those_that_take_its_place(
    store: Engine,
) -> None:
    load(store, SEEN)
    load(store, HISTORY)
    sides = BRAKE.replace("code: brake", "code: brake\n        sides: [left, right]")
    assert told(store, SEEN.replace(BRAKE, sides)) == [
        "unit grebe: joint brake: it is taken out, but the history of PELL 001 has 'pads' refitted"
        " on 2025-05-20. Leave joint brake in the file, opened by no step: then its history can be"
        " read. Give brake-left, brake-right another common code than brake; what happened at"
        " brake does not count as theirs"
    ]
    new = sides.replace("code: brake\n", "code: disc-brake\n")
    as_told = BRAKE + new
    load(store, SEEN.replace(BRAKE, as_told).replace("opens: [brake]", "opens: [disc-brake]"))
    places = {joint.code for joint in planned(store, CAR, "PADS", assumed={"pads": "old"}).joints}
    assert places == {"disc-brake-left", "disc-brake-right"}


def test_a_joint_that_nothing_refers_to_is_taken_out(store: Engine) -> None:
    load(store, SEEN)
    sides = BRAKE.replace("code: brake", "code: brake\n        sides: [left, right]")
    assert load(store, SEEN.replace(BRAKE, sides)).counts["joints"].removed == 1
