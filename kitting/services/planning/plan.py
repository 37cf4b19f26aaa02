"""Planning: one car, some jobs, one date → the complete kit with a reason for every line."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sqlalchemy.orm import Session

from kitting.calc.rubber.compatibility import STATES
from kitting.calc.tools.requirements import Fastener, asks
from kitting.facts.heads import Head
from kitting.facts.names import natural_key
from kitting.facts.words import FastenerAccess, ThreadState
from kitting.services.planning.draft import Draft, draft
from kitting.services.planning.general_tools import general_tools
from kitting.services.planning.joint_contents import Contents
from kitting.services.planning.lines import part_lines, use_lines
from kitting.services.planning.vehicle import Car, registration_key
from kitting.views.plan import (
    CautionView,
    ContactView,
    HoursView,
    JobView,
    JointView,
    LicenceView,
    OptionView,
    PlanView,
    ServiceView,
    StepView,
    TighteningView,
    ToolView,
    UnknownFigureView,
    UnresolvedView,
    VehicleView,
)

_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U: they are misread on a label


def plan(
    session: Session,
    registration: str,
    jobs: Sequence[str],
    on: date,
    assumed: Mapping[str, str] | None = None,
) -> PlanView:
    """The complete kit for some jobs on one car, judged at the fitting date.

    `assumed` settles variants for this answer only (split code → option code). The number of
    SQL statements does not depend on the size of the plan.
    Raises UnknownNameError and CatalogueCycleError (see `draft`).
    """
    return view(draft(session, registration, jobs, on, assumed))


def view(facts: Draft) -> PlanView:
    """Put a draft into words."""
    lines = part_lines(facts)
    return PlanView(
        reference=_reference(facts),
        on=facts.on,
        vehicle=vehicle_view(facts.car),
        jobs=tuple(
            JobView(
                facts.names.jobs[job.key],
                job.name,
                facts.car.unit(job.unit).code,
                facts.access.alone[facts.names.jobs[job.key]],
                tuple(facts.names.steps[step] for step in job.needs),
                facts.stopped_by(facts.names.jobs[job.key]),
            )
            for job in facts.jobs
        ),
        steps=tuple(_steps(facts)),
        hours=HoursView(facts.access.total, facts.access.apart, facts.access.saved),
        joints=tuple(_joints(facts)),
        lines=lines,
        uses=use_lines(facts),
        tightenings=(tightenings := tuple(_tightenings(facts))),
        tools=tuple(_tools(facts)),
        services=tuple(_services(facts)),
        cautions=tuple(_cautions(facts)),
        licences=tuple(_licences(facts)),
        unresolved=tuple(_unresolved(facts)),
        unknown_figures=tuple(
            UnknownFigureView(row.joint, row.position, row.item, "tightening figure")
            for row in tightenings
            if not row.stages
        ),
        contacts=tuple(_contacts(facts)),
    )


def _contacts(facts: Draft) -> Iterable[ContactView]:
    """How every rubber stands what touches it, clashes first, then in the order of the joints."""
    found = []
    for need in (*facts.parts, *facts.held_parts):
        judged = facts.chemistry.get(need.fit.key)
        if judged is None:
            continue
        for contact in judged.contacts:
            view = ContactView(
                facts.names.joints[need.fit.joint],
                need.fit.position,
                need.fit.end,
                facts.contents.items[need.fit.item].row.code,
                judged.touching.elastomer,
                contact.against,
                contact.what,
                contact.state,
                contact.rating,
                contact.certainty,
                contact.because,
                judged.instead.get("lubricant" if contact.against == "lubricant" else "fluid", ())
                if contact.state == "clash"
                else (),
            )
            found.append(view)
    return sorted(dict.fromkeys(found), key=lambda view: STATES.index(view.state))


def _reference(facts: Draft) -> str:
    """A short code for labels: the same contents for the same car and day have the same one."""
    parts = (
        registration_key(facts.car.registration),
        facts.on.isoformat(),
        *sorted(f"{facts.car.unit(job.unit).code}/{job.code}" for job in facts.jobs),
        *sorted(_deciding_options(facts)),
    )
    digest = hashlib.blake2b("\n".join(parts).encode(), digest_size=4).digest()
    number = int.from_bytes(digest, "big") >> 2
    return "K" + "".join(_ALPHABET[number >> shift & 31] for shift in range(25, -1, -5))


def _deciding_options(facts: Draft) -> Iterable[str]:
    """The options that decided what is in the kit: another option makes another kit."""
    used = {fit.option for fit in facts.contents.fits} | {use.option for use in facts.contents.uses}
    for split in facts.car.splits:
        for option in split.options:
            if option.key in used and option.key in facts.chosen:
                yield f"{facts.car.unit(split.unit).code}/{split.code}={option.code}"


def vehicle_view(car: Car) -> VehicleView:
    """A car as sheets and screens name it."""
    return VehicleView(
        car.registration, car.model, car.vin, car.build_date, tuple(u.code for u in car.units)
    )


def _steps(facts: Draft) -> Iterable[StepView]:
    for key in facts.access.order:
        step = facts.work.steps[key]
        yield StepView(
            facts.names.steps[key],
            step.name,
            facts.car.unit(step.unit).code,
            step.hours,
            tuple(facts.names.steps[need] for need in facts.work.nodes[key].needs),
            facts.access.asked_by[key],
            tuple(facts.contents.cautions.of("step", [key])),
        )


def _joints(facts: Draft) -> Iterable[JointView]:
    contents = facts.contents
    for key, opened in facts.access.opened.items():
        joint = contents.joints[key]
        cautions = [
            *contents.cautions.of("joint", [key]),
            *contents.cautions.of("fluid", (contents.fluid_keys[f] for f in joint.fluids)),
            *contents.cautions.of("system", [contents.system_keys[joint.system]]),
        ]
        yield JointView(
            facts.names.joints[key],
            joint.name,
            facts.car.unit(joint.unit).code,
            contents.system_names[joint.system],
            tuple(contents.fluid_names[fluid] for fluid in joint.fluids),
            opened,
            tuple(facts.names.steps[step] for step in facts.access.opened_by[key]),
            facts.access.jobs_of_joint(key),
            tuple(dict.fromkeys(cautions)),
            _hazards(contents, cautions),
        )


def _hazards(contents: Contents, cautions: Iterable[str]) -> tuple[str, ...]:
    """The words that must reach every label."""
    words = (contents.cautions.texts[code].word for code in cautions)
    return tuple(dict.fromkeys(word for word in words if word))


def _tightenings(facts: Draft) -> Iterable[TighteningView]:
    """Every threaded position of the opened joints, the figure known or not."""
    needs = [*facts.parts, *(n for n in facts.held_parts if n.fit.key not in _keys(facts))]
    for need in needs:
        item = facts.contents.items[need.fit.item]
        known = facts.contents.tightenings.get(need.fit.key)
        if known is None and not item.kind.threaded:
            continue
        head = item.row.head and f"{item.row.head} {item.row.head_size}"
        yield TighteningView(
            facts.names.joints[need.fit.joint],
            need.fit.position,
            item.row.code,
            need.fit.quantity // 1000,
            need.verdict.rule,
            head,
            known.stages if known else (),
            known.thread_state if known else ThreadState.UNKNOWN,
            known.pattern if known else None,
            known.source if known else None,
            facts.held_by(need.jobs) if need.fit.key not in _keys(facts) else (),
        )


def _keys(facts: Draft) -> frozenset[int]:
    return frozenset(need.fit.key for need in facts.parts)


def _tools(facts: Draft) -> Iterable[ToolView]:
    fasteners = []
    general = [(ask.tool, ask.place) for ask in general_tools(facts)]
    for need in (*facts.parts, *facts.held_parts):
        item = facts.contents.items[need.fit.item]
        place = f"{facts.names.joints[need.fit.joint]}: {need.fit.position}"
        known = facts.contents.tightenings.get(need.fit.key)
        stages = known.stages if known else ()
        head = Head(item.row.head, item.row.head_size or "") if item.row.head else None
        from_side = need.fit.reach.access == FastenerAccess.SIDE
        fasteners.append(Fastener(place, head, from_side, stages))
    return (ToolView(ask.sort, ask.tool, ask.wanted_for) for ask in asks(fasteners, general))


def _services(facts: Draft) -> Iterable[ServiceView]:
    asked: dict[tuple[str, str, str | None], list[str]] = {}
    for job in facts.jobs:
        for service in job.services:
            licence = service.licence and service.licence[1]
            place = (service.name, service.timing, licence)
            asked.setdefault(place, []).append(facts.names.jobs[job.key])
    for (name, timing, licence), jobs in asked.items():
        yield ServiceView(name, timing, licence, tuple(jobs))


def _licences(facts: Draft) -> Iterable[LicenceView]:
    asked: dict[tuple[str, str, str], list[str]] = {}
    for key in facts.access.order:
        licence = facts.work.steps[key].licence
        if licence is not None:
            asked.setdefault(licence, []).append(f"step {facts.names.steps[key]}")
    for job in facts.jobs:
        for service in job.services:
            if service.licence is not None:
                asked.setdefault(service.licence, []).append(f"service {service.name}")
    for (code, name, text), places in asked.items():
        yield LicenceView(code, name, text, tuple(dict.fromkeys(places)))


def _cautions(facts: Draft) -> Iterable[CautionView]:
    contents, applies = facts.contents, dict[str, list[str]]()

    def add(codes: Iterable[str], place: str) -> None:
        for code in codes:
            places = applies.setdefault(code, [])
            if place not in places:
                places.append(place)

    for step in facts.access.order:
        add(contents.cautions.of("step", [step]), f"step {facts.names.steps[step]}")
    for row in _joints(facts):
        add(row.cautions, f"joint {row.code}")
    items = {need.fit.item for need in (*facts.parts, *facts.held_parts)}
    items |= {need.item for need in (*facts.uses, *facts.held_uses)}
    for item in sorted(items, key=lambda key: contents.items[key].row.code):
        known = contents.items[item]
        add(contents.cautions.of("kind", [known.kind.id]), known.row.code)
        add(contents.cautions.of("item", [item]), known.row.code)
    for code, places in applies.items():
        text = contents.cautions.texts[code]
        yield CautionView(code, text.title, text.text, tuple(places))


def _unresolved(facts: Draft) -> Iterable[UnresolvedView]:
    for still_open in facts.open_splits:
        split = still_open.split
        options = []
        for option in split.options:
            codes = {
                facts.contents.items[fit.item].row.code
                for fit in facts.contents.fits
                if fit.option == option.key
            } | {
                facts.contents.items[use.item].row.code
                for use in facts.contents.uses
                if use.option == option.key
            }
            items = tuple(sorted(codes, key=natural_key))
            options.append(OptionView(option.code, option.name, option.seen, items))
        yield UnresolvedView(
            split.code,
            facts.car.unit(split.unit).code,
            split.question,
            split.check,
            still_open.because,
            tuple(options),
            tuple(facts.names.joints[joint] for joint in still_open.joints),
            still_open.stops,
        )
