"""Patterns of joints: what a mechanic expects there, written out from the parts that are named.

The patterns are data (`patterns.yaml` of the seeds). `like: plug-with-washer` with `parts: {plug:
PLUG-M14, washer: WASHER-AL-14}` puts both where they go; a part may be given as a fit, `{item:
PLUG-M14, tightening: …}`, whose keys go before those of the pattern. What the joint says in `fits`
and `uses` comes beside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Annotated, Any

from pydantic import Field

from kitting.errors import FileProblemsError
from kitting.facts.names import hint
from kitting.facts.words import Word
from kitting.files.catalogue.fault_words import in_short
from kitting.files.catalogue.shapes import Code, Entry, Name
from kitting.files.catalogue.sides import Fault
from kitting.files.catalogue.tree import copied, line_in, listed, mapped, replaced, without
from kitting.files.catalogue.yaml_text import parse_yaml

NOT_THERE = "none"  # a part of a pattern that this joint does not have
_FILE = "patterns.yaml"


class Asked(Word):
    """What a catalogue still has to state of a part or a joint before it is proven."""

    THREAD = "thread"
    HEAD = "head"
    FIGURE = "figure"
    SIZE = "size"
    RUBBER = "rubber"
    FLUIDS = "fluids"


class Role(Entry):
    """A part of a pattern: the kinds it may be of, where it goes, and what is asked of it."""

    kinds: Annotated[tuple[Code, ...], Field(min_length=1)]
    position: Name | None = None
    quantity: str | None = None
    optional: bool = False
    asks: tuple[Asked, ...] = ()


class Pattern(Entry):
    """A joint as a mechanic expects it."""

    code: Code
    name: Name
    parts: Mapping[Code, Role]
    uses: Mapping[Code, Role] = {}
    asks: tuple[Asked, ...] = ()

    @property
    def roles(self) -> Mapping[str, Role]:
        """Everything that may be named in `parts`."""
        return {**self.parts, **self.uses}


class _Patterns(Entry):
    patterns: tuple[Pattern, ...]


@cache
def known_patterns() -> Mapping[str, Pattern]:
    """The patterns that come with the program, by code."""
    raw, problems = parse_yaml(_FILE, (files("kitting.seeds") / _FILE).read_text("utf-8"))
    if problems:
        raise FileProblemsError(problems)
    return {pattern.code: pattern for pattern in _Patterns.model_validate(raw).patterns}


@dataclass(slots=True)
class Filled:
    """A file with its patterns written out, and the faults of them."""

    raw: Any
    faults: list[Fault] = field(default_factory=list)


def with_patterns(raw: Any) -> Filled:
    """The data of a file with the parts of every patterned joint among its fits and uses."""
    done = Filled(raw)
    units = raw.get("units") if isinstance(raw, dict) else None
    if not isinstance(units, list) or not any(map(_has_pattern, units)):
        return done

    def unit(one: Any) -> Any:
        if not _has_pattern(one):
            return one
        joints = copied(one["joints"], lambda joint: _joint(one, joint, done))
        return replaced(one, "joints", joints)

    done.raw = replaced(raw, "units", copied(units, unit))
    return done


def _has_pattern(unit: Any) -> bool:
    joints = unit.get("joints") if isinstance(unit, dict) else None
    return isinstance(joints, list) and any(
        isinstance(one, dict) and ("like" in one or "parts" in one) for one in joints
    )


def _joint(unit: Any, joint: Any, done: Filled) -> Any:
    if not isinstance(joint, dict) or not ("like" in joint or "parts" in joint):
        return joint
    thing = f"units {unit.get('code', '?')} › joints {joint.get('code', '?')}"
    faults = list(_faults(joint, thing))
    if faults:
        done.faults += faults
        return without(joint, "like", "parts")
    pattern, given = known_patterns()[joint["like"]], joint["parts"]
    joint = without(joint, "parts")
    for key, roles in (("fits", pattern.parts), ("uses", pattern.uses)):
        entries = [
            (_entry(joint, given, name, role), line_in(given, name))
            for name, role in roles.items()
            if _named(given.get(name))
        ]
        typed = joint.get(key)
        if isinstance(typed, list):
            entries += [(one, line_in(typed, index)) for index, one in enumerate(typed)]
        if entries and (typed is None or isinstance(typed, list)):
            joint = replaced(joint, key, listed(_a_list(typed, unit), entries))
    return joint


def _a_list(typed: Any, unit: Any) -> Any:
    return typed if isinstance(typed, list) else unit["joints"]


def _named(value: Any) -> bool:
    return value is not None and value != NOT_THERE


def _entry(joint: Any, given: Any, name: str, role: Role) -> Any:
    """A fit or use: what the pattern has of it, and what the file says instead."""
    value, line = given[name], line_in(given, name)
    own = value if isinstance(value, dict) and not _by_side(value, joint) else {"item": value}
    stated = {"position": role.position, "quantity": role.quantity}
    kept = {key: text for key, text in stated.items() if text is not None and key not in own}
    if "positions" in own:
        kept.pop("position", None)
    written = own is value
    return mapped(
        joint,
        [
            *((key, text, line) for key, text in (*kept.items(), ("role", name))),
            *((key, one, line_in(value, key) if written else line) for key, one in own.items()),
        ],
    )


def _by_side(value: Mapping[Any, Any], joint: Any) -> bool:
    """Whether a part is given side by side: it names a side, or nothing that a fit or use has."""
    sides = joint.get("sides")
    named = isinstance(sides, list) and any(key in sides for key in value)
    return named or (bool(value) and not any(key in _keys_of_parts() for key in value))


@cache
def _keys_of_parts() -> frozenset[str]:
    from kitting.files.catalogue.document import Fit
    from kitting.files.catalogue.work_shapes import Use

    return frozenset({*Fit.model_fields, *Use.model_fields})


def _faults(joint: Any, thing: str) -> Iterator[Fault]:
    known = known_patterns()
    code, given = joint.get("like"), joint.get("parts")
    if "like" not in joint:
        line = line_in(joint, "parts") + 1
        yield Fault(line, thing, "parts need the pattern that they are of", "Add 'like: …'")
        return
    line = line_in(joint, "like") + 1
    if not isinstance(code, str) or code not in known:
        said = in_short(str(code))
        otherwise = f"Known are {', '.join(known)}"
        yield Fault(line, thing, f"unknown pattern {said!r}", hint(said, known, otherwise))
        return
    roles = known[code].roles
    if not isinstance(given, dict):
        yield Fault(line, thing, f"{code} needs its parts", f"Add {_form(roles)}")
        return
    yield from _name_faults(joint, thing, roles)
    for name, role in known[code].parts.items():
        if role.quantity is None and _named(given.get(name)) and not _counted(given[name], joint):
            reason = f"how many {name} there are differs from car to car, and none is given"
            step = f"Write '{name}: {{item: …, quantity: 4 each}}' with their number"
            yield Fault(line_in(given, name) + 1, thing, reason, step)
    for name, role in roles.items():
        if name not in given and not role.optional:
            reason = f"{code} needs its {name} ({', '.join(role.kinds)})"
            step = f"Add '{name}: ITEM' to its parts; where there is none, '{name}: none'"
            yield Fault(line_in(joint, "parts") + 1, thing, reason, step)


def _name_faults(joint: Any, thing: str, roles: Mapping[str, Role]) -> Iterator[Fault]:
    """Parts that the pattern has not, or that are given by side where the joint has no sides."""
    given = joint["parts"]
    for name, value in given.items():
        line = line_in(given, name) + 1
        if name not in roles:
            said = in_short(str(name))
            step = hint(said, roles, f"It has {', '.join(roles)}")
            yield Fault(line, thing, f"{joint['like']} has no part {said!r}", step)
        elif isinstance(value, dict) and "sides" not in joint and _by_side(value, joint):
            reason = f"its {name} is given by side, and the joint has no sides"
            step = f"Add sides: [{', '.join(map(str, value))}] to the joint, or name one item"
            yield Fault(line, thing, reason, step)


def _counted(value: Any, joint: Any) -> bool:
    """Whether a part is given as a fit with its number."""
    return isinstance(value, dict) and not _by_side(value, joint) and "quantity" in value


def _form(roles: Mapping[str, Role]) -> str:
    needed = ", ".join(f"{name}: ITEM" for name, role in roles.items() if not role.optional)
    return f"parts: {{{needed}}}"
