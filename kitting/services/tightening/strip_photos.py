"""What to photograph before a joint is taken apart, as far as the catalogue tells.

Common practice, no source: ends that could be swapped, unequal lengths, and how things run.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from kitting.facts.reasons import Reason, because
from kitting.facts.words import ItemFamily
from kitting.services.planning.judged import JudgedPart
from kitting.views.kit import Bag
from kitting.views.plan import PlanView
from kitting.views.strip import PhotoOf

_HOLDS = (ItemFamily.CLIP, ItemFamily.CLAMP)
_HELD = ItemFamily.PART


def photos_of(
    plan: PlanView, joint: str, parts: Sequence[JudgedPart], bags: Sequence[Bag]
) -> Iterator[Reason]:
    """Why a joint is photographed: which ring sits where, which bolt, how hoses and cables run."""
    name = next((one.name for one in plan.joints if one.code == joint), joint)
    rings = [part.fit for part in parts if part.asked.kind.family is ItemFamily.RING]
    if len(rings) > 1 or any(end.differs for bag in bags for end in bag.ends):
        places = tuple(dict.fromkeys(fit.end or fit.position for fit in rings))
        yield because(PhotoOf.ENDS, name=name, places=places)
    unequal = _unequal(parts)
    if unequal:
        yield because(PhotoOf.LENGTHS, name=name, places=unequal)
    if any(part.asked.kind.family in _HOLDS for part in parts):
        families = (*_HOLDS, _HELD)
        runs = [part.fit.position for part in parts if part.asked.kind.family in families]
        yield because(PhotoOf.RUNS, name=name, places=tuple(dict.fromkeys(runs)))


def _unequal(parts: Sequence[JudgedPart]) -> tuple[str, ...]:
    """The positions of fasteners that have one thread and several lengths, where both are known.

    Of options of an open variant only one is there.
    """
    lengths: dict[str, set[int]] = defaultdict(set)
    places: dict[str, list[str]] = defaultdict(list)
    for part in parts:
        thread, length = part.asked.thread, part.asked.length
        if thread is not None and length is not None and not part.options:
            lengths[thread].add(length)
            places[thread].append(part.fit.position)
    found = [place for thread, here in places.items() if len(lengths[thread]) > 1 for place in here]
    return tuple(dict.fromkeys(found))
