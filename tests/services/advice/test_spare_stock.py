"""What `sure` counts as there, how often it looks, and what it says of money. All invented.

Seals fail 15 times in 100, clips 10 times, each believed as firmly as ten inspections.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from sqlalchemy import Engine, update

from conftest import Templates
from helpers import NOW, ON, SUPPLY, load, priced, stock, unit
from kitting.calc.advice.at_hand import AtHand
from kitting.calc.advice.failure_rates import shifted
from kitting.services.advice.completion import completion_chance
from kitting.services.advice.spare_stock import When, read_at_hand
from kitting.services.advice.weighed_case import Work, work_of_booking
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.branches import find_branch
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.stock.lots import find_item
from kitting.store import make_engine, reading
from kitting.tables.stock import Lot
from kitting.views.completion import CompletionView, RiskView
from kitting.wording.advice import at_hand, looked_at

ASKS = unit(
    """
      - code: a
        name: A
        system: engine
        fits:
          - {item: SEAL, position: seals, quantity: 2 each}
          - {item: CLIP, position: clips, quantity: 2 each}
      - code: b
        name: B
        system: engine
        fits:
          - {item: CLIP, position: hot, quantity: 2 each, heat: hot}
          - {item: CLIP, position: new, quantity: 2 each,
             rules: [{rule: renew, source: maker, reference: t}]}
      - code: c
        name: C
        system: engine
        fits:
          - {item: CLIP, position: often}
      - code: d
        name: D
        system: engine
        fits:
          - {item: RINGS, position: ring,
             rules: [{rule: renew, source: maker, reference: t}]}
          - {item: CLIP, position: beside}
          - {item: PLATE, position: below, rules: [{rule: inspect, source: maker, reference: t}]}""",
    """      - {code: S1, name: One, hours: 1 h, opens: [a]}
      - {code: S2, name: Two, hours: 1 h, opens: [b]}
      - {code: S3, name: Three, hours: 1 h, opens: [{joint: c, times: 1, reopened: 5}]}
      - {code: S4, name: Four, hours: 1 h, opens: [d]}""",
    """      - {code: X1, name: One, needs: [S1]}
      - {code: X2, name: Two, needs: [S2]}
      - {code: X3, name: Three, needs: [S3]}
      - {code: X4, name: Four, needs: [S4]}""",
    items="""  - {code: SEAL, name: Seal, kind: moulded-ring, elastomer: NBR}
  - {code: CLIP, name: Clip, kind: wire-clip}
  - {code: RINGS, name: Rings, kind: o-ring, elastomer: FKM, pack: 10 each}
  - {code: PLATE, name: Plate, kind: bracket}""",
)


def furnish(engine: Engine, _: Path) -> None:
    load(engine, ASKS + SUPPLY)


MADE = ("empty", furnish)


@pytest.fixture
def lite(templates: Templates, tmp_path: Path) -> Engine:
    """The catalogue above, on SQLite."""
    return make_engine(templates.copy("sqlite", MADE, tmp_path))


def asked(engine: Engine, *jobs: str, target: float = 0.95) -> CompletionView:
    with reading(engine) as session:
        return completion_chance(session, Work("PELL 001", jobs, ON, "yard"), NOW, target)


def of(view: CompletionView, position: str) -> RiskView:
    (found,) = (one for one in view.risks if position in one.positions)
    return found


# Nothing fails of two seals and two clips: Beta(1.5, 8.5) and Beta(1, 9) over two looks each.
NO_SPARE = 8.5 * 9.5 / (10 * 11) * 9 * 10 / (10 * 11)


def test_what_may_not_be_fitted_on_the_day_is_not_there(store: Engine, tmp_path: Path) -> None:
    furnish(store, tmp_path)
    stock(
        store, tmp_path,
        "yard,SEAL,S1,2 each,1Q10,2015-01-01", "yard,CLIP,C1,2 each,,,,wrong size suspected",
    )  # fmt: skip
    view = asked(store, "X1")
    assert [risk.in_stock for risk in view.risks] == [0, 0]
    assert view.chance == pytest.approx(NO_SPARE)
    assert not view.reached


def test_what_may_be_fitted_on_the_day_is_there(lite: Engine, tmp_path: Path) -> None:
    stock(lite, tmp_path, "yard,SEAL,S1,2 each,1Q25", "yard,CLIP,C1,2 each")
    view = asked(lite, "X1")
    assert (view.chance, view.reached) == (1.0, True)
    assert at_hand(of(view, "seals")) == ["2 free here"]


def test_stock_of_unknown_age_is_not_counted_and_is_told(lite: Engine, tmp_path: Path) -> None:
    stock(lite, tmp_path, "yard,SEAL,S1,2 each", "yard,CLIP,C1,2 each")
    view = asked(lite, "X1")
    assert view.chance == pytest.approx(8.5 * 9.5 / (10 * 11))
    seals = of(view, "seals")
    assert (seals.in_stock, seals.unknown_age) == (0, 2)
    assert at_hand(seals) == ["2 of unknown age here NOT COUNTED"]


def test_what_is_renewed_in_any_case_comes_before_any_spare(lite: Engine, tmp_path: Path) -> None:
    stock(lite, tmp_path, "yard,SEAL,S1,2 each,1Q25", "yard,CLIP,C1,2 each")
    view = asked(lite, "X1", "X2")
    assert (of(view, "clips").in_stock, of(view, "hot").in_stock) == (0, 0)
    assert view.chance == pytest.approx(clips_need(0), rel=1e-4)


def clips_need(most: int) -> float:
    """The chance that the two clips and the two hot ones need so many new ones at the most.

    All stand at the same share of what is believed of each, by scipy's quantiles.
    """
    shares = (np.arange(100_000) + 0.5) / 100_000
    cold, hot = (
        stats.beta.ppf(shares, chance * 10.0, (1 - chance) * 10.0)
        for chance in (0.1, shifted(0.1, 0.9))
    )
    ways = ((a, b) for a in range(3) for b in range(3) if a + b <= most)
    return float(
        sum(np.mean(stats.binom.pmf(a, 2, cold) * stats.binom.pmf(b, 2, hot)) for a, b in ways)
    )


def test_one_piece_that_is_left_serves_one_of_two_lines(lite: Engine, tmp_path: Path) -> None:
    stock(lite, tmp_path, "yard,SEAL,S1,2 each,1Q25", "yard,CLIP,C1,3 each")
    view = asked(lite, "X1", "X2")
    assert view.chance == pytest.approx(clips_need(1), rel=1e-4)
    # The hot one fails more often, so it is counted there.
    assert (of(view, "clips").spares, of(view, "hot").spares) == (0, 1)
    assert at_hand(of(view, "hot")) == ["1 free here", "for 2 lines together"]


def test_what_another_booking_was_promised_is_not_there(lite: Engine, tmp_path: Path) -> None:
    stock(lite, tmp_path, "yard,SEAL,S1,2 each,1Q25", "yard,CLIP,C1,2 each")
    number = book(lite, BookingRequest("PELL 001", ["X1"], ON, "yard"), NOW).number
    assert asked(lite, "X1").chance == pytest.approx(NO_SPARE)
    with reading(lite) as session:
        assert completion_chance(session, work_of_booking(session, number), NOW).chance == 1.0


def test_what_a_booking_was_promised_does_not_count_once_it_is_on_hold(
    lite: Engine, tmp_path: Path
) -> None:
    stock(lite, tmp_path, "yard,SEAL,S1,2 each,1Q25", "yard,CLIP,C1,2 each")
    number = book(lite, BookingRequest("PELL 001", ["X1"], ON, "yard"), NOW).number
    with lite.begin() as connection:
        connection.execute(update(Lot).values(own_hold="recalled"))
    with reading(lite) as session:
        view = completion_chance(session, work_of_booking(session, number), NOW)
    assert view.chance == pytest.approx(NO_SPARE)


def test_what_comes_for_a_booking_counts_if_it_is_not_late(lite: Engine, tmp_path: Path) -> None:
    priced(lite, tmp_path, "prompt", "P-C,CLIP,1.00 GBP,1 each", "P-S,SEAL,1.00 GBP,1 each")
    number = book(lite, BookingRequest("PELL 001", ["X2"], ON, "yard"), NOW).number
    place(lite, [number], NOW)
    with reading(lite) as session:
        work = work_of_booking(session, number)
        clip, owner = find_item(session, "CLIP").id, find_branch(session, "yard")
        for day, today, wanted in (
            (ON, NOW.date(), AtHand(2000, 2000)),
            (NOW.date(), NOW.date(), AtHand()),
            (ON, ON, AtHand()),  # weeks after its late day: it may never come
        ):
            found = read_at_hand(session, owner, {clip}, When(day, today), work.booking)
            assert found == {clip: wanted}


def test_a_joint_that_is_opened_six_times_is_looked_at_six_times(
    lite: Engine, tmp_path: Path
) -> None:
    """9/10 · 10/11 · … · 14/15 = 9/15."""
    view = asked(lite, "X3")
    assert view.without == pytest.approx(0.6)
    assert looked_at(of(view, "often")) == ["opened 6 times, each a look"]
    stock(lite, tmp_path, "yard,CLIP,C1,6 each")
    assert asked(lite, "X3").chance == 1.0


HEADING = "part,item,price,pack,break 1 from,break 1 price,returns,minimum"
WHOLE_PACKS = ("P-R,RINGS,40.00 GBP,10 each,,,no,", "P-C,CLIP,6.00 GBP,1 each,100,5.00 GBP,no,")


def test_the_estimate_is_what_a_purchase_costs_and_its_limit_holds_if_all_fails(
    lite: Engine, tmp_path: Path
) -> None:
    priced(lite, tmp_path, "prompt", *WHOLE_PACKS, heading=HEADING)
    view = asked(lite, "X4")
    figures = view.estimate
    # A pack of rings, and with one chance in ten a clip more.
    assert (figures.now.minor, figures.expected.minor) == (4000, 4060)
    assert (figures.likely.minor, figures.upper.minor) == (4060, 4600)
    # Nobody offers the plate, which may fail at a rate that nobody knows.
    assert figures.unpriced == ("PLATE",)
    assert of(view, "beside").loss == of(view, "beside").price
    number = book(lite, BookingRequest("PELL 001", ["X4"], ON, "yard"), NOW).number
    with reading(lite) as session:
        assert buy(session, [number], NOW).total == figures.now


def test_what_fails_at_an_unknown_rate_is_in_the_limit_and_carriage_too(
    lite: Engine, tmp_path: Path
) -> None:
    priced(lite, tmp_path, "prompt", *WHOLE_PACKS, heading=HEADING)
    priced(lite, tmp_path, "slow", "S-P,PLATE,10.00 GBP,1 each,,,no,2", heading=HEADING)
    figures = asked(lite, "X4").estimate
    assert figures.upper.minor == 4600 + 2 * 1000 + 695  # at least two, with Slow's carriage
    assert figures.now.minor == 4000
    assert figures.unpriced == ()


LotRow = tuple[str, int, str]  # item, pieces, state
OfferRow = tuple[str, int, int, str, int]  # item, pence, pack, returns, fewest packs
LOTS = st.lists(
    st.tuples(
        st.sampled_from(["SEAL", "CLIP"]), st.integers(1, 4),
        st.sampled_from(["good", "held", "expired", "unknown"]),
    ),
    max_size=3,
)  # fmt: skip
OFFER = st.tuples(
    st.sampled_from(["SEAL", "CLIP"]),
    st.integers(1, 2000),
    st.sampled_from([1, 2, 5]),
    st.sampled_from(["yes", "no"]),
    st.integers(1, 3),
)
JOBS = st.sets(st.sampled_from(["X1", "X2", "X3"]), min_size=1)
# How each state is written: made, expires, opened, on hold.
STATES = {
    "good": "1Q25,,,",
    "held": "1Q25,,,suspected",
    "expired": "1Q10,2015-01-01,,",
    "unknown": ",,,",
}


@dataclass(frozen=True)
class Yard:
    """Fresh copies of the catalogue above, with lots and offers."""

    templates: Templates
    folder: Path
    number = count()

    def answer(
        self, jobs: Sequence[str], lots: Sequence[LotRow], offers: Sequence[OfferRow] = ()
    ) -> CompletionView:  # fmt: skip
        folder = self.folder / str(next(self.number))
        folder.mkdir()
        engine = make_engine(self.templates.copy("sqlite", MADE, folder))
        rows = [
            f"yard,{item},L{n},{pieces} each,{STATES[state]}"
            for n, (item, pieces, state) in enumerate(lots)
        ]
        if rows:
            stock(engine, folder, *rows)
        for code, supplier in (("prompt", 0), ("slow", 1)):
            sold = [
                f"P{n},{item},{minor / 100:.2f} GBP,{pack} each,,,{returns},{least}"
                for n, (item, minor, pack, returns, least) in enumerate(offers)
                if n % 2 == supplier
            ]
            if sold:
                priced(engine, folder, code, *sold, heading=HEADING)
        found = asked(engine, *sorted(jobs))
        engine.dispose()
        return found


@pytest.fixture(scope="module")
def yard(templates: Templates, tmp_path_factory: pytest.TempPathFactory) -> Yard:
    return Yard(templates, tmp_path_factory.mktemp("yard"))


@examples(15, 300)
@given(JOBS, LOTS, st.sampled_from(["SEAL", "CLIP"]), st.integers(1, 4))
def test_usable_stock_more_never_lowers_the_chance(
    yard: Yard, jobs: set[str], lots: list[LotRow], item: str, pieces: int
) -> None:
    before = yard.answer(sorted(jobs), lots)
    after = yard.answer(sorted(jobs), [*lots, (item, pieces, "good")])
    assert after.chance >= before.chance - 1e-12


@examples(15, 300)
@given(JOBS, LOTS, st.integers(1, 4), st.sampled_from(["held", "expired", "unknown"]))
def test_stock_that_is_held_expired_or_of_unknown_age_never_raises_the_chance(
    yard: Yard, jobs: set[str], lots: list[LotRow], pieces: int, state: str
) -> None:
    good = yard.answer(sorted(jobs), [*lots, ("SEAL", pieces, "good")])
    spoilt = yard.answer(sorted(jobs), [*lots, ("SEAL", pieces, state)])
    none = yard.answer(sorted(jobs), lots)
    assert spoilt.chance <= good.chance + 1e-12
    assert spoilt.chance == pytest.approx(none.chance)


# Whatever else is offered, everything can be had.
ALL_OFFERED = (("SEAL", 500, 2, "no", 1), ("CLIP", 300, 1, "no", 1))


@examples(15, 300)
@given(st.sets(st.sampled_from(["X1", "X3"]), min_size=1), LOTS, st.lists(OFFER, max_size=2), OFFER)
def test_an_offer_more_never_raises_what_spares_cost_nor_the_limit(
    yard: Yard, jobs: set[str], lots: list[LotRow], offers: list[OfferRow], more: OfferRow
) -> None:
    before = yard.answer(sorted(jobs), lots, [*ALL_OFFERED, *offers])
    after = yard.answer(sorted(jobs), lots, [*ALL_OFFERED, *offers, more])
    assert before.cost is not None
    assert after.cost is not None
    assert after.cost.minor <= before.cost.minor
    assert after.chance >= 0.95
    assert after.estimate.upper.minor <= before.estimate.upper.minor
    assert after.estimate.likely.minor <= after.estimate.upper.minor
