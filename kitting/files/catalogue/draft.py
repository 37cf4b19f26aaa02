"""A draft of a unit from what was found at a car: a catalogue file that says what it lacks.

What is not known stands empty: `kitting check` names it, and nothing of it is loaded before.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, count
from typing import TypeVar

from kitting.facts.bounds import CODE_SIGNS, NAME_SIGNS
from kitting.facts.found_fields import is_ring_size, ring_size
from kitting.facts.units import plain
from kitting.files.catalogue.flow import plain_text, quoted

_OTHER = re.compile(r"[^a-z0-9]+")


@dataclass(frozen=True, slots=True)
class DraftPart:
    """A part as it was found; `threaded` and `ring` say what its kind is, None where unknown.

    `photo` is the number of its photo.
    `earlier` is what notes before said otherwise; `beside` what another note has at that place, so
    that one of the two is wrong or there are two parts.
    """

    joint: str
    position: str
    kind: str | None
    count: int | None
    thread: str | None
    head: str | None
    stages: tuple[str, ...]
    source: str | None
    size: str | None
    seen: str | None
    threaded: bool | None = None
    ring: bool = False
    photo: int | None = None
    earlier: tuple[str, ...] = ()
    beside: str | None = None


@dataclass(frozen=True, slots=True)
class DraftPhoto:
    """A photo of a part, by number, and the place that the part has in the draft (UNIT/JOINT)."""

    number: int
    joint: str
    position: str


@dataclass(frozen=True, slots=True)
class Draft:
    """The text of a draft, what it still asks, each with the thing it asks it of, and photos."""

    text: str
    unknown: tuple[tuple[str, str], ...]
    photos: tuple[DraftPhoto, ...] = ()


@dataclass(frozen=True, slots=True)
class DraftCar:
    """The car that the parts were found on; `model` None where the catalogue does not know it."""

    registration: str
    model: str | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """Codes, in small letters, that a draft may not give again: what has them would be changed."""

    items: frozenset[str] = frozenset()
    steps: frozenset[str] = frozenset()
    jobs: frozenset[str] = frozenset()


def draft_unit(
    code: str, car: DraftCar, parts: Sequence[DraftPart], taken: Taken | None = None
) -> Draft:
    """A unit of some parts, joints in the order in which they were noted.

    Each joint gets a step that opens it; one job needs them all. No code of them is `taken`.
    """
    return _Writer(code, car, parts, taken or Taken()).draft()


class _Writer:
    def __init__(self, code: str, car: DraftCar, parts: Sequence[DraftPart], taken: Taken) -> None:
        self.code, self.car, self.taken = code, car, taken
        self.lines: list[str] = []
        self.unknown: list[tuple[str, str]] = []
        self.photos: list[DraftPhoto] = []
        self.joints: dict[str, list[DraftPart]] = {}
        for part in parts:
            self.joints.setdefault(" ".join(part.joint.split()).casefold(), []).append(part)
        self.codes = _codes(found[0].joint for found in self.joints.values())
        self.steps = _distinct(
            {key: f"{code}-off" for key, code in self.codes.items()}, self.taken.steps
        )

    def draft(self) -> Draft:
        body = self._body()
        count = len(self.unknown)
        asked = "1 thing" if count == 1 else f"{count} things"
        head = [
            f"# Draft of what was found at {self.car.registration}: not checked against the maker's"
            " data.",
            f"# Still unknown: {asked}. What stands empty has to be filled in; a check of the"
            " file names it.",
        ]
        return Draft("\n".join([*head, *body, ""]), tuple(self.unknown), tuple(self.photos))

    def _body(self) -> list[str]:
        items = {
            (key, part.position): f"{self.codes[key]}-{_code(part.position)}".upper()[:CODE_SIGNS]
            for key, parts in self.joints.items()
            for part in parts
        }
        items = _distinct(items, self.taken.items)
        self.lines.append("items:")
        for key, parts in self.joints.items():
            for part in parts:
                self._item(items[key, part.position], part)
        self.lines += ["units:", f"  - code: {self.code}", f"    name: {plain_text(self.code)}"]
        self.lines.append("    joints:")
        for key, parts in self.joints.items():
            self._joint(self.codes[key], parts, {p.position: items[key, p.position] for p in parts})
        self.lines.append("    steps:")
        for key, parts in self.joints.items():
            code = self.steps[key]
            self.lines += [
                f"      - code: {code}",
                f"        name: {plain_text(_off(parts[0]))}",
            ]
            self._ask(8, f"step {code}", "hours", "how long it takes, such as 0.5 h")
            self.lines.append(f"        opens: [{self.codes[key]}]")
        steps = ", ".join(self.steps.values())
        job = _distinct({"": f"{self.code[: CODE_SIGNS - 4]}-all"}, self.taken.jobs)[""]
        self.lines += [
            "    jobs:",
            f"      - code: {job}",
            "        name: everything that was noted",
            f"        needs: [{steps}]",
        ]
        self._car()
        return self.lines

    def _item(self, code: str, part: DraftPart) -> None:
        self.lines += [f"  - code: {code}", f"    name: {plain_text(_name(part))}"]
        thing = f"item {code}"
        if part.kind is None:
            self._ask(4, thing, "kind", "what kind of part it is")
        else:
            self.lines.append(f"    kind: {part.kind}")
        for key, value in (("thread", part.thread), ("head", part.head)):
            if value is not None:
                self.lines.append(f"    {key}: {plain_text(value)}")
            elif part.threaded:
                self._comment(4, thing, key)
        if part.ring:
            self._ring(thing, part.size)
        if part.seen is not None:
            self.lines.append(f"    # seen: {_one_line(part.seen)}")
        self.lines += [f"    # earlier: {_one_line(text)}" for text in part.earlier]
        if part.beside is not None:
            self._comment(4, thing, f"one part or two, for {_one_line(part.beside)}")

    def _ring(self, thing: str, size: str | None) -> None:
        figures = ring_size(size)
        if figures is not None and is_ring_size(figures):
            inside, section = map(plain, figures)
            self.lines += [f"    ring_inside: {inside} mm", f"    ring_section: {section} mm"]
        elif size is None:
            self._comment(4, thing, "ring_inside and ring_section")
        else:
            self.lines.append(f"    # size: {_one_line(size)}")
            self._comment(4, thing, "ring_inside and ring_section")
        self._comment(4, thing, "elastomer")

    def _joint(self, code: str, parts: Sequence[DraftPart], items: Mapping[str, str]) -> None:
        self.lines += [f"      - code: {code}", f"        name: {plain_text(parts[0].joint)}"]
        self._ask(8, f"joint {code}", "system", "the part of the car it belongs to, such as brakes")
        self._comment(8, f"joint {code}", "fluids")
        self.lines.append("        fits:")
        for part in parts:
            thing = f"joint {code}: {part.position}"
            self.lines += [
                f"          - item: {items[part.position]}",
                f"            position: {plain_text(part.position)}",
            ]
            if part.photo is not None:
                self.lines.append(f"            # photo {part.photo} shows it")
                self.photos.append(DraftPhoto(part.photo, f"{self.code}/{code}", part.position))
            if part.count is None:
                self._ask(12, thing, "quantity", "how many there are, such as 4 each")
            else:
                self.lines.append(f"            quantity: {part.count} each")
            if part.stages:
                self.lines += [
                    "            tightening:",
                    f"              stages: [{', '.join(map(quoted, part.stages))}]",
                    f"              source: {quoted(part.source or '')}",
                ]
            elif part.threaded:
                self._comment(12, thing, "tightening")

    def _car(self) -> None:
        registration = self.car.registration
        if self.car.model is not None:
            self.lines.append(
                f"# {_one_line(registration)} is a {_one_line(self.car.model)}: add {self.code} to"
                " the units of that model."
            )
            return
        self.lines += ["models:", "  -"]
        self._ask(4, f"model of {registration}", "code", "a short code for the model")
        self._ask(4, f"model of {registration}", "name", "make and model")
        self.lines += [f"    units: [{self.code}]", "vehicles:"]
        self.lines.append(f"  - registration: {quoted(registration)}")
        self._ask(4, f"vehicle {registration}", "model", "the code of its model")

    def _ask(self, indent: int, thing: str, key: str, what: str) -> None:
        """A key that has to be filled in before anything is loaded."""
        self.lines.append(f"{' ' * indent}{key}:  # still unknown: {what}")
        self.unknown.append((thing, key))

    def _comment(self, indent: int, thing: str, key: str) -> None:
        """Something that the file may do without; then it cannot be proven."""
        self.lines.append(f"{' ' * indent}# still unknown: {key}")
        self.unknown.append((thing, key))


def _name(part: DraftPart) -> str:
    size = None if part.ring else part.size
    return ", ".join(filter(None, (part.joint, part.position, size)))[:NAME_SIGNS].strip(", ")


def _off(part: DraftPart) -> str:
    return f"{part.joint[: NAME_SIGNS - 4].strip()} off"


def _code(name: str) -> str:
    return _OTHER.sub("-", name.casefold()).strip("-")[:30].strip("-") or "part"


def _codes(names: Iterable[str]) -> dict[str, str]:
    """A code for each name, none twice; by the name as it is compared."""
    return _distinct({" ".join(name.split()).casefold(): _code(name) for name in names})


_Key = TypeVar("_Key", str, tuple[str, str])


def _distinct(codes: Mapping[_Key, str], taken: Container[str] = ()) -> dict[_Key, str]:
    """Codes of which none stands twice or is taken (in small letters)."""
    found: dict[_Key, str] = {}
    for key, code in codes.items():
        ways = chain([code], (f"{code[:30]}-{number}" for number in count(2)))
        found[key] = next(
            way for way in ways if way not in found.values() and way.casefold() not in taken
        )
    return found


def _one_line(text: str) -> str:
    return " ".join(text.split())
