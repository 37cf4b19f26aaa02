"""A whole plan on the screen. Text from data is printed as it is, never read as markup."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.amounts import rounded
from kitting.cli.render.plan_heads import (
    shortened,
    show_clashes,
    show_heading,
    show_not_fine,
    show_unresolved,
)
from kitting.cli.render.tables import PlainTable, plain_table
from kitting.facts.tool_words import ToolAskSort
from kitting.facts.words import Rule
from kitting.views.plan import (
    JointView,
    LineView,
    PlanView,
    PositionView,
    ServiceView,
    TighteningView,
    ToolView,
    UseView,
)
from kitting.wording.cautions import title_text, whole_text
from kitting.wording.figures import NO_FIGURE, NO_SOURCE, amount, percent, times
from kitting.wording.kit import pack_text
from kitting.wording.language import N_, _, general_text, p_, word_text
from kitting.wording.plan import stopped_text, waits_text
from kitting.wording.reasons import say
from kitting.wording.tightening import (
    LEFT_HAND,
    remark_text,
    second_text,
    stages_text,
    thread_text,
)

_TITLES = {
    Rule.RENEW: N_("■ RENEW  never goes back: order it"),
    Rule.INSPECT: N_("◪ INSPECT  goes back if it passes; bring one in case it fails"),
    Rule.KEEP: N_("↩ KEEP  goes back"),
}


def show_plan(console: Console, plan: PlanView) -> None:
    """The whole plan in the order in which it is worked through."""
    show_heading(console, plan)
    show_unresolved(console, plan)
    show_clashes(console, plan)
    show_not_fine(console, plan)
    _steps(console, plan)
    for rule in _TITLES:
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


def _steps(console: Console, plan: PlanView) -> None:
    table = plain_table(
        headings.STEP, headings.WHAT, headings.HOURS, headings.ASKED_BY, headings.OPENS, indent=2
    )
    for step in plan.steps:
        opens = [_opened(joint) for joint in plan.joints if step.code in joint.opened_by]
        what = f"{step.name}{waits_text(step.stopped_by)}"
        hours = amount(step.hours, "each")
        table.add_row(step.code, what, hours, ", ".join(step.asked_by), ", ".join(opens))
    _section(console, _("STRIP DOWN, in this order"), table)


def _opened(joint: JointView) -> str:
    return joint.code if joint.opened == 1 else f"{joint.code} ({times(joint.opened)})"


def _lines(console: Console, lines: Iterable[LineView], rule: Rule) -> None:
    table = plain_table(
        headings.QTY, headings.ITEM, headings.WHAT_AND_WHERE, headings.WHY, indent=2
    )
    for line in lines:
        table.add_row(
            amount(line.quantity, line.unit),
            line.item,
            "\n".join(text for text in (_what(line), _where(line.positions)) if text),
            _why(line),
        )
    _section(console, _(_TITLES[rule]), table)


def _what(line: LineView) -> str:
    parts = [line.name, line.size, line.material]
    if line.colour:
        parts.append(_("colour as supplied: {colour}", colour=line.colour))
    parts.append(pack_text(line.packs, line.pack, line.unit))
    return ", ".join(part for part in (*parts, *_brought(line)) if part)


def _brought(line: LineView | UseView) -> list[str]:
    """How much of a line comes in which packet."""
    return [
        _("{amount} in {packet}", amount=amount(part.quantity, line.unit), packet=part.packet)
        for part in line.covered
    ]


def _where(positions: Iterable[PositionView]) -> str:
    by_joint: dict[str, list[str]] = {}
    for place in positions:
        end = f" [{place.end}]" if place.end and place.end != place.position else ""
        by_joint.setdefault(place.joint, []).append(f"{place.position}{end}")
    return "\n".join(f"– {joint}: {', '.join(places)}" for joint, places in by_joint.items())


def _why(line: LineView) -> str:
    jobs = dict.fromkeys(job for reason in line.reasons for job in reason.jobs)
    told = (", ".join(jobs), _source(line), *map(say, line.notes))
    return stopped_text(line.stopped_by) + "; ".join(text for text in told if text)


def _source(line: LineView) -> str:
    """Who says so, by which criterion, and how often it fails."""
    criterion = (
        f": {general_text(line.criterion)}" if line.criterion and line.rule != Rule.RENEW else ""
    )
    source = f"{word_text(line.source)}{criterion}"
    if line.chance is None:
        return source
    return _("{source} (assumed {chance} fail)", source=source, chance=percent(line.chance, 0))


def _uses(console: Console, uses: Iterable[UseView]) -> None:
    table = plain_table(headings.AMOUNT, headings.ITEM, headings.WHAT, headings.FROM, indent=2)
    for use in uses:
        packs = pack_text(use.packs, use.pack, use.unit)
        how = shortened(tuple(map(say, use.how)), 3)
        table.add_row(
            rounded(use.quantity, use.unit),
            use.item,
            ", ".join(text for text in (use.name, packs, *_brought(use)) if text),
            stopped_text(use.stopped_by) + "; ".join((how, *map(say, use.notes))),
        )
    _section(console, _("USED UP"), table)


def _tightenings(console: Console, rows: Iterable[TighteningView]) -> None:
    table = plain_table(
        headings.QTY, headings.WHERE, headings.HEAD, headings.FIGURE, headings.SOURCE, indent=2
    )
    for row in rows:
        table.add_row(
            amount(row.quantity * 1000, "each"),
            f"{row.joint}: {row.position}",
            row.head or _("not stated"),
            "\n".join(_figure(row)),
            row.source or (_(NO_SOURCE) if row.pattern or row.stage_order else "–"),
        )
    _section(console, _("TIGHTEN"), table)


def _figure(row: TighteningView) -> list[str]:
    parts = [_(LEFT_HAND)] if row.left_hand else []
    parts.append(stages_text(row.stages))
    if any(second_text(stage) for stage in row.stages):
        parts.append(f"({stages_text(row.stages, second=True)})")
    state = thread_text(row.thread_state)
    parts.append(", ".join(filter(None, (state, row.pattern, row.stage_order))))
    return [*parts, *map(remark_text, row.remarks)]


def _tools(console: Console, plan: PlanView) -> None:
    table = plain_table(headings.TOOL, headings.FOR, indent=2)
    for tool in plan.tools:
        table.add_row(_tool(tool), shortened(tool.wanted_for, 3))
    _section(console, _("TOOLS ASKED FOR"), table)


def _tool(tool: ToolView) -> str:
    if tool.sort is ToolAskSort.TORQUE:
        return _("torque wrench at {figure}", figure=tool.tool)
    return general_text(tool.tool)


def _around(console: Console, plan: PlanView) -> None:
    table = plain_table(headings.WHAT, headings.FOR, indent=2)
    for licence in plan.licences:
        table.add_row(
            _("licence: {name}", name=general_text(licence.name)), ", ".join(licence.asked_by)
        )
    for service in plan.services:
        table.add_row(service_text(service), ", ".join(service.asked_by))
    for figure in plan.unknown_figures:
        table.add_row(_(NO_FIGURE), f"{figure.joint}: {figure.position} ({figure.item})")
    _section(console, _("BEFORE AND AFTER"), table)


def service_text(service: ServiceView) -> str:
    """A service with its licence, when it is done, and what it waits for."""
    needs = f" ({general_text(service.licence)})" if service.licence else ""
    return f"{service.name}{needs}, {service.timing}{waits_text(service.stopped_by)}"


def _cautions(console: Console, plan: PlanView) -> None:
    if plan.cautions:
        console.print()
        console.print(p_("heading", "CAUTIONS"), style="bold")
    for caution in plan.cautions:
        where = shortened(caution.applies_to, 4)
        console.print(f"  {title_text(caution)}: {whole_text(caution)} ({where})")
