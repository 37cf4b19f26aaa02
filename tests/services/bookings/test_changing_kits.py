"""What a change leaves in a kit: variants settled anew, opened packs, licences, changes at random.

Every place, price and part here is invented.
"""

from __future__ import annotations

import random
from collections import defaultdict
from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import (
    NOW,
    ON,
    assert_ledger,
    balances,
    booked,
    load,
    priced,
    said,
    shop,
    stock,
)
from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import renew_promises, step_to
from kitting.services.bookings.change import Change
from kitting.services.bookings.pick import pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.planning.variants import settle_variant
from kitting.services.purchasing.booking_change import make_change, show_change
from kitting.services.purchasing.orders import place
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.tables.bookings import Booking, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.views.booking_change import GoesBecause
from kitting.views.bookings import BookingView

RENEW = "rules: [{rule: renew, source: workshop, reference: test}]"
# Which seal sits in the groove is seen at the car only.
SEALS = f"""
items:
  - {{code: EARLY, name: Early seal, kind: o-ring, elastomer: FKM}}
  - {{code: LATE, name: Late seal, kind: o-ring, elastomer: FKM}}
units:
  - code: grebe
    name: Grebe
    splits:
      - code: seal
        question: Which seal?
        check: look at the groove
        options:
          - {{code: early, name: early}}
          - {{code: late, name: late}}
    joints:
      - code: one
        name: One
        system: engine
        fluids: [diesel]
        fits:
          - {{item: EARLY, position: groove, option: seal/early, quantity: 3 each, {RENEW}}}
          - {{item: LATE, position: groove, option: seal/late, quantity: 3 each, {RENEW}}}
    steps:
      - {{code: S1, name: One, hours: 2 h, opens: [one]}}
    jobs:
      - {{code: X1, name: One, needs: [S1]}}
models:
  - {{code: pell, name: Ulvander Pell, units: [grebe]}}
vehicles:
  - {{registration: PELL 001, model: pell, build_date: 2021-03-14}}
branches:
  - {{code: yard, name: Yard, country: GB, subdivision: ENG, van_cutoff: "15:00"}}
"""


def shown(engine: Engine) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, "B0001"), NOW.date())


def assert_fine(engine: Engine) -> None:
    assert_ledger(engine)
    assert [check for check in audit(engine, NOW).checks if check.faults] == []


def settled_late(engine: Engine, folder: Path) -> None:
    """A car settled late, booked and picked, and settled early after that."""
    load(engine, SEALS)
    stock(engine, folder, "yard,EARLY,E,5 each,1Q25", "yard,LATE,L,5 each,1Q25")
    settle_variant(engine, "PELL 001", "seal", "late")
    booked(engine, "X1")


def test_p2_planned_again_with_fewer_needs_no_hidden_promise_is_left(
    store: Engine, tmp_path: Path
) -> None:
    settled_late(store, tmp_path)
    settle_variant(store, "PELL 001", "seal", "early")
    view = make_change(store, "B0001", Change(), NOW)
    assert [(g.item, g.quantity, g.lot, g.why) for g in view.given_up] == [
        ("LATE", 3000, "L", GoesBecause.NOT_NEEDED)
    ]
    pick(store, "B0001", NOW)
    assert [(n.item, n.needed, n.picked) for n in shown(store).needs] == [("EARLY", 3000, 3000)]
    assert balances(store) == {("yard", "EARLY", "E"): (2000, 0), ("yard", "LATE", "L"): (5000, 0)}
    assert_fine(store)


def test_p2_planned_again_by_its_promises_what_is_picked_stands_on_a_line(
    store: Engine, tmp_path: Path
) -> None:
    settled_late(store, tmp_path)
    pick(store, "B0001", NOW)
    settle_variant(store, "PELL 001", "seal", "early")
    view = renew_promises(store, "B0001", NOW.date())
    lines = [(n.item, n.needed, n.picked, n.on_shelf) for n in view.needs]
    assert lines == [("EARLY", 3000, 0, 3000), ("LATE", 0, 3000, 0)]


def test_event_the_wrong_variant_is_found_before_the_ramp(store: Engine, tmp_path: Path) -> None:
    settled_late(store, tmp_path)
    pick(store, "B0001", NOW)
    settle_variant(store, "PELL 001", "seal", "early")
    view = make_change(store, "B0001", Change(), NOW)
    assert [(n.item, n.before, n.after) for n in view.gained] == [("EARLY", 0, 3000)]
    assert [(n.item, n.before, n.after) for n in view.lost] == [("LATE", 3000, 0)]
    (out,) = view.out_of_kit
    assert (out.item, out.quantity, out.lot, out.booked_back) == ("LATE", 3000, "L", True)
    assert balances(store) == {
        ("yard", "EARLY", "E"): (5000, 3000), ("yard", "LATE", "L"): (5000, 0),
    }  # fmt: skip
    assert_fine(store)


def test_event_the_wrong_variant_is_found_on_the_ramp(store: Engine, tmp_path: Path) -> None:
    settled_late(store, tmp_path)
    pick(store, "B0001", NOW)
    step_to(store, "B0001", BookingState.CONFIRMED)
    step_to(store, "B0001", BookingState.ON_THE_RAMP)
    settle_variant(store, "PELL 001", "seal", "early")
    view = make_change(store, "B0001", Change(), NOW)
    (out,) = view.out_of_kit
    assert (out.item, out.quantity, out.lot, out.booked_back) == ("LATE", 3000, "L", False)
    pick(store, "B0001", NOW)
    lines = [(n.item, n.needed, n.picked) for n in shown(store).needs]
    assert lines == [("EARLY", 3000, 3000), ("LATE", 0, 3000)]
    assert_fine(store)


def test_an_outdated_booking_is_planned_by_the_catalogue_of_now(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each,1Q25")
    booked(store, "X1")
    pick(store, "B0001", NOW)
    load(store, shop({"X1": {"RING": 2}}))
    assert shown(store).changes != ()
    view = make_change(store, "B0001", Change(), NOW)
    assert [(n.item, n.before, n.after) for n in view.lost] == [("RING", 4000, 2000)]
    assert [(o.item, o.quantity) for o in view.out_of_kit] == [("RING", 2000)]
    assert (shown(store).changes, shown(store).ready) == ((), True)
    assert_fine(store)


def test_a_variant_that_is_open_now_stops_the_change(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X0": {"RING": 1}}))
    stock(lite, tmp_path, "yard,RING,A,6 each,1Q25")
    booked(lite, "X0")
    load(lite, SEALS.replace("{code: X1", "{code: X0"))
    with pytest.raises(KittingError, match="cannot be booked for these jobs yet"):
        show_change(lite, "B0001", Change(), NOW)


SEALANT = (
    "  - {code: PASTE, name: Paste, kind: sealant, unit: ml, pack: 70 ml, opened_life: 60 days}\n"
)


def test_p1_what_was_opened_for_the_kit_goes_back_opened(store: Engine, tmp_path: Path) -> None:
    uses = "        uses:\n          - {item: PASTE, amount: 18.9 ml}\n"
    text = shop({"X1": {"RING": 1}, "X2": {"BOLT": 1}}, items=SEALANT)
    place_of = "        fits:\n          - {item: RING"
    assert place_of in text
    load(store, text.replace(place_of, f"{uses}{place_of}"))
    stock(
        store, tmp_path, "yard,RING,A,6 each,1Q25", "yard,BOLT,N,4 each",
        "yard,PASTE,T,70 ml,,2028-01-31",
    )  # fmt: skip
    booked(store, "X1", "X2")
    pick(store, "B0001", NOW)
    view = make_change(store, "B0001", Change(drop=("X1",)), datetime(2026, 4, 3, 9, 0))  # noqa: DTZ001
    assert ("PASTE", 18900) in [(o.item, o.quantity) for o in view.out_of_kit]
    with store.connect() as connection:
        rows = connection.execute(
            select(Lot.opened_on, Lot.on_hand)
            .join(Item, Lot.item_id == Item.id)
            .where(Item.code == "PASTE", Lot.on_hand > 0)
        ).all()
        # The lot to carry it to is the one that it lies in by itself, not the sealed one.
        lots = [one.lot for one in view.out_of_kit if one.item == "PASTE"]
        there = connection.execute(
            select(Lot.opened_on, Lot.on_hand).where(Lot.code.in_(lots))
        ).all()
    assert [day for day, amount in there if amount] == [NOW.date()] * len(lots)
    # Opened on the day of picking, whole or in parts: nothing of it is sealed again.
    assert {day for day, _ in rows} == {NOW.date()}
    assert sum(there for _, there in rows) == 70_000
    assert_fine(store)


def test_a_branch_is_judged_by_its_own_licences_and_buys_in_its_own_currency(
    lite: Engine, tmp_path: Path
) -> None:
    text = shop({"X1": {"RING": 1}})
    text = text.replace("{code: S-X1,", "{code: S-X1, licence: refrigerant,")
    text = text.replace("name: Yard,", "name: Yard, licences: [refrigerant],")
    load(lite, text.replace("name: Quay,", "name: Quay, currency: EUR,"))
    stock(lite, tmp_path, "yard,RING,A,6 each,1Q25", "quay,RING,Q,6 each,1Q25")
    booked(lite, "X1")
    view = show_change(lite, "B0001", Change(branch="quay"), NOW)
    (new,) = said(doubt.because for doubt in view.doubts_gained)
    assert "nobody at this branch is qualified" in new
    assert view.buying is not None
    assert view.buying.total == Money(0, "EUR")
    assert make_change(lite, "B0001", Change(branch="quay"), NOW).ready is False
    back = make_change(lite, "B0001", Change(branch="yard"), NOW)
    assert (back.ready, said(doubt.because for doubt in back.doubts_lost)) == (True, [new])


def sums(engine: Engine) -> tuple[dict[tuple[str, str], int], dict[str, int]]:
    """The needs of the first booking, and what is promised or picked for it, by item."""
    needs: dict[tuple[str, str], int] = {}
    covered: dict[str, int] = defaultdict(int)
    with engine.connect() as connection:
        key = select(Booking.id).where(Booking.number == "B0001").scalar_subquery()
        for item, rule, amount in connection.execute(
            select(Item.code, BookingNeed.rule, BookingNeed.quantity)
            .join(Item, BookingNeed.item_id == Item.id)
            .where(BookingNeed.booking_id == key)
        ):
            needs[item, rule] = amount
        for item, waiting, picked in connection.execute(
            select(Item.code, Promise.waiting, Promise.picked)
            .join(Item, Promise.item_id == Item.id)
            .where(Promise.booking_id == key)
        ):
            covered[item] += waiting + picked
    return needs, dict(covered)


JOBS = {
    "X1": {"RING": 2, "BOLT": 1}, "X2": {"RING": 3}, "X3": {"OTHER": 4, "BOLT": 2},
    "X4": {"OTHER": 1, "RING": 1},
}  # fmt: skip
DAYS = (date(2026, 4, 9), ON, date(2026, 4, 22), date(2026, 6, 3))
MORE = "  - {code: OTHER, name: Other ring, kind: o-ring, elastomer: NBR}"


def at_random(rng: random.Random, view: BookingView) -> tuple[Change, Change]:
    """A change of a booking, and the one that undoes it."""
    ways = ["add", "drop", "on", "nothing"]
    if view.state is not BookingState.ON_THE_RAMP:
        ways += ["branch"]
    way = rng.choice(ways)
    left = [job for job in JOBS if job not in view.jobs]
    if way == "add" and left:
        job = rng.choice(left)
        return Change(add=(job,), again=True), Change(drop=(job,))
    if way == "drop" and len(view.jobs) > 1:
        job = rng.choice(view.jobs)
        return Change(drop=(job,)), Change(add=(job,), again=True)
    if way == "branch":
        other = "quay" if view.branch == "yard" else "yard"
        return Change(branch=other), Change(branch=view.branch)
    if way == "on":
        return Change(on=rng.choice(DAYS)), Change(on=view.fit_on)
    return Change(), Change()


@pytest.mark.parametrize("seed", range(2))
def test_a_hundred_changes_at_random_leave_the_books_right_and_are_undone_by_their_opposite(
    lite: Engine, tmp_path: Path, seed: int
) -> None:
    rng = random.Random(seed)
    load(lite, shop(JOBS, items=MORE))
    stock(
        lite, tmp_path, "yard,RING,A,4 each,1Q25", "yard,RING,B,3 each,,2026-04-20",
        "yard,OTHER,O,4 each,1Q25", "yard,BOLT,N,2 each", "quay,RING,Q,2 each,,2026-04-16",
        "quay,OTHER,P,5 each,1Q25", "quay,BOLT,M,9 each",
    )  # fmt: skip
    priced(lite, tmp_path, "prompt", "P-R,RING,2.00 GBP,2 each", "P-O,OTHER,1.00 GBP,1 each")
    booked(lite, "X2", "X3")
    booked(lite, "X4")
    for turn in range(25):
        doing = rng.choice(("pick", "place", "change", "change"))
        if doing == "pick":
            pick(lite, "B0001", NOW)
        elif doing == "place":
            place(lite, ["B0001"], NOW)
        if turn == 18:
            step_to(lite, "B0001", BookingState.CONFIRMED, "the customer waits")
            step_to(lite, "B0001", BookingState.ON_THE_RAMP)
        make_change(lite, "B0001", Change(), NOW)
        before = sums(lite)
        there, back = at_random(rng, shown(lite))
        for change in (there, back):
            view = make_change(lite, "B0001", change, NOW)
            assert_fine(lite)
            needs, covered = sums(lite)
            total = {item: sum(n for (i, _), n in needs.items() if i == item) for item, _ in needs}
            if view.after.state is not BookingState.ON_THE_RAMP:
                assert all(amount <= total.get(item, 0) for item, amount in covered.items())
        assert sums(lite) == before, (turn, there)
