"""What a run says of a sheet that is not fine, and its exit code."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from kitting.cli.options import NO, remark
from kitting.wording.language import _, n_

if TYPE_CHECKING:
    from kitting.facts.verdicts import Doubt
    from kitting.views.kit import PickLine, ShortageView


def say_doubts(
    doubts: tuple[Doubt, ...],
    shortages: tuple[ShortageView | PickLine, ...] = (),
    *,
    of_labels: bool = False,
) -> None:
    """Exit code 3 for whatever is short or not fine, with how much of it there is."""
    if not doubts and not shortages:
        return
    from kitting.facts.verdicts import tally
    from kitting.wording.verdicts import tally_text

    if doubts:
        found = tally_text(tally(doubt.verdict for doubt in doubts))
        told = (
            _("not all is fine: {found} (see the label of the kit and the pick list)", found=found)
            if of_labels
            else _("not all is fine: {found} (see the box on the sheet)", found=found)
        )
        remark(told)
    if shortages and of_labels:
        remark(
            n_(
                "{count} line is short (marked SHORT on the labels)",
                "{count} lines are short (marked SHORT on the labels)",
                len(shortages),
            )
        )
    elif shortages:
        remark(
            n_(
                "{count} line is short (marked SHORT on the sheet)",
                "{count} lines are short (marked SHORT on the sheet)",
                len(shortages),
            )
        )
    raise typer.Exit(NO)
