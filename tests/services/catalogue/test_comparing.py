"""How files differ from the database: every field told, nothing kept."""

from __future__ import annotations

import pytest
from full_catalogue import FULL
from services.catalogue.test_exporting import changes, written
from sqlalchemy import Engine

from helpers import load, source
from kitting.errors import FileProblemsError, StoreError
from kitting.services.catalogue.load import compare_sources, load_sources
from kitting.store import reading
from kitting.views.catalogue import ChangeOfThing, CompareView, FieldView, OriginView, PartView

ADDED, CHANGED, REMOVED = ChangeOfThing.ADDED, ChangeOfThing.CHANGED, ChangeOfThing.REMOVED
A = OriginView("A. Sample", "invented, page 1", "2", "free for all")


def differences(engine: Engine, text: str) -> CompareView:
    return compare_sources(engine, [source(text)])


def parts(engine: Engine, text: str) -> list[PartView]:
    return [part for thing in differences(engine, text).things for part in thing.parts]


def test_what_is_there_already_differs_in_nothing(store: Engine) -> None:
    load(store, FULL)
    view = differences(store, FULL)
    assert (view, view.differs) == (CompareView((), ()), False)


def test_in_an_empty_database_every_thing_is_new(store: Engine) -> None:
    view = differences(store, FULL)
    assert {one.change for one in view.things} == {ADDED}
    assert [(one.sort, one.code) for one in view.things] == [
        ("caution", "own-care"), ("fluid", "own-fluid"), ("system", "own-system"),
        ("licence", "own-licence"), ("tool", "own-tool"), ("kind", "own-kind"), ("item", "A"),
        ("item", "RING"), ("item", "SET"), ("item", "TUBE"), ("unit", "u"), ("model", "m"),
        ("vehicle", "AB 1"),
    ]  # fmt: skip
    with reading(store) as session:
        assert session.connection().exec_driver_sql("SELECT count(*) FROM unit").scalar() == 0


@pytest.mark.parametrize(
    ("old", "new", "place", "field", "was", "now"),
    [
        ("text: ask}", "text: ask twice}", (), "text", "ask", "ask twice"),
        ("name: own tool", "name: own puller", (), "name", "own tool", "own puller"),
        ("chance: 0.25", "chance: 0.5", (), "chance", "0.25", "0.5"),
        ("length: 30 mm", "length: 35 mm", (), "length", "30 mm", "35 mm"),
        ("shelf_life: 18 months\n", "\n", (), "shelf_life", "18 months", None),
        ("cure: 1 h 30 min", "cure: 2 h", (), "times.cure", "90 min", "120 min"),
        ("built_from: 2019-01-01", "built_from: 2019-02-01", ("variant s", "option a"),
         "built_from", "2019-01-01", "2019-02-01"),
        ("hottest: 110 °C", "hottest: 120 °C", ("joint j",), "temperature.hottest", "110 °C",
         "120 °C"),
        ("refit_limit: 2", "refit_limit: 3", ("joint j", "position bolts"), "refit_limit", "2",
         "3"),
        ("amount: 0.5 ml", "amount: 0.7 ml", ("joint j", "position bolts"), "lubricant.amount",
         "0.5 ml", "0.7 ml"),
        ("hours: 0.25 h", "hours: 0.3 h", ("step S1",), "hours", "0.25 h", "0.3 h"),
        ("timing: before", "timing: after", ("job X",), "services",
         "[{name: align, timing: before, licence: own-licence, option: t/2}]",
         "[{name: align, timing: after, licence: own-licence, option: t/2}]"),
        ("weight: 1420 kg kerb", "weight: 1425 kg kerb", (), "weight", "1420 kg kerb",
         "1425 kg kerb"),
    ],
)  # fmt: skip
def test_a_field_is_told_by_place_as_it_is_and_as_it_would_be(
    lite: Engine, old: str, new: str, place: tuple[str, ...], field: str, was: str, now: str | None
) -> None:
    assert FULL.count(old) == 1
    load(lite, FULL)
    assert parts(lite, FULL.replace(old, new)) == [
        PartView(place, CHANGED, (FieldView(field, was, now),))
    ]


def test_parts_that_a_unit_no_longer_names_are_removed_and_new_ones_added(lite: Engine) -> None:
    load(lite, FULL)
    text = FULL.replace("{code: k, name: K,", "{code: l, name: L,").replace(
        "opens: [k,", "opens: [l,"
    )
    assert parts(lite, text) == [
        PartView(("joint l",), ADDED, ()),
        PartView(("joint k",), REMOVED, ()),
        PartView(("step S2",), CHANGED, (FieldView(
            "opens", "[{joint: j, times: 2, reopened: 1}, k]",
            "[{joint: j, times: 2, reopened: 1}, l]"),)),
    ]  # fmt: skip


def test_another_order_of_parts_differs(lite: Engine) -> None:
    load(lite, FULL)
    moved = "      - {code: k, name: K, system: own-system}\n"
    text = FULL.replace(moved, "").replace("    joints:\n", f"    joints:\n{moved}")
    assert parts(lite, text) == [
        PartView(
            (), CHANGED, (FieldView("order of joints", "joint j, joint k", "joint k, joint j"),)
        )
    ]


def test_who_wrote_it_before_and_who_now_is_told_of_each_thing(store: Engine) -> None:
    load(store, FULL)
    other = FULL.replace("author: A. Sample", "author: B. Other").replace(
        "pack: 10 each", "pack: 5 each"
    )
    found = {(one.sort, one.code): one for one in differences(store, other).things}
    now = OriginView("B. Other", "invented, page 1", "2", "free for all")
    assert {(one.was, one.now) for one in found.values()} == {(A, now)}
    assert found["item", "A"].change is CHANGED
    assert found["unit", "u"].change is ChangeOfThing.ORIGIN
    assert differences(store, FULL).differs is False  # nothing was kept


def test_terms_of_trade_are_told_to_differ(store: Engine) -> None:
    supplier = (
        "suppliers: [{code: s, name: S, country: GB, currency: GBP, zone: Europe/London,"
        " cutoffs: ['16:00'], lead_days: 1, late_days: 2}]\n"
    )
    load(store, supplier)
    assert differences(store, supplier).differs is False
    view = differences(store, supplier.replace("16:00", "17:00"))
    assert (view.things, view.terms) == ((), ("suppliers",))


def test_a_fault_is_told_as_at_a_load(store: Engine) -> None:
    with pytest.raises(FileProblemsError):
        differences(store, "items: [{code: X, name: X, kind: o-rng}]")


def test_a_difference_is_told_exactly_where_a_load_would_change_something(lite: Engine) -> None:
    """A line of the written file left out, where it still is a catalogue."""
    load(lite, FULL)
    lines = written(lite).splitlines()
    seen = []
    for number in range(0, len(lines), 4):
        try:
            one = source("\n".join((*lines[:number], *lines[number + 1 :])))
            view = compare_sources(lite, [one])
        except (FileProblemsError, StoreError):
            continue
        report = load_sources(lite, [one], dry_run=True)
        assert view.differs is bool(report.tables or changes(report)), lines[number]
        seen.append(view.differs)
    assert seen.count(True) > 10
    assert False in seen
