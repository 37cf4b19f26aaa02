"""What is said of entries as a newcomer writes them: the whole text, word for word."""

from __future__ import annotations

from pathlib import Path

import pytest

from kitting.files.catalogue.source import parse_catalogue, read_catalogue

ITEM = "items:\n  - {code: A, name: A, kind: bolt, %s}\n"
CAR = "vehicles:\n  - {registration: C 1, model: m, %s}\n"
FIT = """\
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: s
        fits:
          - {item: B, position: p, %s}
"""
OF_FIT = "x.yaml:9: units u › joints j › fits p"
CODE = (
    "a code has letters, digits and . _ / - only, and begins with a letter or a digit; put a dash"
    " for a space. Correct this entry"
)


def said(text: str) -> list[str]:
    found, problems = parse_catalogue("x.yaml", text)
    assert found is None
    return [str(problem) for problem in problems]


@pytest.mark.parametrize(
    ("text", "entry", "told"),
    [
        (FIT, "lubricant: {item: X}", f"{OF_FIT} › lubricant: 'amount' is missing. Add 'amount: …'"),
        (FIT, "lubricant: {item: X, amount: 1 ml, source: maker}", f"{OF_FIT} › lubricant: give source and reference together. Correct this entry"),
        (FIT, "group: front pads", f"{OF_FIT} › group: 'front pads': {CODE}"),
        (FIT, "group: ''", f"{OF_FIT} › group: it is empty; write something, or leave it out. Correct this entry"),
        (FIT, "group: [a]", f"{OF_FIT} › group: text was expected; put it in quotes. Correct this entry"),
        (FIT, "tightening: {stages: [20-25 N·m], source: x}", f"{OF_FIT} › tightening › stages 20-25 N·m: '20-25 N·m' is a range; write the figure that the maker says to set, with its tolerance; where only the range is published, '22.5 ± 2.5 N·m' says the same. Correct this entry"),
        (FIT, "tightening: {stages: [2,5 N·m], source: x}", f"{OF_FIT} › tightening › stages no. 1: '2' is a figure without unit; write as published, for example '2 N·m' or '2 lbf·in' for a torque, '2°' for an angle. If it is one figure, write '2.5 N·m'"),
        (FIT, "recess: 20-25 mm", f"{OF_FIT} › recess: '20-25 mm' is a range, and one figure is needed; write the figure that holds, as in '17.0 mm' or '0.5 in'. Correct this entry"),
        (ITEM, "ring_section: 2,5 mm", "x.yaml:2: items A › ring_section: '2,5 mm' has a comma, and inside braces a comma begins another entry. Write '2.5 mm'; a text goes in quotes"),
        (ITEM, "ring_section: '2,5 mm'", "x.yaml:2: items A › ring_section: '2,5 mm' has a comma in its figure; write a point: '2.5 mm'. Correct this entry"),
        (ITEM, "ring_inside: '1,250 mm'", "x.yaml:2: items A › ring_inside: '1,250 mm' has a comma in its figure; write '1250 mm' or '1.25 mm', whichever it is. Correct this entry"),
        (ITEM, "ring_section: '0,125 in'", "x.yaml:2: items A › ring_section: '0,125 in' has a comma in its figure; write a point: '0.125 in'. Correct this entry"),
        (ITEM, "head: 17mm", "x.yaml:2: items A › head: '17mm' is a size, and does not say of which profile; write 'hexagon 17 mm' or 'twelve-point 17 mm' or 'hexagon socket 17 mm' or 'square 17 mm' or 'square socket 17 mm', whichever it is. Correct this entry"),
        (ITEM, "head: hex 17", "x.yaml:2: items A › head: 'hex 17' is no head known here; write 'hexagon 17 mm' or 'hexagon socket 17 mm', whichever it is. Correct this entry"),
        (ITEM, "head: hexagon 17", "x.yaml:2: items A › head: 'hexagon 17' is a size without unit; write for example 'hexagon 17 mm'. Correct this entry"),
        (ITEM, "opened_life: 6 months", "x.yaml:2: items A › opened_life: '6 months' is no time in days, for months and years have no fixed number of days; write days or weeks, for example '60 days'. Correct this entry"),
        (ITEM, "elastomer: viton", "x.yaml:2: items A › elastomer: 'viton' is no elastomer code of ISO 1629; people mean FKM by it (fluorocarbon rubber). Write FKM where the packet or its data sheet says so; a trade name is not a material. Correct this entry"),
        (ITEM, "elastomer: nitrile", "x.yaml:2: items A › elastomer: 'nitrile' is no elastomer code of ISO 1629; people mean NBR by it (acrylonitrile-butadiene rubber (nitrile)). Write NBR where the packet or its data sheet says so; a trade name is not a material. Correct this entry"),
        (ITEM, "elastomer: silicone", "x.yaml:2: items A › elastomer: 'silicone' is no elastomer code of ISO 1629; people mean VMQ by it (silicone rubber). Write VMQ where the packet or its data sheet says so; a trade name is not a material. Correct this entry"),
        (ITEM, "elastomer: NRB", "x.yaml:2: items A › elastomer: 'NRB' is no elastomer code of ISO 1629. Write the one that the packet or its data sheet names: NR, NBR look like it, and each is a rubber of its own. A colour or a trade name is not a material. Correct this entry"),
        (CAR, "weigth: 5", "x.yaml:2: vehicles C 1 › weigth: unknown key 'weigth'. Did you mean 'weight'?"),
        (CAR, "mass: 5", "x.yaml:2: vehicles C 1 › mass: unknown key 'mass'. Known here: registration, model, vin, build_date, weight, fluids, equipment, units, settled, history"),
        (CAR, "equipment: {tow bar: true}", f"x.yaml:2: vehicles C 1 › equipment › tow bar: 'tow bar': {CODE}"),
        (CAR, "build_date: 2016-02", "x.yaml:2: vehicles C 1 › build_date: '2016-02': a month, and a day is needed; write the day only if it is on record. Without the day leave this entry out: what it decides is then open, not guessed"),
        (CAR, "build_date: 02/2016", "x.yaml:2: vehicles C 1 › build_date: '02/2016': a month, and a day is needed; write the day only if it is on record. Without the day leave this entry out: what it decides is then open, not guessed"),
        (CAR, "build_date: Feb 2016", "x.yaml:2: vehicles C 1 › build_date: 'Feb 2016': a month, and a day is needed; write the day only if it is on record. Without the day leave this entry out: what it decides is then open, not guessed"),
        (CAR, "build_date: 2016", "x.yaml:2: vehicles C 1 › build_date: '2016': a year, and a day is needed; write the day only if it is on record. Without the day leave this entry out: what it decides is then open, not guessed"),
        (CAR, "build_date: 14.02.2016", "x.yaml:2: vehicles C 1 › build_date: '14.02.2016': no date; write year-month-day, for example 2026-04-15. Correct this entry"),
    ],
)  # fmt: skip
def test_an_entry_is_refused_with_its_cause_and_what_to_write(
    text: str, entry: str, told: str
) -> None:
    assert said(text % entry) == [told]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("items:\n\t- {code: A}\n", 2),
        ("items:\n  - code: A\n\tname: B\n", 3),
        ("items:\n  - code: A\n    name:\tB\n    kind: bolt\n", 3),
    ],
)
def test_a_tab_is_named_with_its_line(text: str, line: int) -> None:
    assert said(text) == [
        f"x.yaml:{line}: YAML: a tab stands here, where YAML takes spaces only. Put spaces in the"
        " place of tabs, as many as the lines beside it have"
    ]


ACCENTED = "items:\n  - {code: A, name: Gehäuse, kind: bolt}\n"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (
            ACCENTED.encode("cp1252"),
            ":2: file: this line is no text in UTF-8: its accents or money signs are of another"
            " coding, such as Windows-1252",
        ),
        (
            ACCENTED.encode("utf-16-le"),
            ":1: file: it seems to be UTF-16 without the mark at its start that says so",
        ),
        (
            ACCENTED.encode("utf-16")[:-1],
            ":2: file: this line is no text in UTF-16, which the file says it is: it is damaged or"
            " cut short",
        ),
    ],
    ids=["Windows-1252", "UTF-16 without its mark", "UTF-16 cut short"],
)
def test_another_coding_is_named_with_its_line(tmp_path: Path, content: bytes, told: str) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(content)
    found, problems = read_catalogue(path)
    assert found is None
    assert [str(problem).removeprefix(f"{tmp_path}/x.yaml") for problem in problems] == [
        f"{told}. Save the file as UTF-8 (a spreadsheet may call it CSV UTF-8), and read it again"
    ]


def test_a_build_month_that_is_left_out_leaves_the_car_as_it_is() -> None:
    found, problems = parse_catalogue("x.yaml", CAR % "units: [u]")
    assert found is not None, problems
    assert found.catalogue.vehicles[0].build_date is None


WRONG = """\
units:
  - code: my unit
    name: U
    steps:
      - {code: A 1, name: off, hours: 1 h, opens: [j 1]}
      - {code: A2, name: off, hours: 1 h, needs: [A 1], opens: [j 1]}
    jobs: [{code: J 1, name: J, needs: [A 1, A2]}]
    joints: [{code: j 1, name: J, system: s}]
"""


def test_a_code_that_is_wrong_is_one_fault_however_often_it_stands_there() -> None:
    told = said(WRONG)
    assert [line.partition(": a code has")[0] for line in told] == [
        "x.yaml:2: units my unit › code: 'my unit'",
        "x.yaml:5: units my unit › steps A 1 › code: 'A 1'",
        "x.yaml:7: units my unit › jobs J 1 › code: 'J 1'",
        "x.yaml:8: units my unit › joints j 1 › code: 'j 1'",
    ]
    assert [line.partition(" for a space. ")[2] for line in told] == [
        "Correct this entry",
        "Correct it here, and at the 2 other places where it stands",
        "Correct this entry",
        "Correct it here, and at the 2 other places where it stands",
    ]
    assert not any("^" in line or "[A-Z" in line for line in told)


@pytest.mark.parametrize(
    "entry",
    [
        "jobs: [{code: J/1, name: J, needs: [A]}]",
        "splits: [{code: J/1, question: Q, check: C, options: [{code: a, name: A}, {code: b, name: B}]}]",
    ],
)  # fmt: skip
def test_a_code_that_the_command_line_cannot_take_is_refused(entry: str) -> None:
    (told,) = said(f"units:\n  - code: u\n    name: U\n    {entry}\n")
    assert told.partition("code: ")[2] == (
        "'J/1': no '/' can stand in the code of a job or a variant: where it is asked for,"
        " UNIT/CODE names its unit; write for example J-1. Correct this entry"
    )
