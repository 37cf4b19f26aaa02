"""Tools to lay out, in words: what each is for, and what a wrench is set to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from kitting.facts.tool_words import ToolTask
from kitting.views.tools import LayOutView
from kitting.wording.language import _, n_
from kitting.wording.settings import setting_figure

_FOR: Mapping[ToolTask, Callable[[int], str]] = {
    ToolTask.UNDO: lambda count: n_("undo: {count} task", "undo: {count} tasks", count),
    ToolTask.TORQUE: lambda count: n_("tighten: {count} task", "tighten: {count} tasks", count),
    ToolTask.ANGLE: lambda count: n_(
        "turn by angle: {count} task", "turn by angle: {count} tasks", count
    ),
    ToolTask.GENERAL: lambda count: n_(
        "asked for: {count} time", "asked for: {count} times", count
    ),
}


def tasks_text(tool: LayOutView) -> str:
    """ "undo: 5 tasks, tighten: 1 task"."""
    return ", ".join(_FOR[task](count) for task, count in tool.tasks.items())


def settings_text(tool: LayOutView) -> str | None:
    """What a torque wrench is set to in turn, the lowest first; None of any other tool."""
    figures = list(dict.fromkeys(_figures(tool)))
    return _("set to {figures}", figures=", ".join(figures)) if figures else None


def _figures(tool: LayOutView) -> Iterator[str]:
    for train in tool.settings:
        figure = setting_figure(train)
        if figure is not None:
            yield figure
