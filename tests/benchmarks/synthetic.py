"""A made-up garage of any size, written by the bare drivers: catalogue, cars, stock, findings.

Every unit has 40 joints of 5 positions, 20 steps in a tree and 8 jobs; a car carries two units.
Items are half as many as fits, movements five times as many.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from kitting.services.catalogue.setup import set_up

from .bulk import connect, fetch, insert, settle

JOINTS, PLACES, STEPS, JOBS, CARS = 40, 5, 20, 8, 4
KINDS = ("o-ring", "bolt", "paper-gasket", "trim-clip", "crush-washer")
CONSUMABLES = 20
NOW = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001 (wall clock of the garage)
ON = date(2026, 4, 15)
LETTERS = "ABC"
BRANCHES = ("upper", "canal", "quay")
DAYS = 700
_SPREAD = 2_654_435_761  # so that neighbours in a joint are strangers in the list of items


@dataclass(frozen=True, slots=True)
class Shape:
    """How much there is of everything, from the number of fits."""

    fits: int

    @property
    def units(self) -> int:
        """Two at least."""
        return max(2, self.fits // (JOINTS * PLACES))

    @property
    def joints(self) -> int:
        return self.units * JOINTS

    @property
    def parts(self) -> int:
        """Items of parts; consumables are beside them."""
        return max(len(KINDS), self.fits // 2 // len(KINDS) * len(KINDS))

    @property
    def items(self) -> int:
        return CONSUMABLES + self.parts

    @property
    def movements(self) -> int:
        """So many for every lot; there is a lot of every part."""
        return self.parts * 10

    @property
    def bookings(self) -> int:
        return max(10, self.movements // 50)

    @property
    def findings(self) -> int:
        return max(20, self.fits // 10)


def registration(number: int) -> str:
    """The registration of a car, counted from 1."""
    return f"CAR {number:07d}"


def jobs_of(car: int) -> list[str]:
    """Two jobs on the first unit of a car."""
    letter = _letter((car - 1) // CARS)
    return [f"{letter}J1", f"{letter}J2"]


def item_code(key: int) -> str:
    """The code of an item, by key."""
    return f"ITEM-{key:07d}"


def _letter(unit: int) -> str:
    return LETTERS[unit % 3]


def furnish(url: str, shape: Shape, stocked: bool = True) -> None:
    """Set a database up and fill it; without stock, only the catalogue and the cars."""
    set_up(url)
    with closing(connect(url)) as connection:
        words = _words(connection)
        for table, columns, rows in _catalogue(shape, words):
            insert(connection, table, columns, rows)
        if stocked:
            for table, columns, rows in _supply(shape):
                insert(connection, table, columns, rows)
        numbered = "item unit joint fit fit_rule item_rule step use job model vehicle split"
        numbered += " split_option branch supplier offer booking lot promise movement finding"
        settle(connection, numbered.split())


Words = dict[str, dict[str, int]]
Table = tuple[str, str, Iterator[tuple[Any, ...]]]


def _words(connection: Any) -> Words:
    return {
        table: dict(fetch(connection, f"SELECT code, id FROM {table}"))
        for table in ("kind", "fluid", "system", "general_tool", "caution")
    }


def _catalogue(shape: Shape, words: Words) -> Iterator[Table]:
    units, joints = range(shape.units), range(shape.joints)
    steps = range(shape.units * STEPS)
    yield (
        "item",
        "id code name kind_id unit pack sold_singly elastomer hardness ring_inside ring_section"
        " head head_size thread length property_class shelf_life_months medium bin",
        _items(shape, words["kind"]),
    )
    yield "item_rule", "item_id source rule reference", (
        (CONSUMABLES + part + 1, "leaflet", "renew", "leaflet of the packet")
        for part in range(0, shape.parts, 10)
    )  # fmt: skip
    yield "unit", "id code name", ((u + 1, f"unit-{u}", f"Unit {u}") for u in units)
    yield "split", "id unit_id code question check_text", (
        (u + 1, u + 1, "type", "Which type is it?", "Look at it.") for u in units
    )  # fmt: skip
    yield "split_option", "id split_id code seq name built_from built_before", _options(shape)
    yield "joint", "id unit_id code seq name system_id", (
        (j + 1, j // JOINTS + 1, f"joint-{j % JOINTS}", j % JOINTS, f"Joint {j % JOINTS}",
         words["system"]["engine"])
        for j in joints
    )  # fmt: skip
    yield (
        "joint_fluid",
        "joint_id fluid_id",
        ((j + 1, words["fluid"]["engine-oil"]) for j in joints if j % 2 == 0),
    )
    yield (
        "fit",
        "id joint_id position option_id seq item_id quantity refit_limit dry lubricant_id"
        " lubricant_amount",
        _fits(shape),
    )
    yield "fit_rule", "fit_id source rule criterion reference", _fit_rules(shape)
    bolts = [j * PLACES + 2 for j in joints]
    yield (
        "tightening",
        "fit_id thread_state source",
        ((fit, "oiled", "maker's instruction (made up)") for fit in bolts),
    )
    yield (
        "stage",
        "fit_id seq torque torque_unit angle",
        (
            stage
            for fit in bolts
            for stage in ((fit, 0, 20_000, "N·m", None), (fit, 1, None, None, 90_000))
        ),
    )
    yield "step", "id unit_id code seq name hours", (
        (s + 1, s // STEPS + 1, f"{_letter(s // STEPS)}{s % STEPS}", s % STEPS,
         f"Step {s % STEPS}", 300 + s % STEPS)
        for s in steps
    )  # fmt: skip
    yield (
        "step_need",
        "step_id code",
        ((s + 1, f"{_letter(s // STEPS)}{(s % STEPS - 1) // 2}") for s in steps if s % STEPS),
    )
    yield (
        "opening",
        "step_id joint_id times reopened",
        (
            (s + 1, s // STEPS * JOINTS + s % STEPS * 2 + side + 1, 1, int(s % STEPS == 13))
            for s in steps
            for side in (0, 1)
        ),
    )
    yield (
        "step_tool",
        "step_id tool_id",
        ((s + 1, words["general_tool"]["trim-lever"]) for s in steps if s % 4 == 0),
    )
    yield (
        "step_caution",
        "step_id caution_id",
        ((s + 1, words["caution"]["springs"]) for s in steps if s % STEPS == 0),
    )
    yield "use", "joint_id step_id seq item_id amount", _uses(shape)
    yield (
        "job",
        "id unit_id code seq name",
        (
            (u * JOBS + n + 1, u + 1, f"{_letter(u)}J{n + 1}", n, f"Job {n + 1}")
            for u in units
            for n in range(JOBS)
        ),
    )
    yield (
        "job_need",
        "job_id code",
        ((u * JOBS + n + 1, f"{_letter(u)}{STEPS - JOBS + n}") for u in units for n in range(JOBS)),
    )
    yield "model", "id code name", ((u + 1, f"model-{u}", f"Model {u}") for u in units)
    yield "model_unit", "model_id unit_id seq", _model_units(shape)
    yield "vehicle", "id registration_key registration model_id build_date", (
        (n + 1, registration(n + 1).replace(" ", ""), registration(n + 1), n // CARS + 1,
         f"{2016 + n % CARS}-03-14")
        for n in range(shape.units * CARS)
    )  # fmt: skip
    yield (
        "removal",
        "vehicle_id joint_id position on_date outcome",
        (
            (u * CARS + 1, u * JOINTS + 1 + joint, "place 3", "2024-05-06", "refitted")
            for u in units
            for joint in (0, 1, 2)
        ),
    )


def _items(shape: Shape, kinds: dict[str, int]) -> Iterator[tuple[Any, ...]]:
    for n in range(CONSUMABLES):
        kind = kinds["assembly-lubricant" if n % 2 else "sealant"]
        yield (
            n + 1, item_code(n + 1), f"consumable {n}", kind, "ml", 50_000, True,
            *[None] * 10, "silicone-grease" if n % 2 else None, f"K-{n}",
        )  # fmt: skip
    for n in range(shape.parts):
        place = n % len(KINDS)
        ring = ("FKM", 75, 5_000 + n // 5 % 400 * 250, 1_500 + n // 2000 % 8 * 500)
        bolt = ("hexagon", "10 mm", "M6", 25_000, "8.8")
        yield (
            CONSUMABLES + n + 1, item_code(CONSUMABLES + n + 1), f"{KINDS[place]} {n}",
            kinds[KINDS[place]], "each", None, True,
            *(ring if place == 0 else [None] * 4),
            *(bolt if place == 1 else [None] * 5),
            120 if place == 0 else None, None, f"B-{n % 997}",
        )  # fmt: skip


def _options(shape: Shape) -> Iterator[tuple[Any, ...]]:
    for u in range(shape.units):
        yield (2 * u + 1, u + 1, "early", 0, "early type", None, "2018-07-01")
        yield (2 * u + 2, u + 1, "late", 1, "late type", "2018-07-01", None)


def _part(joint: int, place: int, parts: int) -> int:
    """The key of the item in a place of a joint."""
    return joint * _SPREAD % (parts // len(KINDS)) * len(KINDS) + place + CONSUMABLES + 1


def _fits(shape: Shape) -> Iterator[tuple[Any, ...]]:
    for joint in range(shape.joints):
        for place in range(PLACES):
            option = None
            if joint % 10 == 0 and place > 2:  # one place for the early type, one for the late
                option = joint // JOINTS * 2 + place - 2
            lubricant = joint % (CONSUMABLES // 2) * 2 + 2 if place == 0 else None
            yield (
                joint * PLACES + place + 1, joint + 1, f"place {place}", option, place,
                _part(joint, place, shape.parts), 4000 if place == 1 else 1000,
                1 if place == 3 else None, False, lubricant, lubricant and 200,
            )  # fmt: skip


def _fit_rules(shape: Shape) -> Iterator[tuple[Any, ...]]:
    for joint in range(shape.joints):
        first = joint * PLACES + 1
        yield (first + 2, "maker", "renew", None, "maker's instruction (made up)")
        if joint % 4 == 0:
            yield (first + 1, "maker", "renew", None, "maker's instruction (made up)")
        if joint % 3 == 0:
            yield (first, "workshop", "inspect", "no nick, no flat", "workshop policy (made up)")


def _uses(shape: Shape) -> Iterator[tuple[Any, ...]]:
    for joint in range(0, shape.joints, 4):
        yield (joint + 1, None, 0, joint % (CONSUMABLES // 2) * 2 + 1, 3_000)
    for step in range(0, shape.units * STEPS, 5):
        yield (None, step + 1, 0, 1, 15_000)


def _model_units(shape: Shape) -> Iterator[tuple[int, int, int]]:
    last = shape.units - 1
    for u in range(shape.units):
        yield (u + 1, u + 1, 0)
        yield (u + 1, (u + 1 if u < last else u - 1) + 1, 1)


def _supply(shape: Shape) -> Iterator[Table]:
    yield (
        "branch",
        "id code name country subdivision van_cutoff",
        ((n + 1, code, code.title(), "GB", "ENG", "15:00") for n, code in enumerate(BRANCHES)),
    )
    yield (
        "supplier",
        "id code name currency carriage minimum_order typical late country subdivision",
        (
            (n + 1, f"supplier-{n}", f"Supplier {n}", "GBP", 500 * n, 0, n + 1, n + 2, "GB", "ENG")
            for n in range(3)
        ),
    )
    yield "supplier_cutoff", "supplier_id at", ((n + 1, "16:00") for n in range(3))
    keys = range(CONSUMABLES + 1, shape.items + 1)
    yield (
        "offer",
        "id supplier_id part item_id pack unit minimum multiple returnable load",
        (
            (key, key % 3 + 1, f"PART-{key}", key, 1000, "each", 1, 1, key % 4 == 0, 1)
            for key in keys
        ),
    )
    yield "offer_price", "offer_id from_packs price", ((key, 1, 50 + key % 900) for key in keys)
    yield "booking", "id number branch_id vehicle_id fit_on state made_at closed_at", (
        (n + 1, f"B{n + 1:07d}", n % 3 + 1, n % (shape.units * CARS) + 1, str(_day(n).date()),
         "closed", _stamp(_day(n)), _stamp(_day(n)))
        for n in range(shape.bookings)
    )  # fmt: skip
    yield "lot", "id branch_id item_id code bin made_on received_on on_hand promised", (
        (n + 1, _branch(n), CONSUMABLES + n + 1, f"L{n}", f"B-{n % 997}", "2025-02-01",
         "2025-03-01", 11_000, 0)
        for n in range(shape.parts)
    )  # fmt: skip
    yield (
        "promise",
        "booking_id item_id lot_id waiting picked used returned scrapped",
        (
            ((n * 9 + 1) % shape.bookings + 1, CONSUMABLES + n + 1, n + 1, 0, 1000, 1000, 0, 0)
            for n in range(shape.parts)
        ),
    )
    yield "movement", "id at lot_id kind quantity balance booking_id", _movements(shape)
    yield (
        "finding",
        "id booking_id unit_id joint position item_id quantity found reason at",
        _findings(shape),
    )


def _branch(lot: int) -> int:
    # Kinds come by turns too: every branch has some of each.
    return lot // len(KINDS) % 3 + 1


def _day(number: int) -> datetime:
    return NOW - timedelta(days=number * 37 % DAYS, minutes=number % 50)


def _stamp(at: datetime) -> str:
    return at.strftime("%Y-%m-%d %H:%M:%S.%f")


def _movements(shape: Shape) -> Iterator[tuple[Any, ...]]:
    """Twenty of each part came, nine were picked one by one."""
    stamps = [_stamp(_day(n)) for n in range(shape.bookings)]
    came = _stamp(NOW - timedelta(days=DAYS + 1))
    for lot in range(shape.parts):
        yield (lot * 10 + 1, came, lot + 1, "received", 20_000, 20_000, None)
        for n in range(1, 10):
            booking = (lot * 9 + n) % shape.bookings
            yield (
                lot * 10 + n + 1, stamps[booking], lot + 1, "picked", -1000, 20_000 - n * 1000,
                booking + 1,
            )  # fmt: skip


def _findings(shape: Shape) -> Iterator[tuple[Any, ...]]:
    words = ("passed", "passed", "failed", "passed", "renewed without a look")
    for n in range(shape.findings):
        found = words[n * 7 % 11 % 5]
        joint = n * 13 % shape.joints
        place = n % 2 * 3  # rings and clips are looked at
        yield (
            n + 1, n % shape.bookings + 1, joint // JOINTS + 1, f"joint-{joint % JOINTS}",
            f"place {place}", _part(joint, place, shape.parts), 1000, found,
            "hard" if found == "failed" else None, _stamp(_day(n)),
        )  # fmt: skip
