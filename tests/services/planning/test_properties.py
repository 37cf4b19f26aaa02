"""Properties of whole plans over random catalogues."""

from __future__ import annotations

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.planning.access import Access, JointOpening, StepNode, access
from kitting.calc.planning.consumption import Measured
from kitting.calc.planning.needs import FitFacts, UseFacts, part_needs, use_needs
from kitting.calc.planning.packets import cover
from kitting.calc.planning.renewal import Ruling
from kitting.facts.conditions import CarFacts
from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import because

STEPS, JOINTS, ITEMS = range(6), range(5), range(4)
CAR, HOW = CarFacts(None, {}, {}), because(AmountReason.STATED)


@st.composite
def catalogues(
    draw: st.DrawFn,
) -> tuple[dict[int, StepNode], list[FitFacts], dict[int, Ruling], list[UseFacts]]:
    steps = {}
    for key in STEPS:
        needs = draw(st.sets(st.sampled_from(range(key)), max_size=2)) if key else set()
        opened = draw(st.lists(st.sampled_from(JOINTS), unique=True, max_size=2))
        opens = tuple(
            JointOpening(j, draw(st.integers(1, 2)), draw(st.integers(0, 1))) for j in opened
        )
        hours = draw(st.integers(0, 3000))
        steps[key] = StepNode(key, f"S{key}", hours, tuple(sorted(needs)), opens)
    fits, rulings = [], {}
    for key in range(draw(st.integers(0, 8))):
        lubricant = draw(st.none() | st.just(9))
        fits.append(
            FitFacts(
                key,
                draw(st.sampled_from(JOINTS)),
                f"p{key}",
                draw(st.sampled_from(ITEMS)),
                draw(st.integers(1, 3)) * 1000,
                lubricant=lubricant,
                lubricant_amount=200 if lubricant else 0,
            )
        )
        rulings[key] = Ruling(
            draw(st.sampled_from(["renew", "inspect", "keep"])), "general", "", None
        )
    uses = [
        UseFacts(0, 8, Measured(500, HOW), joint=draw(st.sampled_from(JOINTS))),
        UseFacts(1, 8, Measured(300, HOW), step=draw(st.sampled_from(STEPS))),
    ]
    return steps, fits, rulings, uses


JOBS = st.dictionaries(
    st.sampled_from(["J1", "J2", "J3"]),
    st.sets(st.sampled_from(STEPS), min_size=1, max_size=3),
    min_size=1,
)
Catalogue = tuple[dict[int, StepNode], list[FitFacts], dict[int, Ruling], list[UseFacts]]


def needed(found: Access, catalogue: Catalogue) -> Counter[tuple[str, int]]:
    """Everything a plan asks for: amounts per item and rule, openings, hours."""
    _, fits, rulings, uses = catalogue
    parts = part_needs(found, fits, rulings, CAR)
    wants: Counter[tuple[str, int]] = Counter()
    for part in parts.values():
        wants[part.ruling.rule, part.fit.item] += part.quantity
    for use in use_needs(found, uses, parts.values(), CAR).values():
        wants["use", use.item] += use.quantity
    for joint, times in found.opened.items():
        wants["opened", joint] = times
    wants["hours", 0] = found.total
    return wants


@given(catalogues(), JOBS)
def test_together_never_asks_for_more_of_anything_than_apart(
    catalogue: Catalogue, jobs: dict[str, set[int]]
) -> None:
    steps = catalogue[0]
    together = needed(access(steps, jobs), catalogue)
    apart: Counter[tuple[str, int]] = Counter()
    for job, wanted in jobs.items():
        apart += needed(access(steps, {job: wanted}), catalogue)
    assert all(amount <= apart[thing] for thing, amount in together.items())
    assert access(steps, jobs).apart == apart["hours", 0]


@given(catalogues(), JOBS)
def test_the_order_of_jobs_does_not_matter(catalogue: Catalogue, jobs: dict[str, set[int]]) -> None:
    steps = catalogue[0]
    turned = dict(reversed(jobs.items()))
    one, other = access(steps, jobs), access(steps, turned)
    assert needed(one, catalogue) == needed(other, catalogue)
    assert (one.order, one.asked_by) == (other.order, other.asked_by)


@given(catalogues(), JOBS, st.sets(st.sampled_from(STEPS), min_size=1))
def test_adding_a_job_never_removes_a_joint_or_makes_anything_less(
    catalogue: Catalogue, jobs: dict[str, set[int]], more: set[int]
) -> None:
    steps = catalogue[0]
    before = needed(access(steps, jobs), catalogue)
    after = needed(access(steps, {**jobs, "J9": more}), catalogue)
    assert all(after[thing] >= amount for thing, amount in before.items())


@given(
    st.dictionaries(st.sampled_from([1, 2, 3]), st.integers(0, 5).map(lambda n: n * 1000)),
    st.dictionaries(st.sampled_from([1, 2, 3]), st.integers(0, 5).map(lambda n: n * 1000)),
)
def test_packets_for_two_jobs_together_are_never_more_than_for_each(
    one: dict[int, int], other: dict[int, int]
) -> None:
    contents = {3: {1: 2000, 2: 2000}}
    both = {item: one.get(item, 0) + other.get(item, 0) for item in one.keys() | other.keys()}
    takings = [cover(demand, contents, {1, 2}).take for demand in (both, one, other)]
    together, first, second = takings
    assert all(n <= first.get(i, 0) + second.get(i, 0) for i, n in together.items())
