"""What to lay out for a plan: every tool that the first choices take, once each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from kitting.facts.names import natural_key
from kitting.facts.tool_words import ToolSort, ToolTask, ToolVerdict
from kitting.services.tools.inventory import OwnedTools
from kitting.views.tools import LayOutView, NeedView, TrainView


def lay_out(needs: Sequence[NeedView], owned: OwnedTools) -> tuple[LayOutView, ...]:
    """The tools of the first train of every need that is met, by box and code.

    A tool twice in a train (two extensions alike) is two pieces with codes of their own.
    """
    tasks: dict[tuple[str, str], Counter[ToolTask]] = {}
    set_to: dict[tuple[str, str], dict[tuple[object, ...], TrainView]] = {}
    known = {(one.box, one.tool.code): one.tool for one in owned.owned}
    for need in needs:
        if need.state is not ToolVerdict.HAVE or not need.trains:
            continue
        train = need.trains[0]
        for code in dict.fromkeys(train.tools):
            place = next((box, code) for box in train.boxes if (box, code) in known)
            tasks.setdefault(place, Counter())[need.what.task] += 1
            if known[place].sort is ToolSort.TORQUE_WRENCH and train.setting is not None:
                setting = (train.setting.newton_metres, train.read)
                set_to.setdefault(place, {})[setting] = train
    return tuple(
        LayOutView(
            box=box,
            code=code,
            name=known[box, code].name,
            tasks={task: found[task] for task in ToolTask if found[task]},
            settings=tuple(train for _, train in sorted(set_to.get((box, code), {}).items(),
                                                        key=lambda entry: entry[0])),
        )
        for (box, code), found in sorted(
            tasks.items(), key=lambda entry: (natural_key(entry[0][0]), natural_key(entry[0][1]))
        )
    )  # fmt: skip
