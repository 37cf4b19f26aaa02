"""Free stock: promises, expiry at the fitting date, first expired first out, opened packs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.calc.stock.allocation import (
    Arrival,
    Lot,
    Take,
    allocate,
    free_on,
    packs_needed,
    usable,
)
from kitting.errors import FigureError

SEALANT, RING = 1, 2
TUESDAY, WEDNESDAY = date(2026, 5, 5), date(2026, 5, 6)
FIT = date(2026, 5, 12)


def test_on_tuesday_three_are_free_and_on_wednesday_nine() -> None:
    lots = [Lot(1, RING, 9, promised=6)]
    inbound = [Arrival(1, RING, WEDNESDAY, 10, promised=4)]
    assert free_on(lots, inbound, TUESDAY) == 3
    assert free_on(lots, inbound, WEDNESDAY) == 9


def test_sealant_that_expires_on_10_may_is_refused_for_12_may() -> None:
    lot = Lot(1, SEALANT, 2, expires=date(2026, 5, 10))
    assert not usable(lot, FIT)
    assert allocate([lot], 1, FIT) == ((), 1)


def test_the_day_of_expiry_is_the_last_to_fit_it() -> None:
    lot = Lot(1, SEALANT, 2, expires=FIT)
    assert usable(lot, FIT)
    assert not usable(lot, FIT + timedelta(days=1))


def test_what_is_on_hold_is_refused_whatever_the_date() -> None:
    lot = Lot(1, SEALANT, 2, on_hold=True)
    assert not usable(lot, FIT)
    assert allocate([lot], 2, FIT) == ((), 2)


def test_expiry_is_judged_at_the_fitting_date_and_not_at_the_date_of_promising() -> None:
    lots = [Lot(1, SEALANT, 5, expires=date(2026, 5, 10)), Lot(2, SEALANT, 2)]
    assert free_on(lots, [], TUESDAY) == 7
    assert free_on(lots, [], TUESDAY, fit_on=FIT) == 2


def test_a_promise_on_stock_on_hold_has_to_be_met_from_the_rest() -> None:
    lots = [Lot(1, RING, 5, promised=2, on_hold=True), Lot(2, RING, 9)]
    assert free_on(lots, [], TUESDAY) == 7


def test_more_promised_than_there_is_shows_below_nothing() -> None:
    assert free_on([Lot(1, RING, 2, promised=5)], [], TUESDAY) == -3


def test_nothing_held_is_nothing_free() -> None:
    assert free_on([], [], TUESDAY) == 0


def test_lots_go_by_expiry_then_receipt_then_key_and_those_without_expiry_last() -> None:
    early, late = date(2026, 6, 1), date(2026, 7, 1)
    lots = [
        Lot(1, RING, 1),
        Lot(2, RING, 1, received=late),
        Lot(3, RING, 1, received=early),
        Lot(4, RING, 1, expires=late),
        Lot(6, RING, 1, expires=early, received=late),
        Lot(5, RING, 1, expires=early, received=late),
        Lot(7, RING, 1, expires=early, received=early),
    ]
    takes, lacking = allocate(lots, 9, FIT)
    assert takes == tuple(Take(key, 1) for key in (7, 5, 6, 4, 3, 2, 1))
    assert lacking == 2


def test_only_what_is_not_promised_is_taken() -> None:
    lots = [Lot(1, RING, 3, promised=3), Lot(2, RING, 4, promised=1), Lot(3, RING, 1, promised=2)]
    assert allocate(lots, 5, FIT) == ((Take(2, 3),), 2)


NEAR = st.dates(date(2026, 5, 8), date(2026, 5, 16))
LOTS = st.lists(
    st.builds(
        Lot,
        key=st.integers(1, 9),
        item=st.just(RING),
        quantity=st.integers(0, 5),
        promised=st.integers(0, 3),
        expires=st.none() | NEAR,
        on_hold=st.booleans(),
        received=st.none() | NEAR,
    ),
    unique_by=lambda lot: lot.key,
    max_size=6,
)


def piece_by_piece(lots: list[Lot], quantity: int) -> tuple[dict[int, int], int]:
    """Taking one piece after another, each time from the usable lot that should go first."""
    left = {lot.key: lot.quantity - lot.promised for lot in lots}
    taken: dict[int, int] = {}
    for done in range(quantity):
        usable = [
            lot
            for lot in lots
            if left[lot.key] > 0 and not lot.on_hold and (lot.expires is None or lot.expires >= FIT)
        ]
        if not usable:
            return taken, quantity - done
        soonest = min(lot.expires or date.max for lot in usable)
        usable = [lot for lot in usable if (lot.expires or date.max) == soonest]
        first = min(lot.received or date.max for lot in usable)
        key = min(lot.key for lot in usable if (lot.received or date.max) == first)
        left[key] -= 1
        taken[key] = taken.get(key, 0) + 1
    return taken, 0


@given(LOTS, st.integers(0, 25))
def test_allocation_equals_taking_piece_by_piece(lots: list[Lot], quantity: int) -> None:
    takes, lacking = allocate(lots, quantity, FIT)
    assert ({take.lot: take.quantity for take in takes}, lacking) == piece_by_piece(lots, quantity)


@given(LOTS, st.integers(0, 25))
def test_nothing_is_lost_and_no_later_lot_is_used_while_an_earlier_one_has_stock(
    lots: list[Lot], quantity: int
) -> None:
    takes, lacking = allocate(lots, quantity, FIT)
    taken = {take.lot: take.quantity for take in takes}
    assert len(taken) == len(takes)
    assert sum(taken.values()) + lacking == quantity
    left = {lot.key: max(0, lot.quantity - lot.promised) - taken.get(lot.key, 0) for lot in lots}
    assert min(left.values(), default=0) >= 0
    fit = [lot for lot in lots if usable(lot, FIT)]
    assert set(taken) <= {lot.key for lot in fit}
    assert lacking == 0 or sum(left[lot.key] for lot in fit) == 0
    for used in fit:
        for sooner in fit:
            if taken.get(used.key) and (sooner.expires or date.max) < (used.expires or date.max):
                assert left[sooner.key] == 0


@given(LOTS, st.integers(0, 25), st.randoms())
def test_the_order_in_which_lots_are_listed_changes_nothing(
    lots: list[Lot], quantity: int, shuffler: object
) -> None:
    shuffled = list(lots)
    shuffle: Callable[[list[Lot]], None] = shuffler.shuffle  # type: ignore[attr-defined]
    shuffle(shuffled)
    assert allocate(shuffled, quantity, FIT) == allocate(lots, quantity, FIT)


@given(LOTS)
def test_without_overpromised_or_refused_lots_all_that_is_free_can_be_taken(
    lots: list[Lot],
) -> None:
    sound = [lot for lot in lots if usable(lot, FIT) and lot.promised <= lot.quantity]
    free = free_on(sound, [], TUESDAY, FIT)
    assert allocate(sound, free + 1, FIT)[1] == 1


FIRST = date(2026, 5, 4)


@pytest.mark.parametrize(
    ("apart", "opened_days", "packs"),
    [(5, 60, 1), (60, 60, 1), (61, 60, 2), (100, 60, 2), (100, None, 1), (0, 0, 1)],
)
def test_two_beads_share_a_tube_within_its_opened_life_only(
    apart: int, opened_days: int | None, packs: int
) -> None:
    uses = [(FIRST, 18_900), (FIRST + timedelta(days=apart), 18_900)]
    assert packs_needed(uses, 70_000, opened_days) == packs


def test_a_use_larger_than_a_pack_opens_several() -> None:
    assert packs_needed([(FIRST, 150)], 70, 60) == 3
    assert packs_needed([], 70, 60) == 0


def fewest_packs(uses: list[tuple[int, int]], pack: int, opened_days: int | None) -> int:
    """Every way to draw each unit from an open pack or a new one; the fewest opened."""
    units = [day for day, amount in sorted(uses) for _ in range(amount)]
    states: dict[tuple[tuple[int, int], ...], int] = {(): 0}  # (opened on, left) → packs
    for day in units:
        reached: dict[tuple[tuple[int, int], ...], int] = {}
        for state, packs in states.items():
            drawn = [((*state, (day, pack - 1)), packs + 1)]
            for i, (opened, left) in enumerate(state):
                if left and (opened_days is None or day <= opened + opened_days):
                    drawn.append(((*state[:i], (opened, left - 1), *state[i + 1 :]), packs))
            for after, count in drawn:
                key = tuple(sorted(after))
                reached[key] = min(count, reached.get(key, count))
        states = reached
    return min(states.values())


@settings(deadline=None)  # every way is tried: some cases take long on a busy machine
@given(
    st.lists(st.tuples(st.integers(0, 12), st.integers(0, 4)), max_size=3),
    st.integers(1, 4),
    st.none() | st.integers(0, 8),
)
def test_no_other_way_of_drawing_needs_fewer_packs(
    uses: list[tuple[int, int]], pack: int, opened_days: int | None
) -> None:
    dated = [(FIRST + timedelta(days=day), amount) for day, amount in uses]
    assert packs_needed(dated, pack, opened_days) == fewest_packs(uses, pack, opened_days)


def test_several_items_are_not_counted_together() -> None:
    lots = [Lot(1, RING, 1), Lot(2, SEALANT, 1)]
    with pytest.raises(FigureError, match=r"items \[1, 2\] cannot be counted together"):
        allocate(lots, 1, FIT)
    with pytest.raises(FigureError, match=r"items \[1, 2\] cannot be counted together"):
        free_on(lots[:1], [Arrival(1, SEALANT, TUESDAY, 1)], TUESDAY)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Lot(1, RING, -1),
        lambda: Arrival(1, RING, TUESDAY, 1, -1),
        lambda: allocate([], -1, FIT),
        lambda: packs_needed([(FIRST, -1)], 70, None),
        lambda: packs_needed([], 70, -1),
    ],
)
def test_negative_amounts_are_refused(wrong: Callable[[], object]) -> None:
    with pytest.raises(FigureError, match="must not be negative"):
        wrong()


def test_a_pack_of_nothing_is_refused() -> None:
    with pytest.raises(FigureError, match="a pack of 0 holds nothing"):
        packs_needed([], 0, 60)
