"""What keeps something from being fine, on the screen: the worst first, each once."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.cli.actions import with_steps
from kitting.facts.verdicts import Doubt
from kitting.wording.reasons import say
from kitting.wording.verdicts import verdict_text


def show_doubts(console: Console, doubts: Sequence[Doubt]) -> None:
    """Every doubt with its verdict and what settles it."""
    for doubt in doubts:
        text = with_steps(say(doubt.because), doubt.because.then)
        console.print(f"  {verdict_text(doubt.verdict)}: {text}")
