"""A draft as a view: every name, amount and reason as screens, sheets and JSON share them."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.calc.rubber.compatibility import STATES
from kitting.calc.tools.loads import Bolt
from kitting.calc.tools.requirements import Fastener, asks
from kitting.facts.conditions import hold
from kitting.facts.heads import Head
from kitting.facts.names import natural_key
from kitting.facts.threads import parse_thread
from kitting.facts.verdicts import Verdict, tally, weakest, worst_first
from kitting.facts.words import FastenerAccess, SettledBy, ThreadState
from kitting.services.planning.facts import Car
from kitting.services.planning.general_tools import general_tools
from kitting.services.planning.joint_doubts import joint_doubts
from kitting.services.planning.judged import Draft
from kitting.services.planning.kit_code import Contents, kit_code
from kitting.services.planning.licences import licences
from kitting.services.planning.lines import part_lines
from kitting.services.planning.splits import as_conditions, split_codes
from kitting.services.planning.uses import use_lines
from kitting.views.plan import (
    CautionView,
    HoursView,
    JobView,
    JointView,
    LineView,
    PlanView,
    ServiceView,
    StepView,
    TighteningView,
    ToolView,
    UnknownFigureView,
    UseView,
)
from kitting.views.plan_stops import ContactView, OptionView, UnresolvedView
from kitting.views.vehicle import VehicleView


def plan_view(facts: Draft) -> PlanView:
    """Put a draft into a view."""
    tightenings, joints = tuple(_tightenings(facts)), tuple(_joints(facts))
    lines, uses = part_lines(facts), use_lines(facts)
    entries: tuple[LineView | UseView, ...] = (*lines, *uses)
    own = tuple(doubt for joint in joints for doubt in joint.doubts)
    verdicts = [*(entry.verdict for entry in entries), *(doubt.verdict for doubt in own)]
    waiting = [Verdict.STOPPED] if facts.open_splits else []
    return PlanView(
        reference=kit_code(
            facts.car.registration,
            Contents(
                facts.on,
                [f"{facts.car.unit(job.unit).code}/{job.code}" for job in facts.jobs],
                lines,
                uses,
                tightenings,
            ),
        ),
        on=facts.on,
        vehicle=vehicle_view(facts.car),
        jobs=tuple(_jobs(facts)),
        steps=tuple(_steps(facts)),
        hours=HoursView(
            total=facts.access.total, apart=facts.access.apart, saved=facts.access.saved
        ),
        joints=joints,
        lines=lines,
        uses=uses,
        tightenings=tightenings,
        tools=tuple(_tools(facts)),
        services=tuple(_services(facts)),
        cautions=tuple(_cautions(facts, joints)),
        licences=tuple(licences(facts)),
        unresolved=tuple(_unresolved(facts)),
        unknown_figures=tuple(
            UnknownFigureView(
                joint=row.joint, position=row.position, item=row.item, what="tightening figure"
            )
            for row in tightenings
            if not row.stages
        ),
        contacts=tuple(_contacts(facts)),
        verdict=weakest([*verdicts, *waiting]),
        doubts=worst_first((*own, *(doubt for entry in entries for doubt in entry.doubts))),
        tally=tally(verdicts),
    )


def _jobs(facts: Draft) -> Iterable[JobView]:
    for job in facts.jobs:
        name = facts.names.jobs[job.key]
        yield JobView(
            code=name,
            name=job.name,
            unit=facts.car.unit(job.unit).code,
            hours=facts.access.alone[name],
            needs=tuple(facts.names.steps[step] for step in job.needs),
            stopped_by=facts.stopped_by(name),
        )


def _contacts(facts: Draft) -> Iterable[ContactView]:
    """How every rubber stands what touches it, clashes first, then in the order of the joints."""
    found = []
    for part in facts.every_part:
        for check, contact in ((one, c) for one in part.rubbers for c in one.contacts):
            instead = check.instead_of(contact)
            view = ContactView(
                joint=facts.names.joints[part.fit.joint],
                position=part.fit.position,
                end=part.fit.end,
                item=check.item.code,
                elastomer=check.elastomer,
                against=contact.against,
                what=contact.what,
                state=contact.state,
                rating=contact.rating,
                certainty=contact.certainty,
                because=contact.because,
                instead=instead.certain,
                perhaps=instead.perhaps,
                packet=part.item.code if check.item.key != part.item.key else None,
            )
            found.append(view)
    return sorted(dict.fromkeys(found), key=lambda view: STATES.index(view.state))


def vehicle_view(car: Car) -> VehicleView:
    """A car as sheets and screens name it."""
    return VehicleView(
        registration=car.registration,
        model=car.model,
        vin=car.vin,
        build_date=car.build_date,
        units=tuple(unit.code for unit in car.units),
    )


def _steps(facts: Draft) -> Iterable[StepView]:
    for key in facts.access.order:
        step = facts.work.steps[key]
        yield StepView(
            code=facts.names.steps[key],
            name=step.name,
            unit=facts.car.unit(step.unit).code,
            hours=step.hours,
            needs=tuple(facts.names.steps[need] for need in facts.work.nodes[key].needs),
            asked_by=facts.access.asked_by[key],
            cautions=tuple(facts.contents.cautions.of("step", [key])),
            stopped_by=split_codes(
                facts.car.splits, [facts.access.step_waits.get(key, frozenset())]
            ),
        )


def _joints(facts: Draft) -> Iterable[JointView]:
    contents, carried = facts.contents, facts.contents.cautions
    for key, opened in facts.access.opened.items():
        joint = contents.joints[key]
        fluids, system = [contents.fluids[f] for f in joint.fluids], contents.systems[joint.system]
        cautions = [
            *carried.of("joint", [key]),
            *carried.of("fluid", [fluid.key for fluid in fluids]),
            *carried.of("system", [system.key]),
        ]
        yield JointView(
            code=facts.names.joints[key],
            name=joint.name,
            unit=facts.car.unit(joint.unit).code,
            system=system.name,
            fluids=tuple(fluid.name for fluid in fluids),
            opened=opened,
            opened_by=tuple(facts.names.steps[step] for step in facts.access.opened_by[key]),
            asked_by=facts.access.jobs_of_joint(key),
            cautions=tuple(dict.fromkeys(cautions)),
            hazards=carried.words([*cautions, *carried.of("step", facts.access.opened_by[key])]),
            doubts=tuple(joint_doubts(facts, key)),
        )


def _tightenings(facts: Draft) -> Iterable[TighteningView]:
    """Every threaded position of the opened joints, the figure known or not."""
    for part in facts.every_part:
        item, known = part.fitted, facts.tightening(part)
        if known is None and not item.kind.threaded:
            continue
        yield TighteningView(
            joint=facts.names.joints[part.fit.joint],
            position=part.fit.position,
            item=item.code,
            quantity=part.fit.quantity // 1000,
            rule=part.ruling.rule,
            head=item.head and f"{item.head} {item.head_size}",
            stages=known.stages if known else (),
            thread_state=known.thread_state if known else ThreadState.UNKNOWN,
            pattern=known.pattern if known else None,
            stage_order=known.stage_order if known else None,
            source=facts.source_of(part.fit.joint, known),
            stopped_by=part.variants,
            withheld_for=part.asked.code if part.exchanged else None,
            left_hand=item.thread is not None and parse_thread(item.thread).left_hand,
            remarks=facts.figure_remarks(part),
        )


def _tools(facts: Draft) -> Iterable[ToolView]:
    fasteners = []
    general = [(ask.tool, ask.place) for ask in general_tools(facts)]
    for part in facts.every_part:
        item, known = part.fitted, facts.tightening(part)
        place = f"{facts.names.joints[part.fit.joint]}: {part.fit.position}"
        stages = known.stages if known else ()
        head = Head(item.head, item.head_size or "") if item.head else None
        from_side = part.fit.reach.access == FastenerAccess.SIDE
        state = known.thread_state if known else ThreadState.UNKNOWN
        bolt, old_bolt = (Bolt(one.thread, one.property_class, state) for one in (item, part.asked))
        fasteners.append(Fastener(place, head, from_side, stages, bolt, old_bolt))
        if part.exchanged and part.asked.head:
            # What is undone is still the old one.
            old = Head(part.asked.head, part.asked.head_size or "")
            fasteners.append(Fastener(place, old, from_side))
    return (ToolView(ask.sort, ask.tool, ask.wanted_for) for ask in asks(fasteners, general))


def _services(facts: Draft) -> Iterable[ServiceView]:
    asked: dict[tuple[str, str, str | None, tuple[str, ...]], list[str]] = {}
    for job in facts.jobs:
        for service in job.services:
            licence = service.licence.name if service.licence else None
            ways = [frozenset({frozenset({service.option})})] if service.option else []
            waits_for = split_codes(facts.car.splits, ways)
            place = (service.name, service.timing, licence, waits_for)
            asked.setdefault(place, []).append(facts.names.jobs[job.key])
    for (name, timing, licence, waits_for), jobs in asked.items():
        yield ServiceView(name, timing, licence, tuple(jobs), waits_for)


def _cautions(facts: Draft, joints: Iterable[JointView]) -> Iterable[CautionView]:
    carried, applies = facts.contents.cautions, dict[str, dict[str, None]]()

    def add(codes: Iterable[str], place: str) -> None:
        for code in codes:
            applies.setdefault(code, {})[place] = None

    for step in facts.access.order:
        add(carried.of("step", [step]), f"step {facts.names.steps[step]}")
    for joint in joints:
        add(joint.cautions, f"joint {joint.code}")
    items = {part.item.code: part.item for part in facts.every_part}
    items |= {use.item.code: use.item for use in facts.every_use}
    for code in sorted(items):
        add(carried.of("kind", [items[code].kind.key]), code)
        add(carried.of("item", [items[code].key]), code)
    for code, places in applies.items():
        text = carried.texts[code]
        yield CautionView(code, text.title, text.text, tuple(places), text.word)


def _unresolved(facts: Draft) -> Iterable[UnresolvedView]:
    for still_open in facts.open_splits:
        split = still_open.split
        options = [
            OptionView(
                code=option.code,
                name=option.name,
                seen=option.seen,
                items=_items_of_option(facts, split.key, option.key),
                steps=_steps_of_option(facts, split.key, option.key),
                services=_services_of_option(facts, option.key),
            )
            for option in split.options
        ]
        yield UnresolvedView(
            split=facts.car.split_called(split),
            unit=facts.car.unit(split.unit).code,
            question=split.question,
            check=split.check,
            why_open=still_open.because,
            options=tuple(options),
            joints=tuple(facts.names.joints[joint] for joint in still_open.joints),
            stops=still_open.stops,
            settled_by=SettledBy.CUSTOMER if split.by_customer else SettledBy.CAR,
            only_looks=still_open.only_looks,
        )


def _items_of_option(facts: Draft, split: int, option: int) -> tuple[str, ...]:
    """What the opened joints and steps take only if a split comes out so."""
    settled = facts.known.settling(split, option)
    conditional = [(fit.item, fit.conditions) for fit in facts.contents.fits]
    conditional += [(use.item, use.conditions) for use in facts.contents.uses]
    codes = {
        facts.contents.items[item].code
        for item, conditions in conditional
        if hold(conditions, settled) and not hold(conditions, facts.known)
    }
    return tuple(sorted(codes, key=natural_key))


def _steps_of_option(facts: Draft, split: int, option: int) -> tuple[str, ...]:
    """The steps that are done only if a split comes out so."""
    settled = facts.known.settling(split, option)
    return tuple(
        facts.names.steps[step]
        for step, ways in facts.access.step_waits.items()
        if hold(as_conditions(ways), settled)
    )


def _services_of_option(facts: Draft, option: int) -> tuple[str, ...]:
    """The work from outside that is asked for only if a split comes out so."""
    asked = (service for job in facts.jobs for service in job.services)
    found = (one.name for one in asked if one.option and one.option.option == option)
    return tuple(dict.fromkeys(found))
