"""What keeps something from being fine, on the screen: the worst first, each once."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.cli.actions import with_steps
from kitting.facts.verdicts import Doubt
from kitting.wording.verdicts import doubt_text


def doubt_line(doubt: Doubt) -> str:
    """A doubt with its verdict and what settles it."""
    return with_steps(doubt_text(doubt), doubt.because.then)


def show_doubts(console: Console, doubts: Sequence[Doubt]) -> None:
    """Every doubt with its verdict and what settles it."""
    for doubt in doubts:
        console.print(f"  {doubt_line(doubt)}")
