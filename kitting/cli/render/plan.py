"""A plan on the screen. Text from data is printed as it is, never read as markup."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from rich.console import Console
from rich.panel import Panel

from kitting.cli.render import headings
from kitting.cli.render.tables import PlainTable, plain_table
from kitting.cli.render.verdicts import show_doubts
from kitting.facts.plan_reasons import ContactPlace
from kitting.facts.reasons import Reason
from kitting.facts.units import format_quantity, show_quantity
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import Rule, SettledBy
from kitting.views.plan import LineView, PlanView, PositionView, TighteningView, UseView
from kitting.views.plan_stops import OptionView, UnresolvedView
from kitting.wording.figures import NO_FIGURE, NO_SOURCE, times
from kitting.wording.kit import pack_text
from kitting.wording.plan import stopped_text, waits_text
from kitting.wording.reasons import say
from kitting.wording.tightening import (
    LEFT_HAND,
    remark_text,
    second_text,
    stages_text,
    thread_text,
)
from kitting.wording.verdicts import tally_text, verdict_text

_SIGNS = {Rule.RENEW: "■ RENEW", Rule.INSPECT: "◪ INSPECT", Rule.KEEP: "□ KEEP"}
_MEANING = {
    Rule.RENEW: "never goes back: order it",
    Rule.INSPECT: "goes back if it passes; bring one in case it fails",
    Rule.KEEP: "goes back",
}


def hours_text(thousandths: int) -> str:
    """Hours as "1.2 h"."""
    return f"{format_quantity(thousandths, 'each')} h"


def show_plan(console: Console, plan: PlanView) -> None:
    """The whole plan in the order in which it is worked through."""
    _heading(console, plan)
    _unresolved(console, plan)
    _clashes(console, plan)
    _doubts(console, plan)
    _steps(console, plan)
    for rule in _SIGNS:
        _lines(console, [line for line in plan.lines if line.rule == rule], rule)
    _uses(console, plan.uses)
    _tightenings(console, plan.tightenings)
    _tools(console, plan)
    _around(console, plan)
    _cautions(console, plan)


def _section(console: Console, title: str, table: PlainTable) -> None:
    if table.row_count:
        console.print()
        console.print(title, style="bold")
        console.print(table)


def _heading(console: Console, plan: PlanView) -> None:
    car = plan.vehicle
    built = f"built {car.build_date}" if car.build_date else "build date unknown"
    console.print(f"{car.registration}  {car.model}, {built}", style="bold")
    console.print(f"Kit {plan.reference}, judged at the fitting date {plan.on}")
    for job in plan.jobs:
        stopped = f"  STOPPED by {', '.join(job.stopped_by)}" if job.stopped_by else ""
        console.print(f"  {job.code}  {job.name}, {hours_text(job.hours)} alone{stopped}")
    saved = f", {hours_text(plan.hours.saved)} saved by sharing" if plan.hours.saved else ""
    waits = (
        ", without the steps that wait for a variant"
        if any(step.stopped_by for step in plan.steps)
        else ""
    )
    console.print(f"Hours: {hours_text(plan.hours.total)} in all{saved}{waits}")
    tally = tally_text(plan.tally)
    console.print(f"Verdict: {verdict_text(plan.verdict)} ({tally})" if tally else "Nothing to fit")


def _unresolved(console: Console, plan: PlanView) -> None:
    for split in plan.unresolved:
        lines = [f"{split.question} Not known: {say(split.why_open)}.", f"Check: {split.check}"]
        for option in split.options:
            seen = f" ({option.seen})" if option.seen else ""
            lines.append(f"  {option.code}: {option.name}{seen}{_asks(option)}")
        lines.append(f"Then: {_settling(plan, split)}")
        title = f"{', '.join(split.stops)} STOPPED: settle {split.split!r} first"
        if split.only_looks:
            title = f"{', '.join(split.stops)}: spares not known before {split.split!r} is settled"
        console.print(Panel("\n".join(lines), title=console.render_str(title), title_align="left"))


def _asks(option: OptionView) -> str:
    """What an option brings along: " takes DISC-280, does P3, asks for a wheel alignment"."""
    told = (
        ("takes", option.items), ("does", option.steps), ("asks for", option.services),
    )  # fmt: skip
    found = [f"{verb} {', '.join(names)}" for verb, names in told if names]
    return f" {'; '.join(found)}" if found else " takes nothing of its own"


def _settling(plan: PlanView, split: UnresolvedView) -> str:
    """The command that settles a split."""
    options = "|".join(option.code for option in split.options)
    if split.settled_by is SettledBy.CUSTOMER:
        return f"kitting book … --choose {split.split}={options}; here --assume with the same"
    return f'kitting settle "{plan.vehicle.registration}" {split.split} {options}'


def _clashes(console: Console, plan: PlanView) -> None:
    for clash in plan.clashes:
        title = f"{clash.what} and {clash.elastomer} CLASH: left off"
        console.print(Panel(say(clash.reason), title=console.render_str(title), title_align="left"))


def _doubts(console: Console, plan: PlanView) -> None:
    """What is unknown, once each; variants and clashes stand above it."""
    found = _with_places(doubt for doubt in plan.doubts if doubt.verdict is Verdict.UNKNOWN)
    if found:
        console.print("\nNOT PROVEN, each with what settles it", style="bold")
        show_doubts(console, found)


def _with_places(doubts: Iterable[Doubt]) -> list[Doubt]:
    """The same contact of an item at several positions told once."""
    found: dict[object, Doubt] = {}
    places: dict[object, list[str]] = defaultdict(list)
    for doubt in doubts:
        reason, key = doubt.because, object()
        if isinstance(reason.code, ContactPlace):
            # Of a product the rubber that it touches says it already.
            if reason["item"] == reason["what"]:
                continue
            key = (reason.code, reason["what"], reason["item"], reason["why"])
            places[key].append(str(reason["position"]))
        found.setdefault(key, doubt)
    return [
        replace(doubt, because=_at(doubt.because, places[key])) if key in places else doubt
        for key, doubt in found.items()
    ]


def _at(reason: Reason, places: Sequence[str]) -> Reason:
    values = {**dict(reason.values), "position": _shortened(tuple(places), 2)}
    return replace(reason, values=tuple(values.items()))


def _steps(console: Console, plan: PlanView) -> None:
    table = plain_table(
        headings.STEP, headings.WHAT, headings.HOURS, headings.ASKED_BY, headings.OPENS, indent=2
    )
    for step in plan.steps:
        opens = [
            joint.code if joint.opened == 1 else f"{joint.code} ({times(joint.opened)})"
            for joint in plan.joints
            if step.code in joint.opened_by
        ]
        hours = format_quantity(step.hours, "each")
        what = f"{step.name}{waits_text(step.stopped_by)}"
        table.add_row(step.code, what, hours, ", ".join(step.asked_by), ", ".join(opens))
    _section(console, "STRIP DOWN, in this order", table)


def _lines(console: Console, lines: Iterable[LineView], rule: Rule) -> None:
    table = plain_table(
        headings.QTY, headings.ITEM, headings.WHAT_AND_WHERE, headings.WHY, indent=2
    )
    for line in lines:
        table.add_row(
            format_quantity(line.quantity, line.unit),
            line.item,
            "\n".join(text for text in (_what(line), _where(line.positions)) if text),
            _why(line),
        )
    _section(console, f"{_SIGNS[rule]}  {_MEANING[rule]}", table)


def _what(line: LineView) -> str:
    parts = [line.name, line.size, line.material]
    if line.colour:
        parts.append(f"colour as supplied: {line.colour}")
    parts.append(pack_text(line.packs, line.pack, line.unit))
    return ", ".join(part for part in (*parts, *_brought(line)) if part)


def _brought(line: LineView | UseView) -> list[str]:
    """How much of a line comes in which packet."""
    return [f"{format_quantity(c.quantity, line.unit)} in {c.packet}" for c in line.covered]


def _where(positions: Iterable[PositionView]) -> str:
    by_joint: dict[str, list[str]] = {}
    for place in positions:
        end = f" [{place.end}]" if place.end and place.end != place.position else ""
        by_joint.setdefault(place.joint, []).append(f"{place.position}{end}")
    return "\n".join(f"– {joint}: {', '.join(places)}" for joint, places in by_joint.items())


def _why(line: LineView) -> str:
    jobs = dict.fromkeys(job for reason in line.reasons for job in reason.jobs)
    criterion = f": {line.criterion}" if line.criterion and line.rule != Rule.RENEW else ""
    chance = f" (assumed {line.chance:.0%} fail)" if line.chance is not None else ""
    source = f"{line.source}{criterion}{chance}"
    told = (", ".join(jobs), source, *map(say, line.notes))
    return stopped_text(line.stopped_by) + "; ".join(text for text in told if text)


def _uses(console: Console, uses: Iterable[UseView]) -> None:
    table = plain_table(headings.AMOUNT, headings.ITEM, headings.WHAT, headings.FROM, indent=2)
    for use in uses:
        packs = pack_text(use.packs, use.pack, use.unit)
        how = _shortened(tuple(map(say, use.how)), 3)
        table.add_row(
            show_quantity(use.quantity, use.unit),
            use.item,
            ", ".join(text for text in (use.name, packs, *_brought(use)) if text),
            stopped_text(use.stopped_by) + "; ".join((how, *map(say, use.notes))),
        )
    _section(console, "USED UP", table)


def _shortened(texts: tuple[str, ...], most: int) -> str:
    more = f"; and {len(texts) - most} more" if len(texts) > most else ""
    return "; ".join(texts[:most]) + more


def _tightenings(console: Console, rows: Iterable[TighteningView]) -> None:
    table = plain_table(
        headings.QTY, headings.WHERE, headings.HEAD, headings.FIGURE, headings.SOURCE, indent=2
    )
    for row in rows:
        parts = [LEFT_HAND] if row.left_hand else []
        parts.append(stages_text(row.stages))
        if any(second_text(stage) for stage in row.stages):
            parts.append(f"({stages_text(row.stages, second=True)})")
        state = thread_text(row.thread_state)
        parts.append(", ".join(filter(None, (state, row.pattern, row.stage_order))))
        parts += map(remark_text, row.remarks)
        table.add_row(
            str(row.quantity),
            f"{row.joint}: {row.position}",
            row.head or "not stated",
            "\n".join(parts),
            row.source or (NO_SOURCE if row.pattern or row.stage_order else "–"),
        )
    _section(console, "TIGHTEN", table)


def _tools(console: Console, plan: PlanView) -> None:
    table = plain_table(headings.TOOL, headings.FOR, indent=2)
    titles = {"torque": "torque wrench at "}
    for tool in plan.tools:
        table.add_row(f"{titles.get(tool.sort, '')}{tool.tool}", _shortened(tool.wanted_for, 3))
    _section(console, "TOOLS ASKED FOR", table)


def _around(console: Console, plan: PlanView) -> None:
    table = plain_table(headings.WHAT, headings.FOR, indent=2)
    for licence in plan.licences:
        table.add_row(f"licence: {licence.name}", ", ".join(licence.asked_by))
    for service in plan.services:
        needs = f" ({service.licence})" if service.licence else ""
        waits = waits_text(service.stopped_by)
        table.add_row(
            f"{service.name}{needs}, {service.timing}{waits}", ", ".join(service.asked_by)
        )
    for figure in plan.unknown_figures:
        table.add_row(NO_FIGURE, f"{figure.joint}: {figure.position} ({figure.item})")
    _section(console, "BEFORE AND AFTER", table)


def _cautions(console: Console, plan: PlanView) -> None:
    if plan.cautions:
        console.print("\nCAUTIONS", style="bold")
    for caution in plan.cautions:
        text = f"{caution.title}: {caution.text} ({_shortened(caution.applies_to, 4)})"
        console.print(f"  {text}")
