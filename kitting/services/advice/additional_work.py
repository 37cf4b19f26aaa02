"""Ranking: which other jobs are worth doing meanwhile, by what they would add."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import Engine, Integer, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.planning.access import access
from kitting.calc.planning.additional_work import Addition, additions, threshold
from kitting.calc.planning.needs import part_needs
from kitting.facts.money import Money
from kitting.facts.words import Rule, StockUnit
from kitting.services.planning.draft import draft_jobs
from kitting.services.planning.judged import Draft
from kitting.services.planning.read import choose_jobs
from kitting.services.planning.read_car import read_car
from kitting.services.planning.read_work import read_work
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.variants import assume
from kitting.services.planning.view import vehicle_view
from kitting.services.planning.work_facts import JobFacts, Work
from kitting.services.purchasing.cheapest_prices import cheapest_each
from kitting.store import writing
from kitting.tables.bookings import Declined
from kitting.views.explanations import AdditionView, DeclinedView, MeanwhileView, NotRankedView

_declined = Declined.__table__.c
_DECLINED = (
    select(_declined.job, _declined.on, _declined.reason)
    .where(_declined.vehicle_id == bindparam("vehicle", type_=Integer))
    .order_by(_declined.on)
)


@dataclass(frozen=True, slots=True)
class _Prices:
    """The rate per hour, and the cheapest price of each item that anybody prices in its currency.

    Prices are minor units per piece (ml, g, mm) times 1000.
    """

    rate: Money
    cheapest: Mapping[int, int]


def meanwhile(session: Session, request: PlanRequest, rate: Money | None = None) -> MeanwhileView:
    """Rank the other jobs of a car's units by what they would add to this strip-down.

    With a `rate` per hour each is weighed: what it costs now against coming back for it.
    Nothing is added to the plan: the jobs are offered. The number of statements is fixed.
    Raises UnknownNameError for names that the catalogue lacks.
    """
    car = assume(read_car(session, request.registration, request.on), request.assumed)
    work = read_work(session, car)
    chosen = choose_jobs(car, work, request.jobs)
    lacking = {job.key: _lacking(work, job) for job in work.jobs}
    possible = tuple(job for job in work.jobs if not lacking[job.key])
    together = tuple(dict.fromkeys((*chosen, *possible)))
    everything = draft_jobs(session, car, work, together, request.on)
    names = everything.names.jobs
    planned = {names[job.key]: job.needs for job in chosen}
    others = {names[job.key]: job for job in possible if job not in chosen}
    found = additions(work.nodes, planned, {name: job.needs for name, job in others.items()})
    now = _renewed(everything, planned)
    more = {
        one.job: _beyond(_renewed(everything, {**planned, one.job: others[one.job].needs}), now)
        for one in found
    }
    prices = None
    if rate is not None:
        items = {item for amounts in more.values() for item in amounts}
        prices = _Prices(rate, cheapest_each(session, items, rate.currency))
    declined = {
        job: DeclinedView(on, reason)
        for job, on, reason in session.connection().execute(_DECLINED, {"vehicle": car.key})
    }
    return MeanwhileView(
        vehicle=vehicle_view(car),
        jobs=tuple(planned),
        hours=access(work.nodes, planned).total,
        additions=tuple(
            replace(
                _weighed(
                    everything,
                    _view(everything, one, others[one.job], more[one.job]),
                    more[one.job],
                    prices,
                ),
                declined=declined.get(one.job),
            )
            for one in found
        ),
        not_ranked=tuple(
            NotRankedView(code=job.code, name=job.name, missing=tuple(lacking[job.key]))
            for job in work.jobs
            if lacking[job.key] and job not in chosen
        ),
    )


def _lacking(work: Work, job: JobFacts) -> list[str]:
    lacking, waiting, seen = list(job.missing), list(job.needs), set[int]()
    while waiting:
        key = waiting.pop()
        if key not in seen:
            seen.add(key)
            lacking += work.missing.get(key, ())
            waiting += work.nodes[key].needs
    return lacking


def _renewed(facts: Draft, jobs: Mapping[str, Sequence[int]]) -> dict[int, int]:
    """What some jobs together renew, by item key; open options are left out of the count."""
    taken = access(facts.work.nodes, jobs)
    amounts: dict[int, int] = {}
    for need in part_needs(taken, facts.contents.fits, facts.rulings, facts.known).values():
        renewed = need.worn_out + (need.quantity if need.ruling.rule == Rule.RENEW else 0)
        if renewed:
            amounts[need.fit.item] = amounts.get(need.fit.item, 0) + renewed
    return amounts


def _beyond(both: Mapping[int, int], now: Mapping[int, int]) -> dict[int, int]:
    """What both ask for beyond what is asked for now."""
    return {item: n - now.get(item, 0) for item, n in both.items() if n > now.get(item, 0)}


def _view(facts: Draft, addition: Addition, job: JobFacts, more: Mapping[int, int]) -> AdditionView:
    items = facts.contents.items
    return AdditionView(
        code=addition.job,
        name=job.name,
        unit=facts.car.unit(job.unit).code,
        hours_alone=addition.hours_alone,
        hours_added=addition.hours_added,
        joints_added=tuple(facts.names.joints[joint] for joint in addition.joints_added),
        items_added=tuple(sorted(items[item].code for item in more)),
        parts_added=sum(n for item, n in more.items() if items[item].unit == StockUnit.EACH),
        stopped_by=facts.stopped_by(addition.job),
    )


def _weighed(
    facts: Draft, view: AdditionView, more: Mapping[int, int], prices: _Prices | None
) -> AdditionView:
    """A job with what it costs now, what coming back costs, and when now is worth it."""
    if prices is None:
        return view
    rate, cheapest = prices.rate, prices.cheapest
    unpriced = sorted(facts.contents.items[item].code for item in more if item not in cheapest)
    parts = sum(
        -(-cheapest[item] * amount // 1_000_000)
        for item, amount in more.items()
        if item in cheapest
    )
    now = parts + view.hours_added * rate.minor // 1000
    back = view.hours_alone * rate.minor // 1000
    return replace(
        view,
        cost_now=Money(now, rate.currency),
        cost_back=Money(back, rate.currency),
        worth_above=threshold(now, back) if now + back and not unpriced else None,
        unpriced=tuple(unpriced),
    )


def decline(
    engine: Engine, registration: str, job: str, on: date, reason: str | None = None
) -> str:
    """Record that a job was offered for a car and declined; returns how the job is called.

    Raises UnknownNameError for a car or a job that is not there.
    """
    with writing(engine) as session:
        car = read_car(session, registration, on)
        (chosen,) = choose_jobs(car, read_work(session, car), [job])
        session.add(Declined(vehicle_id=car.key, job=chosen.code, on=on, reason=reason))
        session.commit()
        return f"{chosen.code} {chosen.name}"
