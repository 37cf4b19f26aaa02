"""Seal maps by the services: every seal that goes in, its shape, and what is short of it."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from sqlalchemy import Engine

from helpers import ON, load, planned, unit
from kitting.facts.seal_shapes import SealShape
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.kit_sheets import pick_of
from kitting.services.bookings.seal_sheet import seals_of
from kitting.services.kit.seal_map import seal_map
from kitting.store import reading
from kitting.views.seal_map import HoleView, SealPlaceView

NOW = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001
ITEMS = """
  - {code: ORING, name: ring, kind: o-ring, elastomer: FKM, hardness: 75, ring_inside: 17 mm, ring_section: 2 mm}
  - {code: LIP, name: lip seal, kind: shaft-seal, elastomer: NBR}
  - {code: CU, name: washer, kind: copper-washer, ring_inside: 10 mm, ring_section: 1 mm}
  - {code: PAPER, name: gasket, kind: paper-gasket}
  - {code: EDGE, name: bonded, kind: bonded-washer}
"""


def places(engine: Engine) -> dict[str, SealPlaceView]:
    fits = ", ".join(
        f"{{item: {item}, position: p-{item}}}"
        for item in ("BOLT", "CU", "LIP", "PAPER", "EDGE", "ORING")
    )
    load(
        engine,
        unit(
            f"\n      - {{code: a, name: A, system: engine, fits: [{fits}]}}",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
            items=ITEMS,
        ),
    )
    plan = planned(engine, "PELL 001", "X1")
    with reading(engine) as session:
        (joint,) = seal_map(session, plan).joints
    return {place.label.content.item: place for place in joint.places}


def test_every_seal_of_a_joint_is_on_the_map_whatever_its_shape(lite: Engine) -> None:
    found = places(lite)
    assert {item: (place.shape, place.rubber) for item, place in found.items()} == {
        "ORING": (SealShape.OTHER, True),
        "LIP": (SealShape.SHAFT, True),
        "CU": (SealShape.WASHER, False),
        "PAPER": (SealShape.GASKET, False),
        "EDGE": (SealShape.WASHER, True),
    }
    assert found["CU"].hole == HoleView(10.0, 1.0)
    assert found["CU"].label.ring is None
    assert found["EDGE"].hole is None


def test_the_end_of_a_ring_has_a_code_of_its_own_and_another_seal_that_of_its_bag(
    lite: Engine,
) -> None:
    found = places(lite)
    assert found["ORING"].code == f"{found['CU'].code}-1"
    assert found["CU"].code.endswith("-01")


def test_the_map_of_a_booking_marks_what_its_pick_list_lacks_of_seals_and_counts_the_rest(
    lite_garage: Engine,
) -> None:
    jobs = ["J1", "J2", "J3"]
    book(lite_garage, BookingRequest("PELL 117", jobs, ON, "upper", again=True), NOW)
    with reading(lite_garage) as session:
        view, listed = seals_of(session, "B0002"), pick_of(session, "B0002")
    assert view.booking == "B0002"
    short = {line.content.item: line.lacks for line in view.short}
    assert short == {
        "RING-EPDM-17X2": 1000, "RING-FKM-17X2.5": 1000, "SEAL-CRANK-FRONT": 1000,
        "SEAL-INTAKE": 2000,
    }  # fmt: skip
    assert len(short) + view.also_short == len(listed.short_lines)
    # Of like seals so many are marked as are short, and no more.
    at_ends: Counter[str] = Counter()
    for joint in view.joints:
        for place in joint.places:
            at_ends[place.label.content.item] += place.label.short
    assert +at_ends == short
