"""Figures that nothing in a workshop has are refused by name, in words of the trade."""

from __future__ import annotations

import pytest

from kitting.files.catalogue.source import parse_catalogue

ITEM = "items:\n  - {code: THING, name: thing, kind: o-ring, unit: ml, %s}\n"
FIT = (
    "units:\n  - code: u\n    name: U\n    joints:\n      - {code: a, name: A, system: engine,"
    " fits: [{item: THING, position: p, %s}]}\n"
)
USE = FIT.replace("fits: [{item: THING, position: p, %s}]", "uses: [{item: THING, %s}]")
CAR = "vehicles:\n  - {registration: C 1, model: m, %s}\n"


@pytest.mark.parametrize(
    ("text", "entry", "told"),
    [
        (ITEM, "opened_life: 99999999999 days", "'99999999999 days' is out of reason for how long an opened pack keeps: 1 day to 10 years are known"),
        (ITEM, "shelf_life: 99999999999 months", "'99999999999 months' is out of reason for a shelf life: 1 month to 50 years"),
        (ITEM, "ring_inside: 17 m, ring_section: 2 mm", "'17 m' is out of reason for the inside of a ring"),
        (ITEM, "ring_inside: 17 mm, ring_section: 2 m", "'2 m' is out of reason for the section of a ring"),
        (ITEM, "times: {open: 900 days, source: x}", "'900 days' is out of reason for an open time"),
        (ITEM, "times: {cure: 900 days, source: x}", "'900 days' is out of reason for a cure time"),
        (FIT, "recess: 5 m", "'5 m' is out of reason for the depth of a recess"),
        (FIT, "protrusion: 5 m", "'5 m' is out of reason for how far a stud stands out"),
        (USE, "bead: {diameter: 3 mm, length: 500000 m}", "'500000 m' is out of reason for the length of a bead"),
        (USE, "film: {area: 65 cm², thickness: 1 m}", "'1 m' is out of reason for the thickness of a film"),
        (USE, "film: {area: 999999 cm², thickness: 0.1 mm}", "'999999 cm²' is out of reason for the area of a film"),
        (CAR, "build_date: 2999-01-01", "'2999-01-01' is out of reason for a date: years 1885 to 2099"),
        (CAR, "history: [{joint: u/a, position: p, on: 0001-01-01, outcome: renewed}]", "'0001-01-01' is out of reason for a date"),
        (ITEM, "pack: 0 ml", "'0 ml' comes to nothing"),
        (ITEM, "contents: [{item: X, quantity: 0 each}]", "'0 each' comes to nothing"),
        (ITEM, "replaced: {by: [{item: X, quantity: 0 each}], old_stock: scrap}", "'0 each' comes to nothing"),
        (FIT, "lubricant: {item: X, amount: 0 ml}", "'0 ml' comes to nothing"),
        (FIT, "quantity: 0 each", "'0 each' comes to nothing"),
        (USE, "amount: 0 ml", "'0 ml' comes to nothing"),
        (FIT, "quantity: 0.5 each", "'0.5 each' is no whole number of pieces"),
        (USE, "amount: 1.5 each", "'1.5 each' is no whole number of pieces"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_its_line(text: str, entry: str, told: str) -> None:
    whole = text % entry
    found, problems = parse_catalogue("x.yaml", whole)
    assert found is None
    (problem,) = problems
    assert problem.line == whole.count("\n")
    assert told in problem.reason


@pytest.mark.parametrize(
    ("text", "entry", "told"),
    [
        (CAR, "build_date: 2016-02-30", "vehicles C 1 › build_date: '2016-02-30': the calendar has no such day"),
        (CAR, 'build_date: "2016-02-30"', "the calendar has no such day"),
        (CAR, "build_date: 2016-13", "'2016-13': no date; write year-month-day, for example 2026-04-15"),
        (ITEM, "unit: litre", "'litre': known words are 'each', 'ml', 'g' or 'mm'"),
        (ITEM, "bin: ''", "it is empty; write something, or leave it out"),
        (ITEM, "cautions: [a b]", "'a b': a code has letters, digits and . _ / - only, and begins with a letter or a digit"),
        (ITEM, "medium: 5", "5"),
        (ITEM, "hardness: 500", "'500': at most 100 was expected"),
        (ITEM, "hardness: 5", "'5': at least 20 was expected"),
        (ITEM, "hardness: 70.5", "'70.5': a whole number was expected"),
        (ITEM, "replaced: {by: [], old_stock: scrap}", "at least 1 entry was expected, not 0"),
        (FIT, "holes: [[1]]", "entry no. 2 is missing. Add it"),
        (FIT, "holes: [[1, 2, 3]]", "at most 2 entries were expected, not 3"),
        (FIT, "holes: [[1, x]]", "'x': a number was expected"),
        (FIT, "lubricant: {item: X}", "fits p › lubricant: 'amount' is missing"),
        ("branches:\n  - {code: a, name: a, %s}\n", "country: gb", "'gb': two capital letters were expected, as in GB (ISO 3166)"),
        ("branches:\n  - {code: a, name: a, %s}\n", "currency: pound", "'pound': three capital letters were expected, as in GBP (ISO 4217)"),
    ],
)  # fmt: skip
def test_a_fault_of_shape_is_told_in_words_of_the_trade(text: str, entry: str, told: str) -> None:
    if entry.startswith("unit:"):
        text = text.replace("unit: ml, ", "")
    found, problems = parse_catalogue("x.yaml", text % entry)
    assert found is None
    said = [str(problem) for problem in problems]
    assert any(told in one for one in said), said
    for one in said:
        assert not any(raw in one for raw in ("should", "Tuple", "String", "Input", "valid"))
        assert "function-after" not in one
        assert "literal[" not in one
