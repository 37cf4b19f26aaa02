"""Commands at the end of a booking: close, with everything that has to be asked, and correct."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.bookings import answer
from kitting.cli.options import (
    BookingNumber,
    By,
    Database,
    Json,
    Now,
    amount,
    moment,
    open_database,
    write_file,
)
from kitting.cli.retry import insisted
from kitting.wording.language import _, n_

if TYPE_CHECKING:
    from kitting.facts.units import Quantity
    from kitting.services.bookings.close import Closing
    from kitting.services.bookings.correct import Became
    from kitting.views.bookings import BookingView


def register(root: typer.Typer) -> None:
    """Add the commands."""
    root.command()(close)
    root.command()(correct)


def close(
    number: BookingNumber,
    back: Annotated[
        list[str] | None, typer.Option("--back", help="Came back: ITEM=AMOUNT, once an item.")
    ] = None,
    used: Annotated[
        list[str] | None,
        typer.Option(
            "--used",
            help="Used of spares, of extra pieces, of caps and clips: ITEM=AMOUNT; the rest of"
            " these came back.",
        ),
    ] = None,
    spoilt: Annotated[
        list[str] | None, typer.Option("--spoilt", help="Scrapped: ITEM=AMOUNT, once an item.")
    ] = None,
    used_up: Annotated[
        bool, typer.Option("--used-up", help="Consumables that are not named are used up.")
    ] = False,
    despite: Annotated[
        str | None,
        typer.Option(
            "--despite",
            help="Close even if seals are uncounted or a part was not renewed: the reason.",
        ),
    ] = None,
    ask: Annotated[
        Path | None,
        typer.Option("--ask", metavar="FILE", help="Write the table to fill in; close nothing."),
    ] = None,
    told: Annotated[
        Path | None, typer.Option("--told", metavar="FILE", help="Read the table, filled in.")
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Close a booking: what was picked was used, but for what came back or was scrapped.

    What nobody has said yet is asked, all in one go: spares of positions without a finding, what
    was drawn beyond the plan, how many caps and clips came back. Refused too while old seals are
    not counted, something in the kit is on hold or expired, or what had to be renewed or used up
    was not, unless a reason is given, which stays on record. One table answers everything
    (--ask, --told).

    Example: kitting close B0001 --back "CLIP-CONNECTOR=3 each" --used "CAP-PLUG=0 each"
    """
    from kitting.services.bookings.close import close as close_booking

    at = moment(now)
    if ask is not None:
        if told is not None:
            raise typer.BadParameter("write the table first, fill it in, then read it with --told")
        _write_table(number, ask, now, database)
        return
    closing, reason = _closing(back or (), used or (), spoilt or (), used_up=used_up), despite
    if told is not None:
        closing, reason = _read_table((number, told), closing, despite, now, database)
    view = insisted(
        database, lambda engine, token: close_booking(engine, number, closing, at, reason, token)
    )
    answer(_with_agreed(view, database), as_json)


def _with_agreed(view: BookingView, database: str | None) -> BookingView:
    """A closed booking as its car goes back: the price agreed, what of the customer's is here."""
    from kitting.services.advice.agreed_price import agreed_terms
    from kitting.services.bookings.handed_back import with_theirs
    from kitting.services.bookings.states import find_booking
    from kitting.store import reading

    with reading(open_database(database)) as session:
        booking = find_booking(session, view.number)
        agreed = replace(view, price=agreed_terms(session, booking))
        return with_theirs(session, booking, agreed)


def _write_table(number: str, path: Path, now: str | None, database: str | None) -> None:
    from kitting.files.output.ask_csv import ask_csv
    from kitting.services.bookings.closing_table import ask_rows
    from kitting.store import reading
    from kitting.wording.closing import ask_cells

    with reading(open_database(database)) as session:
        rows = ask_rows(session, number, moment(now).date())
    write_file(path, ask_csv(map(ask_cells, rows)).encode())
    left = sum(row.required for row in rows)
    print(
        _(
            "{path}: {questions}, {left} to be answered",
            path=path,
            questions=n_("{count} question", "{count} questions", len(rows)),
            left=left,
        )
    )


def _read_table(
    asked: tuple[str, Path],
    closing: Closing,
    despite: str | None,
    now: str | None,
    database: str | None,
) -> tuple[Closing, str | None]:
    from kitting.services.bookings.closing_table import read_answers
    from kitting.store import reading

    number, path = asked
    with reading(open_database(database)) as session:
        answers = read_answers(session, number, path, closing, moment(now).date())
    reasons = [text for text in (despite, *answers.reasons) if text]
    return answers.closing, "; ".join(reasons) or None


def _closing(
    back: Sequence[str], used: Sequence[str], spoilt: Sequence[str], *, used_up: bool
) -> Closing:
    from kitting.services.bookings.close import Closing

    given = [
        _amounts(texts, option)
        for texts, option in ((back, "--back"), (spoilt, "--spoilt"), (used, "--used"))
    ]
    returned, scrapped, taken = ({c: q.thousandths for c, q in one.items()} for one in given)
    units = {code: one.unit for amounts in given for code, one in amounts.items()}
    return Closing(returned, scrapped, units, used=taken, used_up=used_up)


def correct(
    number: BookingNumber,
    why: Annotated[str, typer.Option("--why", help="What was recorded wrongly.")],
    back: Annotated[str | None, typer.Option("--back", help="It came back: ITEM=AMOUNT.")] = None,
    used: Annotated[str | None, typer.Option("--used", help="It was used: ITEM=AMOUNT.")] = None,
    spoilt: Annotated[
        str | None, typer.Option("--spoilt", help="It was scrapped: ITEM=AMOUNT.")
    ] = None,
    was: Annotated[
        str | None,
        typer.Option(
            "--was",
            metavar="WORD",
            help="What it was recorded as: used, back or spoilt (used; of --used: back).",
        ),
    ] = None,
    told_by: By = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Put right what a closed booking says of an item, by an entry beside the first one.

    What came back goes to its lot, what did not leaves it; nothing is erased.

    Example: kitting correct B0001 --back "CAP-PLUG=1 each" --why "one was left over"
    """
    from kitting.services.bookings.correct import Became, Correction
    from kitting.services.bookings.correct import correct as correct_booking

    given = {
        now_is: (option, text)
        for now_is, option, text in (
            (Became.BACK, "--back", back),
            (Became.USED, "--used", used),
            (Became.SPOILT, "--spoilt", spoilt),
        )
        if text is not None
    }
    if len(given) != 1:
        raise typer.BadParameter("name one of --back, --used and --spoilt")
    ((now_is, (option, text)),) = given.items()
    ((item, quantity),) = _amounts([text], option).items()
    before = _became(was) if was else Became.BACK if now_is is Became.USED else Became.USED
    wrong = Correction(item, quantity, before, now_is, why, told_by)
    at = moment(now)
    view = insisted(
        database, lambda engine, token: correct_booking(engine, number, wrong, at, token)
    )
    answer(view, as_json)


def _became(text: str) -> Became:
    from kitting.services.bookings.correct import Became

    words: Mapping[str, Became] = {
        "used": Became.USED, "back": Became.BACK, "spoilt": Became.SPOILT,
    }  # fmt: skip
    word = words.get(text.strip().casefold())
    if word is None:
        raise typer.BadParameter(f"{text!r} is none of {', '.join(words)}", param_hint="--was")
    return word


def _amounts(texts: Sequence[str], option: str) -> dict[str, Quantity]:
    found = {}
    for text in texts:
        item, sign, quantity = text.partition("=")
        if not sign:
            raise typer.BadParameter(f"{text!r}: write ITEM=AMOUNT", param_hint=option)
        if item.strip() in found:
            raise typer.BadParameter(
                f"{item.strip()} is named twice; name it once, with all of it", param_hint=option
            )
        found[item.strip()] = amount(quantity)
    return found
