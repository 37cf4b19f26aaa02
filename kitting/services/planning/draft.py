"""Drafting: everything known about a strip-down before it is put into words.

A draft holds the union of the jobs, what the opened joints carry, the verdicts, and which jobs
wait for a variant to be settled. `planning` turns it into a view.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeVar

from sqlalchemy.orm import Session

from kitting.calc.planning.access import Access, access
from kitting.calc.planning.needs import PartNeed, UseNeed, judge, part_needs, use_needs
from kitting.calc.planning.renewal import Verdict
from kitting.calc.planning.variants import Open, Settled, SplitFacts, settle
from kitting.errors import UnknownNameError
from kitting.services.planning.joint_contents import Contents, read_contents
from kitting.services.planning.rubber_check import Judged, judge_chemistry
from kitting.services.planning.variants import assume
from kitting.services.planning.vehicle import Car, JobFacts, Work, choose_jobs, read_car, read_work

_K = TypeVar("_K", bound=Hashable)
_Need = TypeVar("_Need", PartNeed, UseNeed)


@dataclass(frozen=True, slots=True)
class OpenSplit:
    """A split nobody has settled, and the jobs that wait for it."""

    split: SplitFacts
    because: str
    joints: tuple[int, ...]
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Names:
    """How jobs, steps and joints are called: by code, or UNIT/CODE where two units share one."""

    jobs: Mapping[int, str]
    steps: Mapping[int, str]
    joints: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class Draft:
    """The facts of a plan.

    `chosen` is option → split for the settled variants. Amounts of `parts` and `uses` are for the
    jobs that may go on; `held_parts` and `held_uses` are what stopped jobs would add.
    """

    on: date
    car: Car
    work: Work
    jobs: tuple[JobFacts, ...]
    names: Names
    access: Access
    contents: Contents
    chosen: Mapping[int, int]
    open_splits: tuple[OpenSplit, ...]
    verdicts: Mapping[int, Verdict]
    parts: tuple[PartNeed, ...]
    held_parts: tuple[PartNeed, ...]
    uses: tuple[UseNeed, ...]
    held_uses: tuple[UseNeed, ...]
    chemistry: Mapping[int, Judged]

    def stopped_by(self, job: str) -> tuple[str, ...]:
        """Codes of the splits that stop a job."""
        return tuple(o.split.code for o in self.open_splits if job in o.stops)

    def part_held_by(self, need: PartNeed, stopped: bool) -> tuple[str, ...]:
        """What holds a part back: variants that stop its jobs, a clash with what it touches."""
        judged = self.chemistry.get(need.fit.key)
        clash = judged.clash(lubricant=False) if judged else None
        return (*(self.held_by(need.jobs) if stopped else ()), *([clash] if clash else []))

    def use_held_by(self, need: UseNeed, stopped: bool) -> tuple[str, ...]:
        """What holds a consumable back: the same, for a lubricant with the rubber it goes on."""
        judged = self.chemistry.get(need.fit.key) if need.fit else None
        clash = judged.clash(lubricant=True) if judged else None
        return (*(self.held_by(need.jobs) if stopped else ()), *([clash] if clash else []))

    def held_by(self, jobs: Sequence[str]) -> tuple[str, ...]:
        """Codes of the splits that stop any of the jobs."""
        return tuple(dict.fromkeys(code for job in jobs for code in self.stopped_by(job)))


def draft(
    session: Session,
    registration: str,
    jobs: Sequence[str],
    on: date,
    assumed: Mapping[str, str] | None = None,
) -> Draft:
    """Read and judge everything that the jobs disturb on a car at a date.

    `assumed` settles splits for this answer only, by split code → option code.
    Raises UnknownNameError for names that the catalogue lacks, CatalogueCycleError for a ring of
    steps.
    """
    car = assume(read_car(session, registration, on), assumed or {})
    work = read_work(session, car)
    chosen_jobs = choose_jobs(car, work, jobs)
    return draft_jobs(session, car, work, chosen_jobs, on)


def draft_jobs(
    session: Session, car: Car, work: Work, jobs: tuple[JobFacts, ...], on: date
) -> Draft:
    """The draft for jobs already chosen."""
    unit_codes = {unit.key: unit.code for unit in car.units}
    job_names = _called({job.key: (unit_codes[job.unit], job.code) for job in jobs})
    wanted = {job_names[job.key]: job.needs for job in jobs}
    everything = access(work.nodes, wanted)
    _refuse_missing(car, work, jobs, everything)
    contents = read_contents(session, list(everything.opened), everything.order, car.fluids)
    chosen, open_splits = _settle_splits(car, contents, everything)
    stopped = {job for split in open_splits for job in split.stops}
    active = access(work.nodes, {job: keys for job, keys in wanted.items() if job not in stopped})
    verdicts = {
        fit.key: judge(
            fit,
            contents.joints[fit.joint],
            contents.kind_rules.get(contents.items[fit.item].kind.id, ()),
            contents.item_rules.get(fit.item, ()),
            car.refits.get((fit.joint, fit.position), 0),
        )
        for fit in contents.fits
    }
    all_parts = part_needs(everything, contents.fits, verdicts, chosen)
    parts = part_needs(active, contents.fits, verdicts, chosen)
    uses = use_needs(active, contents.uses, parts.values(), chosen)
    all_uses = use_needs(everything, contents.uses, all_parts.values(), chosen)
    return Draft(
        on=on,
        car=car,
        work=work,
        jobs=jobs,
        names=Names(
            job_names,
            _called({k: (unit_codes[s.unit], s.code) for k, s in work.steps.items()}),
            _called({k: (unit_codes[j.unit], j.code) for k, j in contents.joints.items()}),
        ),
        access=everything,
        contents=contents,
        chosen=chosen,
        open_splits=open_splits,
        verdicts=verdicts,
        parts=tuple(parts.values()),
        held_parts=_beyond(all_parts, parts),
        uses=tuple(uses.values()),
        held_uses=_beyond(all_uses, uses),
        chemistry=judge_chemistry(session, contents),
    )


def _called(entries: Mapping[int, tuple[str, str]]) -> dict[int, str]:
    count = Counter(code for _, code in entries.values())
    return {
        key: code if count[code] == 1 else f"{unit}/{code}" for key, (unit, code) in entries.items()
    }


def _refuse_missing(car: Car, work: Work, jobs: Sequence[JobFacts], everything: Access) -> None:
    lacking = [(job.code, code) for job in jobs for code in job.missing]
    lacking += [
        (work.steps[key].code, code)
        for key in everything.order
        for code in work.missing.get(key, ())
    ]
    if lacking:
        needs = "; ".join(f"{who} needs step {code}" for who, code in lacking)
        units = ", ".join(unit.code for unit in car.units)
        raise UnknownNameError(
            f"{car.registration}: {needs}, which none of its units describes ({units})."
            " Describe the step in one of them, or give the car the unit that has it"
        )


def _settle_splits(
    car: Car, contents: Contents, everything: Access
) -> tuple[dict[int, int], tuple[OpenSplit, ...]]:
    """Option → split for the settled ones, and the open ones that touch this plan."""
    split_of = {option.key: split for split in car.splits for option in split.options}
    joints: dict[int, list[int]] = {}
    jobs: dict[int, set[str]] = {}
    for fit in contents.fits:
        if fit.option is not None:
            split = split_of[fit.option].key
            joints.setdefault(split, []).append(fit.joint)
            jobs.setdefault(split, set()).update(everything.jobs_of_joint(fit.joint))
    for use in contents.uses:
        if use.option is not None:
            split = split_of[use.option].key
            asking = (
                everything.asked_by[use.step]
                if use.step is not None
                else everything.jobs_of_joint(use.joint or 0)
            )
            joints.setdefault(split, []).extend([use.joint] if use.joint is not None else [])
            jobs.setdefault(split, set()).update(asking)
    chosen: dict[int, int] = {}
    still_open = []
    for facts in car.splits:
        answer = settle(facts, car.facts)
        if isinstance(answer, Settled):
            chosen[answer.option] = facts.key
        elif isinstance(answer, Open) and facts.key in jobs:
            places = tuple(dict.fromkeys(joints[facts.key]))
            stops = tuple(sorted(jobs[facts.key]))
            still_open.append(OpenSplit(facts, answer.because, places, stops))
    return chosen, tuple(still_open)


def _beyond(everything: Mapping[_K, _Need], active: Mapping[_K, _Need]) -> tuple[_Need, ...]:
    """What all jobs ask for beyond what the jobs that may go on ask for."""
    left = (
        replace(need, quantity=need.quantity - (active[key].quantity if key in active else 0))
        for key, need in everything.items()
    )
    return tuple(need for need in left if need.quantity > 0)
