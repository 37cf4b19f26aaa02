"""Ranking: which other jobs are worth doing meanwhile, by what they would add."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.calc.planning.access import access
from kitting.calc.planning.additional_work import Addition, additions, threshold
from kitting.calc.planning.needs import part_needs
from kitting.facts.money import Money, format_money
from kitting.services.planning.draft import Draft, draft_jobs
from kitting.services.planning.plan import vehicle_view
from kitting.services.planning.vehicle import JobFacts, Work, choose_jobs, read_car, read_work
from kitting.services.purchasing.cheapest_prices import cheapest_each
from kitting.store import writing
from kitting.tables.bookings import Declined
from kitting.tables.items import Item
from kitting.views.explanations import AdditionView, MeanwhileView


def meanwhile(
    session: Session,
    registration: str,
    jobs: Sequence[str],
    on: date,
    rate: Money | None = None,
) -> MeanwhileView:
    """Rank the other jobs of a car's units by what they would add to this strip-down.

    With a `rate` per hour each is weighed: what it costs now against coming back for it.
    Nothing is added to the plan: the jobs are offered. The number of statements is fixed.
    Raises UnknownNameError for names that the catalogue lacks.
    """
    car = read_car(session, registration, on)
    work = read_work(session, car)
    chosen = choose_jobs(car, work, jobs)
    possible = tuple(job for job in work.jobs if not _lacking(work, job))
    impossible = [job for job in work.jobs if job not in possible and job not in chosen]
    everything = draft_jobs(session, car, work, tuple(dict.fromkeys((*chosen, *possible))), on)
    names = everything.names.jobs
    planned = {names[job.key]: job.needs for job in chosen}
    others = {names[job.key]: job for job in possible if job not in chosen}
    found = additions(work.nodes, planned, {name: job.needs for name, job in others.items()})
    declined = _declined(session, car.key)
    return MeanwhileView(
        vehicle=vehicle_view(car),
        jobs=tuple(planned),
        hours=access(work.nodes, planned).total,
        additions=tuple(
            _weighed(session, view, more, rate, declined)
            for view, more in (
                _view(everything, planned, addition, others[addition.job]) for addition in found
            )
        ),
        not_ranked=tuple(
            f"{job.code} {job.name}: needs step {', '.join(_lacking(work, job))}, which no unit of"
            " this car describes"
            for job in impossible
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


def _view(
    facts: Draft, planned: Mapping[str, Sequence[int]], addition: Addition, job: JobFacts
) -> tuple[AdditionView, dict[int, int]]:
    """What is asked for beyond the planned jobs; open options are left out of the count."""
    quantities = []
    for jobs in (planned, {**planned, addition.job: job.needs}):
        taken = access(facts.work.nodes, jobs)
        needs = part_needs(taken, facts.contents.fits, facts.verdicts, facts.chosen)
        amounts: dict[int, int] = {}
        for need in needs.values():
            if need.verdict.rule == "renew":
                amounts[need.fit.item] = amounts.get(need.fit.item, 0) + need.quantity
        quantities.append(amounts)
    now, both = quantities
    more = {item: n - now.get(item, 0) for item, n in both.items() if n > now.get(item, 0)}
    units = {item: facts.contents.items[item].row.unit for item in more}
    view = AdditionView(
        code=addition.job,
        name=job.name,
        unit=facts.car.unit(job.unit).code,
        hours_alone=addition.hours_alone,
        hours_added=addition.hours_added,
        joints_added=tuple(facts.names.joints[joint] for joint in addition.joints_added),
        items_added=tuple(sorted(facts.contents.items[item].row.code for item in more)),
        parts_added=sum(n for item, n in more.items() if units[item] == "each"),
        stopped_by=facts.stopped_by(addition.job),
    )
    return view, more


def _weighed(
    session: Session,
    view: AdditionView,
    more: Mapping[int, int],
    rate: Money | None,
    declined: Mapping[str, str],
) -> AdditionView:
    """A job with what it costs now, what coming back costs, and when now is worth it."""
    view = replace(view, declined=declined.get(view.code))
    if rate is None:
        return view
    prices = cheapest_each(session, more, rate.currency)
    codes = dict(
        session.execute(
            select(Item.id, Item.code).where(Item.id.in_(set(more) - set(prices)))
        ).all()
    )
    priced = ((prices[item], amount) for item, amount in more.items() if item in prices)
    parts = sum(-(-price * amount // 1_000_000) for price, amount in priced)
    now = parts + view.hours_added * rate.minor // 1000
    back = view.hours_alone * rate.minor // 1000
    return replace(
        view,
        cost_now=format_money(now, rate.currency),
        cost_back=format_money(back, rate.currency),
        worth_above=threshold(now, back) if now + back and not codes else None,
        unpriced=tuple(sorted(codes.values())),
    )


def _declined(session: Session, vehicle: int) -> dict[str, str]:
    rows = session.execute(
        select(Declined.job, Declined.on, Declined.reason)
        .where(Declined.vehicle_id == vehicle)
        .order_by(Declined.on)
    )
    return {job: f"declined {on}" + (f": {why}" if why else "") for job, on, why in rows}


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
