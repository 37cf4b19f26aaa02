"""Odd figures, left-hand threads and commas are told wherever the figure stands."""

from __future__ import annotations

import re

import pytest
from bench import CAR, FAULT, ON, Bench

# By position, what of its remark has to be read wherever its figure is.
ODD = {
    "u1b.yaml": {
        "b": "96 N·m takes a thread of M8 beyond its yield point even of class 12.9",
        "c": "960 N·m cannot be checked: no thread is stated",
        "d": "60 N·m takes a M8 bolt of class 8.8, dry, beyond its yield point",
        "f": "2.5 N·m is very little for M8",
    },
    "u1c.yaml": {
        "g": "990° in all is more than a whole turn",
        "g2": "stage 2 (20 N·m) is less than stage 1 (60 N·m)",
        "h": "150 N·m takes a thread of M10 beyond its yield point even of class 12.9",
        "i": "250 N·m takes a thread of M14×1.5 beyond its yield point even of class 8.8",
        "k": "100 N·m takes a thread of M10×1 beyond its yield point even of class 8.8",
        "w": "120 lbf·in is very little for M14×1.5",
    },
}


@pytest.mark.parametrize("name", ODD)
def test_c9_figures_of_another_unit_are_remarked_on_at_load_plan_and_sheet(
    bench: Bench, name: str
) -> None:
    loaded = bench.load(name).said
    told = bench.run("plan", CAR, "J", *ON).said
    _, sheet = bench.sheet("tighten", CAR, "J", *ON)
    _, labels = bench.sheet("labels", CAR, "J", *ON)
    for position, remark in ODD[name].items():
        if position == "c":
            assert "cannot be checked, since no thread is stated: u/j 'c'" in loaded
        else:
            assert f"u/j '{position}': {remark}" in loaded
        assert remark in told
        assert remark.replace(" ", "") in sheet
    assert "ODDFIGURE" in sheet
    assert "ODDFIGURE" in labels


@pytest.mark.parametrize("name", ODD)
def test_c9_each_remark_belongs_to_its_own_figure(bench: Bench, name: str) -> None:
    bench.load(name)
    tightenings = bench.plan("J")["tightenings"]
    assert {one["position"] for one in tightenings} == set(ODD[name])
    assert all(len(one["remarks"]) == 1 for one in tightenings), tightenings


def test_c9_a_figure_that_would_break_the_bolt_is_refused_with_what_it_may_have_been(
    bench: Bench,
) -> None:
    refused = bench.run("load", "u1.yaml")
    assert refused.code == FAULT
    for line, told in {
        15: "96 N·m would break a M6 bolt of class 8.8",
        19: "25 kgf·m would break a M8 bolt of class 8.8",
        21: "600 N·m would break a M10 bolt of class 10.9",
    }.items():
        assert f"u1.yaml:{line}: " in refused.err
        assert told in refused.said
    assert "Was it 96 lbf·in" in refused.said
    assert "3 faults; nothing was loaded" in refused.err


def test_c9_a_tolerance_in_degrees_of_a_torque_is_refused(bench: Bench) -> None:
    refused = bench.run("load", "t.yaml")
    assert (refused.code, "t.yaml:15: " in refused.err) == (FAULT, True)
    assert "20 N·m ±2°" in refused.said
    bench.load(bench.changed("t.yaml", ("20 N·m ±2°", "9 N·m ± 1 N·m")))
    (figure,) = bench.plan("J")["tightenings"]
    assert [(s["torque"]["figure"], s["tolerance"]) for s in figure["stages"]] == [("9", "1")]


def test_five_bolts_on_a_circle_are_tightened_across_it(bench: Bench) -> None:
    bench.load("p5.yaml")
    (figure,) = bench.plan("J")["tightenings"]
    _, text = bench.sheet("tighten", CAR, "J", *ON)
    # Each next hole of a star of five is two places on, so that no two in succession are neighbours.
    assert "1-3-5-2-4" in text
    assert [stage["torque"]["figure"] for stage in figure["stages"]] == ["9"]


def test_a_left_hand_thread_is_told_on_plan_sheet_and_bag(bench: Bench) -> None:
    bench.load("t1.yaml")
    told = {one["position"]: one["left_hand"] for one in bench.plan("J")["tightenings"]}
    assert [position for position, left in told.items() if left] == ["left"]
    screen = bench.run("plan", CAR, "J", *ON, "--full").out.partition("\nTIGHTEN")[2]
    assert screen.partition("\nTOOLS")[0].count("LEFT-HAND THREAD") == 1
    for sheet in ("tighten", "labels"):
        _, text = bench.sheet(sheet, CAR, "J", *ON)
        assert "LEFT-HANDTHREAD" in text, sheet


def test_every_stage_of_a_left_hand_thread_says_so_on_whatever_page_it_falls(
    bench: Bench,
) -> None:
    figures = [f"{10 + n / 100:.2f}" for n in range(1, 41)]
    stages = ", ".join(f"{figure} N·m" for figure in figures)
    one = "position: left, tightening: {stages: ["
    bench.load(bench.changed("t1.yaml", (f"{one}22 N·m", f"{one}{stages}")))
    _, text = bench.sheet("tighten", CAR, "J", *ON)
    pages = [part for part in text.split("\f") if re.search(r"10\.\d+N·m", part)]
    assert len(pages) >= 3
    for page in pages:
        told = re.split(r"(?<!OVERLEAF:)(?<!THREAD,)STAGE\d+of40", page)[1:]
        assert told
        assert all(stage.startswith("LEFT-HANDTHREAD") for stage in told), page


ITEMS = "items: [{code: R, name: ring, kind: %s}]\n"


@pytest.mark.parametrize(
    ("entry", "written", "meant"),
    [
        ("o-ring, ring_inside: 20 mm, ring_section: 2,5 mm", "2,5 mm", "2.5 mm"),
        ("o-ring, ring_inside: 20 mm, ring_section: 2,5", "2,5", "2.5"),
        # The first half of a pitch is a thread by itself.
        ("bolt, thread: M8x1,25", "M8x1,25", "M8x1.25"),
    ],
)
def test_a_figure_that_a_comma_cut_in_braces_is_named_whole(
    bench: Bench, entry: str, written: str, meant: str
) -> None:
    refused = bench.run("load", bench.write("ring.yaml", ITEMS % entry))
    assert refused.code == FAULT
    assert "unknown key" not in refused.said
    assert f"{written!r} has a comma, and inside braces a comma begins another entry" in refused.said  # fmt: skip
    assert f"Write {meant!r}" in refused.said
    assert "1 fault; nothing was loaded" in refused.err


def test_a_figure_in_a_list_that_a_comma_cut_is_named_whole(bench: Bench) -> None:
    stages = ("tightening: {stages: [19.999 N·m]", "tightening: {stages: [8,5 N·m]")
    refused = bench.run("load", bench.changed("t1.yaml", stages))
    assert refused.code == FAULT
    assert "If it is one figure, write '8.5 N·m'" in refused.said


@pytest.mark.parametrize("written", ["[40, +90]", "[40, 90]", "[40,90]", "[40, 90°]"])
def test_a_torque_and_an_angle_without_units_are_never_called_one_figure(
    bench: Bench, written: str
) -> None:
    stages = ("tightening: {stages: [19.999 N·m]", f"tightening: {{stages: {written}")
    refused = bench.run("load", bench.changed("t1.yaml", stages))
    assert refused.code == FAULT
    assert "one figure" not in refused.said
    assert "40.90" not in refused.said
    assert "'40 N·m' or '40 lbf·in' for a torque, '40°' for an angle" in refused.said


def test_a_comma_between_two_good_entries_is_no_fault(bench: Bench) -> None:
    bench.load(bench.write("ring.yaml", ITEMS % "o-ring, ring_inside: 20 mm, ring_section: 2 mm"))
