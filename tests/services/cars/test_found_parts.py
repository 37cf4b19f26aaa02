"""What is found while a car is stripped: kept part by part, taken back, made a draft. Invented."""

from __future__ import annotations

import re
from datetime import datetime

import pytest
from sqlalchemy import Engine, select

from helpers import NOW, load, planned
from kitting.errors import FigureError, KittingError, UnknownNameError
from kitting.facts.found_fields import FoundField, asked_of, figures_with_source
from kitting.facts.words import ItemFamily
from kitting.services.cars.found_draft import draft_of_found
from kitting.services.cars.found_parts import found_parts, note_part, still_to_ask, take_back
from kitting.services.cars.owners import set_owner
from kitting.store import reading
from kitting.tables.cars import FoundPart
from kitting.tables.items import Item

CAR = "AB 123"
PLACE = {FoundField.JOINT: "rear hub left", FoundField.POSITION: "hub nut"}
NUT = PLACE | {
    FoundField.KIND: "HUB-NUT", FoundField.COUNT: "1", FoundField.THREAD: "M22x1.5",
    FoundField.HEAD: "hexagon 30 mm", FoundField.FIGURE: "180 N·m; +90°",
    FoundField.SOURCE: "page 12", FoundField.SEEN: "staked",
}  # fmt: skip


def test_a_part_is_kept_as_a_catalogue_reads_it(store: Engine) -> None:
    kept = note_part(store, CAR, NUT, NOW, "Ann")
    assert (kept.kind, kept.thread, kept.figure, kept.count) == (
        "hub-nut", "M22×1.5", "180 N·m; 90°", 1,
    )  # fmt: skip
    with reading(store) as session:
        view = found_parts(session, "ab123")
    assert (view.registration, view.found) == (CAR, (kept,))
    assert (kept.at, kept.told_by) == (NOW, "Ann")


@pytest.mark.parametrize(
    ("noted", "error", "message"),
    [
        ({FoundField.JOINT: "hub"}, KittingError, "a part needs its place: give position"),
        (PLACE | {FoundField.KIND: "hubnut"}, UnknownNameError, "Did you mean hub-nut"),
        (PLACE | {FoundField.COUNT: "none"}, FigureError, "'none'"),
        (PLACE | {FoundField.COUNT: "2 ml"}, FigureError, "is no number of pieces"),
        (PLACE | {FoundField.COUNT: "0"}, FigureError, "is no number of pieces"),
        (PLACE | {FoundField.THREAD: "22x1.5"}, FigureError, "is no thread"),
        (PLACE | {FoundField.FIGURE: "180"}, FigureError, "180"),
        (PLACE | {FoundField.FIGURE: "180 N·m"}, KittingError, "a figure needs its source"),
        (PLACE | {FoundField.SEEN: "a\tb"}, FigureError, "cannot be printed"),
        (PLACE | {FoundField.SEEN: "x" * 201}, FigureError, "longer than 200"),
    ],
)
def test_what_a_catalogue_could_not_take_is_refused_and_nothing_is_kept(
    store: Engine, noted: dict[FoundField, str], error: type[Exception], message: str
) -> None:
    with pytest.raises(error, match=message):
        note_part(store, CAR, noted, NOW)
    with reading(store) as session:
        assert session.scalars(select(FoundPart.id)).all() == []


def test_a_note_may_not_name_the_owner(garage: Engine) -> None:
    set_owner(garage, "PELL 117", "A. Sample", None, NOW)
    with pytest.raises(KittingError, match="names the owner of PELL 117"):
        note_part(garage, "PELL 117", PLACE | {FoundField.SEEN: "told by A. Sample"}, NOW)


def test_what_is_asked_follows_the_kind(store: Engine) -> None:
    with reading(store) as session:
        unknown = still_to_ask(session, {**PLACE, FoundField.KIND: None})
        threaded = still_to_ask(session, {**PLACE, FoundField.KIND: "hub-nut"})
        ring = still_to_ask(session, {**PLACE, FoundField.KIND: "o-ring"})
        figure = still_to_ask(
            session, {**PLACE, FoundField.KIND: "hub-nut", FoundField.FIGURE: "20 N·m"}
        )
    assert FoundField.SIZE not in threaded
    assert {FoundField.THREAD, FoundField.HEAD, FoundField.FIGURE} <= set(threaded)
    assert ring == (FoundField.COUNT, FoundField.SIZE, FoundField.SEEN)
    assert {*threaded, *ring} == set(unknown)
    assert FoundField.SOURCE in figure
    assert FoundField.SOURCE not in threaded
    assert FoundField.SOURCE not in asked_of((ItemFamily.RING, False))


def test_a_figure_without_a_source_is_only_seen() -> None:
    bare = PLACE | {FoundField.FIGURE: "180 N·m", FoundField.SEEN: "rust"}
    assert figures_with_source(bare) == PLACE | {
        FoundField.SEEN: "rust; figure without a source: 180 N·m"
    }
    assert figures_with_source(NUT) == NUT


def test_what_was_noted_by_mistake_is_taken_back_and_stays_on_record(store: Engine) -> None:
    first = note_part(store, CAR, NUT, NOW)
    second = note_part(store, CAR, PLACE | {FoundField.POSITION: "ring"}, NOW)
    take_back(store, CAR, first.number, datetime(2026, 4, 3, 8, 0))  # noqa: DTZ001
    with reading(store) as session:
        assert found_parts(session, CAR).found == (second,)
        assert len(session.scalars(select(FoundPart.id)).all()) == 2
    with pytest.raises(UnknownNameError, match=f"AB 123 has no note {first.number}. It has 2"):
        take_back(store, CAR, first.number, NOW)


def test_of_a_car_of_which_nothing_is_noted_near_ones_are_named(store: Engine) -> None:
    note_part(store, CAR, NUT, NOW)
    with (
        reading(store) as session,
        pytest.raises(UnknownNameError, match="Something is noted of AB 123"),
    ):
        found_parts(session, "AB 124")


def test_what_was_noted_last_of_a_place_goes_before_what_was_noted_first(store: Engine) -> None:
    note_part(store, CAR, NUT, NOW)
    later = {FoundField.JOINT: "Rear  hub left", FoundField.POSITION: "Hub nut"}
    note_part(store, CAR, later | {FoundField.COUNT: "2"}, NOW)
    with reading(store) as session:
        draft = draft_of_found(session, CAR, "axle")
    assert draft.text.count("position: hub nut") == 1
    assert "quantity: 2 each" in draft.text
    assert "thread:" in draft.text


def test_a_draft_that_was_filled_in_is_planned(store: Engine) -> None:
    note_part(store, CAR, NUT, NOW)
    ring = {FoundField.POSITION: "ring", FoundField.KIND: "o-ring", FoundField.COUNT: "1"}
    note_part(store, CAR, PLACE | ring | {FoundField.SIZE: "70 x 3"}, NOW)
    with reading(store) as session:
        text = draft_of_found(session, CAR, "rear-axle").text
    answers = {
        "system": "suspension",
        "hours": "1 h",
        "code": "kite",
        "name": "Kite",
        "model": "kite",
    }
    for key, answer in answers.items():
        text = text.replace(f"{key}:  # still unknown", f"{key}: {answer}  # was unknown")
    load(store, text)
    view = planned(store, CAR, "rear-axle-all")
    assert {line.item for line in view.lines} == {"REAR-HUB-LEFT-HUB-NUT", "REAR-HUB-LEFT-RING"}
    (figure,) = view.tightenings
    assert ([str(stage) for stage in figure.stages], figure.source) == (
        ["180 N·m", "90°"],
        "page 12",
    )
    assert view.verdict == "cannot be proven"  # the rubber of the ring is not known


def test_a_draft_takes_the_place_of_nothing_in_the_catalogue(garage: Engine) -> None:
    note_part(garage, "PELL 207", {FoundField.JOINT: "cap", FoundField.POSITION: "plug"}, NOW)
    with reading(garage) as session:
        items = set(session.scalars(select(Item.code)))
        with pytest.raises(KittingError, match="unit hask-d4 is in the catalogue already"):
            draft_of_found(session, "PELL 207", "HASK-D4")
        text = draft_of_found(session, "PELL 207", "own-cap").text
    assert "CAP-PLUG" in items
    assert re.findall("code: (CAP.*)", text) == ["CAP-PLUG-2"]


def test_a_draft_gives_no_code_of_a_step_or_job_that_is_there(store: Engine) -> None:
    load(
        store,
        "units: [{code: u, name: U, steps: [{code: Cap-Off, name: S, hours: 1 h}],"
        " jobs: [{code: OWN-ALL, name: J, needs: [Cap-Off]}]}]",
    )
    note_part(store, CAR, {FoundField.JOINT: "cap", FoundField.POSITION: "plug"}, NOW)
    with reading(store) as session:
        text = draft_of_found(session, CAR, "own").text
    assert "code: cap-off-2\n" in text
    assert "needs: [cap-off-2]" in text
    assert "code: own-all-2\n" in text


RING = {FoundField.JOINT: "Drain", FoundField.POSITION: "ring", FoundField.KIND: "o-ring"}


def draft_of(engine: Engine, *notes: dict[FoundField, str]) -> str:
    for noted in notes:
        note_part(engine, CAR, noted, NOW)
    with reading(engine) as session:
        return draft_of_found(session, CAR, "own").text


def test_notes_of_one_place_that_contradict_each_other_are_two_parts(store: Engine) -> None:
    other = {FoundField.JOINT: "drain", FoundField.POSITION: "ring", FoundField.SIZE: "20 x 2.5 mm"}
    first = RING | {FoundField.SIZE: "17.0x2,5", FoundField.COUNT: "1"}
    text = draft_of(store, first, other | {FoundField.KIND: "o-ring"})
    assert "ring_inside: 17 mm" in text
    assert "ring_inside: 20 mm" in text
    assert re.findall("position: (.*)", text) == ["ring", "ring 2"]
    assert "still unknown: one part or two, for note 1 has size 17.0x2,5 there" in text
    assert re.findall("quantity:(.*)", text)[0] == " 1 each"
    assert "how many there are" in re.findall("quantity:(.*)", text)[1]


def test_a_size_written_in_two_ways_is_one_size(store: Engine) -> None:
    text = draft_of(
        store, RING | {FoundField.SIZE: "17.0x2,5"}, RING | {FoundField.SIZE: "17 × 2.5 mm"}
    )
    assert text.count("ring_inside: 17 mm") == 1
    assert "one part or two" not in text


def test_what_a_later_note_says_otherwise_is_kept_as_a_remark(store: Engine) -> None:
    text = draft_of(store, RING | {FoundField.COUNT: "1"}, RING | {FoundField.COUNT: "2"})
    assert "quantity: 2 each" in text
    assert "# earlier: count 1" in text


def test_a_ring_thicker_than_its_hole_is_refused_and_guessed_by_nothing(store: Engine) -> None:
    with pytest.raises(KittingError, match="section comes after the inside"):
        note_part(store, CAR, RING | {FoundField.SIZE: "2.5 x 17 mm"}, NOW)
    size = {FoundField.SIZE: "2.5 x 17 mm"}
    place = {FoundField.JOINT: "Drain", FoundField.POSITION: "ring"}
    text = draft_of(store, place | size, RING)
    assert "ring_section: 17" not in text
    assert "# size: 2.5 x 17 mm" in text


@pytest.mark.parametrize("code", ["rear axle", "", "-x", "x" * 41])
def test_a_draft_needs_the_code_of_its_unit(store: Engine, code: str) -> None:
    note_part(store, CAR, NUT, NOW)
    with reading(store) as session, pytest.raises(FigureError, match="is no code of a unit"):
        draft_of_found(session, CAR, code)
