"""The code of a kit on its labels: one part is of the car, the other of what is in the kit.

A label that was printed before the contents changed has the first part and not the second.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from kitting.facts.reasons import Reason
from kitting.services.planning.read_car import registration_key
from kitting.views.plan import LineView, PositionView, TighteningView, UseView

_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U: they are misread on a label
_BITS = 5
_LETTER = "K"
# Signs of each part: of two cars one in a million is taken for another, and one change of the
# contents in 32,768 goes unnoticed.
_OF_CAR, _OF_CONTENTS = 4, 3
_PARTS = 2  # a bag, and an end in it


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in a kit as its labels tell it, with the day and the jobs (as UNIT/JOB) it is for."""

    on: date
    jobs: Iterable[str]
    lines: Iterable[LineView]
    uses: Iterable[UseView]
    tightenings: Iterable[TighteningView]


def kit_code(registration: str, contents: Contents) -> str:
    """The code of a kit: the same contents for the same car and day have the same one."""
    told = [contents.on.isoformat(), *sorted(contents.jobs)]
    for entries in (
        map(_line, contents.lines),
        map(_use, contents.uses),
        map(_tightening, contents.tightenings),
    ):
        told += sorted(map(repr, entries))
    return car_part(registration) + _signs("\n".join(told), _OF_CONTENTS)


def car_part(registration: str) -> str:
    """The part of a code that is the same for every kit of a car."""
    return _LETTER + _signs(registration_key(registration), _OF_CAR)


@dataclass(frozen=True, slots=True)
class LabelCode:
    """What the code of a label names: a kit, a bag of it, a ring end of that; None where not."""

    kit: str
    bag: int | None = None
    end: int | None = None


def read_code(text: str) -> LabelCode | None:
    """What the code of a label names; None where it is no such code.

    Small letters are taken, and the letters that are misread for the digits they look like.
    """
    kit, *numbers = text.strip().upper().split("-")
    kit = kit.translate(str.maketrans("ILO", "110"))
    whole = len(_LETTER) + _OF_CAR + _OF_CONTENTS
    if len(kit) != whole or kit[:1] != _LETTER or set(kit) - set(_ALPHABET):
        return None
    if len(numbers) > _PARTS or not all(part.isascii() and part.isdecimal() for part in numbers):
        return None
    return LabelCode(kit, *map(int, numbers))


def same_car(code: str, registration: str) -> bool:
    """Whether the code of a kit may be of a car."""
    part = car_part(registration)
    return code[: len(part)] == part


def _signs(text: str, count: int) -> str:
    digest = hashlib.blake2b(text.encode(), digest_size=4).digest()
    number = int.from_bytes(digest, "big") >> (32 - _BITS * count)
    places = range(_BITS * (count - 1), -1, -_BITS)
    return "".join(_ALPHABET[number >> shift & 31] for shift in places)


def _line(line: LineView) -> tuple[object, ...]:
    return (
        line.item, str(line.rule), line.wanted, line.unit, line.size, line.material, line.hazards,
        tuple(_reason(reason) for reason in line.stopped_by), str(line.verdict), line.stands_for,
        tuple((part.packet, part.quantity) for part in line.covered),
        tuple(sorted(map(repr, map(_position, line.positions)))),
    )  # fmt: skip


def _position(place: PositionView) -> tuple[object, ...]:
    put_on = None if place.lubricant is None else _reason(place.lubricant)
    return place.joint, place.position, place.end, place.quantity, put_on


def _use(use: UseView) -> tuple[object, ...]:
    places = sorted({(reason.joint, reason.step, reason.positions) for reason in use.reasons})
    return (
        use.item,
        use.to_take,
        use.unit,
        use.hazards,
        str(use.verdict),
        bool(use.stopped_by),
        (*places,),
    )


def _tightening(row: TighteningView) -> tuple[object, ...]:
    return (
        row.joint, row.position, row.item, row.quantity, tuple(map(str, row.stages)),
        str(row.thread_state), row.pattern, row.head, row.left_hand, row.stage_order,
    )  # fmt: skip


def _reason(reason: Reason) -> tuple[object, ...]:
    return str(reason.code), tuple(_values(reason))


def _values(reason: Reason) -> Iterator[tuple[str, object]]:
    for name, value in reason.values:
        yield name, _reason(value) if isinstance(value, Reason) else str(value)
