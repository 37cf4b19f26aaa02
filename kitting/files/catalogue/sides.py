"""Pairs: a joint or step that stands once in a file and is there on several sides.

One viewpoint holds for all of them: seen from the driver's seat. `code: caliper` with `sides:
[left, right]` makes `caliper-left` and `caliper-right`; what differs is given by side, `item:
{left: HOSE-L, right: HOSE-R}`, and an entry of a list with `sides` of its own is there on these
only. Steps, jobs and what they renew name the common code for all sides; a step of a side that
names a common code means its own side.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from kitting.facts.names import hint, nearest
from kitting.files.catalogue.fault_words import in_short
from kitting.files.catalogue.tree import copied, line_in, listed, replaced, without

MOST_SIDES = 12
_OTHER = re.compile(r"[^A-Za-z0-9]+")
_OF = "side that a step was made for"  # no key of a file: codes of its own side are meant
_Sides = Mapping[str, Mapping[str, str]]  # by common code: side → code made


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with the sides of an entry: its line (from 1), the thing, reason, next step."""

    line: int
    thing: str
    reason: str
    next_step: str


@dataclass(slots=True)
class Expanded:
    """A file with its pairs written out: faults of them, and the lines that stand for several."""

    raw: Any
    faults: list[Fault] = field(default_factory=list)
    repeated: set[int] = field(default_factory=set)
    named: Callable[[int], str] = "line {}".format


def slug(side: str) -> str:
    """A side as the end of a code: "cylinder 1" as "cylinder-1"."""
    return _OTHER.sub("-", side.strip()).strip("-")


def with_sides(raw: Any, named: Callable[[int], str] = "line {}".format) -> Expanded:
    """The data of a file with every joint and step of several sides written out.

    `named` puts a line (from 1) into words.
    """
    done = Expanded(raw, named=named)
    units = raw.get("units") if isinstance(raw, dict) else None
    if not isinstance(units, list) or not any(map(_has_sides, units)):
        return done
    entries = [
        (_unit(unit, done) if _has_sides(unit) else unit, line_in(units, index))
        for index, unit in enumerate(units)
    ]
    done.raw = replaced(raw, "units", listed(units, entries))
    return done


def _has_sides(unit: Any) -> bool:
    parts = (unit.get(part) for part in ("joints", "steps")) if isinstance(unit, dict) else ()
    return any(
        isinstance(one, dict) and "sides" in one
        for part in parts
        if isinstance(part, list)
        for one in part
    )


def _unit(unit: Any, done: Expanded) -> Any:
    joints, made_joints = _made(unit, "joints", done)
    steps, made_steps = _made(unit, "steps", done)
    for key, entries in (("joints", joints), ("steps", steps)):
        if entries is not None:
            unit = replaced(unit, key, entries)
    names = _Names(made_joints, made_steps, done)
    if isinstance(steps, list):
        unit = replaced(unit, "steps", copied(steps, names.in_step))
    jobs = unit.get("jobs")
    if isinstance(jobs, list):
        unit = replaced(unit, "jobs", copied(jobs, names.in_job))
    return unit


def _made(unit: Any, part: str, done: Expanded) -> tuple[Any, dict[str, dict[str, str]]]:
    """The joints or steps of a unit with those of several sides written out, and what was made."""
    written = unit.get(part)
    if not isinstance(written, list):
        return None, {}
    made: dict[str, dict[str, str]] = {}
    entries: list[tuple[Any, int]] = []
    typed = {
        one["code"]: line_in(written, index)
        for index, one in enumerate(written)
        if isinstance(one, dict) and "sides" not in one and isinstance(one.get("code"), str)
    }
    for index, one in enumerate(written):
        line = line_in(written, index)
        if not isinstance(one, dict) or "sides" not in one:
            entries.append((one, line))
            continue
        thing = f"units {unit.get('code', '?')} › {part} {one.get('code', '?')}"
        sides = _sides_of(one, thing, done)
        if sides is None:
            continue
        code = str(one.get("code", ""))
        if code in typed:
            reason = f"its common code is also that of the one in {done.named(typed[code] + 1)}"
            done.faults.append(Fault(line + 1, thing, reason, "Give one of them another code"))
        made[code] = {side: f"{code}-{slug(side)}" for side in sides}
        for side in sides:
            if made[code][side] in typed:
                reason = (
                    f"its side {side!r} makes the code {made[code][side]!r}, which"
                    f" {done.named(typed[made[code][side]] + 1)} has already"
                )
                step = "Give one of them another code"
                done.faults.append(Fault(line_in(one, "sides") + 1, thing, reason, step))
            of = _Side(side, sides, thing, done)
            entry = _entry_on_side(without(one, "sides"), of)
            for key, value in (("code", made[code][side]), ("name", _named(entry, side))):
                if key in one:
                    entry = replaced(entry, key, value)
            entries.append((replaced(entry, _OF, of) if part == "steps" else entry, line))
        done.repeated.update(_lines(one, line))
    return listed(written, entries), made


def _named(one: Any, side: str) -> Any:
    name = one.get("name")
    return f"{name}, {side}" if isinstance(name, str) else name


def _sides_of(one: Any, thing: str, done: Expanded) -> list[str] | None:
    sides, line = one["sides"], line_in(one, "sides") + 1
    named = isinstance(sides, list) and all(isinstance(side, str) for side in sides)
    if not named or not 2 <= len(sides) <= MOST_SIDES:
        reason = f"sides are a list of 2 to {MOST_SIDES} names"
        done.faults.append(Fault(line, thing, reason, "Write for example sides: [left, right]"))
        return None
    slugs = [slug(side) for side in sides]
    if "" in slugs or len(set(slugs)) < len(slugs):
        reason = f"its sides {', '.join(map(repr, sides))} give no codes that differ"
        done.faults.append(Fault(line, thing, reason, "Name each side by other letters"))
        return None
    return list(sides)


def _lines(node: Any, line: int) -> Iterator[int]:
    """The lines (from 1) of everything in an entry."""
    yield line + 1
    keys: Sequence[Any] = ()
    if isinstance(node, dict):
        keys = list(node)
    elif isinstance(node, list):
        keys = range(len(node))
    for key in keys:
        yield from _lines(node[key], line_in(node, key))


@dataclass(frozen=True, slots=True)
class _Side:
    """The side that a copy is of, all sides of the entry, and where faults go."""

    side: str
    sides: Sequence[str]
    thing: str
    done: Expanded


def _entry_on_side(entry: Any, of: _Side) -> Any:
    """A copy of a joint or step for one side; its own keys (`front`) are never taken for sides."""
    return copied(entry, lambda value: _on_side(value, of))


def _on_side(node: Any, of: _Side) -> Any:
    """A copy for one side: what is given by side is that of the side."""
    if isinstance(node, dict):
        if any(key in of.sides for key in node):
            return _on_side(_given(node, of), of)
        if isinstance(item := node.get("item"), dict) and item:
            node = replaced(node, "item", _given(item, of))
        return copied(node, lambda value: _on_side(value, of))
    if isinstance(node, list):
        kept = [
            (_on_side(_bare(one), of), line_in(node, index))
            for index, one in enumerate(node)
            if _is_there(one, of, line_in(node, index))
        ]
        return listed(node, kept)
    return node


def _bare(one: Any) -> Any:
    return without(one, "sides") if isinstance(one, dict) and "sides" in one else one


def _is_there(one: Any, of: _Side, line: int) -> bool:
    """Whether an entry of a list is there on the side."""
    if not isinstance(one, dict) or "sides" not in one:
        return True
    only = one["sides"]
    unknown = [side for side in only if side not in of.sides] if isinstance(only, list) else [only]
    if unknown:
        reason = f"{unknown[0]!r} is none of the sides of the whole: {', '.join(of.sides)}"
        _tell(of, line, reason, "Name a list of some of them")
    return isinstance(only, list) and of.side in only


def _given(node: Any, of: _Side) -> Any:
    """What a mapping by side has for the side; a fault where it has not one for each.

    After a fault it is what another side has, so that the same slip is not told as an empty value.
    """
    lacking = [side for side in of.sides if side not in node]
    other = [key for key in node if key not in of.sides]
    each = f"Give one for each side: {', '.join(of.sides)}"
    for key in other:
        said = in_short(str(key))
        step = hint(said, lacking, each) if nearest(said, lacking) else each
        _tell(of, line_in(node, key), f"{said!r} is none of its sides", step)
    if lacking and not other:
        reason = f"nothing is given for {' and '.join(map(repr, lacking))}"
        _tell(of, line_in(node, next(iter(node))), reason, each)
    return node.get(of.side, next(iter(node.values())))


def _tell(of: _Side, line: int, reason: str, step: str) -> None:
    """Note a fault of an entry, once for all of its sides."""
    fault = Fault(line + 1, of.thing, reason, step)
    if fault not in of.done.faults:
        of.done.faults.append(fault)


@dataclass(frozen=True, slots=True)
class _Names:
    """Common codes where steps and jobs name them, written out as the codes that were made."""

    joints: _Sides
    steps: _Sides
    done: Expanded

    def in_step(self, step: Any) -> Any:
        if not isinstance(step, dict):
            return step
        of = step.get(_OF)
        step = without(step, _OF)
        for key, made in (("needs", self.steps), ("opens", self.joints)):
            if isinstance(step.get(key), list):
                if of is not None:
                    self._refuse_other_sides(step[key], made, of)
                side = None if of is None else of.side
                step = replaced(step, key, _written_out(step[key], made, "joint", side))
        return step

    def _refuse_other_sides(self, entries: Any, made: _Sides, of: _Side) -> None:
        """A side that what is named has not, though it has others of this step: mistyped.

        What shares no side with the step, such as corners with an axle, is meant as a whole.
        """
        for index, one in enumerate(entries):
            code = one.get("joint") if isinstance(one, dict) else one
            there = made.get(code, {}) if isinstance(code, str) else {}
            if of.side in there or not set(there) & set(of.sides):
                continue
            reason = f"{code!r} is on {', '.join(there)}, and not on {of.side!r}"
            step = "Name the same sides at both"
            self.done.faults.append(Fault(line_in(entries, index) + 1, of.thing, reason, step))

    def in_job(self, job: Any) -> Any:
        if not isinstance(job, dict):
            return job
        for key, made in (("needs", self.steps), ("renews", self.joints)):
            if isinstance(job.get(key), list):
                job = replaced(job, key, _written_out(job[key], made, "joint", None))
        return job


def _written_out(entries: Any, made: _Sides, key: str, side: str | None) -> Any:
    """A list of codes, or of entries with a code, with common codes written out."""
    found: list[tuple[Any, int]] = []
    for index, one in enumerate(entries):
        code = one.get(key) if isinstance(one, dict) else one
        codes = _meant(made.get(code), side) if isinstance(code, str) else []
        line = line_in(entries, index)
        for meant in codes:
            found.append((replaced(one, key, meant) if isinstance(one, dict) else meant, line))
        if not codes:
            found.append((one, line))
    return listed(entries, found)


def _meant(made: Mapping[str, str] | None, side: str | None) -> list[str]:
    """The codes of a common one: that of the own side, else all; none where it is no common one."""
    if made is None:
        return []
    own = None if side is None else made.get(side)
    return list(made.values()) if own is None else [own]
