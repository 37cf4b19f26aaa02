"""A database written as a catalogue file: nothing lost, nothing changed, always the same text."""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Union, get_args, get_origin

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel
from sqlalchemy import Engine

from conftest import Templates
from helpers import ON, load, planned, source
from kitting.errors import UnknownNameError
from kitting.files.catalogue.canonical import catalogue_text
from kitting.files.catalogue.document import Catalogue
from kitting.files.output.plain import as_plain
from kitting.services.catalogue.exporting.catalogue import exported
from kitting.services.catalogue.load import LoadReport, load_sources
from kitting.services.catalogue.setup import seeds
from kitting.services.planning.jobs import list_cars, list_jobs
from kitting.store import make_engine, reading

# Everything that the sections which are written can state, each at least once. All invented.
FULL = """
cautions: [{code: own-care, title: Care, also: [heed], text: "Take care: it is hot.", word: HOT}]
fluids: [{code: own-fluid, name: own fluid, also: [juice, sauce], medium: engine-oil, cautions: [own-care]}]
licences: [{code: own-licence, name: Own licence, also: [card], text: ask}]
systems: [{code: own-system, name: own system, also: [works], general_torque: false, cautions: [own-care], licences: [own-licence]}]
tools: [{code: own-tool, name: own tool, also: [gadget]}]
kinds:
  - code: own-kind
    name: own kind
    also: [thing, "thing, other"]
    family: fastener
    threaded: true
    general_torque: false
    rubber: touches
    locks_threads: true
    chance: 0.25
    classes: ["8.8", "10.9"]
    dry: [PTFE]
    tools: [own-tool]
    cautions: [own-care]
    systems: [own-system]
    rules:
      - {rule: inspect, criterion: whole, reference: own data, relaxed_by: maker}
      - {rule: renew, fluid: own-fluid, reference: own data}
      - {rule: renew, medium: engine-oil, system: own-system, reference: own data}
      - {rule: keep, source: workshop, reference: own policy}
items:
  - code: A
    name: "A: the first, and best"
    kind: own-kind
    pack: 10 each
    colour: black
    head: hexagon 17 mm
    thread: M12x1.25 LH
    length: 30 mm
    property_class: "10.9"
    bin: R1-01
    gtins: ["4006381333931", "06291041500213"]
    cautions: [own-care]
    rules: [{rule: renew, source: leaflet, criterion: if bent, reference: leaflet 1}]
    alternatives: [{item: RING, note: only there}, {item: TUBE}]
    replaced: {by: [{item: RING, quantity: 2 each}], old_stock: use up, since: 2031-01-01, note: later}
  - code: RING
    name: Ring
    kind: o-ring
    elastomer: FKM
    hardness: 75
    ring_inside: 17 mm
    ring_section: 2.5 mm
    shelf_life: 18 months
    sold_singly: false
    media: [{medium: engine-oil, rating: suitable, source: maker, reference: sheet 3}]
  - {code: SET, name: Set, kind: o-ring, contents: [{item: RING, quantity: 3 each}]}
  - code: TUBE
    name: Tube
    kind: sealant
    unit: ml
    pack: 70 ml
    nozzle_waste: 2.5 ml
    opened_life: 60 days
    shelf_life: 2 years
    medium: engine-oil
    times: {open: 10 min, cure: 1 h 30 min, laying: 1.5 m/min, at: 23 °C, source: sheet 4}
units:
  - code: u
    name: U
    splits:
      - code: s
        question: Which?
        check: Look.
        options:
          - {code: a, name: a, built_from: 2019-01-01, seen: a rib}
          - {code: b, name: b, built_before: 2019-01-01}
          - {code: c, name: c, equipment: sunroof}
          - {code: d, name: d, without: sunroof}
      - code: t
        question: Which pads?
        check: Offer both.
        settled_by: customer
        options: [{code: "1", name: one}, {code: "2", name: two}]
    joints:
      - code: j
        name: J
        system: own-system
        fluids: [own-fluid, engine-oil]
        cautions: [own-care]
        temperature: {hottest: 110 °C, source: measured}
        near: [paint]
        front: top
        seen_from: above
        order: [2, 1]
        fits:
          - item: A
            position: bolts
            quantity: 2 each
            group: g
            heat: hot
            refit_limit: 2
            lubricant: {item: TUBE, amount: 0.5 ml, source: maker, reference: page 1, cars_own: true}
            recess: 5 mm
            access: side
            protrusion: 3 mm
            into: aluminium
            engagement: 16 mm
            holes: [[0, 0], [10.5, -3]]
            tightening: {stages: [20 N·m, 4 ± 0.3 N·m, "+90°", "-45°"], thread: oiled, stage_order: in turn, source: page 2}
            rules: [{rule: renew, source: maker, criterion: always, reference: page 3}]
          - {item: RING, position: groove, end: upper, option: s/a, fluids: [engine-oil], lubricant: dry}
          - {item: A, position: words, tightening: {stages: [10 lbf·ft], pattern: crosswise, source: page 4}}
          - {item: A, position: unknown, tightening: {thread: dry}}
        uses:
          - {item: TUBE, bead: {diameter: 3 mm, length: 1.64 m}, option: s/b, note: once round}
          - {item: TUBE, film: {area: 6500 mm², thickness: 0.1 mm}}
          - {item: TUBE, drops: {thread: M8 x 1.25, threads: 4}}
      - {code: k, name: K, system: own-system}
    steps:
      - {code: S1, name: one, hours: 0.25 h, tools: [own-tool], cautions: [own-care], licence: own-licence}
      - code: S2
        name: two
        hours: 1.2 h
        option: s/c
        needs: [S1]
        opens: [k, {joint: j, times: 2, reopened: 1}]
        uses: [{item: TUBE, amount: 3.5 ml}]
    jobs:
      - code: X
        name: X
        needs: [S2]
        renews: [{kind: own-kind}, {item: RING}, {joint: j, position: bolts}]
        services: [{name: align, timing: before, licence: own-licence, option: t/2}]
models:
  - {code: m, name: M, units: [u], fluids: [{fluid: own-fluid, medium: gear-oil, lubricant: TUBE, reference: book}]}
vehicles:
  - registration: AB 1
    model: m
    vin: 1M8GDM9AXKP042788
    build_date: 2020-02-03
    weight: 1420 kg kerb
    fluids: [{fluid: own-fluid, medium: engine-oil, reference: plate}]
    equipment: {sunroof: true, tow-bar: false}
    units: [u]
    settled: {u/s: a}
    history: [{joint: u/j, position: bolts, on: 2024-05-06, outcome: renewed}]
"""
# Written by other fields of the same entry, or expanded before the shapes are checked.
WRITTEN_OTHERWISE = {
    "Fit.positions", "Fit.role", "Use.role", "Joint.sides", "Joint.like", "Joint.parts",
    "Step.sides", "KindRule.any_of", "AnyOf.fluids", "AnyOf.media", "AnyOf.systems",
}  # fmt: skip
NOT_WRITTEN = {"branches", "suppliers"}  # terms of trade of one garage


def changes(report: LoadReport) -> dict[str, tuple[int, int, int]]:
    found = {
        sort: (count.added, count.changed, count.removed) for sort, count in report.counts.items()
    }
    return {sort: some for sort, some in found.items() if any(some)}


def written(engine: Engine, *units: str, cars: bool = True) -> str:
    with reading(engine) as session:
        sections = exported(session, units, everything=not units, cars=cars)
    return catalogue_text(sections, ["a test"])


def values_of(node: Any) -> Iterator[tuple[str, object]]:
    """Every field of every entry of a catalogue that is not as it is left out."""
    if isinstance(node, BaseModel):
        for name, field in type(node).model_fields.items():
            value = getattr(node, name)
            if value != field.get_default(call_default_factory=True):
                yield f"{type(node).__name__}.{name}", value
            yield from values_of(value)
    elif isinstance(node, tuple | list):
        for one in node:
            yield from values_of(one)


def models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    if get_origin(annotation) in (Union, types.UnionType) or get_args(annotation):
        for one in get_args(annotation):
            yield from models_in(one)


def fields_of(model: type[BaseModel], seen: set[type[BaseModel]]) -> Iterator[str]:
    if model in seen:
        return
    seen.add(model)
    for name, field in model.model_fields.items():
        if model is Catalogue and name in NOT_WRITTEN:
            continue
        yield f"{model.__name__}.{name}"
        for inner in models_in(field.annotation):
            yield from fields_of(inner, seen)


def test_the_full_catalogue_states_every_field_there_is() -> None:
    stated = {name for name, _ in values_of(source(FULL).catalogue)}
    every = set(fields_of(Catalogue, set()))
    assert every - stated - {f"Catalogue.{name}" for name in NOT_WRITTEN} == WRITTEN_OTHERWISE


def test_every_field_is_written_and_read_back_as_it_was(store: Engine) -> None:
    load(store, FULL)
    text = written(store)
    assert changes(load(store, text)) == {}
    assert written(store) == text


def test_what_was_written_makes_the_same_database_of_an_empty_one(
    lite: Engine, templates: Templates, elsewhere: Path
) -> None:
    load(lite, FULL)
    text = written(lite)
    other = make_engine(templates.copy("sqlite", "empty", elsewhere))
    try:
        load(other, text)
        assert written(other) == text
    finally:
        other.dispose()


def test_the_demo_garage_loads_again_without_a_change(garage: Engine) -> None:
    text = written(garage)
    assert changes(load(garage, text)) == {}
    assert written(garage) == text


@pytest.fixture
def elsewhere(tmp_path: Path) -> Path:
    """A folder for a second database."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    return folder


def plans(engine: Engine) -> Mapping[str, object]:
    """Every job of every car, planned by itself."""
    with reading(engine) as session:
        asked = [
            (car.registration, job.code)
            for car in list_cars(session)
            for job in list_jobs(session, car.registration, ON)
        ]
    return {f"{car} {job}": as_plain(planned(engine, car, job)) for car, job in asked}


def test_the_demo_garage_makes_the_same_plans_of_an_empty_database(
    lite_garage: Engine, templates: Templates, elsewhere: Path
) -> None:
    text = written(lite_garage)
    other = make_engine(templates.copy("sqlite", "empty", elsewhere))
    try:
        # The policy of the demo workshop for kinds of the program is no part of what is written.
        load_sources(other, seeds(["demo_items.yaml"]))
        load(other, text)
        expected = plans(lite_garage)
        assert len(expected) > 20
        assert plans(other) == expected
    finally:
        other.dispose()


def test_a_unit_brings_what_it_names_and_no_car(store: Engine) -> None:
    load(store, FULL + "")
    load(store, "items: [{code: ALONE, name: Alone, kind: o-ring, elastomer: NBR}]")
    catalogue = source(written(store, "u", cars=False)).catalogue
    assert {item.code for item in catalogue.items} == {"A", "RING", "SET", "TUBE"}
    assert [model.code for model in catalogue.models] == ["m"]
    assert catalogue.vehicles == ()
    assert {kind.code for kind in catalogue.kinds} == {"own-kind"}
    everything = source(written(store, cars=False)).catalogue
    assert "ALONE" in {item.code for item in everything.items}


def test_an_unknown_unit_is_told_by_name(store: Engine) -> None:
    load(store, FULL)
    with reading(store) as session, pytest.raises(UnknownNameError, match="unit 'uu': unknown"):
        exported(session, ["uu"])


TEXTS = st.text(
    st.characters(categories=["L", "N", "P", "S", "Zs"], exclude_characters="\x85"), min_size=1,
    max_size=40,
).filter(lambda text: text.strip() == text)  # fmt: skip


@given(TEXTS, TEXTS, TEXTS)
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_text_comes_back_as_it_was(lite: Engine, one: str, two: str, three: str) -> None:
    sections = {
        "items": [{"code": "T", "name": one, "kind": "o-ring", "colour": two}],
        "units": [
            {"code": "u", "name": three, "joints": [
                {"code": "j", "name": one, "system": "engine",
                 "fits": [{"item": "T", "position": two, "end": three}]}]}
        ],
    }  # fmt: skip
    load(lite, catalogue_text(sections, ["a test"]))
    with reading(lite) as session:
        again = exported(session, ["u"])
    item, (unit,) = again["items"][0], again["units"]
    assert (item["name"], item["colour"], unit["name"]) == (one, two, three)
    assert unit["joints"][0]["fits"][0] == {"item": "T", "position": two, "end": three}
