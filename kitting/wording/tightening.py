"""Tightening in words: stages, the state of the thread, what is put on and how long it sets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from kitting.facts.stages import AngleStage, Stage, TorqueStage
from kitting.facts.units import plain, second_unit
from kitting.facts.words import ThreadState
from kitting.views.plan import TighteningView
from kitting.wording.figures import NO_FIGURE


def stage_text(stage: Stage) -> str:
    """A stage as published: "20 N·m", "4 N·m ± 0.3", "+90°"."""
    match stage:
        case TorqueStage():
            spread = "" if stage.tolerance is None else f" ± {plain(stage.tolerance)}"
            return f"{stage.torque}{spread}"
        case AngleStage():
            return f"+{stage.angle / 1000:g}°"
        case _:
            assert_never(stage)


def second_text(stage: Stage) -> str | None:
    """The figure in the other unit; None where it has none."""
    return None if stage.torque is None else second_unit(stage.torque)


def stages_text(stages: Sequence[Stage], second: bool = False) -> str:
    """All stages in turn, in the `second` unit if so asked; no stages is no figure."""
    texts = [(second_text(stage) if second else None) or stage_text(stage) for stage in stages]
    return " → ".join(texts) or NO_FIGURE


def thread_text(state: ThreadState) -> str:
    """The state of the thread that a figure is given for."""
    return "thread state not stated" if state is ThreadState.UNKNOWN else state.value


def tightening_text(row: TighteningView) -> str:
    """One line for a bag: "bolts 1 to 6: 10 N·m (88.5 lbf·in) → +90°, dry"."""
    stages = " → ".join(
        f"{stage_text(stage)} ({second})" if (second := second_text(stage)) else stage_text(stage)
        for stage in row.stages
    )
    return f"{row.position}: {stages or NO_FIGURE}, {thread_text(row.thread_state)}"
