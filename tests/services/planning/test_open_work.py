"""Work that waits for a variant beside work that does not: what is certain is taken. Invented."""

from __future__ import annotations

from sqlalchemy import Engine

from helpers import line_of, load, planned, unit, use_of
from kitting.facts.words import Rule
from kitting.wording.reasons import say

SPLIT = """{code: v, question: "Which?", check: "Look.", options: [{code: x, name: X}, {code: y, name: Y}]}"""
JOINT = """
      - code: j
        name: J
        system: engine
        fluids: [diesel]
        fits: [{item: RING, position: groove}]
        uses: [{item: TUBE, amount: 5 ml}]
"""
TUBE = "  - {code: TUBE, name: Tube, kind: assembly-lubricant, unit: ml}\n"


def test_an_opening_that_waits_takes_no_more_than_is_certain(store: Engine) -> None:
    steps = """
      - {code: A1, name: one, hours: 1 h, opens: [j]}
      - {code: A2, name: two, hours: 1 h, option: v/x, opens: [{joint: j, times: 3}]}
"""
    job = "      - {code: J, name: job, needs: [A1, A2]}\n"
    load(store, unit(JOINT, steps, job, items=TUBE, splits=SPLIT))
    for assumed, times in (({}, 1), ({"v": "y"}, 1), ({"v": "x"}, 3)):
        plan = planned(store, "PELL 001", "J", assumed=assumed)
        assert line_of(plan, "RING").to_take == times * 1000
        assert use_of(plan, "TUBE").to_take == times * 5000
        assert [split.split for split in plan.unresolved] == ([] if assumed else ["v"])


def test_what_a_job_renews_waits_with_the_step_by_which_it_opens_the_joint(store: Engine) -> None:
    joint = JOINT.replace("{item: RING, position: groove}", "{item: HOSE, position: stub}")
    steps = """
      - {code: B1, name: one, hours: 1 h, opens: [j]}
      - {code: B2, name: two, hours: 1 h, option: v/x, opens: [j]}
"""
    jobs = """
      - {code: J1, name: first, needs: [B1]}
      - {code: J2, name: second, needs: [B2], renews: [{item: HOSE}]}
"""
    hose = TUBE + "  - {code: HOSE, name: Hose, kind: hose, elastomer: FKM}\n"
    load(store, unit(joint, steps, jobs, items=hose, splits=SPLIT))
    both = line_of(planned(store, "PELL 001", "J1", "J2"), "HOSE")
    assert (both.to_take, [str(one.values) for one in both.stopped_by] != []) == (0, True)
    alone = line_of(planned(store, "PELL 001", "J1"), "HOSE")
    assert (alone.rule, alone.stopped_by) == (Rule.INSPECT, ())
    settled = line_of(planned(store, "PELL 001", "J1", "J2", assumed={"v": "x"}), "HOSE")
    assert (settled.rule, settled.to_take) == (Rule.RENEW, 1000)


def test_each_job_has_the_hours_that_it_takes_alone(store: Engine) -> None:
    steps = """
      - {code: C0, name: nought, hours: 1 h, opens: [j]}
      - {code: C1, name: one, hours: 1 h, option: v/x, needs: [C0]}
"""
    jobs = """
      - {code: J1, name: first, needs: [C0]}
      - {code: J2, name: second, needs: [C1]}
"""
    load(store, unit(JOINT, steps, jobs, items=TUBE, splits=SPLIT))
    plan = planned(store, "PELL 001", "J1", "J2")
    assert [job.hours for job in plan.jobs] == [1000, 0]
    assert (plan.hours.total, plan.hours.saved) == (1000, 0)


def test_a_split_that_decides_nothing_stops_nothing(store: Engine) -> None:
    fits = """[{item: RING, position: groove, option: w/x}, {item: RING, position: groove, option: w/y}]"""
    joint = JOINT.replace("[{item: RING, position: groove}]", fits)
    steps = "      - {code: D1, name: one, hours: 1 h, option: v/x, opens: [j]}\n"
    job = "      - {code: J, name: job, needs: [D1]}\n"
    splits = f"{SPLIT}, {SPLIT.replace('code: v', 'code: w')}"
    load(store, unit(joint, steps, job, items=TUBE, splits=splits))
    plan = planned(store, "PELL 001", "J")
    assert line_of(plan, "RING").quantity == 1000
    assert [split.split for split in plan.unresolved] == ["v"]


def test_an_option_that_the_car_cannot_have_stops_nothing(store: Engine) -> None:
    split = """{code: v, question: "Which?", check: "Look.", options: [
      {code: x, name: X, equipment: roof}, {code: y, name: Y}, {code: z, name: Z}]}"""
    steps = """
      - {code: E1, name: one, hours: 1 h, opens: [j]}
      - {code: E2, name: two, hours: 1 h, option: v/x, needs: [E1]}
"""
    job = "      - {code: J, name: job, needs: [E1, E2]}\n"
    text = unit(JOINT, steps, job, items=TUBE, splits=split)
    load(store, text.replace("build_date: 2021-03-14", "equipment: {roof: false}"))
    plan = planned(store, "PELL 001", "J")
    assert [step.code for step in plan.steps] == ["E1"]
    assert [split.split for split in plan.unresolved] == []


def test_what_needs_two_answers_says_so(store: Engine) -> None:
    joint = JOINT.replace("position: groove}", "position: groove, option: w/x}")
    steps = "      - {code: D1, name: one, hours: 1 h, option: v/x, opens: [j]}\n"
    job = "      - {code: J, name: job, needs: [D1]}\n"
    splits = f"{SPLIT}, {SPLIT.replace('code: v', 'code: w')}"
    load(store, unit(joint, steps, job, items=TUBE, splits=splits))
    line = line_of(planned(store, "PELL 001", "J"), "RING")
    assert "only with v/x and w/x" in [say(note) for note in line.notes]
