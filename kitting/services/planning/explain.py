"""Explaining: why a line of a plan is there, down to job → step → joint → position."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kitting.calc.planning.renewal import SOURCE_NAMES
from kitting.errors import UnknownNameError
from kitting.facts.names import nearest
from kitting.facts.units import format_quantity, show_quantity
from kitting.views.explanations import ChainView, WhyView
from kitting.views.plan import LineView, PlanView, ReasonView, ToolView, UseView


def why(plan: PlanView, about: str) -> tuple[WhyView, ...]:
    """Explain every entry of a plan that `about` names: item, step, joint, position or tool.

    Capitals are not minded; a code is matched whole, a name or position by any part of it.
    Raises UnknownNameError naming the nearest entries.
    """
    folded = about.casefold().strip()
    found = [
        *(_line(plan, line) for line in plan.lines if _names_line(line, folded)),
        *(_use(plan, use) for use in plan.uses if _hit(folded, use.item, use.name)),
        *(_step(plan, step.code) for step in plan.steps if _hit(folded, step.code, step.name)),
        *(
            _joint(plan, joint.code)
            for joint in plan.joints
            if _hit(folded, joint.code, joint.name)
        ),
        *(_tool(tool) for tool in plan.tools if folded and folded in tool.tool.casefold()),
    ]
    if not found:
        known = [
            *(line.item for line in plan.lines),
            *(use.item for use in plan.uses),
            *(step.code for step in plan.steps),
            *(joint.code for joint in plan.joints),
            *(tool.tool for tool in plan.tools),
        ]
        near = nearest(about, known) or known[:5]
        raise UnknownNameError(f"nothing in this plan is called {about!r}. Near: {', '.join(near)}")
    return tuple(found)


def _hit(folded: str, code: str, *names: str) -> bool:
    if folded == code.casefold():
        return True
    return len(folded) > 2 and any(folded in name.casefold() for name in names)


def _names_line(line: LineView, folded: str) -> bool:
    places = [text for p in line.positions for text in (p.position, p.end or "")]
    return _hit(folded, line.item, line.name, *places)


def _line(plan: PlanView, line: LineView) -> WhyView:
    amount = format_quantity(line.quantity, line.unit)
    criterion = f", if {line.criterion}" if line.criterion and line.rule == "inspect" else ""
    return WhyView(
        subject=f"{line.item} {line.name}",
        said=f"{line.rule} {amount}{criterion}",
        decided_by=f"{SOURCE_NAMES.get(line.source, line.source)}: {line.said_by}",
        overruled=line.overruled,
        chains=_chains(plan, line.reasons),
        changes=(*_changes(line), *_contacts(plan, line)),
    )


def _changes(line: LineView) -> Iterable[str]:
    if line.held_by:
        yield f"held until {', '.join(line.held_by)} is settled"
    for part in line.covered:
        amount = format_quantity(part.quantity, line.unit)
        yield f"{amount} comes in {part.packet}, not ordered apart"
    if line.source == "general":
        yield "a rule of the vehicle maker, the leaflet or the workshop would go before this one"
    if line.source == "none":
        yield f"give the kind {line.kind!r} a general rule, or this position a rule of its own"
    if line.rule == "inspect":
        yield "renewed if it fails the inspection"
    yield from line.notes


def _contacts(plan: PlanView, line: LineView) -> Iterable[str]:
    """How its rubber stands what touches it at the positions of the line."""
    places = {(position.joint, position.position) for position in line.positions}
    told = {
        f"{contact.state.upper()}: {contact.told}"
        if contact.state == "clash"
        else f"{contact.state}: {contact.because}"
        for contact in plan.contacts
        if contact.item == line.item and (contact.joint, contact.position) in places
    }
    return sorted(told)


def _use(plan: PlanView, use: UseView) -> WhyView:
    amount = show_quantity(use.quantity, use.unit)
    changes = [f"held until {', '.join(use.held_by)} is settled"] if use.held_by else []
    return WhyView(
        f"{use.item} {use.name}",
        f"{amount} used",
        f"the sum of {'; '.join(use.how)}",
        (),
        _chains(plan, use.reasons),
        (*changes, *use.notes),
    )


def _step(plan: PlanView, code: str) -> WhyView:
    step = next(step for step in plan.steps if step.code == code)
    reason = ReasonView(step.asked_by, code, "", 1, ())
    shared = len(step.asked_by) > 1
    return WhyView(
        f"step {code} {step.name}",
        f"{format_quantity(step.hours, 'each')} h, done once",
        f"asked for by {', '.join(step.asked_by)}",
        (),
        _chains(plan, [reason]),
        (f"shared: {len(step.asked_by)} jobs need it and it is done once",) if shared else (),
    )


def _joint(plan: PlanView, code: str) -> WhyView:
    joint = next(joint for joint in plan.joints if joint.code == code)
    reasons = [ReasonView(joint.asked_by, step, code, joint.opened, ()) for step in joint.opened_by]
    return WhyView(
        f"joint {code} {joint.name}",
        f"opened {opened_text(joint.opened)}",
        f"opened by step {', '.join(joint.opened_by)}",
        (),
        _chains(plan, reasons),
        (),
    )


def _tool(tool: ToolView) -> WhyView:
    return WhyView(tool.tool, "asked of the toolbox", "; ".join(tool.wanted_for), (), (), ())


def opened_text(times: int) -> str:
    """ "once", "twice", "3 times"."""
    return {1: "once", 2: "twice"}.get(times, f"{times} times")


def _chains(plan: PlanView, reasons: Sequence[ReasonView]) -> tuple[ChainView, ...]:
    chains = []
    for reason in reasons:
        for job in plan.jobs:
            if job.code in reason.jobs:
                steps = _way(plan, job.needs, reason.step)
                chains.append(
                    ChainView(job.code, steps, reason.joint, reason.opened, reason.positions)
                )
    return tuple(dict.fromkeys(chains))


def _way(plan: PlanView, starts: Sequence[str], goal: str) -> tuple[str, ...]:
    """The shortest chain of needs from a job's own steps to a step."""
    needs = {step.code: step.needs for step in plan.steps}
    ways: list[tuple[str, ...]] = [(start,) for start in starts]
    seen = set(starts)
    for way in ways:
        if way[-1] == goal:
            return way
        for following in needs.get(way[-1], ()):
            if following not in seen:
                seen.add(following)
                ways.append((*way, following))
    return (goal,)
