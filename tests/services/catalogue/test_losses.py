"""A load tells what it takes away and what it makes another thing. All invented."""

from __future__ import annotations

from sqlalchemy import Engine

from helpers import NOW, load, said
from kitting.files.pictures import Picture
from kitting.services.cars.add import CarEntry, add_car
from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.photos import Shows, add_photo
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.demo import FILES

OWN = """
items:
  - {code: CAP-PLUG, name: Own cap, kind: drain-plug, thread: M14x1.5, head: hexagon 17 mm}
  - {code: SEAL, name: Seal, kind: o-ring, ring_inside: 17 mm, ring_section: 2.5 mm}
units:
  - code: own
    name: Own
    joints: [{code: cap, name: Cap, system: engine, fits: [{item: CAP-PLUG, position: plug}]}]
    steps: [{code: CAP, name: Cap off, hours: 1 h, opens: [cap]}]
    jobs: [{code: OWN, name: Own job, needs: [CAP]}]
  - {code: box, name: Box}
models: [{code: pell, name: Pell, units: [own, box]}]
vehicles: [{registration: PELL 1, model: pell, units: [own]}]
"""
OTHERS = """
items:
  - {code: CAP-PLUG, name: Own cap, kind: o-ring, ring_inside: 20 mm, ring_section: 3 mm}
  - {code: SEAL, name: Seal, kind: o-ring, ring_inside: 17 mm, ring_section: 2.5 mm, elastomer: FKM}
units: [{code: box, name: Box}]
models: [{code: pell, name: Other pell, units: [box]}]
vehicles: [{registration: PELL 1, model: pell}]
"""


def test_what_another_file_takes_over_is_named(store: Engine) -> None:
    load(store, OWN)
    assert said(load(store, OTHERS).remarks) == [
        "item CAP-PLUG was described otherwise before: kind was drain-plug, is o-ring; thread was"
        " M14×1.5, is not stated; head was hexagon 17 mm, is not stated",
        "model pell was described otherwise before: name was Pell, is Other pell",
        "model pell no longer carries unit own. Jobs that go with it: OWN",
        "car PELL 1 no longer carries unit own. Jobs that go with it: OWN",
    ]


def test_what_a_unit_loses_is_named(store: Engine) -> None:
    load(store, OWN)
    assert said(load(store, "units: [{code: own, name: Own}]").remarks) == [
        "unit own no longer has job OWN, step CAP, joint cap"
    ]


def test_many_are_counted_after_some(store: Engine) -> None:
    items = "items: [" + ", ".join(f"{{code: I{n}, name: A, kind: KIND}}" for n in range(23)) + "]"
    load(store, items.replace("KIND", "o-ring"))
    told = said(load(store, items.replace("KIND", "paper-gasket")).remarks)
    assert len(told) == 21
    assert told[-1] == "3 others of sort item were described otherwise before"


def test_photos_of_what_goes_are_told_and_kept(store: Engine) -> None:
    load(store, OWN)
    for position in (None, "plug"):
        add_photo(store, Picture(b"jpeg", 8, 8), Shows(joint="own/cap", position=position), NOW)
    other = OWN.replace("position: plug", "position: lid")
    assert said(load(store, other).remarks) == [
        "photo 2 is of own/cap 'plug', which is gone: it stays, but no sheet shows it"
    ]
    told = said(load(store, "units: [{code: own, name: Own}]").remarks)
    assert "photo 1 is of own/cap, which is gone: it stays, but no sheet shows it" in told


def test_nothing_is_lost_by_loading_again_or_by_what_is_added(
    garage: Engine, store: Engine
) -> None:
    again = load_sources(garage, seeds((*GENERAL, *FILES)), dry_run=True).remarks
    assert [one for one in said(again) if "before" in one or "no longer" in one] == []
    load(store, OWN)
    assert (
        said(
            load(
                store, OWN.replace("mm}\n  - {code: SEAL", "mm, length: 30 mm}\n  - {code: SEAL")
            ).remarks
        )
        == []
    )


def test_a_car_of_another_model_is_told_once(store: Engine) -> None:
    other = "models: [{code: kite, name: Kite, units: [box]}]\nvehicles: [{registration: CAR, model: kite}]"
    load(store, OWN.replace("PELL 1", "OWN 1"))
    add_car(store, CarEntry("TOLD 1", model="pell"), NOW)
    for registration, told in (
        ("OWN 1", "vehicle OWN 1 was described otherwise before: model was pell, is kite"),
        ("TOLD 1", "TOLD 1: the file states model kite, told at the garage was pell"),
    ):
        found = said(load(store, other.replace("CAR", registration)).remarks)
        assert [one for one in found if "kite" in one] == [one for one in found if told in one]
        assert len([one for one in found if told in one]) == 1


def test_a_position_that_takes_another_item_or_figure_is_told(store: Engine) -> None:
    figure = ", tightening: {stages: [20 N·m, 90°], source: a page}"
    with_figure = OWN.replace("position: plug}", f"position: plug{figure}}}")
    load(store, with_figure)
    other = with_figure.replace("item: CAP-PLUG", "item: SEAL").replace("20 N·m, 90°", "30 N·m")
    place = "position own/cap 'plug' was described otherwise before"
    assert [one for one in said(load(store, other).remarks) if one.startswith("position")] == [
        f"{place}: item was CAP-PLUG, is SEAL; stage 1 was 20 N·m, is 30 N·m; stage 2 was 90°, is"
        " not stated"
    ]
