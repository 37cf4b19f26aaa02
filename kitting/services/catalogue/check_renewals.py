"""Checking what jobs renew: each entry has to mean something that the job opens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from kitting.errors import Problem
from kitting.files.catalogue.document import Fit, Joint, Unit
from kitting.files.catalogue.lines import Place
from kitting.files.catalogue.source import Source
from kitting.files.catalogue.work_shapes import Job, Renewal
from kitting.services.catalogue.check_faults import missing, twice

_SHOWN = 8


def renewal_faults(
    source: Source,
    here: Place,
    unit: Unit,
    kinds: Mapping[str, str],
    names: Mapping[str, set[str]],
) -> Iterator[Problem]:
    """What jobs of a unit name for renewal and do not open.

    `kinds` is the kind of each item, `names` every kind and item by section. Steps of another unit
    open joints that this file need not hold: where a job needs such a step, only the names are
    checked.
    """
    joints = {joint.code: joint for joint in unit.joints}
    for number, job in enumerate(unit.jobs):
        opened, others = _opened(unit, job)
        fits = [(code, fit) for code in opened if code in joints for fit in joints[code].fits]
        for index, one in enumerate(job.renews):
            place: Place = (*here, "jobs", number, "renews", index)
            thing = f"unit {unit.code} job {job.code} renews"
            if one in job.renews[:index]:
                yield twice(source, place, thing, _said(one))
            elif one.joint is not None:
                yield from _joint_faults(source, place, (thing, one), joints, opened, others)
            else:
                section = "kinds" if one.kind is not None else "items"
                code = one.kind or one.item or ""
                if code not in names[section]:
                    yield missing(
                        source, (*place, section[:-1]), section[:-1], code, names[section]
                    )
                elif not others and not any(_means(one, fit, kinds) for _, fit in fits):
                    there = [kinds.get(fit.item, "") if one.kind else fit.item for _, fit in fits]
                    yield source.problem(place, thing, *_nothing(_said(one), opened, there))


def _joint_faults(
    source: Source,
    place: Place,
    said: tuple[str, Renewal],
    joints: Mapping[str, Joint],
    opened: Sequence[str],
    others: bool,
) -> Iterator[Problem]:
    thing, one = said
    code = one.joint or ""
    if code not in joints:
        yield missing(source, (*place, "joint"), "joint", code, joints)
    elif code not in opened and not others:
        yield source.problem(place, thing, *_nothing(_said(one), opened, opened))
    elif one.position is not None:
        known = [name for fit in joints[code].fits for name in fit.all_positions]
        if one.position not in known:
            yield missing(source, (*place, "position"), "position", one.position, known)


def _opened(unit: Unit, job: Job) -> tuple[list[str], bool]:
    """The joints that a job opens by the steps of its unit; whether steps of others come too."""
    steps = {step.code: step for step in unit.steps}
    waiting, seen, others = list(job.needs), set[str](), False
    opened: dict[str, None] = {}
    while waiting:
        code = waiting.pop(0)
        if code in seen:
            continue
        seen.add(code)
        if code not in steps:
            others = True
            continue
        opened |= dict.fromkeys(one.joint for one in steps[code].openings)
        waiting += steps[code].needs
    return list(opened), others


def _means(one: Renewal, fit: Fit, kinds: Mapping[str, str]) -> bool:
    return fit.item == one.item if one.item is not None else kinds.get(fit.item) == one.kind


def _said(one: Renewal) -> str:
    if one.joint is not None:
        place = f", position {one.position!r}" if one.position is not None else ""
        return f"joint {one.joint!r}{place}"
    return f"kind {one.kind!r}" if one.kind is not None else f"item {one.item!r}"


def _nothing(said: str, opened: Sequence[str], there: Sequence[str]) -> tuple[str, str]:
    """Why an entry means nothing, and what it could mean."""
    joints = ", ".join(opened[:_SHOWN]) or "none"
    found = list(dict.fromkeys(filter(None, there)))[:_SHOWN]
    step = (
        f"There is {', '.join(found)}; name one of them" if found else "Add the step that opens it"
    )
    return f"{said} is in no joint that the job opens ({joints})", step
