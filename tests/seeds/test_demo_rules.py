"""Tightenings, stated rules and cars of the demo garage."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pytest
from catalogues import CATALOGUE_FILES, read

from helpers import preload
from kitting.facts.threads import proof_load
from kitting.files.catalogue.document import Fit, Tightening, Unit
from kitting.files.catalogue.item_shapes import Item
from kitting.files.catalogue.vocabulary_shapes import Kind
from kitting.files.catalogue.work_shapes import Step

CATALOGUES = [read(name) for name in CATALOGUE_FILES]
ITEMS: dict[str, Item] = {i.code: i for c in CATALOGUES for i in c.items}
KINDS: dict[str, Kind] = {k.code: k for c in CATALOGUES for k in c.kinds}
UNITS: dict[str, Unit] = {u.code: u for c in CATALOGUES for u in c.units}
STEPS: dict[str, Step] = {s.code: s for u in UNITS.values() for s in u.steps}
JOBS = {j.code: j for u in UNITS.values() for j in u.jobs}


def fits() -> Iterator[tuple[str, Fit]]:
    for unit in UNITS.values():
        for part in unit.joints:
            for fit in part.fits:
                yield f"{unit.code}/{part.code}", fit


def threaded() -> Iterator[tuple[str, Fit, Tightening | None]]:
    for place, fit in fits():
        if KINDS[ITEMS[fit.item].kind].threaded:
            yield place, fit, fit.tightening


def test_only_the_bleed_screws_have_no_figure() -> None:
    unknown = [(place, fit.item) for place, fit, how in threaded() if how is None or not how.stages]
    assert unknown == [
        ("pell-front-brakes/caliper-left", "SCREW-BLEED-M8"),
        ("pell-front-brakes/caliper-right", "SCREW-BLEED-M8"),
    ]


def test_every_figure_says_that_it_is_invented() -> None:
    sources = {how.source for _, _, how in threaded() if how is not None and how.stages}
    assert sources == {"demo figure, invented"}


def test_no_torque_loads_a_bolt_beyond_its_proof_load() -> None:
    # T = K·F·d with K 0.20 (a usual nut factor, from memory); proof loads ISO 898-1:2013.
    checked = {}
    for place, fit, how in threaded():
        item = ITEMS[fit.item]
        if item.thread is None or item.property_class is None or how is None:
            continue
        largest = max(s.torque.newton_metres for s in how.stages if s.torque is not None)
        force = preload(float(largest), float(item.thread.diameter), 0.20)
        checked[place, fit.item] = force / proof_load(item.thread, item.property_class)
    assert len(checked) >= 12
    assert {place: share for place, share in checked.items() if not 0.1 < share < 1} == {}


def spoken(code: str, item: str) -> dict[str, str]:
    """Who says what of an item in a joint UNIT/JOINT: its leaflet and the position's own rules."""
    said = {rule.source: rule.rule for rule in ITEMS[item].rules}
    for place, fit in fits():
        if place == code and fit.item == item:
            said |= {rule.source: rule.rule for rule in fit.rules}
    return said | {"general": KINDS[ITEMS[item].kind].rules[0].rule}


@pytest.mark.parametrize(
    ("place", "item", "said"),
    [
        (
            "grebe-4t/intake",
            "SEAL-INTAKE",
            {"general": "inspect", "leaflet": "inspect", "maker": "renew"},
        ),
        (
            "grebe-4t/rear-pipe-heater",
            "HOSE-HEATER",
            {"general": "inspect", "workshop": "inspect", "maker": "keep"},
        ),
        (
            "pell-gearbox/cooler-lines",
            "CLIP-LINE",
            {"general": "inspect", "workshop": "renew", "maker": "inspect"},
        ),
        (
            "pell-front-brakes/caliper-left",
            "BOLT-GUIDE-M8X25",
            {"general": "renew", "leaflet": "inspect"},
        ),
        (
            "hask-d4/pump-banjos",
            "WASHER-CU-12X16",
            {"general": "renew", "leaflet": "inspect"},
        ),
    ],
)
def test_sources_disagree_so_that_there_is_a_why_to_tell(
    place: str, item: str, said: dict[str, str]
) -> None:
    assert spoken(place, item) == said


def test_every_statement_of_the_demo_says_that_it_is_invented() -> None:
    rules = [
        *(r for i in ITEMS.values() for r in i.rules),
        *(r for _, f in fits() for r in f.rules),
    ]
    assert {rule.reference for rule in rules} == {
        "demo maker's instruction (invented)",
        "demo workshop policy (invented)",
        "demo leaflet in the packet (invented)",
    }


def test_the_cars_of_the_demo() -> None:
    cars = {v.registration: v for c in CATALOGUES for v in c.vehicles}
    assert {r: (v.model, v.build_date, v.vin) for r, v in cars.items()} == {
        "PELL 042": ("pell", None, None),
        "PELL 117": ("pell", date(2021, 3, 14), None),
        "PELD 207": ("pell-d", date(2020, 9, 30), None),
        "TANS 311": ("tansy", date(2022, 2, 7), None),
        "LINN 230": ("linnet", None, None),
        "LINN 114": ("linnet", None, None),
    }


def test_history_names_positions_that_exist_and_one_nut_has_reached_its_limit() -> None:
    positions = {(place, p): f.refit_limit for place, f in fits() for p in f.all_positions}
    history = [r for c in CATALOGUES for v in c.vehicles for r in v.history]
    assert [r for r in history if (r.joint, r.position) not in positions] == []
    refitted = [(r.joint, r.position) for r in history if r.outcome == "refitted"]
    assert refitted == [("grebe-4t/heat-shields", "front shield, nut 1")]
    assert positions[refitted[0]] == 1
