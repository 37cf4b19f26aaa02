"""Simulated measuring: 200 inch and 100 metric rings, new and used, against the whole catalogue."""

from __future__ import annotations

import random
from collections.abc import Iterable

import pytest
from sqlalchemy import Engine

from helpers import load
from kitting.calc.rubber.ring_sizes import Measured, decider, match_sizes
from kitting.errors import FigureError
from kitting.facts.ring_reasons import DeciderReason
from kitting.facts.ring_standards import Ring, borrowed, standard_sizes
from kitting.services.rubber.catalogue_rings import RingQuery
from kitting.services.rubber.find import find_measured
from kitting.store import reading
from kitting.views.rubber import RingsView
from kitting.wording.reasons import say

INCH = [size.ring for size in standard_sizes()]


def _metric() -> list[Ring]:
    """A hundred rings of the metric sections of ISO 3601-1, each inside in whole millimetres."""
    luck = random.Random(3601)
    sizes: set[tuple[int, float]] = set()
    while len(sizes) < 100:
        inside, section = luck.randint(4, 150), luck.choice((1.5, 2.0, 2.5, 3.0, 4.0, 5.0))
        if section < inside:
            sizes.add((inside, section))
    return [borrowed(f"{inside:g} × {section:g}", inside, section) for inside, section in sizes]


METRIC = _metric()
RINGS = [*random.Random(568).sample(INCH, 200), *METRIC]


def new(ring: Ring, luck: random.Random) -> Measured:
    """A new ring, either length taken up to 0.1 mm off."""
    return Measured(ring.inside + luck.uniform(-0.1, 0.1), ring.section + luck.uniform(-0.1, 0.1))


def used(ring: Ring, luck: random.Random, worst: bool, most_set: float = 0.2) -> Measured:
    """One that has stretched by 3 %, swollen by 5 %, or by less of each, and set by 0 to 20 %."""
    pulled, swollen = (1.0, 1.0) if worst else (luck.random(), luck.random())
    stretch, swell = 1 + 0.03 * pulled, 1 + 0.05 * swollen / 3
    inside = ring.inside * stretch * swell
    section = ring.section / stretch**0.5 * swell * (1 - luck.uniform(0, most_set))
    off = luck.uniform(-0.1, 0.1), luck.uniform(-0.1, 0.1)
    return Measured(inside + off[0], section + off[1], used=True)


def ranks(measured: list[Measured]) -> list[int]:
    """At which place each of RINGS stands, 0 the first, among all inch and metric ones."""
    found = []
    for ring, one in zip(RINGS, measured, strict=True):
        names = [match.size.name for match in match_sizes([*INCH, *METRIC], one, 500)]
        found.append(names.index(ring.name))
    return found


def share(found: Iterable[bool]) -> float:
    values = list(found)
    return sum(values) / len(values)


def test_a_new_ring_measured_a_tenth_off_is_the_first_in_95_of_100() -> None:
    luck = random.Random(1)
    assert share(rank == 0 for rank in ranks([new(ring, luck) for ring in RINGS])) >= 0.95


@pytest.mark.parametrize("worst", [False, True])
def test_a_used_ring_that_has_also_set_is_among_the_first_five_in_95_of_100(worst: bool) -> None:
    luck = random.Random(2)
    assert share(rank < 5 for rank in ranks([used(r, luck, worst) for r in RINGS])) >= 0.95


def test_no_size_is_ever_called_settled_for_a_used_ring_nor_a_wrong_one_for_a_new() -> None:
    luck, settled = random.Random(3), 0
    for ring in RINGS:
        for one in (used(ring, luck, worst=False), used(ring, luck, worst=True)):
            assert not decider(match_sizes([*INCH, *METRIC], one), one).settled
        one = new(ring, luck)
        found = match_sizes([*INCH, *METRIC], one)
        if decider(found, one).settled:
            settled += 1
            assert found[0].size.name == ring.name
    assert settled > 200


def test_a_used_ring_beyond_the_model_is_said_to_be_out_of_reach() -> None:
    """A section that has set by half of itself, and no size is that thin at that inside."""
    one = Measured(300.0, 1.0, used=True)
    found = decider(match_sizes(INCH, one), one)
    assert (found.reason.code, found.settled) == (DeciderReason.USED_OUT_OF_REACH, False)
    assert "stretched by 3 %, swollen by 5 % of its volume and set by 20 %" in say(found.reason)


@pytest.fixture
def stocked(lite: Engine) -> Engine:
    """A catalogue with an item of each of RINGS."""
    items = "".join(
        f"\n  - {{code: R{number}, name: Ring, kind: o-ring, elastomer: NBR,"
        f" ring_inside: {ring.inside:.2f} mm, ring_section: {ring.section:.2f} mm}}"
        for number, ring in enumerate(RINGS)
    )
    load(lite, f"items:{items}\n")
    return lite


def test_the_item_of_a_ring_is_listed_in_99_of_100(stocked: Engine) -> None:
    luck = random.Random(4)
    with reading(stocked) as session:

        def listed(one: Measured, number: int) -> bool:
            view: RingsView = find_measured(session, one)
            return f"R{number}" in [item.item for item in view.items]

        every = range(0, len(RINGS), 3)
        assert share(listed(new(RINGS[n], luck), n) for n in every) >= 0.99
        assert share(listed(used(RINGS[n], luck, worst=n % 2 == 0), n) for n in every) >= 0.99


def test_the_items_are_those_within_reach_the_nearest_first_and_no_others(stocked: Engine) -> None:
    with reading(stocked) as session:
        several = 0
        for number, ring in enumerate(RINGS[:20]):
            view = find_measured(session, Measured(ring.inside, ring.section, used=True))
            assert all(item.measured is not None and item.measured.within for item in view.items)
            several += len(view.items) > 1
            alike = find_measured(session, Measured(ring.inside, ring.section)).items
            assert (alike[0].item, view.error) == (f"R{number}", 0.1)
        assert several
        assert find_measured(session, Measured(700.0, 1.0)).items == ()


@pytest.mark.parametrize("measured", [Measured(17.5, 2.4, used=True), Measured(17.08, 2.45)])
def test_an_item_is_found_by_what_is_within_reach_not_by_its_very_size(
    garage: Engine, measured: Measured
) -> None:
    with reading(garage) as session:
        view = find_measured(session, measured)
    assert "17 × 2.5 mm of the catalogue" in [one.size for one in view.sizes[:2]]
    assert "RING-FKM-17X2.5" in [item.item for item in view.items]


def test_an_item_of_which_nobody_states_the_hardness_is_listed_as_such(stocked: Engine) -> None:
    ring = RINGS[0]
    with reading(stocked) as session:
        measured = Measured(ring.inside, ring.section)
        items = find_measured(session, measured, RingQuery(hardness=75)).items
    assert (items[0].item, items[0].hardness) == ("R0", None)


@pytest.mark.parametrize("hardness", [700, 19, 0, -75])
def test_a_hardness_that_no_ring_has_is_refused(hardness: int) -> None:
    with pytest.raises(FigureError, match="from 20 to 100"):
        RingQuery(hardness=hardness)
