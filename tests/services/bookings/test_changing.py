"""A booking is changed, not made anew: jobs, date, branch, a settled variant; P2, P18, P10 beside it.

Every place, price and part here is invented.
"""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import (
    NOW,
    ON,
    UNCOUNTED,
    assert_ledger,
    balances,
    booked,
    counted,
    load,
    needed,
    priced,
    said,
    shop,
    stock,
)
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.facts.words import BookingState, DateState, FindingResult, MovementKind
from kitting.services.bookings.booking import step_to, take_from
from kitting.services.bookings.change import Change
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.booking_change import make_change, show_change
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.shelves import LotName
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.tables.stock import Movement
from kitting.tables.vehicles import Refit
from kitting.views.booking_change import BookingChangeView, GoesBecause
from kitting.views.bookings import BookingView

LATER = date(2026, 4, 22)
TWO = {"X1": {"RING": 2, "BOLT": 1}, "X2": {"RING": 3}}
# Two jobs that are reached through one step, with a seal of its own that both ask for once.
SHARED = """
items:
  - {code: RING, name: Ring, kind: o-ring, elastomer: FKM}
  - {code: COVER, name: Cover gasket, kind: paper-gasket}
  - {code: CAP, name: Cap, kind: caps-and-plugs}
units:
  - code: grebe
    name: Grebe
    joints:
      - code: cover
        name: Cover
        system: engine
        fits:
          - {item: COVER, position: face, rules: [{rule: renew, source: workshop, reference: test}]}
      - code: one
        name: One
        system: engine
        fluids: [diesel]
        fits:
          - {item: RING, position: groove, quantity: 2 each, rules: [{rule: renew, source: workshop, reference: test}]}
      - code: two
        name: Two
        system: engine
        fluids: [diesel]
        fits:
          - {item: RING, position: groove, quantity: 3 each, rules: [{rule: renew, source: workshop, reference: test}]}
    steps:
      - {code: OFF, name: Cover off, hours: 1 h, opens: [cover], uses: [{item: CAP, amount: 2 each}]}
      - {code: S1, name: One, hours: 2 h, needs: [OFF], opens: [one]}
      - {code: S2, name: Two, hours: 4 h, needs: [OFF], opens: [two]}
    jobs:
      - {code: X1, name: One, needs: [S1]}
      - {code: X2, name: Two, needs: [S2]}
models:
  - {code: pell, name: Ulvander Pell, units: [grebe]}
vehicles:
  - {registration: PELL 001, model: pell, build_date: 2021-03-14}
branches:
  - {code: yard, name: Yard, country: GB, subdivision: ENG, van_cutoff: "15:00"}
"""


def shown(engine: Engine, number: str = "B0001") -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number), NOW.date())


def made(engine: Engine, change: Change, at: datetime = NOW) -> BookingChangeView:
    """A change of the first booking that is made, after the same change was only shown.

    Both say the same, and showing changes nothing.
    """
    before = shown(engine), balances(engine)
    preview = show_change(engine, "B0001", change, at)
    assert (shown(engine), balances(engine)) == before
    view = make_change(engine, "B0001", change, at)
    assert preview.made is False
    assert view.made is True
    for name in BookingChangeView.__slots__:
        if name != "made":
            assert getattr(preview, name) == getattr(view, name), name
    assert view.doubts == shown(engine).doubts
    assert_fine(engine)
    return view


def assert_fine(engine: Engine) -> None:
    assert_ledger(engine)
    faults = [check for check in audit(engine, NOW).checks if check.faults]
    assert faults == []


def on_the_ramp(engine: Engine, number: str = "B0001") -> None:
    pick(engine, number, NOW)
    step_to(engine, number, BookingState.CONFIRMED)
    step_to(engine, number, BookingState.ON_THE_RAMP)


def two_jobs(engine: Engine, folder: Path, *jobs: str, rings: int = 6) -> None:
    load(engine, shop(TWO))
    stock(engine, folder, f"yard,RING,A,{rings} each,1Q25", "yard,BOLT,N,4 each")
    booked(engine, *jobs)


def goes(view: BookingChangeView) -> list[tuple[str, int, str, GoesBecause, bool]]:
    return [(o.item, o.quantity, o.lot, o.why, o.booked_back) for o in view.out_of_kit]


def test_event_a_job_is_added_and_shared_seals_are_counted_once(
    store: Engine, tmp_path: Path
) -> None:
    load(store, SHARED)
    stock(store, tmp_path, "yard,RING,A,9 each,1Q25", "yard,COVER,C,2 each", "yard,CAP,K,9 each")
    booked(store, "X1")
    view = made(store, Change(add=("x2",)))
    assert (view.before.jobs, view.after.jobs) == (("X1",), ("X1", "X2"))
    assert (view.before.hours, view.after.hours) == (3000, 7000)
    assert [(n.item, n.before, n.after) for n in view.gained] == [("RING", 2000, 5000)]
    assert (view.lost, view.short, view.given_up, view.out_of_kit) == ((), (), (), ())
    assert needed(shown(store), "COVER").needed == 1000
    assert balances(store)["yard", "RING", "A"] == (9000, 5000)
    assert view.ready is True
    assert view.buying is not None
    assert view.buying.total == Money(0, "GBP")
    assert view.date is not None
    assert view.date.state is DateState.SAFE


def test_event_a_job_is_dropped_before_the_ramp_and_its_parts_go_back_to_their_shelf(
    store: Engine, tmp_path: Path
) -> None:
    two_jobs(store, tmp_path, "X1", "X2")
    pick(store, "B0001", NOW)
    view = made(store, Change(drop=("X2",)))
    assert goes(view) == [("RING", 3000, "A", GoesBecause.NOT_NEEDED, True)]
    assert balances(store)["yard", "RING", "A"] == (4000, 0)
    ring = needed(shown(store), "RING")
    assert (ring.needed, ring.picked, ring.short) == (2000, 2000, 0)
    assert [(n.item, n.before, n.after) for n in view.lost] == [("RING", 5000, 2000)]
    with store.connect() as connection:
        moved = connection.execute(
            select(Movement.kind, Movement.quantity).order_by(Movement.id)
        ).all()
    assert moved[-1] == (MovementKind.PUT_BACK, 3000)


def test_event_further_work_on_the_ramp_takes_what_is_free_and_the_kit_stays(
    store: Engine, tmp_path: Path
) -> None:
    two_jobs(store, tmp_path, "X1", rings=4)
    priced(store, tmp_path, "prompt", "P-R,RING,2.00 GBP,1 each")
    on_the_ramp(store)
    view = made(store, Change(add=("X2",)))
    assert view.after.state is BookingState.ON_THE_RAMP
    ring = needed(shown(store), "RING")
    assert (ring.picked, ring.on_shelf, ring.short) == (2000, 2000, 1000)
    assert [(s.item, s.quantity) for s in view.short] == [("RING", 1000)]
    assert said(d.because for d in view.doubts_gained) == ["RING: 1 short"]
    assert view.buying is not None
    assert view.buying.total == Money(200, "GBP")


def test_event_a_job_dropped_on_the_ramp_leaves_its_parts_in_the_kit_and_asks_for_them(
    store: Engine, tmp_path: Path
) -> None:
    two_jobs(store, tmp_path, "X1", "X2")
    on_the_ramp(store)
    view = made(store, Change(drop=("X2",)))
    assert goes(view) == [("RING", 3000, "A", GoesBecause.NOT_NEEDED, False)]
    assert balances(store)["yard", "RING", "A"] == (1000, 0)
    (left,) = (n for n in shown(store).needs if not n.needed)
    assert (left.item, left.picked) == ("RING", 3000)
    # Nothing is fitted that nobody needs: closing sends it back.
    close(store, "B0001", Closing({}, {}), NOW, UNCOUNTED)
    assert balances(store)["yard", "RING", "A"] == (4000, 0)
    assert_fine(store)


def test_a_job_that_has_begun_is_dropped_only_when_it_is_closed_up_again(
    store: Engine, tmp_path: Path
) -> None:
    two_jobs(store, tmp_path, "X1", "X2")
    on_the_ramp(store)
    count_seals(store, "B0001", {"x2": 3}, NOW)
    with pytest.raises(KittingError, match=r"X2 cannot be dropped from B0001 .* x2 is open"):
        show_change(store, "B0001", Change(drop=("X2",)), NOW)
    view = made(store, Change(drop=("X2",), close_up=True))
    assert (view.after.jobs, view.closing_up) == (("X1",), ("x2",))
    # Its joint was disturbed: what it needs stays, and the step that led to it too.
    assert (view.lost, view.out_of_kit) == ((), ())
    assert needed(shown(store), "RING").needed == 5000
    assert view.after.hours == view.before.hours
    # A later change does not ask again.
    assert made(store, Change(on=LATER)).closing_up == ("x2",)
    count_seals(store, "B0001", {"x1": 2}, NOW)
    close(store, "B0001", Closing({}, {}), datetime(2026, 4, 22, 9, 0))  # noqa: DTZ001
    assert balances(store)["yard", "RING", "A"] == (1000, 0)
    with store.connect() as connection:
        rows = connection.execute(select(Refit.position, Refit.outcome)).all()
    assert sorted(rows) == [("BOLT", "renewed"), ("RING", "renewed"), ("RING", "renewed")]


def test_a_finding_opens_a_joint_as_a_count_does(lite: Engine, tmp_path: Path) -> None:
    load(lite, SHARED)
    stock(lite, tmp_path, "yard,RING,A,9 each,1Q25", "yard,COVER,C,2 each", "yard,CAP,K,9 each")
    booked(lite, "X1", "X2")
    on_the_ramp(lite)
    seen = Found("two", "groove", FindingResult.NOT_INSPECTED)
    record_findings(lite, "B0001", [seen], NOW)
    with pytest.raises(KittingError, match="two is open"):
        show_change(lite, "B0001", Change(drop=("X2",)), NOW)
    # The other job is free to go: nobody has looked at its joint, and the cover stays off.
    view = made(lite, Change(drop=("X1",)))
    assert (view.after.jobs, view.closing_up, view.after.hours) == (("X2",), (), 5000)
    assert needed(shown(lite), "COVER").needed == 1000


def test_what_led_to_an_open_joint_is_put_on_again_with_it(lite: Engine, tmp_path: Path) -> None:
    load(lite, SHARED)
    stock(lite, tmp_path, "yard,RING,A,9 each,1Q25", "yard,COVER,C,2 each", "yard,CAP,K,9 each")
    load(lite, shop_more())
    booked(lite, "X2", "X3")
    on_the_ramp(lite)
    count_seals(lite, "B0001", {"two": 3}, NOW)
    view = made(lite, Change(drop=("X2",), close_up=True))
    # X3 does not take the cover off, yet it is off.
    assert (view.after.jobs, view.closing_up) == (("X3",), ("cover", "two"))
    assert needed(shown(lite), "COVER").needed == 1000
    assert needed(shown(lite), "CAP").needed == 2000


def shop_more() -> str:
    """The same unit with a third job, which is reached without the cover."""
    job = "      - {code: X2, name: Two, needs: [S2]}\n"
    step = "      - {code: S2, name: Two, hours: 4 h, needs: [OFF], opens: [two]}\n"
    return SHARED.replace(job, f"{job}      - {{code: X3, name: Three, needs: [S3]}}\n").replace(
        step, f"{step}      - {{code: S3, name: Three, hours: 1 h, opens: []}}\n"
    )


def test_jobs_that_cannot_be_added_or_dropped_are_refused(lite: Engine, tmp_path: Path) -> None:
    two_jobs(lite, tmp_path, "X1")
    booked(lite, "X2")
    refused = {
        Change(drop=("X1",)): "X1 is all that B0001 is for: cancel the booking instead",
        Change(drop=("X2",)): "B0001 has no job 'X2'. It is booked for X1",
        Change(add=("X1",)): "B0001 has the job X1 already",
        Change(add=("X9",)): "no job 'X9' for PELL 001",
        Change(add=("X2",)): "PELL 001 is booked for X2 already: B0002",
        Change(on=date(2026, 4, 1)): "2026-04-01 is past; name a day from 2026-04-02 on",
        Change(branch="nowhere"): "branch 'nowhere': unknown name",
    }
    for change, text in refused.items():
        with pytest.raises((KittingError, UnknownNameError)) as told:
            make_change(lite, "B0001", change, NOW)
        assert text in str(told.value)
    assert shown(lite).jobs == ("X1",)
    assert made(lite, Change(add=("X2",), again=True)).after.jobs == ("X1", "X2")


def test_event_moved_to_a_later_date_what_expires_gives_way(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 2}}))
    stock(store, tmp_path, "yard,RING,OLD,2 each,,2026-04-20", "yard,RING,NEW,1 each,,2027-04-20")
    booked(store, "X1")
    pick(store, "B0001", NOW)
    view = made(store, Change(on=LATER))
    assert goes(view) == [("RING", 2000, "OLD", GoesBecause.NOT_FIT, True)]
    ring = needed(shown(store), "RING")
    assert [(s.lot, s.quantity, s.picked) for s in ring.sources] == [("NEW", 1000, 0)]
    assert (ring.short, view.after.fit_on) == (1000, LATER)


def test_event_moved_to_an_earlier_date_late_arrivals_are_given_up_and_told(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 2}}))
    priced(store, tmp_path, "prompt", "P-R,RING,2.00 GBP,1 each,,,yes")
    booked(store, "X1")
    place(store, ["B0001"], NOW)
    early = date(2026, 4, 4)
    view = made(store, Change(on=early))
    assert [(g.item, g.quantity, g.order, g.why) for g in view.given_up] == [
        ("RING", 2000, "P0001", GoesBecause.TOO_LATE)
    ]
    (left,) = view.free_orders
    assert (left.order, left.item, left.quantity, left.returnable, left.why) == (
        "P0001", "RING", 2000, True, GoesBecause.TOO_LATE,
    )  # fmt: skip
    assert view.buying is not None
    assert view.buying.total is None
    assert view.date is not None
    assert view.date.state is DateState.IMPOSSIBLE
    # Moved back, what still comes is promised again.
    assert made(store, Change(on=ON)).short == ()


def test_event_moved_to_another_branch(store: Engine, tmp_path: Path) -> None:
    two_jobs(store, tmp_path, "X1")
    stock(store, tmp_path, "quay,RING,Q,1 each,1Q25")
    pick(store, "B0001", NOW)
    view = made(store, Change(branch="quay"))
    assert (view.before.branch, view.after.branch) == ("yard", "quay")
    assert sorted(goes(view)) == [
        ("BOLT", 1000, "N", GoesBecause.OTHER_BRANCH, True),
        ("RING", 2000, "A", GoesBecause.OTHER_BRANCH, True),
    ]
    assert balances(store) == {
        ("yard", "RING", "A"): (6000, 0),
        ("yard", "BOLT", "N"): (4000, 0),
        ("quay", "RING", "Q"): (1000, 1000),
    }
    assert [(s.item, s.quantity) for s in view.short] == [("BOLT", 1000), ("RING", 1000)]
    on_ramp = Change(branch="yard")
    step_to(store, "B0001", BookingState.CONFIRMED, "the customer waits")
    step_to(store, "B0001", BookingState.ON_THE_RAMP)
    with pytest.raises(KittingError, match="B0001 is on the ramp: the car and its kit are here"):
        make_change(store, "B0001", on_ramp, NOW)
    assert made(store, Change(branch="quay")).after.branch == "quay"


def test_a_confirmed_booking_that_is_not_ready_any_more_is_provisional(
    store: Engine, tmp_path: Path
) -> None:
    two_jobs(store, tmp_path, "X1", rings=2)
    step_to(store, "B0001", BookingState.CONFIRMED)
    still = made(store, Change(on=LATER))
    assert (still.unconfirmed, still.after.state) == (False, BookingState.CONFIRMED)
    view = made(store, Change(add=("X2",)))
    assert (view.unconfirmed, view.after.state) == (True, BookingState.PROVISIONAL)
    assert shown(store).state is BookingState.PROVISIONAL


def test_what_was_confirmed_incomplete_stays_so_while_nothing_more_is_in_doubt(
    lite: Engine, tmp_path: Path
) -> None:
    two_jobs(lite, tmp_path, "X1", rings=1)
    step_to(lite, "B0001", BookingState.CONFIRMED, "the customer waits")
    assert made(lite, Change(on=LATER)).after.state is BookingState.CONFIRMED
    assert made(lite, Change(add=("X2",))).after.state is BookingState.PROVISIONAL


def test_p18_the_giver_of_a_promise_is_told_that_it_is_not_confirmed_any_more(
    store: Engine, tmp_path: Path
) -> None:
    two_jobs(store, tmp_path, "X1", rings=2)
    booked(store, "X1")
    step_to(store, "B0001", BookingState.CONFIRMED)
    taken = take_from(store, "B0002", "RING", "B0001")
    assert (taken.giver.number, taken.giver.state, taken.giver_unconfirmed) == (
        "B0001", BookingState.PROVISIONAL, True,
    )  # fmt: skip
    assert said(taken.giver.lacking) == ["RING: 2 short"]
    assert needed(taken.taker, "RING").short == 0
    back = take_from(store, "B0001", "RING", "B0002")
    assert back.giver_unconfirmed is False


def test_what_a_preview_costs_is_what_buying_and_dates_say(store: Engine, tmp_path: Path) -> None:
    two_jobs(store, tmp_path, "X1", rings=2)
    priced(store, tmp_path, "slow", "S-R,RING,2.00 GBP,2 each")
    view = made(store, Change(add=("X2",), on=LATER))
    with reading(store) as session:
        bought = buy(session, ["B0001"], NOW)
        (day,) = (d for d in dates(session, ["B0001"], NOW, days=20).dates if d.on == LATER)
    assert view.buying is not None
    assert bought.total is not None
    assert view.buying.total == bought.total
    assert view.date == day


def test_what_nobody_offers_cannot_be_had_and_an_offer_in_another_currency_is_left_out(
    lite: Engine, tmp_path: Path
) -> None:
    euro = """  - code: euro
    name: Euro
    cutoffs: ["16:00"]
    lead_days: 1
    late_days: 1
    currency: EUR
    country: GB
    subdivision: ENG
"""
    load(lite, shop(TWO) + euro)
    stock(lite, tmp_path, "yard,BOLT,N,4 each")
    booked(lite, "X1")
    view = show_change(lite, "B0001", Change(), NOW)
    assert view.buying is not None
    assert (view.buying.total, [one.item for one in view.buying.lacking]) == (None, ["RING"])
    priced(lite, tmp_path, "slow", "S-R,RING,2.00 GBP,2 each")
    priced(lite, tmp_path, "euro", "E-R,RING,2.00 EUR,2 each")
    view = show_change(lite, "B0001", Change(), NOW)
    # The one in pounds comes too late, the one in euros is not counted, and that is said.
    assert view.buying is not None
    assert view.buying.left_out == (("Euro", "EUR"),)
    assert (view.buying.total, [one.item for one in view.buying.lacking]) == (None, ["RING"])
    assert view.date is not None


def test_what_was_bought_for_a_dropped_job_is_told_as_on_order_for_nobody(
    store: Engine, tmp_path: Path
) -> None:
    two_jobs(store, tmp_path, "X1", "X2", rings=2)
    priced(store, tmp_path, "prompt", "P-R,RING,2.00 GBP,1 each,,,no")
    place(store, ["B0001"], NOW)
    view = made(store, Change(drop=("X2",)))
    (left,) = view.free_orders
    assert (left.order, left.quantity, left.returnable) == ("P0001", 3000, False)
    # Another booking takes it: then it is no longer for nobody.
    assert needed(booked(store, "X2"), "RING").coming == 3000
    assert made(store, Change()).free_orders == ()


def test_a_hold_in_the_kit_before_the_ramp_gives_way(lite: Engine, tmp_path: Path) -> None:
    two_jobs(lite, tmp_path, "X1", rings=2)
    stock(lite, tmp_path, "yard,RING,B,2 each,1Q25")
    pick(lite, "B0001", NOW)
    put_on_hold(lite, LotName("yard", "RING", "A"), "recalled", NOW)
    view = made(lite, Change())
    assert goes(view) == [("RING", 2000, "A", GoesBecause.NOT_FIT, True)]
    assert [s.lot for s in needed(shown(lite), "RING").sources] == ["B"]


def test_a_closed_booking_is_not_changed(lite: Engine, tmp_path: Path) -> None:
    two_jobs(lite, tmp_path, "X1")
    on_the_ramp(lite)
    close(lite, "B0001", Closing({}, {}), NOW, UNCOUNTED)
    for call in (show_change, make_change):
        with pytest.raises(KittingError, match="B0001 is closed; nothing of it can be changed"):
            call(lite, "B0001", Change(on=LATER), NOW)


def test_sent_again_a_change_is_made_once_and_names_again_what_comes_out(
    store: Engine, tmp_path: Path
) -> None:
    two_jobs(store, tmp_path, "X1", "X2")
    pick(store, "B0001", NOW)
    first = make_change(store, "B0001", Change(drop=("X2",)), NOW, "token")
    after = shown(store), balances(store)
    again = make_change(store, "B0001", Change(drop=("X2",)), NOW, "token")
    assert again.out_of_kit == first.out_of_kit
    assert (again.made, again.after) == (True, first.after)
    assert (shown(store), balances(store)) == after
    with pytest.raises(KittingError, match="is of another request"):
        make_change(store, "B0001", Change(on=LATER), NOW, "token")


def statements(engine: Engine, change: Change) -> int:
    with counted(engine) as sent:
        show_change(engine, "B0001", change, NOW)
    return len(sent)


def test_the_number_of_statements_does_not_grow_with_lines(lite: Engine, tmp_path: Path) -> None:
    items = "\n".join(
        f"  - {{code: I{n}, name: Item {n}, kind: o-ring, elastomer: FKM}}" for n in range(30)
    )
    few = {f"I{n}": 2 for n in range(3)}
    many = {f"I{n}": 2 for n in range(30)}
    load(lite, shop({"ONE": {"BOLT": 1}, "FEW": few, "MANY": many}, items=items))
    stock(lite, tmp_path, "yard,BOLT,N,4 each", *(f"yard,I{n},L{n},9 each,1Q25" for n in range(30)))
    booked(lite, "ONE", "FEW")
    pick(lite, "B0001", NOW)
    fewer = statements(lite, Change(drop=("FEW",)))
    make_change(lite, "B0001", Change(add=("MANY",), drop=("FEW",)), NOW)
    pick(lite, "B0001", NOW)
    assert statements(lite, Change(drop=("MANY",))) == fewer
    assert fewer <= 155
