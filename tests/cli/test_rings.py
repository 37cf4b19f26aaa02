"""Commands about rings: what is asked from which end, exit codes, JSON keys, errors."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
FIND = {
    "item", "inside", "section", "error", "fitted_before", "groove", "bore", "width", "depth", "purpose",
    "sizes", "near_misses", "decider", "items", "not_the_same",
}  # fmt: skip
GLAND = {
    "size", "purpose", "section", "section_tolerance", "inside", "inside_tolerance", "groove",
    "shallowest", "deepest", "width", "swell", "squeeze", "stretch", "fill", "verdicts", "within",
}  # fmt: skip
MEASURED = ("--inside", "17.4 mm", "--section", "2.45 mm")
PLACE = ("--groove", "17.2 mm", "--bore", "21.3 mm")
DEPTHS = ("--shallowest", "2.79 mm", "--deepest", "2.95 mm")


def test_groove_and_bore_find_what_suits_and_say_what_rules_the_others_out(
    run: Run, garage_folder: Path
) -> None:
    ended = run("rings", "find", *PLACE, "--width", "3.4 mm")
    assert ended.code == 0, ended.err
    text = " ".join(ended.out.split())
    assert "Gland of 17.2 in 21.3 mm: 2.05 mm deep, width 3.4 mm, static" in text
    assert "AS568-115, 17.12 × 2.62 mm" in text
    assert "is above 5 %" in text
    assert "the maker's part number and gland drawing decide" in text


def test_the_same_gland_with_a_moving_piston_has_no_item_and_ends_with_3(
    run: Run, garage_folder: Path
) -> None:
    ended = run("rings", "find", *PLACE, "--moving")
    assert ended.code == 3
    assert "No item of the catalogue suits this gland" in ended.out


def test_an_item_is_found_again_and_its_green_twin_of_another_rubber_told_apart(
    run: Run, garage_folder: Path
) -> None:
    ended = run("rings", "find", "--item", "RING-FKM-10.8X1.8")
    assert ended.code == 0, ended.err
    assert "6 in upper" in ended.out
    text = " ".join(ended.out.split())
    assert (
        "RING-HNBR-10.8X1.8: same size, NOT the same ring: HNBR 70 instead of FKM 75" in text
    )  # fmt: skip


def test_an_item_that_is_free_nowhere_ends_with_3(run: Run, garage_folder: Path) -> None:
    ended = run("rings", "find", "--item", "RING-FKM-17.12X2.62")
    assert ended.code == 3
    assert "None of this ring is free in any branch." in ended.out


def test_a_used_ring_always_defers_to_groove_and_bore(run: Run, garage_folder: Path) -> None:
    for more in ((), PLACE):
        ended = run("rings", "find", "--used", *MEASURED, *more, "--json")
        found = json.loads(ended.out)
        assert found["fitted_before"] is True
        assert found["decider"]["what"] == "groove and bore"
        assert found["decider"]["reason"]["code"] in ("used, two sizes", "used, in a gland")
    assert found["sizes"][0]["size"] == "17 × 2.5 mm of the catalogue"
    assert found["depth"] == pytest.approx(2.05)


@pytest.mark.parametrize(
    "words", [MEASURED, PLACE, (*MEASURED, *PLACE), ("--item", "RING-FKM-17X2.5")]
)
def test_the_keys_of_find_are_the_same_from_every_end(
    run: Run, garage_folder: Path, words: tuple[str, ...]
) -> None:
    found = json.loads(run("rings", "find", *words, "--json").out)
    assert set(found) == FIND
    for item in (*found["items"], *found["not_the_same"]):
        assert set(item) == {
            "item", "name", "inside", "section", "elastomer", "hardness", "colour", "stock", "gland",
            "measured", "borrowed", "differs",
        }  # fmt: skip


def test_a_gland_within_guidance_names_every_source_and_leaves_unknown_what_was_not_given(
    run: Run, empty_folder: Path
) -> None:
    ended = run("rings", "gland", "--size", "214", *DEPTHS)
    assert ended.code == 0, ended.err
    assert "squeeze 14.0 to 23.1 %" in ended.out
    assert "fill unknown: no width given" in ended.out
    assert "stretch unknown: no groove given" in ended.out
    assert "Apple Rubber Seal Design Guide" in ended.out
    assert "the maker's gland drawing decides" in ended.out


def test_a_worst_case_out_of_guidance_ends_with_3_and_says_which(
    run: Run, empty_folder: Path
) -> None:
    ended = run("rings", "gland", "--size", "214", *DEPTHS, "--for", "reciprocating")
    assert ended.code == 3
    assert (
        "OUT: squeeze 23.1 % (the thickest section in the shallowest gland) is above 20 %"
        in " ".join(ended.out.split())
    )


def test_swelling_can_fill_a_gland_that_was_wide_enough(run: Run, empty_folder: Path) -> None:
    words = ("rings", "gland", "--size", "214", *DEPTHS, "--width", "4.6 mm", "--json")
    dry, swollen = run(*words), run(*words, "--swell", "15")
    assert (dry.code, swollen.code) == (0, 3)
    plain, more = json.loads(dry.out), json.loads(swollen.out)
    assert set(plain) == set(more) == GLAND
    assert plain["stretch"] is None
    assert (plain["inside"], plain["inside_tolerance"]) == (24.99, 0.25)
    assert more["fill"]["most"] == pytest.approx(plain["fill"]["most"] * 1.15)
    (broken,) = [one["broken"] for one in more["verdicts"] if one["broken"] and one["decides"]]
    assert [round(one.pop("value"), 1) for one in broken] == [92.7]
    case = {"code": "thickest section, shallowest gland"}
    assert broken == [{"code": "above", "share": "fill", "case": case, "limit": 85.0}]


def test_a_typed_inside_has_a_tolerance_of_its_own(run: Run, empty_folder: Path) -> None:
    words = (
        "rings", "gland", "--section", "3.53 mm", "--tolerance", "0.10 mm", *DEPTHS, "--inside",
        "24.99 mm", "--groove", "25.5 mm", "--json",
    )  # fmt: skip
    borrowed = json.loads(run(*words).out)
    given = json.loads(run(*words, "--inside-tolerance", "0.1 mm").out)
    assert (borrowed["inside_tolerance"], given["inside_tolerance"]) == (0.25, 0.1)
    assert round(borrowed["stretch"]["most"], 2) == 3.07
    assert round(given["stretch"]["most"], 2) == 2.45


def test_the_set_is_told_with_its_caution(run: Run, empty_folder: Path) -> None:
    words = ("rings", "set", "--new", "2.50 mm", "--used", "2.24 mm", "--depth", "1.95 mm")
    assert run(*words).out.splitlines() == [
        "compression set 47 %",
        "A limit of a material test is no limit for going back on: renew a static ring.",
    ]
    assert set(json.loads(run(*words, "--json").out)) == {
        "new_section", "used_section", "depth", "compression_set",
    }  # fmt: skip


def test_a_set_that_no_ring_can_have_is_refused_and_nothing_is_printed(run: Run) -> None:
    found = run("rings", "set", "--new", "2.50 mm", "--used", "1.20 mm", "--depth", "1.95 mm")
    assert (found.code, found.out) == (1, "")
    assert "a set of more than 100 %" in " ".join(found.err.split())


@pytest.mark.parametrize(
    "words",
    [
        ("--new", "2.5 in", "--used", "2.24 mm", "--depth", "1.95 mm"),
        ("--new", "2.5 mm", "--used", "2.24 mm", "--depth", "0.077 mm"),
    ],
)
def test_a_slip_of_the_unit_is_no_set_and_names_both_lengths(
    run: Run, words: tuple[str, ...]
) -> None:
    found = run("rings", "set", *words)
    assert (found.code, found.out) == (1, "")
    told = " ".join(found.err.split())
    assert "which no gland does: one of the two is in another unit" in told
    assert ("63.5 mm" in told and "1.95 mm" in told) or ("2.5 mm" in told and "0.077 mm" in told)


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (("find",), 2, "give --inside and --section, or --groove and --bore, or --item"),
        (("find", "--inside", "17 mm"), 2, "half a size finds the wrong ring"),
        (("find", "--groove", "17 mm"), 2, "give --groove and --bore together"),
        (("find", "--used"), 2, "belong to a measured ring"),
        (("find", *MEASURED, "--moving"), 2, "belong to a gland"),
        (("find", "--item", "X", "--used"), 2, "--item takes size"),
        (("find", "--item", "X", "--elastomer", "FKM"), 2, "--item takes size"),
        (("find", "--item", "RING-FKM-17X2"), 1, "of another side, size or rubber"),
        (("find", "--item", "BOLT-HEX-M8X30"), 1, "it cannot be compared as a ring"),
        (("find", "--groove", "17 mm", "--bore", "16 mm"), 1, "check which is which"),
        (("find", "--inside", "17", "--section", "2 mm"), 1, "figure without unit"),
        (("find", *MEASURED, "--elastomer", "green"), 1, "no elastomer code"),
        (("gland", *DEPTHS), 2, "give --section, or --size"),
        (("gland", *DEPTHS, "--size", "214", "--section", "3 mm"), 2, "give no other"),
        (("gland", *DEPTHS, "--size", "999"), 1, "no dash number"),
        (("gland", *DEPTHS, "--size", "214", "--for", "turning"), 2, "reciprocating"),
        (("gland", *DEPTHS, "--size", "214", "--swell", "5"), 2, "give --width"),
        (("gland", *DEPTHS, "--section", "3 mm", "--inside", "9 mm"), 2, "needs both"),
        (("gland", *DEPTHS, "--section", "3 mm", "--tolerance", "4 mm"), 1, "cannot be 4 mm off"),
        (("gland", "--shallowest", "3 mm", "--deepest", "2 mm", "--size", "214"), 1, "shallowest"),
        (("set", "--new", "2 mm", "--used", "2 mm", "--depth", "3 mm"), 1, "shallower"),
    ],
)  # fmt: skip
def test_what_is_missing_or_contradictory_is_told_in_a_sentence(
    run: Run, garage_folder: Path, words: tuple[str, ...], code: int, message: str
) -> None:
    ended = run("rings", *words)
    assert ended.code == code, ended
    assert message in " ".join(ended.err.replace("│", " ").split())
    assert "Traceback" not in ended.err


def test_a_tolerance_that_nobody_states_is_that_of_the_standard_section(run: Run) -> None:
    """AS568: ±0.08 mm at 2.62 mm, ±0.10 at 3.53, ±0.15 at 6.99 (SAE AS568, as568.csv)."""
    for section, tolerance in (("2.62", 0.08), ("3.53", 0.10), ("6.99", 0.15)):
        depth = f"{float(section) * 0.8:.2f} mm"
        words = ("--section", f"{section} mm", "--shallowest", depth, "--deepest", depth)
        view = json.loads(run("rings", "gland", *words, "--json").out)
        assert view["section_tolerance"] == tolerance


def test_a_ring_that_a_turning_shaft_stretches_is_asked_about(run: Run) -> None:
    words = ("--section", "3.53 mm", "--shallowest", "3.4 mm", "--deepest", "3.4 mm")
    shaft = ("--inside", "24.99 mm", "--groove", "25.5 mm")
    ended = run("rings", "gland", *words, *shaft, "--for", "rotary")
    assert ended.code == 3
    told = ended.out.replace("\n", " ")
    assert "ASK: stretch" in told
    assert "from memory: ask the maker" in told
    assert "OUT: stretch" not in told


def test_a_groove_that_a_ring_hardly_fills_is_remarked_where_a_ring_is_searched(
    run: Run, garage_folder: Path
) -> None:
    place = ("--groove", "17.2 mm", "--bore", "21.3 mm", "--json")
    fits = json.loads(run("rings", "find", *place, "--width", "3.4 mm").out)
    empty = json.loads(run("rings", "find", *place, "--width", "300 mm").out)
    for view, remarked in ((fits, False), (empty, True)):
        told = view["items"][0]["gland"]["remarks"]
        assert [(one["share"], one["limit"]) for one in told] == [("fill", 60)] * remarked
    plain = run("rings", "find", *place[:-1], "--width", "300 mm").out
    assert "off advice only: fill" in " ".join(plain.split())


def test_a_measured_ring_says_how_far_off_it_may_be_taken(run: Run, garage_folder: Path) -> None:
    ended = run("rings", "find", "--inside", "17.5 mm", "--section", "2.4 mm", "--used")
    assert "17.5 × 2.4 mm, measured used, each ±0.1 mm" in ended.out
    assert (ended.code, "RING-FKM-17X2.5" in ended.out) == (0, True)
