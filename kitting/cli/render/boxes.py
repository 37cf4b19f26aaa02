"""Boxes on the screen, for what nobody may read past; plain lines where output is no screen."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.console import Console
from rich.panel import Panel
from rich.text import Text

from kitting.cli.screen import BOUNDLESS
from kitting.cli.wrapping import wrapped
from kitting.facts.control_characters import visible

_FRAME, _CORNERS = 4, 6  # columns that the frame takes of a line, and of its title


def show_box(console: Console, title: str, lines: Sequence[str]) -> None:
    """A box with a title; a title that is too long for the frame is its first line."""
    if console.width >= BOUNDLESS:
        console.print(title, style="bold")
        for line in lines:
            console.print(f"  {line}")
        return
    fits = cell_len(visible(title)) <= console.width - _CORNERS
    told = [visible(line) for line in (lines if fits else (title, *lines))]
    room = max(1, console.width - _FRAME)
    text = "\n".join(part for line in told for part in wrapped(line, room))
    heading = Text(visible(title)) if fits else None
    console.print(Panel(Text(text, overflow="fold"), title=heading, title_align="left"))
