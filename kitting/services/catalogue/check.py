"""Checking catalogue files together: names, positions, rings, plausible figures.

All faults of all files are found in one go. Names may stand in any of the files, or in the
database that the caller looked up (`Known`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from kitting.calc.planning.consumption import lost_in_nozzle
from kitting.calc.tightening.held import Held
from kitting.errors import Problem
from kitting.files.catalogue.document import Catalogue, Fit, Unit
from kitting.files.catalogue.lines import Place
from kitting.files.catalogue.source import Source
from kitting.files.catalogue.vehicle_shapes import CarFluid
from kitting.files.catalogue.work_shapes import Use
from kitting.services.catalogue.check_faults import (
    TERMS,
    closures,
    drops_fault,
    foreign_fluids,
    gtin_faults,
    in_no_packet,
    missing,
    needs_exist,
    nozzle_fault,
    one_of_section,
    packet_ring,
    repeated_codes,
    repeated_entries,
    repeated_positions,
    repeated_sources,
    step_ring,
    told_once,
    twice,
    unit_changed,
    unit_fault,
    unknown_history,
)
from kitting.services.catalogue.check_figures import class_faults, figure_faults, no_ring
from kitting.services.catalogue.check_holes import hole_faults
from kitting.services.catalogue.check_patterns import role_faults
from kitting.services.catalogue.check_renewals import renewal_faults
from kitting.services.catalogue.check_splits import by_customers, option_faults, settled_faults
from kitting.services.catalogue.check_words import Meanings
from kitting.services.catalogue.known_names import Known

SECTIONS = (
    "cautions",
    "fluids",
    "systems",
    "licences",
    "tools",
    "kinds",
    "items",
    "units",
    "models",
)


def check(sources: Sequence[Source], known: Known) -> list[Problem]:
    """Every fault of meaning in the files, in the order of the files."""
    return told_once(sources, _Checker(sources, known).run())


class _Checker:
    def __init__(self, sources: Sequence[Source], known: Known) -> None:
        self.sources, self.contents, self.counted = sources, known.contents, known.counted
        self.names = {section: set(known.names.get(section, ())) for section in SECTIONS}
        self.steps = {unit: set(codes) for unit, codes in known.steps.items()}
        self.joints = {unit: set(codes) for unit, codes in known.joints.items()}
        self.positions = {joint: set(names) for joint, names in known.positions.items()}
        self.options = {u: {s: set(o) for s, o in sp.items()} for u, sp in known.options.items()}
        self.item_units, self.lost = dict(known.item_units), set(known.lost_in_nozzle)
        self.item_threads, self.item_kinds = dict(known.item_threads), dict(known.item_kinds)
        self.chosen, self.gtins = set(known.chosen), dict(known.gtins)
        self.threaded, self.made_in = dict(known.threaded), dict(known.made_in)
        for source in sources:
            self._learn(source.catalogue)
        self.meanings = Meanings(sources, known.words, self.names)

    def _learn(self, catalogue: Catalogue) -> None:
        for section in SECTIONS:
            self.names[section].update(entry.code for entry in getattr(catalogue, section))
        for item in catalogue.items:
            self.gtins |= {gtin: self.gtins.get(gtin, item.code) for gtin in item.gtins}
            self.item_units[item.code] = item.unit
            sizes = (one.thousandths if one else None for one in (item.pack, item.nozzle_waste))
            lost = item.unit == "ml" and lost_in_nozzle(*sizes)
            (self.lost.add if lost else self.lost.discard)(item.code)
            thread = item.thread
            self.item_threads[item.code] = (thread.name if thread else None, item.property_class)
            self.item_kinds[item.code] = item.kind
        for kind in catalogue.kinds:
            self.threaded[kind.code] = kind.threaded
            self.made_in[kind.code] = (kind.weakest_class, kind.strongest_class)
        for unit in catalogue.units:
            self.steps[unit.code] = {step.code for step in unit.steps}
            self.joints[unit.code] = {joint.code for joint in unit.joints}
            for joint in unit.joints:
                here = {name for fit in joint.fits for name in fit.all_positions}
                self.positions[f"{unit.code}/{joint.code}"] = here
            described = {f"{unit.code}/{split.code}" for split in unit.splits}
            self.chosen = (self.chosen - described) | by_customers(unit)
            self.options[unit.code] = {s.code: {o.code for o in s.options} for s in unit.splits}

    def run(self) -> Iterator[Problem]:
        yield from repeated_entries(self.sources, (*SECTIONS, "vehicles", *TERMS))
        yield from packet_ring(self.sources, self.contents)
        yield from unit_changed(self.sources, self.counted)
        for source in self.sources:
            yield from self._vocabulary(source)
            yield from self.meanings.faults(source)
            yield from self._items(source)
            for number, unit in enumerate(source.catalogue.units):
                yield from self._unit(source, ("units", number), unit)
            yield from self._cars(source)
            yield from closures(source)
            for number, branch in enumerate(source.catalogue.branches):
                place: Place = ("branches", number, "licences")
                yield from self._name_each(source, place, "licences", branch.licences)

    def _name(
        self, source: Source, place: Place, section: str, code: str | None
    ) -> Iterator[Problem]:
        if code is not None and code not in self.names[section]:
            meant = self.meanings.of(section, code)
            yield missing(source, place, one_of_section(section), code, self.names[section], meant)

    def _name_each(
        self, source: Source, place: Place, section: str, codes: Iterable[str]
    ) -> Iterator[Problem]:
        for number, code in enumerate(codes):
            yield from self._name(source, (*place, number), section, code)

    def _vocabulary(self, source: Source) -> Iterator[Problem]:
        for section in ("fluids", "systems", "kinds", "items"):
            for number, entry in enumerate(getattr(source.catalogue, section)):
                place: Place = (section, number, "cautions")
                yield from self._name_each(source, place, "cautions", entry.cautions)
        for number, system in enumerate(source.catalogue.systems):
            place = ("systems", number, "licences")
            yield from self._name_each(source, place, "licences", system.licences)
        for number, kind in enumerate(source.catalogue.kinds):
            here: Place = ("kinds", number)
            for section in ("tools", "systems"):
                yield from self._name_each(
                    source, (*here, section), section, getattr(kind, section)
                )
            stated = set()
            for index, rule in enumerate(kind.rules):
                place = (*here, "rules", index)
                for where in rule.situations:
                    yield from self._name(source, (*place, "fluid"), "fluids", where.fluid)
                    yield from self._name(source, (*place, "system"), "systems", where.system)
                    who = (rule.source, where)
                    if who in stated:
                        yield twice(source, place, f"kind {kind.code}", f"source {rule.source!r}")
                    stated.add(who)

    def _items(self, source: Source) -> Iterator[Problem]:
        for number, item in enumerate(source.catalogue.items):
            here: Place = ("items", number)
            thing = f"item {item.code}"
            yield from self._name(source, (*here, "kind"), "kinds", item.kind)
            for key, others in (
                ("contents", item.contents),
                ("alternatives", item.alternatives),
                ("replaced", item.replaced.by if item.replaced else ()),
            ):
                middle: Place = ("by",) if key == "replaced" else ()
                for index, code in enumerate(codes := [other.item for other in others]):
                    place = (*here, key, *middle, index)
                    yield from self._name(source, (*place, "item"), "items", code)
                    if code == item.code:
                        yield source.problem(
                            place, thing, f"names itself in {key!r}", "Name another item"
                        )
                    if code in codes[:index]:
                        yield twice(source, place, thing, f"item {code!r} in {key!r}")
            for index, content in enumerate(item.contents):
                place = (*here, "contents", index, "quantity")
                yield from self._in_unit(source, place, content.item, content.quantity.unit)
            if item.pack is not None and item.pack.unit != item.unit:
                yield unit_fault(source, (*here, "pack"), thing, item.pack.unit, item.unit)
            if (item.ring_inside is None) != (item.ring_section is None):
                yield source.problem(
                    here,
                    thing,
                    "a ring is found by inside diameter and section together; one is missing",
                    "Give both ring_inside and ring_section",
                )
            yield from no_ring(source, here, item)
            yield from repeated_sources(source, here, thing, [rule.source for rule in item.rules])
            stands = [f"{stand.source} on {stand.medium}" for stand in item.media]
            yield from repeated_sources(source, here, thing, stands, "media")
            yield from in_no_packet(source, here, item, self.sources)
            yield from gtin_faults(source, here, item, self.gtins)
            yield from class_faults(source, here, item, self.made_in)

    def _in_unit(self, source: Source, place: Place, item: str, unit: str) -> Iterator[Problem]:
        wanted = self.item_units.get(item)
        if wanted is not None and wanted != unit:
            yield unit_fault(source, place, f"item {item}", unit, wanted)

    def _unit(self, source: Source, here: Place, unit: Unit) -> Iterator[Problem]:
        for part in ("splits", "joints", "steps", "jobs"):
            yield from repeated_codes(source, here, unit, part)
        yield from option_faults(source, here, unit)
        for number, joint in enumerate(unit.joints):
            place: Place = (*here, "joints", number)
            yield from self._name(source, (*place, "system"), "systems", joint.system)
            yield from self._name_each(source, (*place, "fluids"), "fluids", joint.fluids)
            yield from self._name_each(source, (*place, "cautions"), "cautions", joint.cautions)
            yield from repeated_positions(source, place, unit.code, joint.code, joint.fits)
            for index, fit in enumerate(joint.fits):
                thing = f"unit {unit.code} joint {joint.code} position {fit.all_positions[0]}"
                yield from self._fit(source, (*place, "fits", index), thing, unit.code, fit)
                yield from foreign_fluids(source, (*place, "fits", index), thing, joint, fit)
            yield from role_faults(source, place, unit.code, joint, self.item_kinds)
            thing = f"unit {unit.code} joint {joint.code}"
            yield from hole_faults(source, place, thing, joint, self._tightened)
            yield from self._uses(source, place, unit.code, joint.uses)
        yield from self._steps_and_jobs(source, here, unit)

    def _fit(
        self, source: Source, place: Place, thing: str, unit: str, fit: Fit
    ) -> Iterator[Problem]:
        yield from self._name(source, (*place, "item"), "items", fit.item)
        yield from self._in_unit(source, (*place, "quantity"), fit.item, fit.quantity.unit)
        yield from self._option(source, (*place, "option"), thing, unit, fit.option)
        yield from repeated_sources(source, place, thing, [rule.source for rule in fit.rules])
        if fit.lubricant is not None and fit.lubricant != "dry":
            there: Place = (*place, "lubricant", "item")
            yield from self._name(source, there, "items", fit.lubricant.item)
            amount = fit.lubricant.amount
            yield from self._in_unit(source, there, fit.lubricant.item, amount.unit)
        if fit.tightening is not None:
            thread, property_class = self.item_threads.get(fit.item, (None, None))
            kind = self.item_kinds.get(fit.item)
            held = Held(thread, property_class, into=fit.into, kind=kind)
            yield from figure_faults(source, (*place, "tightening"), thing, fit.tightening, held)

    def _tightened(self, fit: Fit) -> bool:
        """Whether a fastener is tightened; one whose kind is not known is taken to be."""
        return fit.tightening is not None or self.threaded.get(
            self.item_kinds.get(fit.item, ""), True
        )

    def _option(
        self, source: Source, place: Place, thing: str, unit: str, option: str | None
    ) -> Iterator[Problem]:
        if option is None:
            return
        split, _, code = option.partition("/")
        splits = self.options.get(unit, {})
        known = [f"{name}/{o}" for name, options in splits.items() for o in sorted(options)]
        if code not in splits.get(split, ()):
            yield missing(source, place, "variant", option, known)

    def _uses(
        self, source: Source, here: Place, unit: str, uses: Sequence[Use]
    ) -> Iterator[Problem]:
        for number, use in enumerate(uses):
            place: Place = (*here, "uses", number)
            thing = f"use of {use.item}"
            yield from self._name(source, (*place, "item"), "items", use.item)
            yield from self._option(source, (*place, "option"), thing, unit, use.option)
            measure = use.amount.unit if use.amount is not None else "ml"
            yield from self._in_unit(source, place, use.item, measure)
            if use.bead is not None and use.item in self.lost:
                yield nozzle_fault(source, place, thing)
            if use.drops is not None:
                yield from drops_fault(source, place, thing, use)

    def _steps_and_jobs(self, source: Source, here: Place, unit: Unit) -> Iterator[Problem]:
        every_step = {code for codes in self.steps.values() for code in codes}
        for number, step in enumerate(unit.steps):
            place: Place = (*here, "steps", number)
            thing = f"unit {unit.code} step {step.code}"
            yield from self._name(source, (*place, "licence"), "licences", step.licence)
            yield from self._option(source, (*place, "option"), thing, unit.code, step.option)
            yield from self._name_each(source, (*place, "tools"), "tools", step.tools)
            yield from self._name_each(source, (*place, "cautions"), "cautions", step.cautions)
            yield from needs_exist(source, place, thing, step.needs, every_step)
            for index, opening in enumerate(step.openings):
                there: Place = (*place, "opens", index)
                if opening.joint not in self.joints[unit.code]:
                    yield missing(source, there, "joint", opening.joint, self.joints[unit.code])
                if opening.joint in [o.joint for o in step.openings[:index]]:
                    yield twice(source, there, thing, f"joint {opening.joint!r}")
            yield from self._uses(source, place, unit.code, step.uses)
        for number, job in enumerate(unit.jobs):
            place = (*here, "jobs", number)
            thing = f"unit {unit.code} job {job.code}"
            yield from needs_exist(source, place, thing, job.needs, every_step)
            for index, service in enumerate(job.services):
                there = (*place, "services", index)
                yield from self._name(source, (*there, "licence"), "licences", service.licence)
                asked_on = service.option
                yield from self._option(source, (*there, "option"), thing, unit.code, asked_on)
                if service.name in [s.name for s in job.services[:index]]:
                    yield twice(source, there, thing, f"service {service.name!r}")
        yield from step_ring(source, here, unit)
        yield from renewal_faults(source, here, unit, self.item_kinds, self.names)

    def _cars(self, source: Source) -> Iterator[Problem]:
        for number, model in enumerate(source.catalogue.models):
            yield from self._name_each(source, ("models", number, "units"), "units", model.units)
            yield from self._fluids(source, ("models", number), f"model {model.code}", model.fluids)
        for number, vehicle in enumerate(source.catalogue.vehicles):
            here: Place = ("vehicles", number)
            thing = f"vehicle {vehicle.registration}"
            yield from self._name(source, (*here, "model"), "models", vehicle.model)
            yield from self._name_each(source, (*here, "units"), "units", vehicle.units)
            yield from self._fluids(source, here, thing, vehicle.fluids)
            yield from settled_faults(source, here, vehicle, self.options, self.chosen)
            yield from unknown_history(source, here, vehicle, self.joints, self.positions)

    def _fluids(
        self, source: Source, here: Place, thing: str, fluids: Sequence[CarFluid]
    ) -> Iterator[Problem]:
        codes = [entry.fluid for entry in fluids]
        for number, entry in enumerate(fluids):
            place: Place = (*here, "fluids", number)
            yield from self._name(source, (*place, "fluid"), "fluids", entry.fluid)
            yield from self._name(source, (*place, "lubricant"), "items", entry.lubricant)
            if entry.fluid in codes[:number]:
                yield twice(source, place, thing, f"fluid {entry.fluid!r}")
