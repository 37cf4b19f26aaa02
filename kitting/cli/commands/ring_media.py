"""The command that tells how a rubber stands media."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.options import NO, Json, console, print_json
from kitting.views.rubber import StandsView, SuitsView
from kitting.wording.language import _, general_text, word_text

if TYPE_CHECKING:
    from rich.console import Console


def suits(
    elastomer: Annotated[str, typer.Argument(help="By ISO 1629, such as EPDM.")],
    media: Annotated[
        list[str] | None, typer.Argument(help="Fluids or greases by class; all if none is named.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Show how a rubber stands fluids and greases: the rating, how sure it is, and who says so.

    Only what is certain stops a plan; the rest is opinion, and the maker's data decide. Exit code 3
    when one of the media named is certain to spoil it.

    Example: kitting rings suits EPDM water-based-lubricant glycol-coolant
    """
    from kitting.calc.rubber.compatibility import range_said_by, stands
    from kitting.facts.elastomers import require_elastomer
    from kitting.facts.rubber_media import MEDIA, require_medium, service_ranges
    from kitting.facts.words import ContactState

    rubber = require_elastomer(elastomer)
    asked = [require_medium(medium) for medium in media or MEDIA]
    answers = [(medium, stands(rubber, medium)) for medium in asked]
    limits = service_ranges().get(rubber)
    view = SuitsView(
        rubber,
        None if limits is None else (limits.coldest, limits.hottest),
        tuple(
            StandsView(
                medium=medium,
                name=MEDIA[medium].name,
                state=ContactState(a.state),
                rating=a.rating,
                certainty=a.certainty,
                said_by=a.said_by,
                note=a.note,
            )
            for medium, a in answers
        ),
        serves_said_by=None if limits is None else range_said_by(limits),
    )
    if as_json:
        print_json(view)
    else:
        _show(console(), view)
    if media and any(answer.state == ContactState.CLASH for _, answer in answers):
        raise typer.Exit(NO)


def _show(console: Console, view: SuitsView) -> None:
    from kitting.cli.render import headings
    from kitting.cli.render.tables import plain_table
    from kitting.facts.words import ContactState
    from kitting.wording.reasons import as_text

    console.print(view.elastomer, style="bold")
    table = plain_table(
        headings.MEDIUM, headings.COMES_TO, headings.RATING, headings.HOW_SURE, headings.WHO_SAYS_SO
    )
    for one in view.media:
        note = f" ({one.note})" if one.note else ""
        told = word_text(one.state)
        state = told.upper() if one.state is ContactState.CLASH else told
        who = f"{as_text(one.said_by)}{note}"
        table.add_row(general_text(one.name), state, one.rating, one.certainty, who)
    console.print(table)
    if view.serves and view.serves_said_by:
        cold, hot = view.serves
        told = as_text(view.serves_said_by)
        console.print(
            _(
                "General-purpose grades serve from {cold} to {hot} °C in dry heat. {told}.",
                cold=cold,
                hot=hot,
                told=told,
            )
        )
    console.print(_("Compounds differ: the maker's data for this part decide."))
