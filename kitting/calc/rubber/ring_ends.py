"""Ring ends: which rings could be swapped, how they differ, in how few bags they are separate."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from operator import attrgetter

from kitting.facts.reasons import Reason, because
from kitting.facts.ring_reasons import RingDifference

# Two insides so near that a ring of one still goes on where the other belongs: within so many mm
# or this part of the larger one, whichever is more. Our own threshold (common practice, no source).
NEAR_MM, NEAR_SHARE = 1.0, 0.06
_EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class RingEnd:
    """A ring where it goes. `inside` and `section` are mm, both None where no size is stated.

    `elastomer` is a code of ISO 1629. `colour` is as supplied and tells no two rings apart; `kind`
    (O-ring, moulded ring …) is what is seen at a glance.
    """

    joint: str
    position: str
    end: str | None
    item: str
    inside: float | None = None
    section: float | None = None
    elastomer: str | None = None
    hardness: int | None = None
    colour: str | None = None
    kind: str | None = None


def near(one: float, other: float) -> bool:
    """Whether two inside diameters (mm) are within NEAR_MM or NEAR_SHARE, whichever is more.

    >>> near(17.0, 18.0), near(17.0, 18.2), near(66.0, 70.2), near(66.0, 70.3)
    (True, False, True, False)
    """
    return abs(one - other) <= max(NEAR_MM, NEAR_SHARE * max(one, other)) + _EDGE


def swappable(a: RingEnd, b: RingEnd) -> bool:
    """Whether one ring could be fitted where the other belongs.

    Rings of different items whose insides are near could: the same inside with another section is
    the classic swap, the same size in another rubber the worst, for no hand feels it. Two rings of
    one item never are a hazard. A ring whose size is not stated could be swapped with every ring
    of another item in its own joint, save one of another kind: what is not known is not taken for
    a difference.
    """
    if a.item == b.item:
        return False
    if a.inside is None or b.inside is None:
        kinds = {a.kind, b.kind}
        return a.joint == b.joint and (None in kinds or len(kinds) == 1)
    return near(a.inside, b.inside)


def apart(ends: Iterable[RingEnd]) -> tuple[tuple[RingEnd, ...], ...]:
    """The rings of one joint in as few bags as keep swappable ones separate.

    Bags come in the order of their first ring, the rings of a bag in the order given; rings of one
    item, which has one size, share a bag. Rising by inside, the rings that a ring is near to and
    that come before it are all near to each other (near is a proper interval order), so that the
    first bag free of them makes for the fewest bags; a ring of unknown size needs one of its own.
    Where rings without a size are of several kinds, a bag more than the fewest may come out.
    """
    listed = tuple(ends)
    bags: list[list[RingEnd]] = []
    for end in sorted(listed, key=lambda end: (end.inside or 0.0, end.item)):
        free = (bag for bag in bags if not any(swappable(end, other) for other in bag))
        bag = next(free, None)
        if bag is None:
            bags.append([end])
        else:
            bag.append(end)
    ordered = [tuple(end for end in listed if end in bag) for bag in bags]
    return tuple(sorted(ordered, key=lambda bag: listed.index(bag[0])))


def difference(a: RingEnd, b: RingEnd) -> Reason:
    """How ring a differs from ring b, as data; only what differs is named.

    A colour is added to a difference and never is one. Where the data know none, it says so.

    >>> ring = RingEnd("pipe", "pump end", None, "A", 17.0, 2.0, "EPDM", 70)
    >>> difference(ring, RingEnd("pipe", "heater end", None, "B", 17.0, 2.5, "FKM", 70)).code
    'differs'
    """
    known, unknown = tuple(_differences(a, b)), tuple(_unstated(a, b))
    if not known:
        if not unknown:
            return because(RingDifference.SAME)
        return because(RingDifference.PERHAPS, parts=unknown)
    parts = [*known, *unknown]
    if a.colour and b.colour and a.colour != b.colour:
        parts.append(because(RingDifference.COLOUR, mine=a.colour, other=b.colour))
    return because(RingDifference.DIFFERS, parts=tuple(parts))


_DIFFERENCES = {
    RingDifference.SECTION: attrgetter("section"),
    RingDifference.INSIDE: attrgetter("inside"),
    RingDifference.RUBBER: attrgetter("elastomer"),
    RingDifference.HARDNESS: attrgetter("hardness"),
}


def _differences(a: RingEnd, b: RingEnd) -> Iterator[Reason]:
    for code, of in _DIFFERENCES.items():
        mine, other = of(a), of(b)
        if mine is not None and other is not None and mine != other:
            yield because(code, mine=mine, other=other)


def _unstated(a: RingEnd, b: RingEnd) -> Iterator[Reason]:
    """What nobody states of one of them, so that it may differ or not."""
    yield from _missing(a.inside, b.inside, RingDifference.NO_SIZE, RingDifference.OTHER_NO_SIZE)
    yield from _missing(
        a.elastomer, b.elastomer, RingDifference.NO_RUBBER, RingDifference.OTHER_NO_RUBBER
    )
    if a.hardness is not None or b.hardness is not None:
        yield from _missing(
            a.hardness, b.hardness, RingDifference.NO_HARDNESS, RingDifference.OTHER_NO_HARDNESS
        )


def _missing(
    mine: object, other: object, own: RingDifference, others: RingDifference
) -> Iterator[Reason]:
    if mine is None:
        yield because(own)
    elif other is None:
        yield because(others)


def nearness(a: RingEnd, b: RingEnd) -> tuple[float, float]:
    """How far apart two rings are, for sorting: by inside, then by section (mm).

    What is not stated may be the same, and counts as no distance.
    """
    return _distance(a.inside, b.inside), _distance(a.section, b.section)


def _distance(one: float | None, other: float | None) -> float:
    return 0.0 if one is None or other is None else abs(one - other)
