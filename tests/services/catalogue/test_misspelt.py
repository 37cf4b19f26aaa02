"""One slip in a good catalogue: read as meant, refused, or plainly another thing that was written.

What the error says to write is written as a machine would: the file then means what it meant, or
is still refused. It never comes to mean a third thing, and no name of another side, size or rubber
is ever proposed.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Literal

from examples import examples
from hypothesis import assume, given
from hypothesis import strategies as st

from kitting.errors import Problem
from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.source import parse_catalogue
from kitting.services.catalogue.check import check
from kitting.services.catalogue.known_names import Known

TEMPLATE = """\
cautions:
  - {{code: hot, title: Hot, text: Let it cool.}}
fluids:
  - {{code: brake-fluid, name: Brake fluid, medium: glycol-brake-fluid, cautions: [hot]}}
systems:
  - {{code: brakes, name: Brakes, general_torque: false}}
  - {{code: brackets, name: Brackets}}
kinds:
  - {{code: o-ring, name: Ring, family: ring, rubber: made of, rules: [{{rule: renew}}]}}
  - {{code: x-ring, name: Ring, family: ring, rubber: made of, rules: [{{rule: renew}}]}}
  - {{code: bolt, name: Bolt, family: fastener, threaded: true, rules: [{{rule: inspect, criterion: whole}}]}}
  - {{code: grease, name: Grease, family: consumable}}
items:
  - {{code: RING-FKM-17X2, name: R, kind: o-ring, elastomer: FKM, ring_inside: {inside}, ring_section: {section}, hardness: 70}}
  - {{code: RING-EPDM-17X2, name: R, kind: o-ring, elastomer: EPDM, ring_inside: {inside}, ring_section: {section}}}
  - {{code: RING-EPDM-14X2, name: R, kind: x-ring, elastomer: EPDM, shelf_life: 7 years}}
  - code: HOSE-L
    name: H
    kind: o-ring
    elastomer: EPDM
    ring_inside: {inside}
    ring_section: {section}
  - {{code: HOSE-R, name: H, kind: o-ring, elastomer: EPDM}}
  - {{code: BOLT-M8X25, name: B, kind: bolt, thread: M8 x 1.25, head: hexagon 13 mm, length: {length}}}
  - {{code: BOLT-M8X35, name: B, kind: bolt, thread: M8 x 1.25, property_class: "8.8", length: {length}}}
  - {{code: BRACKET-FRONT, name: B, kind: bolt, thread: M10 x 1.5}}
  - {{code: BRACKET-REAR, name: B, kind: bolt, thread: M10 x 1.5}}
  - {{code: PASTE, name: P, kind: grease, unit: ml, pack: {pack}, opened_life: 60 days, nozzle_waste: 0.5 ml}}
units:
  - code: axle
    name: Axle
    splits:
      - {{code: arm, question: Which arm?, check: Look., options: [
          {{code: wide, name: Wide, built_from: 2016-02-14}}, {{code: slim, name: Slim, built_before: 2016-02-14}}]}}
    joints:
      - code: caliper
        name: Caliper
        sides: [left, right]
        system: brakes
        fluids: [brake-fluid]
        fits:
          - {{item: RING-EPDM-17X2, position: groove, lubricant: {{item: PASTE, amount: {amount}, source: maker, reference: r}}}}
          - item: {{left: HOSE-L, right: HOSE-R}}
            position: hose
          - {{item: BOLT-M8X25, position: bolts, quantity: 2 each, tightening: {{stages: [{torque}, 90°], source: r}}}}
        uses:
          - {{item: PASTE, amount: {{left: 1.5 ml, right: 2.5 ml}}}}
      - code: arm
        name: Arm
        system: brackets
        fits:
          - {{item: BOLT-M8X35, position: bolt, option: arm/wide, recess: {length}}}
          - {{item: BRACKET-FRONT, position: front, quantity: 1 each}}
          - {{item: BRACKET-REAR, positions: [rear, rear upper]}}
    steps:
      - {{code: wheel, name: Wheel off, hours: {hours}, sides: [left, right]}}
      - {{code: brake, name: Brake off, hours: 45 min, sides: [left, right], needs: [wheel], opens: [caliper]}}
      - {{code: arm-off, name: Arm off, hours: {hours}, needs: [brake], opens: [arm], cautions: [hot]}}
    jobs:
      - {{code: J1, name: Both, needs: [brake], renews: [{{joint: caliper, position: groove}}]}}
      - {{code: J2, name: Arm, needs: [arm-off]}}
models:
  - {{code: pell, name: Pell, units: [axle]}}
vehicles:
  - {{registration: PELL 1, model: pell, build_date: 2016-02-14, weight: 1420 kg kerb}}
"""
_THICK = st.sampled_from(["2 mm", "2.5 mm", "0.125 in", "3.55 mm"])


@st.composite
def catalogues(draw: st.DrawFn) -> str:
    return TEMPLATE.format(
        inside=draw(st.sampled_from(["17 mm", "17.5 mm", "1.25 in", "25.07 mm"])),
        section=draw(_THICK),
        length=draw(st.sampled_from(["25 mm", "12.5 mm", "2.5 cm"])),
        pack=draw(st.sampled_from(["70 ml", "0.5 L", "1.25 L"])),
        amount=draw(st.sampled_from(["0.25 ml", "1 ml"])),
        torque=draw(st.sampled_from(["20 N·m", "2.5 N·m", "22.5 ± 2.5 N·m", "15.5 lbf·ft"])),
        hours=draw(st.sampled_from(["0.2 h", "1.5 h", "2 h"])),
    )


# What may be mistyped: keys, names that others go by, figures with their units, sides.
KEY = re.compile(r"(?<![\w-])([a-z_]{3,}):(?= |\n)")
NAMES = (
    "RING-FKM-17X2 RING-EPDM-17X2 RING-EPDM-14X2 HOSE-L HOSE-R BOLT-M8X25 BOLT-M8X35 BRACKET-FRONT"
    " BRACKET-REAR PASTE o-ring x-ring bolt grease brake-fluid brakes brackets caliper arm arm-off"
    " wheel brake axle pell wide slim hot FKM EPDM fastener consumable renew inspect maker"
    " glycol-brake-fluid"
).split()
NAME = re.compile(
    r"(?<![\w/-])(?:" + "|".join(sorted(NAMES, key=len, reverse=True)) + r")(?![\w-])"
)
UNIT = r"(?:mm|ml|each|N·m|lbf·ft|years|days|min|in|cm|kg|h|L)"
FIGURE = re.compile(rf"(?<![\w.-])[0-9]+(?:\.[0-9]+)? {UNIT}(?![\w·])")
SIDE = re.compile(r"(?<=[\[, {])(?:left|right)(?=[\]:,])")
OTHER_UNITS = ("mm", "cm", "in", "ml", "L", "each", "N·m", "lbf·in", "h", "min", "days", "g")
Sort = Literal["key", "name", "figure", "side"]
PATTERNS: dict[Sort, re.Pattern[str]] = {"key": KEY, "name": NAME, "figure": FIGURE, "side": SIDE}


@dataclass(frozen=True)
class Slip:
    """A good file, the same with one slip, and what was written where something else stood.

    `names` says that the slip is in the code by which the rest of the file calls an entry.
    """

    good: str = field(repr=False)
    bad: str = field(repr=False)
    sort: Sort
    names: bool
    line: int
    meant: str
    written: str


def misspelt(draw: st.DrawFn, word: str) -> str:
    """A word with one letter dropped, doubled, or swapped with the next."""
    at = draw(st.integers(0, len(word) - 1))
    how = draw(st.sampled_from(["dropped", "doubled", "swapped"]))
    if how == "dropped":
        return word[:at] + word[at + 1 :]
    if how == "doubled":
        return word[: at + 1] + word[at:]
    return word[:at] + word[at + 1 : at + 2] + word[at] + word[at + 2 :]


def spoilt_figure(draw: st.DrawFn, text: str) -> str:
    figure, _, unit = text.partition(" ")
    how = draw(st.sampled_from(["comma", "comma", "bare", "unit", "misspelt"]))
    if how == "comma":
        return text.replace(".", ",")
    if how == "bare":
        return figure
    if how == "unit":
        return f"{figure} {draw(st.sampled_from(OTHER_UNITS))}"
    return f"{figure} {misspelt(draw, unit)}".strip()


@st.composite
def slips(draw: st.DrawFn) -> Slip:
    good = draw(catalogues())
    sort: Sort = draw(st.sampled_from(list(PATTERNS)))
    found = draw(st.sampled_from(list(PATTERNS[sort].finditer(good))))
    start, end = found.span(1) if sort == "key" else found.span()
    meant = good[start:end]
    if sort == "figure":
        written = spoilt_figure(draw, meant)
    elif sort == "side" and draw(st.booleans()):
        written = draw(st.sampled_from(["left", "right", "Left", "lh", "nearside", "front"]))
    else:
        written = misspelt(draw, meant)
    assume(written and written != meant)
    bad = good[:start] + written + good[end:]
    names = good[:start].endswith("code: ")
    return Slip(good, bad, sort, names, good.count("\n", 0, start) + 1, meant, written)


@lru_cache(64)
def read(text: str) -> tuple[Catalogue | None, list[Problem]]:
    """What a file means, or why it is refused."""
    source, problems = parse_catalogue("x.yaml", text)
    if source is None:
        return None, problems
    problems = check([source], Known())
    return (None, problems) if problems else (source.catalogue, [])


def differences(one: Any, other: Any, at: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The places at which two dumps differ, as keys."""
    if isinstance(one, dict) and isinstance(other, dict):
        for key in {**one, **other}:
            yield from differences(one.get(key), other.get(key), (*at, str(key)))
    elif isinstance(one, list | tuple) and isinstance(other, list | tuple):
        for left, right in zip(one, other, strict=False):
            yield from differences(left, right, at)
        if len(one) != len(other):
            yield at
    elif one != other:
        yield at


DID_YOU_MEAN = re.compile(r"Did you mean (.+)\?")
WRITE = re.compile(r"\b[Ww]rite (?:a point: )?'([^']+)'(?!.*\bor ')")
QUOTED = re.compile(r"'([^']+)'")


def proposed(problem: Problem) -> list[str]:
    """The names that a fault proposes in the place of another."""
    found = DID_YOU_MEAN.search(problem.next_step)
    return [name.strip("'") for name in found[1].split(" or ")] if found else []


def to_write(problem: Problem) -> str | None:
    """The one text that a fault says to write; None where it says none, or leaves a choice."""
    names = proposed(problem)
    if names:
        return names[0] if len(names) == 1 else None
    said = f"{problem.reason}. {problem.next_step}"
    found = WRITE.search(said)
    return None if found is None or "for example" in said else found[1]


def followed(text: str, problem: Problem) -> str | None:
    """A file with the advice of one fault followed on its line; None where it has none.

    What is to be replaced is what the fault quotes; of a figure that a comma cut, all of it.
    """
    new = to_write(problem)
    if new is None:
        return None
    lines = text.split("\n")
    at = problem.line - 1
    quoted = [*QUOTED.findall(problem.reason), *QUOTED.findall(problem.thing)]
    for old in (new.replace(".", ","), *quoted):
        whole = re.compile(rf"(?<![\w-]){re.escape(old)}(?![\w-])")
        if old != new and whole.search(lines[at]):
            lines[at] = whole.sub(lambda _: new, lines[at], count=1)
            return "\n".join(lines)
    return None


# A second way to tell what is of another side, size or rubber: by the words of these files.
TELLING = {"L", "R", "FRONT", "REAR", "FKM", "EPDM", "LEFT", "RIGHT"}


def telling(name: str) -> Counter[str]:
    words = re.findall(r"[A-Z]+|[0-9]+", name.upper())
    return Counter(word for word in words if word in TELLING or word.isdigit())


@given(catalogues())
@examples(10, 40)
def test_the_catalogues_without_a_slip_are_good(text: str) -> None:
    assert read(text)[1] == []


@given(slips())
@examples(60, 400)
def test_what_is_taken_in_spite_of_a_slip_is_as_meant_or_what_was_written(slip: Slip) -> None:
    found, problems = read(slip.bad)
    if found is None:
        assert problems
        return
    meant, _ = read(slip.good)
    assert meant is not None
    places = set(differences(meant.model_dump(), found.model_dump()))
    if not places:
        return  # it means the same: Left and left, say, or 0.2 h and 12 min
    if slip.sort == "figure":
        # Another figure that may be: of one entry, and of no other.
        line = slip.good.split("\n")[slip.line - 1]
        key = re.findall(r"([a-z_]+):", line[: line.index(slip.meant)])[-1]
        key = "amount" if key in ("left", "right") else key
        assert all(key in place for place in places), (slip, places)
    else:
        # Another name, kind, rubber or side that may be: that word and nothing else, wherever it
        # was written out.
        text = str(found.model_dump())
        assert slip.written in text, (slip, places)
        assert slip.sort != "key", (slip, places)


@given(slips())
@examples(80, 600)
def test_a_fault_that_is_mended_as_it_says_leaves_what_was_meant(slip: Slip) -> None:
    meant, _ = read(slip.good)
    text = slip.bad
    for _ in range(3):
        found, problems = read(text)
        if found is not None:
            break
        before = text
        for problem in problems:
            text = followed(text, problem) or text
        if text == before:
            return  # nothing to follow: still refused
    found, _ = read(text)
    if text == slip.bad or found is None:
        return
    if slip.names:  # the entry has another name now, by which the rest of the file calls it
        name = re.compile(rf"(?<![\w-]){re.escape(slip.written)}(?![\w-])")
        found, _ = read(name.sub(slip.meant, text))
    assert found == meant, slip


@given(slips())
@examples(60, 400)
def test_what_is_of_another_side_size_or_rubber_is_never_proposed(slip: Slip) -> None:
    for problem in read(slip.bad)[1]:
        for name in proposed(problem):
            if slip.sort == "name" and slip.written in problem.thing:
                assert telling(name) == telling(slip.meant), (slip, problem)
