"""The one way through a plan: read, judge. `kitting.services.planning.view` tells it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from kitting.services.planning.brought import brought, may_be_brought
from kitting.services.planning.facts import Car, PlanFacts
from kitting.services.planning.instead import Trials
from kitting.services.planning.judge import judge_plan
from kitting.services.planning.judged import Draft
from kitting.services.planning.read import read_jobs, read_plan
from kitting.services.planning.read_alternatives import read_alternatives
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.rubber_check import check_rubbers, clashing_items
from kitting.services.planning.rubber_touching import Brought
from kitting.services.planning.splits import settle_splits
from kitting.services.planning.stand_ins import KitRecord, StandIns
from kitting.services.planning.work_facts import JobFacts, Work


def draft(session: Session, request: PlanRequest) -> Draft:
    """Read and judge everything that the jobs of a request disturb on its car.

    Raises UnknownNameError for names that the catalogue lacks, CatalogueCycleError for a ring of
    steps.
    """
    return judged(session, read_plan(session, request), request.kit)


def draft_jobs(
    session: Session, car: Car, work: Work, jobs: tuple[JobFacts, ...], on: date
) -> Draft:
    """The draft for jobs already chosen of a car that was read already."""
    return judged(session, read_jobs(session, car, work, jobs, on))


def judged(session: Session, facts: PlanFacts, kit: KitRecord | None = None) -> Draft:
    """Judge what was read, with what a kit has settled; a draft is judged anew with another kit.

    Which packets come shows only what is asked for: what else they bring is judged after that.
    """
    stands = StandIns(facts.contents.items, facts.on, kit)
    known, _ = settle_splits(facts.car)
    checks, found = check_rubbers(facts, stands, known), tuple[Brought, ...]()
    if may_be_brought(facts.contents):
        found = brought(judge_plan(facts, stands, checks), stands)
        checks = check_rubbers(facts, stands, known, found) if found else checks
    clashing = clashing_items(facts.contents, checks)
    alternatives = read_alternatives(session, facts, clashing) if clashing else None
    if alternatives is not None:
        checks = Trials(facts, stands, known, found, alternatives).named(checks)
    return replace(judge_plan(facts, stands, checks), brought=found)
