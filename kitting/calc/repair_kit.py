"""Repair kits: which parts to bring to a job, and how many, so that the whole job can be done.

Five models, each named after the paper that posed it. Chances, costs and rates are exact: figures
are taken as int, Decimal, Fraction or text and counted as fractions. A float is refused, since it
stands for another number than the one that was typed.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import combinations

from kitting.calc.solver import new_model, prove, total
from kitting.errors import FigureError, KittingError

Figure = int | Decimal | Fraction | str
# A tour is worked out state by state; beyond this many steps the answer would take minutes.
_STEPS = 2_000_000


def exact(figure: Figure, what: str) -> Fraction:
    """The figure as a fraction, not negative. FigureError names `what` was wrong."""
    if isinstance(figure, float):
        raise FigureError(f"{what}: {figure!r} is a float. Give it as text or Decimal")
    try:
        value = Fraction(figure)
    except (ValueError, OverflowError, ZeroDivisionError) as error:
        raise FigureError(f"{what}: {figure!r} is no number. Give one such as 0.25") from error
    if value < 0:
        raise FigureError(f"{what}: {figure} is negative. Give 0 or more")
    return value


def _share(figure: Figure, what: str) -> Fraction:
    value = exact(figure, what)
    if value > 1:
        raise FigureError(f"{what}: {figure} is above 1. Give a chance from 0 to 1")
    return value


@dataclass(frozen=True, slots=True)
class Part:
    """A part that a job needs with a chance, independently of the others, at most one piece.

    `holding`: what it costs to have a piece in the kit for the visit (or the tour). `value`: what
    a piece is worth, where the kit has a budget.
    """

    key: str
    chance: Figure
    holding: Figure = 0
    value: Figure = 0


@dataclass(frozen=True, slots=True)
class StockPart:
    """A part of which a job needs 0, 1, 2 ... pieces with the chances in `pmf`."""

    key: str
    pmf: Sequence[Figure]
    holding: Figure


@dataclass(frozen=True, slots=True)
class Kit:
    """Parts in the order given, their cost (or value) and the chance that nothing is missing.

    `total` adds the expected penalty to the cost; where there is no penalty it equals `cost`.
    """

    parts: tuple[str, ...]
    cost: Fraction
    chance: Fraction
    total: Fraction


@dataclass(frozen=True, slots=True)
class JobsKit:
    """A kit for given jobs: parts, jobs (by place) it completes, and costs per period."""

    parts: tuple[str, ...]
    completed: tuple[int, ...]
    holding: Fraction
    total: Fraction
    rate: Fraction


@dataclass(frozen=True, slots=True)
class Stock:
    """Pieces per part, the cost of holding them and the share of jobs that can be completed."""

    levels: Mapping[str, int]
    holding: Fraction
    rate: Fraction


def _unlike(keys: Iterable[str]) -> None:
    seen: set[str] = set()
    for key in keys:
        if key in seen:
            raise KittingError(f"Part {key} is given twice. Give each part once")
        seen.add(key)


def by_ratio(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Parts by holding cost / -ln(1 - chance), the certain ones first, the never needed last."""

    def ratio(part: Part) -> tuple[int, Decimal]:
        chance = _share(part.chance, f"chance of {part.key}")
        holding = exact(part.holding, f"holding cost of {part.key}")
        if chance == 1:
            return (0, Decimal(0))
        if chance == 0:
            return (2, Decimal(0))
        kept = 1 - chance
        weight = Decimal(kept.denominator).ln() - Decimal(kept.numerator).ln()
        return (1, Decimal(holding.numerator) / Decimal(holding.denominator) / weight)

    with localcontext() as context:
        context.prec = 60  # parts of nearly equal ratio must not change places
        return tuple(sorted(parts, key=ratio))


def best_kit_by_cost(parts: Sequence[Part], penalty: Figure) -> Kit:
    """The kit of least holding cost plus expected penalty for an incomplete job, for one visit.

    Smith, Chambers & Shlifer, "Optimal inventories based on job completion rate for repairs
    requiring multiple items" (Management Science 26, 1980): a best kit is a beginning of the
    parts ordered by holding cost / -ln(1 - chance), so that n + 1 kits are compared rather than
    2^n. Of equally good kits the fullest. Raises FigureError, or KittingError for a part twice.
    """
    _unlike(part.key for part in parts)
    loss = exact(penalty, "penalty")
    order = by_ratio(parts)
    rate = Fraction(1)
    after = [rate]
    for part in reversed(order):
        rate *= 1 - exact(part.chance, part.key)
        after.append(rate)
    after.reverse()
    best: tuple[Fraction, int, Fraction] | None = None
    holding = Fraction(0)
    for count, chance in enumerate(after):
        if count:
            holding += exact(order[count - 1].holding, order[count - 1].key)
        cost = holding + loss * (1 - chance)
        if best is None or (cost, -count) < (best[0], -best[1]):
            best = (cost, count, holding)
    assert best is not None  # noqa: S101 - the empty kit is always compared
    kept = {part.key for part in order[: best[1]]}
    return Kit(tuple(p.key for p in parts if p.key in kept), best[2], after[best[1]], best[0])


def frontier(parts: Sequence[Part], budget: Figure | None = None) -> tuple[Kit, ...]:
    """Every kit that no other kit betters in value and completion rate, by growing value.

    Graves, "A multiple-item inventory model with a job completion criterion" (Operations Research
    30, 1982). Worked out part by part in whole numbers, dropping what is bettered. Without a
    budget the number of kits can double with every part. Of kits alike in both, one is given.
    """
    _unlike(part.key for part in parts)
    most = None if budget is None else exact(budget, "budget")
    states: list[tuple[Fraction, int, tuple[int, ...]]] = [(Fraction(0), 1, ())]
    whole = 1
    for at, part in enumerate(parts):
        chance = _share(part.chance, f"chance of {part.key}")
        value = exact(part.value, f"value of {part.key}")
        whole *= chance.denominator
        missing = chance.denominator - chance.numerator
        left = [(worth, weight * missing, kit) for worth, weight, kit in states]
        taken = [
            (worth + value, weight * chance.denominator, (*kit, at))
            for worth, weight, kit in states
            if most is None or worth + value <= most
        ]
        states = []
        best = -1
        for state in heapq.merge(left, taken, key=lambda state: (state[0], -state[1])):
            if state[1] > best:
                best = state[1]
                states.append(state)
    return tuple(
        Kit(tuple(parts[at].key for at in kit), value, Fraction(weight, whole), value)
        for value, weight, kit in states
    )


def best_kit_by_budget(parts: Sequence[Part], budget: Figure) -> Kit:
    """The kit worth at most `budget` with the highest completion rate (Graves 1982).

    Of equally sure kits the one of least value. Best kits of growing budgets need not contain one
    another.
    """
    return frontier(parts, budget)[-1]


def best_kit_for_jobs(
    holding: Mapping[str, Figure],
    jobs: Sequence[tuple[Iterable[str], Figure]],
    penalty: Figure,
) -> JobsKit:
    """The kit of least holding cost plus penalties for job types with fixed lists of needs.

    Mamer & Smith, "Optimizing field repair kits based on job completion rate" (Management
    Science 28, 1982): a minimum cut between parts and jobs. HiGHS solves it as a programme whose
    relaxation is integral; costs are counted again exactly. `jobs`: needs (parts and tools) and
    how often per period. Raises KittingError for a need without a holding cost, FigureError.
    """
    costs = {key: exact(cost, f"holding cost of {key}") for key, cost in holding.items()}
    loss = exact(penalty, "penalty")
    needs = [frozenset(wanted) for wanted, _ in jobs]
    often = [exact(rate, f"frequency of job {at + 1}") for at, (_, rate) in enumerate(jobs)]
    unknown = sorted(frozenset[str]().union(*needs) - costs.keys())
    if unknown:
        raise KittingError(f"{', '.join(unknown)}: no holding cost. Give one for every need")
    completed: set[int] = set()
    if any(needs):
        model = new_model()
        taken = {key: model.addBinary() for key in costs}
        done = [model.addBinary() for _ in jobs]
        for job, wanted in zip(done, needs, strict=True):
            for key in sorted(wanted):
                model.addConstr(job <= taken[key])
        terms = [taken[key] * float(cost) for key, cost in costs.items()]
        terms += [job * -float(rate * loss) for job, rate in zip(done, often, strict=True)]
        model.setObjective(total(terms))
        if not prove(model, "the best kit for the jobs"):
            raise KittingError("The best kit for the jobs was not found. Try again with fewer jobs")
        completed = {at for at, job in enumerate(done) if model.val(job) > 0.5}
    kit = frozenset[str]().union(*(needs[at] for at in completed))
    served = tuple(at for at, wanted in enumerate(needs) if wanted <= kit)
    held = sum((costs[key] for key in kit), Fraction(0))
    every = sum(often, Fraction(0))
    met = sum((often[at] for at in served), Fraction(0))
    rate = met / every if every else Fraction(1)
    parts = tuple(key for key in costs if key in kit)
    return JobsKit(parts, served, held, held + loss * (every - met), rate)


def cheapest_stock_for_rate(parts: Sequence[StockPart], rate: Figure) -> Stock:
    """The cheapest pieces with which one job is complete with chance `rate`, proven.

    Bijvank, Koole & Vis, "Optimising a general repair kit problem with a service constraint"
    (European Journal of Operational Research 204, 2010), for one period: the chance is the
    product of P(need <= stock). Of equally cheap stocks the surest. Raises FigureError for
    chances that do not add up to 1 or a rate above 1.
    """
    _unlike(part.key for part in parts)
    wanted = _share(rate, "rate")
    states: list[tuple[Fraction, Fraction, tuple[int, ...]]] = [(Fraction(0), Fraction(1), ())]
    for part in parts:
        pmf = [_share(chance, f"chances of {part.key}") for chance in part.pmf]
        if sum(pmf) != 1:
            raise FigureError(f"Chances of {part.key} add up to {float(sum(pmf))}. Make it 1")
        holding = exact(part.holding, f"holding cost of {part.key}")
        grown = []
        reached = Fraction(0)
        for level, chance in enumerate(pmf):
            reached += chance
            grown += [
                (cost + level * holding, sure * reached, (*levels, level))
                for cost, sure, levels in states
                if sure * reached >= wanted  # what follows can only lower it
            ]
        states = []
        for state in sorted(grown, key=lambda state: (state[0], -state[1], state[2])):
            if not states or state[1] > states[-1][1]:
                states.append(state)
    cost, sure, levels = states[0]
    return Stock({p.key: n for p, n in zip(parts, levels, strict=True)}, cost, sure)


def tour_fill_rate(
    parts: Sequence[Part], jobs: int, stock: Mapping[str, int], all_or_nothing: bool = True
) -> Fraction:
    """Expected share of the jobs of a tour that are completed without restocking, exact.

    Teunter, "The multiple-job repair kit problem" (European Journal of Operational Research 175,
    2006). All-or-nothing, as in Bijvank, Koole & Vis 2010: parts leave the kit only if the whole
    job can be done. Otherwise every part that is there is taken even though the job stays
    incomplete. Parts absent from `stock` are not carried. Raises KittingError for no job, an
    unknown part, or a tour that is too large to be worked out.
    """
    _unlike(part.key for part in parts)
    if jobs < 1:
        raise KittingError(f"A tour of {jobs} jobs. Give at least one")
    unknown = sorted(stock.keys() - {part.key for part in parts})
    if unknown:
        raise KittingError(f"{', '.join(unknown)}: in stock but not among the parts. Add the part")
    chances = [_share(part.chance, f"chance of {part.key}") for part in parts]
    levels = tuple(min(stock.get(part.key, 0), jobs) for part in parts)
    if any(level < 0 for level in levels):
        raise KittingError("A stock is negative. Give 0 or more of each part")
    if all_or_nothing:
        return _whole_jobs(chances, jobs, levels) / jobs
    done = Fraction(0)
    for before in range(jobs):
        sure = Fraction(1)
        for chance, level in zip(chances, levels, strict=True):
            sure *= 1 - chance * (1 - _binomial(before, chance, level - 1))
        done += sure
    return done / jobs


def _binomial(trials: int, chance: Fraction, most: int) -> Fraction:
    """P(at most `most` successes)."""
    terms = (
        math.comb(trials, k) * chance**k * (1 - chance) ** (trials - k)
        for k in range(min(most, trials) + 1)
    )
    return sum(terms, Fraction(0))


def _whole_jobs(chances: Sequence[Fraction], jobs: int, levels: tuple[int, ...]) -> Fraction:
    """Expected number of completed jobs: the chance of every state of the kit, job after job."""
    steps = jobs * math.prod(2 * (level + 1) if level else 1 for level in levels)
    if steps > _STEPS:
        raise KittingError(f"The tour has up to {steps} states. Take fewer jobs or parts at once")
    states = {levels: Fraction(1)}
    done = Fraction(0)
    for _ in range(jobs):
        after: dict[tuple[int, ...], Fraction] = {}
        for state, chance in states.items():
            left = chance
            for rest, sure in _completed(chances, state):
                left -= chance * sure
                done += chance * sure
                after[rest] = after.get(rest, Fraction(0)) + chance * sure
            if left:
                after[state] = after.get(state, Fraction(0)) + left
        states = after
    return done


def _completed(
    chances: Sequence[Fraction], state: tuple[int, ...]
) -> Iterable[tuple[tuple[int, ...], Fraction]]:
    """The kit after each job that it can complete, and the chance of that job."""
    held = [at for at, level in enumerate(state) if level]
    for count in range(len(held) + 1):
        for wanted in combinations(held, count):
            sure = Fraction(1)
            for at, chance in enumerate(chances):
                sure *= chance if at in wanted else 1 - chance
            if sure:
                yield tuple(n - (at in wanted) for at, n in enumerate(state)), sure


def cheapest_stock_for_tour(
    parts: Sequence[Part], jobs: int, rate: Figure, all_or_nothing: bool = True
) -> Stock:
    """The cheapest kit with which the share `rate` of the jobs of a tour is completed, proven.

    Stocks are tried by growing cost from a floor: jobs that need a part are completed at most as
    often as there are pieces of it. (A larger kit does not always complete more: a large job
    may take what two small ones would have needed.) Of equally cheap stocks the surest. Raises
    as `tour_fill_rate`, and KittingError if too many stocks would have to be tried.
    """
    wanted = _share(rate, "rate")
    _unlike(part.key for part in parts)
    prices = [exact(part.holding, f"holding cost of {part.key}") for part in parts]
    start = tuple(_floor(_share(p.chance, f"chance of {p.key}"), jobs, wanted) for p in parts)
    first = sum((n * price for n, price in zip(start, prices, strict=True)), Fraction(0))
    queue, seen = [(first, start)], {start}
    best: Stock | None = None
    while queue:
        cost, levels = heapq.heappop(queue)
        if best is not None and cost > best.holding:
            break
        stock = {part.key: n for part, n in zip(parts, levels, strict=True)}
        reached = tour_fill_rate(parts, jobs, stock, all_or_nothing)
        if reached >= wanted and (best is None or reached > best.rate):
            best = Stock(stock, cost, reached)
        if len(seen) > _STEPS // 100:
            raise KittingError("Too many stocks to try. Take fewer jobs or parts at once")
        for at, price in enumerate(prices):
            more = (*levels[:at], levels[at] + 1, *levels[at + 1 :])
            if more[at] <= jobs and more not in seen:
                seen.add(more)
                heapq.heappush(queue, (cost + price, more))
    assert best is not None  # noqa: S101 - one piece per part and job completes everything
    return best


def _floor(chance: Fraction, jobs: int, wanted: Fraction) -> int:
    """The fewest pieces of a part with which `wanted` could be reached, were the rest plenty."""
    for level in range(jobs):
        short = sum((1 - _binomial(jobs, chance, most) for most in range(level, jobs)), Fraction(0))
        if 1 - short / jobs >= wanted:
            return level
    return jobs
