"""What a run says of a sheet that is not fine, and its exit code."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from kitting.cli.options import NO, remark
from kitting.wording.language import _, n_

if TYPE_CHECKING:
    from kitting.facts.verdicts import Doubt
    from kitting.views.kit import PickLine, ShortageView
    from kitting.views.refit import RefitView
    from kitting.views.tightening import TightenView


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


def say_lacking_tools(view: TightenView | RefitView) -> bool:
    """Whether toolboxes are described and cannot do each stage; says how many stages they can."""
    from kitting.facts.verdicts import Verdict
    from kitting.wording.verdicts import tally_text

    if not view.boxes or view.tools[Verdict.FINE] == sum(view.tools.values()):
        return False
    found = tally_text(view.tools)
    remark(_("not all can be tightened with these boxes: {tally} (stages)", tally=found))
    return True
