"""Explaining: why a line of a plan is there, down to job → step → joint → position."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from kitting.errors import UnknownNameError
from kitting.facts.names import nearest
from kitting.facts.plan_reasons import Answer, ChangeReason, DecidedBy
from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity
from kitting.facts.words import ContactState, EntryKind, RelaxedBy, Rule, Source
from kitting.views.explanations import ChainView, WhyView
from kitting.views.plan import (
    JointView,
    LineView,
    PlanView,
    ReasonView,
    StepView,
    ToolView,
    UseView,
)
from kitting.views.plan_stops import ContactView


def why(plan: PlanView, about: str) -> tuple[WhyView, ...]:
    """Explain every entry of a plan that `about` names: item, step, joint, position or tool.

    Capitals are not minded; a code is matched whole, a name or position by any part of it.
    Raises UnknownNameError naming the nearest entries.
    """
    folded = about.casefold().strip()
    found = [
        *(_line(plan, line) for line in plan.lines if _names_line(line, folded)),
        *(_use(plan, use) for use in plan.uses if _hit(folded, use.item, use.name)),
        *(_step(plan, step) for step in plan.steps if _hit(folded, step.code, step.name)),
        *(_joint(plan, joint) for joint in plan.joints if _hit(folded, joint.code, joint.name)),
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
        raise UnknownNameError(
            "nothing in this plan is called {about!r}. Near: {near}",
            about=about,
            near=", ".join(near),
        )
    return tuple(found)


def _hit(folded: str, code: str, *names: str) -> bool:
    if folded == code.casefold():
        return True
    return len(folded) > 2 and any(folded in name.casefold() for name in names)


def _names_line(line: LineView, folded: str) -> bool:
    places = [text for p in line.positions for text in (p.position, p.end or "")]
    return _hit(folded, line.item, line.name, *places)


def _line(plan: PlanView, line: LineView) -> WhyView:
    amount = Quantity(line.quantity, line.unit)
    answer = because(Answer.LINE, rule=line.rule, amount=amount)
    if line.criterion and line.rule == Rule.INSPECT:
        answer = because(
            Answer.LINE_WITH_CRITERION, rule=line.rule, amount=amount, criterion=line.criterion
        )
    return WhyView(
        kind=EntryKind.ITEM,
        code=line.item,
        name=line.name,
        answer=answer,
        decided_by=because(DecidedBy.SOURCE, source=line.source, said_by=line.said_by),
        overruled=line.overruled,
        chains=_chains(plan, line.reasons),
        changes=(*_changes(line), *_contacts(plan, line)),
    )


def _changes(line: LineView) -> Iterable[Reason]:
    yield from _stopped(line.stopped_by)
    for part in line.covered:
        yield because(
            ChangeReason.IN_PACKET,
            amount=Quantity(part.quantity, line.unit),
            packet=part.packet,
        )
    if line.relaxed_by not in (None, RelaxedBy.NOBODY):
        yield because(ChangeReason.ABOVE_GENERAL, by=line.relaxed_by)
    if line.source == Source.NONE:
        yield because(ChangeReason.NEEDS_A_RULE, kind=line.kind)
    if line.rule == Rule.INSPECT:
        yield because(ChangeReason.RENEWED_IF_FAILED)
    yield from line.notes


def _stopped(stopped_by: tuple[Reason, ...]) -> Iterable[Reason]:
    if stopped_by:
        yield because(ChangeReason.STOPPED_UNTIL, by=stopped_by)


def _contacts(plan: PlanView, line: LineView) -> Iterable[Reason]:
    """How its rubber stands what touches it at the positions of the line, clashes first."""
    places = {(position.joint, position.position) for position in line.positions}
    return dict.fromkeys(
        _contact(contact)
        for contact in plan.contacts
        if line.item in (contact.item, contact.packet)
        and (contact.joint, contact.position) in places
    )


def _touched(plan: PlanView, use: UseView) -> Iterable[Reason]:
    """How the rubbers that a product comes to stand it, clashes first."""
    return dict.fromkeys(
        _contact(contact)
        for contact in plan.contacts
        if contact.against.on_rubber and contact.what == use.item
    )


def _contact(contact: ContactView) -> Reason:
    if contact.state == ContactState.CLASH:
        return because(ChangeReason.CLASH, contact=contact.reason)
    return because(ChangeReason.CONTACT, state=contact.state, why=contact.because)


def _use(plan: PlanView, use: UseView) -> WhyView:
    return WhyView(
        kind=EntryKind.ITEM,
        code=use.item,
        name=use.name,
        answer=because(Answer.USED, amount=Quantity(use.quantity, use.unit)),
        decided_by=because(DecidedBy.SUM, parts=use.how),
        chains=_chains(plan, use.reasons),
        changes=(*_stopped(use.stopped_by), *use.notes, *_touched(plan, use)),
    )


def _step(plan: PlanView, step: StepView) -> WhyView:
    reason = ReasonView(jobs=step.asked_by, step=step.code, joint="", opened=1, positions=())
    shared = len(step.asked_by) > 1
    return WhyView(
        kind=EntryKind.STEP,
        code=step.code,
        name=step.name,
        answer=because(Answer.DONE_ONCE, hours=Quantity(step.hours, "each")),
        decided_by=because(DecidedBy.JOBS, jobs=step.asked_by),
        chains=_chains(plan, [reason]),
        changes=(because(ChangeReason.SHARED, jobs=len(step.asked_by)),) if shared else (),
    )


def _joint(plan: PlanView, joint: JointView) -> WhyView:
    reasons = [
        ReasonView(
            jobs=joint.asked_by, step=step, joint=joint.code, opened=joint.opened, positions=()
        )
        for step in joint.opened_by
    ]
    return WhyView(
        kind=EntryKind.JOINT,
        code=joint.code,
        name=joint.name,
        answer=because(Answer.OPENED, times=joint.opened),
        decided_by=because(DecidedBy.STEPS, steps=joint.opened_by),
        chains=_chains(plan, reasons),
    )


def _tool(tool: ToolView) -> WhyView:
    return WhyView(
        kind=EntryKind.TOOL,
        code=None,
        name=tool.tool,
        answer=because(Answer.OF_TOOLBOX),
        decided_by=because(DecidedBy.PLACES, places=tool.wanted_for),
    )


def _chains(plan: PlanView, reasons: Sequence[ReasonView]) -> tuple[ChainView, ...]:
    needs = {step.code: step.needs for step in plan.steps}
    chains = [
        ChainView(
            job=job.code,
            steps=_way(needs, job.needs, reason.step),
            joint=reason.joint,
            opened=reason.opened,
            positions=reason.positions,
        )
        for reason in reasons
        for job in plan.jobs
        if job.code in reason.jobs
    ]
    return tuple(dict.fromkeys(chains))


def _way(needs: Mapping[str, Sequence[str]], starts: Sequence[str], goal: str) -> tuple[str, ...]:
    """The shortest chain of needs from a job's own steps to a step."""
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
