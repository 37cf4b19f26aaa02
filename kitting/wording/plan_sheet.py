"""Words of the plan sheet: what a line of a plan is, where it sits, why it is so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kitting.facts.tool_words import ToolAskSort
from kitting.facts.verdicts import Verdict
from kitting.facts.words import Rule
from kitting.views.plan import (
    JobView,
    JointView,
    LineView,
    PlanView,
    ServiceView,
    StepView,
    TighteningView,
    UseView,
)
from kitting.views.plan_stops import OptionView, UnresolvedView
from kitting.wording.figures import NO_FIGURE, amount, listed, many, percent, show_quantity
from kitting.wording.kit import lubricant_text, pack_text
from kitting.wording.language import N_, _, general_text, in_figures
from kitting.wording.plan import stopped_text, waits_text
from kitting.wording.reasons import as_text, say
from kitting.wording.settings import stage_number
from kitting.wording.tightening import (
    LEFT_HAND,
    remark_text,
    second_text,
    stage_text,
    thread_text,
)
from kitting.wording.verdicts import tally_text, verdict_text

MEANING = {
    Rule.RENEW: N_("it never goes back"),
    Rule.INSPECT: N_("it goes back if it passes"),
    Rule.KEEP: N_("it goes back"),
}


def verdict_line(plan: PlanView, short: int, not_here: int = 0) -> str:
    """The verdict of a plan and its lines; never fine with lines `short`, or `not_here` to fit."""
    counts = tally_text(plan.tally)
    if not counts:
        return _("Nothing to fit.")
    verdict = verdict_text(plan.verdict)
    if not short and not_here:
        return _("Verdict: {verdict} once all is there ({counts}); NOT HERE TO FIT: {lines}",
                 verdict=verdict, counts=counts, lines=many(not_here, "line"))  # fmt: skip
    if not short:
        return _("Verdict: {verdict} ({counts})", verdict=verdict, counts=counts)
    lines = many(short, "line")
    if plan.verdict is Verdict.FINE:
        return _("Verdict: SHORT, {lines} ({counts} once all is there)", lines=lines, counts=counts)
    return _("Verdict: {verdict}; SHORT, {lines} ({counts} once all is there)", verdict=verdict,
             lines=lines, counts=counts)  # fmt: skip


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


def figure_texts(
    line: LineView, joint: str, tightenings: Sequence[TighteningView]
) -> Iterator[str]:
    """How the fasteners of a line are tightened in a joint, stage by stage, and what is odd."""
    for row in tightenings:
        if (row.joint, row.item) == (joint, line.item):
            yield _figures(row)
            yield from map(remark_text, row.remarks)


def _figures(row: TighteningView) -> str:
    """ "bolt: STAGE 1 of 2 45 N·m (33.2 lbf·ft) → STAGE 2 of 2 +60°, dry"."""
    count = len(row.stages)
    stages = " → ".join(
        " ".join(
            filter(None, (
                stage_number(number, count), stage_text(stage),
                f"({second})" if (second := second_text(stage)) else "",
            ))
        )
        for number, stage in enumerate(row.stages, 1)
    )  # fmt: skip
    told = [stages or _(NO_FIGURE), thread_text(row.thread_state)]
    if row.left_hand:
        told.insert(0, _(LEFT_HAND))
    return f"{row.position}: {', '.join(told)}"


def lubricant_texts(line: LineView, joint: str) -> Iterator[str]:
    """What a line goes together with in a joint, or that it goes in dry; by places if that differs.

    Of a place of which nobody says it, that is told where it is said of another.
    """
    found: dict[str, list[str]] = {}
    for one in line.positions:
        if one.joint == joint:
            told = lubricant_text(one.lubricant, one.lubricant_sourced)
            found.setdefault(told, []).append(one.end or one.position)
    if all(one.lubricant is None for one in line.positions if one.joint == joint):
        return
    for told, at in found.items():
        yield told if len(found) == 1 else f"{', '.join(at)}: {told}"


def job_text(job: JobView) -> str:
    """A job with its hours alone, and which open variants stop it."""
    told = _("{code} {name}, {hours} alone", code=job.code, name=job.name,
             hours=hours_text(job.hours))  # fmt: skip
    if not job.stopped_by:
        return told
    variants = ", ".join(job.stopped_by)
    return _("{job}: STOPPED, settle {variants} first", job=told, variants=variants)


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
    others = [general_text(one.tool) for one in plan.tools if one.sort is not ToolAskSort.TORQUE]
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
    licence = f" ({general_text(service.licence)})" if service.licence else ""
    waits = waits_text(service.stopped_by)
    asked = ", ".join(service.asked_by)
    return f"{service.name}{licence}, {service.timing}{waits}: {asked}"


def unknown_texts(plan: PlanView) -> list[str]:
    """Every figure that nobody published."""
    return [
        f"{_(NO_FIGURE)}: {one.joint}: {one.position} ({one.item})" for one in plan.unknown_figures
    ]
