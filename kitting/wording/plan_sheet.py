"""Words of the plan sheet: what a line of a plan is, where it sits, why it is so."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.facts.tool_words import ToolAskSort
from kitting.facts.words import Rule
from kitting.views.plan import JointView, LineView, PlanView, ServiceView, StepView, UseView
from kitting.views.plan_stops import OptionView, UnresolvedView
from kitting.wording.figures import NO_FIGURE, amount, listed, percent, show_quantity
from kitting.wording.kit import pack_text
from kitting.wording.language import N_, _, general_text, in_figures
from kitting.wording.plan import stopped_text, waits_text
from kitting.wording.reasons import as_text, say

MEANING = {
    Rule.RENEW: N_("it never goes back"),
    Rule.INSPECT: N_("it goes back if it passes"),
    Rule.KEEP: N_("it goes back"),
}


def hours_text(thousandths: int) -> str:
    """Hours as "1.2 h"."""
    return _("{hours} h", hours=amount(thousandths, "each"))


def hours_of(plan: PlanView) -> str:
    """The hours of a plan, and what sharing the strip-down saves."""
    total = _("Hours: {hours} in all", hours=hours_text(plan.hours.total))
    if not plan.hours.saved:
        return total
    saved = _("{hours} saved by sharing", hours=hours_text(plan.hours.saved))
    return f"{total}, {saved}"


def here(line: LineView, joint: str) -> str:
    """How much of a line goes into a joint."""
    return amount(sum(one.quantity for one in line.positions if one.joint == joint), line.unit)


def about(line: LineView | UseView) -> str:
    """Name, size, rubber, colour and packs of a line."""
    parts: list[str | None] = [line.name]
    if isinstance(line, LineView):
        colour = _("colour as supplied: {colour}", colour=line.colour) if line.colour else None
        parts += [line.size, line.material, colour]
    parts.append(pack_text(line.packs, line.pack, line.unit))
    parts += [
        _("{amount} in {packet}", amount=amount(one.quantity, line.unit), packet=one.packet)
        for one in line.covered
    ]
    return " · ".join(part for part in parts if part)


def places(line: LineView, joint: str) -> str:
    """The positions of a line in a joint, each with its end."""
    found = [one for one in line.positions if one.joint == joint]
    return ", ".join(
        f"{one.position} [{one.end}]" if one.end and one.end != one.position else one.position
        for one in found
    )


def why(line: LineView) -> str:
    """What decides over a line: what stops it, its jobs, its source, and remarks."""
    jobs = dict.fromkeys(job for reason in line.reasons for job in reason.jobs)
    told = [_("for {jobs}", jobs=listed(tuple(jobs)))] if jobs else []
    told.append(_("decided by {source} ({reference})", source=line.source,
                  reference=as_text(line.said_by)))  # fmt: skip
    if line.criterion and line.rule is not Rule.RENEW:
        told.append(_("has to show: {criterion}", criterion=general_text(line.criterion)))
    if line.chance is not None:
        told.append(_("{chance} assumed to fail", chance=percent(line.chance, 0)))
    return stopped_text(line.stopped_by) + "; ".join((*told, *map(say, line.notes)))


def used(use: UseView) -> str:
    """How much of a consumable is used, as the pick list rounds it."""
    return in_figures(show_quantity(use.quantity, use.unit))


def tools_text(plan: PlanView) -> list[str]:
    """What the toolbox needs, torque figures in one line."""
    torques = [one.tool for one in plan.tools if one.sort is ToolAskSort.TORQUE]
    others = [one.tool for one in plan.tools if one.sort is not ToolAskSort.TORQUE]
    told = [_("torque wrench at {figures}", figures=", ".join(torques))] if torques else []
    return [*told, *([" · ".join(others)] if others else [])]


def use_why(use: UseView) -> str:
    """How the amount of a consumable arose, and what stops it."""
    return stopped_text(use.stopped_by) + "; ".join((*map(say, use.how), *map(say, use.notes)))


def step_text(step: StepView, joints: tuple[JointView, ...]) -> str:
    """A step with its hours and what it opens, in one line."""
    opened = [joint.code for joint in joints if step.code in joint.opened_by]
    told = f"{step.code} {step.name}{waits_text(step.stopped_by)}, {hours_text(step.hours)}"
    return _("{step}: opens {joints}", step=told, joints=", ".join(opened)) if opened else told


def split_text(split: UnresolvedView) -> Iterator[str]:
    """What is asked of the car, how to see it, and what each answer brings."""
    question = _("{question} Not known: {why}.", question=split.question, why=say(split.why_open))
    yield question
    yield _("Check: {check}", check=split.check)
    for option in split.options:
        yield _option(option)


def _option(option: OptionView) -> str:
    seen = f" ({option.seen})" if option.seen else ""
    asked = (
        _("takes {names}", names=", ".join(option.items)) if option.items else "",
        _("does {names}", names=", ".join(option.steps)) if option.steps else "",
        _("asks for {names}", names=", ".join(option.services)) if option.services else "",
    )
    brings = "; ".join(filter(None, asked)) or _("takes nothing of its own")
    return f"{option.code}: {option.name}{seen}: {brings}"


def service_text(service: ServiceView) -> str:
    """Work bought from outside, its time, and who asks for it."""
    licence = f" ({service.licence})" if service.licence else ""
    waits = waits_text(service.stopped_by)
    asked = ", ".join(service.asked_by)
    return f"{service.name}{licence}, {service.timing}{waits}: {asked}"


def unknown_texts(plan: PlanView) -> list[str]:
    """Every figure that nobody published."""
    return [
        f"{NO_FIGURE}: {one.joint}: {one.position} ({one.item})" for one in plan.unknown_figures
    ]
