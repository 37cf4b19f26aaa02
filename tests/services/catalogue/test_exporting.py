"""A database written as a catalogue file: nothing lost, nothing changed, always the same text."""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Union, get_args, get_origin

import pytest
from full_catalogue import FULL
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel
from sqlalchemy import Engine, select

from conftest import Templates
from helpers import ON, load, planned, said, source
from kitting.errors import UnknownNameError
from kitting.files.catalogue.canonical import catalogue_text
from kitting.files.catalogue.document import Catalogue
from kitting.files.output.plain import as_plain
from kitting.services.catalogue.exporting.catalogue import export_remarks_of, exported
from kitting.services.catalogue.load import LoadReport, load_sources
from kitting.services.catalogue.setup import seeds
from kitting.services.planning.jobs import list_cars, list_jobs
from kitting.store import make_engine, reading
from kitting.tables.units import Unit

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


def test_each_unit_of_the_demo_loads_into_an_empty_database(
    garage: Engine, templates: Templates, elsewhere: Path
) -> None:
    with reading(garage) as session:
        units = list(session.scalars(select(Unit.code)))
    for number, unit in enumerate(units):
        folder = elsewhere / str(number)
        folder.mkdir()
        other = make_engine(templates.copy("sqlite", "empty", folder))
        try:
            load(other, written(garage, unit, cars=False))
        finally:
            other.dispose()


STEPS_OF_OTHERS = """
units:
  - code: engine
    name: Engine
    steps: [{code: E1, name: engine, hours: 1 h, needs: [B1]}]
  - code: body-a
    name: Body
    steps: [{code: B1, name: body, hours: 1 h}]
    jobs: [{code: J, name: job, needs: [R1]}]
  - {code: body-b, name: Body, steps: [{code: B1, name: body, hours: 1 h}]}
  - {code: rest, name: Rest, steps: [{code: R1, name: rest, hours: 1 h}]}
  - {code: roof, name: Roof}
models:
  - {code: a, name: A, units: [engine, body-a, rest]}
  - {code: more, name: More, units: [rest, roof]}
  - {code: none, name: None, units: [roof]}
"""


def test_units_that_the_work_needs_go_along_and_models_left_out_are_told(store: Engine) -> None:
    load(store, STEPS_OF_OTHERS)
    with reading(store) as session:
        sections = exported(session, ["engine"])
        assert [one["code"] for one in sections["units"]] == ["engine", "body-a", "rest"]
        assert [one["code"] for one in sections["models"]] == ["a"]
        assert said(export_remarks_of(session, ["ENGINE"])) == [
            "also written, since steps of it are needed: body-a, rest",
            "model more is not written: it also carries roof. Name these too, or let the other"
            " garage add the units to a model of its own",
        ]


def test_a_step_of_units_on_no_common_model_takes_each_of_them_along(store: Engine) -> None:
    load(store, STEPS_OF_OTHERS.replace("units: [engine, body-a, rest]", "units: [engine]"))
    with reading(store) as session:
        sections = exported(session, ["engine"])
    assert [one["code"] for one in sections["units"]] == ["engine", "body-a", "body-b", "rest"]


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


def test_words_of_the_program_go_along_where_they_say_something_else(store: Engine) -> None:
    load(store, FULL)
    with reading(store) as session:
        before = exported(session, (), everything=True)
    assert "brakes" not in {one["code"] for one in before.get("cautions", ())}
    assert "brake-fluid" not in {one["code"] for one in before.get("fluids", ())}
    load(store, "fluids: [{code: brake-fluid, name: brake fluid, medium: petroleum-grease}]")
    with reading(store) as session:
        after = exported(session, (), everything=True)
        unit = exported(session, ["u"])
    assert {one["code"] for one in after["fluids"]} == {"brake-fluid", "own-fluid"}
    assert {one["code"] for one in unit["fluids"]} == {"own-fluid"}
