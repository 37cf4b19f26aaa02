"""Groups: what is renewed whole if one fails, across the joints of a unit."""

from __future__ import annotations

from itertools import product

import pytest
from sqlalchemy import Engine

from helpers import ON, line_of, lines_of, load, planned, unit
from kitting.calc.advice.looks import Looks, needed
from kitting.calc.advice.spares import Line, chance_of
from kitting.services.advice.inspection_risks import Risk, read_risks
from kitting.services.planning.plan import draft
from kitting.services.planning.request import PlanRequest
from kitting.store import reading
from kitting.wording.reasons import say

PADS = """
items:
  - {code: PAD, name: pad, kind: bracket}
  - {code: CLIP, name: clip, kind: wire-clip}
units:
  - code: u
    name: U
    joints:
      - {code: left, name: left, system: body, fits: [{item: CLIP, position: l, quantity: 2 each, group: pads}]}
      - {code: right, name: right, system: body, fits: [{item: CLIP, position: r, quantity: 2 each, group: pads HOT}]}
    steps: [{code: S, name: s, hours: 1 h, opens: [left, right]}, {code: T, name: t, hours: 1 h, opens: [left]}]
    jobs: [{code: J, name: job, needs: [S]}, {code: K, name: one side, needs: [T]}]
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: C 1, model: m}]
"""


def risks(engine: Engine, job: str = "J") -> list[Risk]:
    with reading(engine) as session:
        return read_risks(session, draft(session, PlanRequest("C 1", (job,), ON)))[0]


def notes(engine: Engine, item: str, job: str = "J") -> list[str]:
    return [
        say(note) for line in lines_of(planned(engine, "C 1", job), item) for note in line.notes
    ]


def test_a_group_reaches_across_the_joints_of_its_unit(lite: Engine) -> None:
    load(lite, PADS.replace(" HOT", ""))
    assert notes(lite, "CLIP") == ["group pads: if one fails, all 4 are renewed"]
    (risk,) = risks(lite)
    assert (risk.positions, risk.pieces, risk.group) == (("l", "r"), 4, True)
    assert notes(lite, "CLIP", "K") == [
        "group pads: if one fails, all 2 are renewed",
        "group pads: the rest of it stays as it is, for no job opens right: r",
    ]


def test_a_group_of_which_one_side_fails_more_is_still_one_and_its_worst_chance_counts(
    lite: Engine,
) -> None:
    load(lite, PADS.replace(" HOT", ", heat: hot"))
    (risk,) = risks(lite)
    assert (risk.pieces, risk.shifts) == (4, ("hot side",))


def test_a_group_of_several_items_is_renewed_whole(lite: Engine) -> None:
    text = PADS.replace("item: CLIP, position: r, quantity: 2 each", "item: RING, position: r")
    load(
        lite,
        text.replace(" HOT", "").replace(
            "PAD, name: pad, kind: bracket", "RING, name: ring, kind: moulded-ring"
        ),
    )
    assert notes(lite, "CLIP") == ["group pads: if one fails, all 3 are renewed"]
    found = {risk.positions: risk for risk in risks(lite)}
    clips, ring = found["l",].looks(correlated=False), found["r",].looks(correlated=False)
    assert (clips.pieces, clips.others, ring.pieces, ring.others) == (2, 1, 1, 2)
    # Assumed chances, invented: a clip fails one time in ten, a moulded ring 15 in 100.
    assert clips.chance == ring.chance == pytest.approx(0.15)
    none = 0.85**3
    assert needed(clips) == pytest.approx((none, 0, 1 - none))
    assert needed(ring) == pytest.approx((none, 1 - none))


def test_the_same_word_in_another_unit_is_another_group(lite: Engine) -> None:
    other = PADS.replace(" HOT", "").partition("units:\n")[2].partition("models:")[0]
    more = other.replace("code: u\n", "code: w\n").replace("code: J,", "code: JW,")
    text = PADS.replace(" HOT", "").replace("models:", more + "models:")
    load(lite, text.replace("units: [u]", "units: [u, w]"))
    view = planned(lite, "C 1", "J", "JW")
    found = [line.quantity for line in lines_of(view, "CLIP")]
    assert found == [4000, 4000]


def test_of_a_group_only_what_is_opened_again_is_looked_at_again(lite: Engine) -> None:
    """Left is opened three times, right once: four looks at first, then two, then two."""
    text = PADS.replace(" HOT", "").replace(
        "opens: [left, right]", "opens: [{joint: left, times: 3}, right]"
    )
    load(lite, text)
    (risk,) = risks(lite)
    assert (risk.pieces, risk.each) == (4, (4, 2, 2))
    looks = risk.looks(correlated=False)
    assert (looks.most, looks.each) == (8, ((4, 0), (2, 0), (2, 0)))
    # An assumed chance, invented: a clip fails one time in ten.
    assert needed(looks)[0] == pytest.approx(0.9**8)
    assert needed(looks)[8] == pytest.approx((1 - 0.9**4) * (1 - 0.9**2) ** 2)


def test_the_other_items_of_a_group_count_where_they_are_open(lite: Engine) -> None:
    """The clips are opened twice, the ring beside them once."""
    text = PADS.replace("item: CLIP, position: r, quantity: 2 each", "item: RING, position: r")
    text = text.replace(" HOT", "").replace(
        "PAD, name: pad, kind: bracket", "RING, name: ring, kind: moulded-ring"
    )
    load(lite, text.replace("opens: [left, right]", "opens: [{joint: left, times: 2}, right]"))
    found = {risk.positions: risk.looks(correlated=False).each for risk in risks(lite)}
    assert found == {("l",): ((2, 1), (2, 0)), ("r",): ((1, 2),)}


@pytest.mark.parametrize(("pieces", "others"), [(1, 1), (2, 1), (2, 3)])
def test_spares_of_a_group_suffice_if_none_of_it_fails_or_all_are_there(
    pieces: int, others: int
) -> None:
    line = Line(1, (Looks(pieces, 0.2, group=True, others=others),))
    # Every way in which the pieces of the whole group can turn out.
    bad = sum(
        0.2 ** sum(way) * 0.8 ** (len(way) - sum(way))
        for way in product((0, 1), repeat=pieces + others)
        if any(way)
    )
    assert chance_of([line], {1: pieces - 1}) == pytest.approx(1 - bad)
    assert chance_of([line], {1: pieces}) == 1.0


def test_the_rest_of_a_group_that_no_job_opens_is_told(store: Engine) -> None:
    joints = "".join(
        f"""
      - code: {side}
        name: {side}
        system: engine
        fluids: [diesel]
        fits: [{{item: RING, position: groove, group: both, rules: [{{rule: renew, source: workshop, reference: test}}]}}]
"""
        for side in ("left", "right")
    )
    steps = "".join(
        f"      - {{code: {side[0].upper()}, name: {side}, hours: 1 h, opens: [{side}]}}\n"
        for side in ("left", "right")
    )
    jobs = "".join(
        f"      - {{code: J{side}, name: job {side}, needs: [{side}]}}\n" for side in ("L", "R")
    )
    load(store, unit(joints, steps, jobs))
    told = [say(note) for note in line_of(planned(store, "PELL 001", "JL"), "RING").notes]
    assert "group both: the rest of it stays as it is, for no job opens right: groove" in told
    both = line_of(planned(store, "PELL 001", "JL", "JR"), "RING")
    assert not any("stays as it is" in say(note) for note in both.notes)
