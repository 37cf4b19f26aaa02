"""The catalogue files that come with the program, taken together."""

from __future__ import annotations

from collections.abc import Iterator

from catalogues import SEEDS, read

from kitting.files.catalogue.document import Fit, Joint, Unit
from kitting.files.catalogue.item_shapes import Item
from kitting.files.catalogue.source import parse_catalogue
from kitting.files.catalogue.work_shapes import Step, Use
from kitting.services.catalogue.check import check
from kitting.services.catalogue.known_names import Known

FILES = [
    "demo_garage.yaml",
    "demo_grebe_4t.yaml",
    "demo_hask_d4.yaml",
    "demo_items.yaml",
    "demo_linnet.yaml",
    "demo_nib_3.yaml",
    "demo_supply.yaml",
    "general.yaml",
]


CATALOGUES = {name: read(name) for name in FILES}
GENERAL = CATALOGUES["general.yaml"]
ITEMS: dict[str, Item] = {i.code: i for c in CATALOGUES.values() for i in c.items}
UNITS: dict[str, Unit] = {u.code: u for c in CATALOGUES.values() for u in c.units}
STEPS: dict[str, Step] = {s.code: s for u in UNITS.values() for s in u.steps}
JOBS = {j.code: j for u in UNITS.values() for j in u.jobs}


def joints() -> Iterator[tuple[str, Joint]]:
    for unit in UNITS.values():
        for joint in unit.joints:
            yield unit.code, joint


def fits() -> Iterator[tuple[str, Fit]]:
    for unit, joint in joints():
        for fit in joint.fits:
            yield f"{unit}/{joint.code}", fit


def uses() -> Iterator[Use]:
    for unit in UNITS.values():
        for joint in unit.joints:
            yield from joint.uses
        for step in unit.steps:
            yield from step.uses


def test_the_folder_holds_exactly_these_catalogue_files() -> None:
    assert sorted(path.name for path in SEEDS.glob("*.yaml")) == sorted([*FILES, "patterns.yaml"])


def test_no_fault_of_meaning_is_found_when_all_files_are_checked_together() -> None:
    sources = []
    for name in FILES:
        source, faults = parse_catalogue(name, (SEEDS / name).read_text(encoding="utf-8"))
        assert faults == []
        assert source is not None
        sources.append(source)
    assert [str(problem) for problem in check(sources, Known())] == []


def _references_of_words() -> Iterator[tuple[str, str]]:
    carriers: list[tuple[str, ...]] = [fluid.cautions for fluid in GENERAL.fluids]
    carriers += [system.cautions for system in GENERAL.systems]
    carriers += [kind.cautions for kind in GENERAL.kinds]
    carriers += [item.cautions for item in ITEMS.values()]
    yield from (("cautions", code) for codes in carriers for code in codes)
    for kind in GENERAL.kinds:
        yield from (("tools", code) for code in kind.tools)
        yield from (("fluids", rule.fluid) for rule in kind.rules if rule.fluid)
        yield from (("systems", rule.system) for rule in kind.rules if rule.system)


def _references_of_items_and_cars() -> Iterator[tuple[str, str]]:
    for item in ITEMS.values():
        yield "kinds", item.kind
        yield from (("items", content.item) for content in item.contents)
        yield from (("items", other.item) for other in item.alternatives)
        if item.replaced is not None:
            yield from (("items", part.item) for part in item.replaced.by)
    for catalogue in CATALOGUES.values():
        for model in catalogue.models:
            yield from (("units", code) for code in model.units)
        for vehicle in catalogue.vehicles:
            yield "models", vehicle.model
            yield from (("joints", removal.joint) for removal in vehicle.history)


def _references_of_joints() -> Iterator[tuple[str, str]]:
    for _, part in joints():
        yield "systems", part.system
        yield from (("fluids", code) for code in part.fluids)
        yield from (("cautions", code) for code in part.cautions)
    for _, fit in fits():
        yield "items", fit.item
        if fit.lubricant is not None and fit.lubricant != "dry":
            yield "items", fit.lubricant.item
    yield from (("items", use.item) for use in uses())


def _references_of_work() -> Iterator[tuple[str, str]]:
    for unit in UNITS.values():
        for step in unit.steps:
            yield from (("steps", code) for code in step.needs)
            yield from (("joints", f"{unit.code}/{o.joint}") for o in step.openings)
            yield from (("tools", code) for code in step.tools)
            yield from (("cautions", code) for code in step.cautions)
            yield from (("licences", code) for code in (step.licence,) if code)
        for job in unit.jobs:
            yield from (("steps", code) for code in job.needs)
            yield from (("licences", s.licence) for s in job.services if s.licence)


def test_every_code_that_is_referred_to_is_described() -> None:
    sections = ("cautions", "fluids", "systems", "licences", "tools", "kinds", "items", "units")
    known = {
        section: {entry.code for c in CATALOGUES.values() for entry in getattr(c, section)}
        for section in (*sections, "models")
    }
    known["steps"] = set(STEPS)
    known["joints"] = {f"{unit}/{part.code}" for unit, part in joints()}
    references = [
        *_references_of_words(),
        *_references_of_items_and_cars(),
        *_references_of_joints(),
        *_references_of_work(),
    ]
    assert len(references) > 300
    assert [(s, code) for s, code in references if code not in known[s]] == []


def test_every_joint_is_opened_by_a_step_and_every_step_is_asked_for_by_a_job() -> None:
    opened = {f"{u.code}/{o.joint}" for u in UNITS.values() for s in u.steps for o in s.openings}
    assert opened == {f"{unit}/{part.code}" for unit, part in joints()}
    waiting = [code for job in JOBS.values() for code in job.needs]
    needed: set[str] = set()
    while waiting:
        code = waiting.pop()
        needed.add(code)
        waiting += [need for need in STEPS[code].needs if need not in needed]
    assert needed == set(STEPS)
