"""Reading catalogue files: every fault of shape at once, with line, reason and next step."""

from __future__ import annotations

from pathlib import Path

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from kitting.files.catalogue.source import parse_catalogue, read_catalogue

SHAPELESS = """\
items:
  - code: RING
    name: Ring
    kind: o-ring
    colur: green
  - {code: BOLT, name: Bolt, kind: bolt, head: hexagon 9.5 mm, thread: Q6}
  - {code: TUBE, name: Tube, kind: sealant, unit: litre, pack: 70}
  - {code: "bad code", name: X, kind: o-ring, elastomer: viton}
units:
  - code: grebe
    name: Grebe
    joints:
      - code: a
        name: A
        system: engine
        fits:
          - {item: BOLT, position: b1, tightening: {stages: [10], source: x}}
          - {item: BOLT, tightening: {stages: [10 N·m]}}
    steps:
      - {code: S1, name: One, hours: 1}
vehicles:
  - {registration: PELL 1, model: pell, vin: 1M8GDM9A0KP042788}
"""


def test_every_fault_of_shape_is_told_at_once_with_its_line() -> None:
    _, problems = parse_catalogue("x.yaml", SHAPELESS)
    told = [(p.line, p.thing.split(" › ")[-1], p.reason.split(";")[0]) for p in problems]
    assert told == [
        (5, "colur", "unknown key 'colur'"),
        (
            6,
            "head",
            "'hexagon 9.5 mm': hexagon does not come in 9.5 mm. Nearest: 9 mm, 10 mm, 8 mm",
        ),
        (6, "thread", "'Q6' is no thread"),
        (7, "unit", "'litre': known words are 'each', 'ml', 'g' or 'mm'"),
        (7, "pack", "'70' is a figure without unit"),
        (
            8,
            "code",
            "'bad code': a code has letters, digits and . _ / - only, and begins with a letter or a"
            " digit",
        ),
        (
            8,
            "elastomer",
            "'viton' is no elastomer code of ISO 1629",
        ),
        (17, "stages no. 1", "'10' is a figure without unit"),
        (18, "tightening", "stages without a source"),
        (20, "hours", "'1' is a figure without unit"),
        (
            22,
            "vin",
            "VIN '1M8GDM9A0KP042788' has '0' in position 9, but 'X' follows from the rest: a"
            " character was misread, compare it with the plate",
        ),
    ]
    assert problems[0].next_step == "Did you mean 'colour'?"
    assert problems[0].thing == "items RING › colur"
    assert str(problems[0]) == (
        "x.yaml:5: items RING › colur: unknown key 'colur'. Did you mean 'colour'?"
    )


@pytest.mark.parametrize(
    ("text", "line", "reason"),
    [
        ("items:\n  - {code: A\n", 3, "expected"),
        ("", 1, "it holds no sections"),
        ("just text", 1, "it holds no sections"),
        ("items: []\nitems: []\n", 2, "duplicate key"),
        ("items: [*nothing]", 1, "undefined alias"),
    ],
)
def test_text_that_is_no_catalogue_is_refused_with_its_line(
    text: str, line: int, reason: str
) -> None:
    found, problems = parse_catalogue("x.yaml", text)
    assert found is None
    assert problems[0].line == line
    assert reason in problems[0].reason


def test_yaml_1_2_reads_no_and_on_as_text() -> None:
    found, problems = parse_catalogue("x.yaml", "items: [{code: 'on', name: no, kind: o-ring}]")
    assert found is not None, problems
    assert found.catalogue.items[0].name == "no"


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"items: \x00"])
def test_a_file_that_is_not_text_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(content)
    found, problems = read_catalogue(path)
    assert found is None
    assert problems


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    _, (problem,) = read_catalogue(tmp_path / "none.yaml")
    assert problem.reason == "No such file or directory"


@examples(100, 600)
@given(st.text(max_size=80) | st.binary(max_size=80).map(lambda b: b.decode("latin-1")))
def test_any_text_is_read_or_refused_without_a_traceback(text: str) -> None:
    found, problems = parse_catalogue("x.yaml", text)
    assert (found is None) == bool(problems)


JSONISH = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                ["code", "name", "kind", "items", "fits", "unit", "hours", "rules", "x"]
            ),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@examples(70, 400)
@given(st.sampled_from(["items", "units", "vehicles", "kinds"]), JSONISH)
def test_any_structure_is_read_or_refused_without_a_traceback(section: str, value: object) -> None:
    import json

    found, problems = parse_catalogue("x.yaml", json.dumps({section: value}))
    assert (found is None) == bool(problems)


def test_days_that_cannot_be_are_told_with_their_lines() -> None:
    text = (
        "vehicles:\n"
        "  - {registration: A 1, model: m, build_date: 2026-02-30}\n"
        "  - {registration: A 2, model: m, build_date: 2026-13-01}\n"
    )
    found, problems = parse_catalogue("x.yaml", text)
    assert found is None
    assert [str(problem) for problem in problems] == [
        "x.yaml:2: vehicles A 1 › build_date: '2026-02-30': the calendar has no such day."
        " Correct this entry",
        "x.yaml:3: vehicles A 2 › build_date: '2026-13-01': the calendar has no such day."
        " Correct this entry",
    ]
    other = text.replace("2026-02-30", "13/02/2016").replace("2026-13-01", "2026-01-01")
    (problem,) = parse_catalogue("x.yaml", other)[1]
    assert (problem.line, problem.reason) == (
        2, "'13/02/2016': no date; write year-month-day, for example 2026-04-15",
    )  # fmt: skip
