"""What has to set, on the screen: the verdict first, then each product."""

from __future__ import annotations

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.amounts import rounded
from kitting.cli.render.days import day_text
from kitting.cli.render.tables import plain_table
from kitting.views.tightening import CuringView, LaidView
from kitting.wording.language import _
from kitting.wording.reasons import say
from kitting.wording.tightening import TIMES_REMARK, curing_text, times_text, verdict_text


def show_curing(screen: Console, view: CuringView) -> None:
    """The verdict first, then each product with its places and times."""
    jobs = ", ".join(view.jobs) or _("nothing that may go on")
    screen.print(
        _("{vehicle} on {on}: {jobs}", vehicle=view.vehicle, on=day_text(view.on), jobs=jobs),
        style="bold",
    )
    for reason in view.stopped:
        screen.print(say(reason))
    verdict = curing_text(view)
    if verdict is not None:
        screen.print(verdict, style="bold")
    if view.products:
        _products(screen, view)
        screen.print(_(TIMES_REMARK))
    else:
        screen.print(
            _(
                "No product of this plan has times of its own or is laid by bead, film or "
                "drop. What else is put on is not judged here."
            )
        )


def _products(screen: Console, view: CuringView) -> None:
    parked = view.parked_minutes
    asked = [] if parked is None else [headings.VERDICT]
    table = plain_table(headings.PRODUCT, headings.WHERE_AND_HOW_MUCH, headings.TIMES, *asked)
    for product in view.products:
        verdict = [] if parked is None else [verdict_text(product, parked)]
        table.add_row(
            f"{product.item} {product.name}",
            "\n".join(_placed(place, product.unit) for place in product.places),
            times_text(product.times),
            *verdict,
        )
    screen.print(table)


def _placed(place: LaidView, unit: str) -> str:
    """A place with its own amount, and whether its bead can be laid in time."""
    lines = [
        f"{place.where}: {place.name}",
        f"  {rounded(place.quantity, unit)} ({say(place.how)})",
    ]
    if place.laying is not None:
        lines.append(f"  {say(place.laying)}")
    return "\n".join(lines)
