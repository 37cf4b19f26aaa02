"""The licences that a plan asks for, and who asks: steps, joints, what goes in, services."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.services.planning.judged import Draft
from kitting.services.planning.work_facts import LicenceFacts
from kitting.views.plan import LicenceView


def licences(facts: Draft) -> Iterator[LicenceView]:
    """Each licence once, with everything that asks for it."""
    asked: dict[LicenceFacts, list[str]] = {}
    for licence, place in _asked(facts):
        asked.setdefault(licence, []).append(place)
    for licence, places in asked.items():
        yield LicenceView(
            code=licence.code,
            name=licence.name,
            text=licence.text,
            asked_by=tuple(dict.fromkeys(places)),
        )


def _asked(facts: Draft) -> Iterator[tuple[LicenceFacts, str]]:
    for key in facts.access.order:
        licence = facts.work.steps[key].licence
        if licence is not None:
            yield licence, f"step {facts.names.steps[key]}"
    yield from _of_systems(facts)
    yield from _of_kinds(facts)
    for job in facts.jobs:
        for service in job.services:
            if service.licence is not None:
                yield service.licence, f"service {service.name}"


def _of_systems(facts: Draft) -> Iterator[tuple[LicenceFacts, str]]:
    for key, steps in facts.access.opened_by.items():
        system = facts.contents.systems[facts.contents.joints[key].system]
        by_steps = {facts.work.steps[step].licence for step in steps}
        for licence in facts.contents.system_licences.get(system.key, ()):
            # Where every step that opens it asks for the licence, the joint adds nothing.
            if by_steps != {licence}:
                yield licence, f"joint {facts.names.joints[key]}"


def _of_kinds(facts: Draft) -> Iterator[tuple[LicenceFacts, str]]:
    """What the kinds of what goes in ask for, wherever it goes."""
    items = {part.item.code: part.item for part in facts.every_part}
    items |= {use.item.code: use.item for use in facts.every_use}
    for code, item in sorted(items.items()):
        for licence in facts.contents.kind_licences.get(item.kind.key, ()):
            yield licence, f"item {code}"
