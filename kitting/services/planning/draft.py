"""The one way through a plan: read, judge. `kitting.services.planning.view` tells it."""

from __future__ import annotations

from datetime import date

from sqlalchemy.orm import Session

from kitting.services.planning.facts import Car, JobFacts, PlanFacts, Work
from kitting.services.planning.judge import Draft, judge_plan
from kitting.services.planning.read import read_jobs, read_plan
from kitting.services.planning.read_alternatives import read_alternatives
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.rubber_check import (
    check_rubbers,
    clashing_items,
    with_alternatives,
)


def draft(session: Session, request: PlanRequest) -> Draft:
    """Read and judge everything that the jobs of a request disturb on its car.

    Raises UnknownNameError for names that the catalogue lacks, CatalogueCycleError for a ring of
    steps.
    """
    return _judged(session, read_plan(session, request))


def draft_jobs(
    session: Session, car: Car, work: Work, jobs: tuple[JobFacts, ...], on: date
) -> Draft:
    """The draft for jobs already chosen of a car that was read already."""
    return _judged(session, read_jobs(session, car, work, jobs, on))


def _judged(session: Session, facts: PlanFacts) -> Draft:
    checks = check_rubbers(facts.contents)
    clashing = clashing_items(facts.contents, checks)
    alternatives = read_alternatives(session, clashing)
    return judge_plan(facts, with_alternatives(facts.contents, checks, alternatives))
