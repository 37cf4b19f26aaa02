"""Commands about what may fail and what to keep: sure, learned, levels, findings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.dates_asked import OfModel, refuse_choice
from kitting.cli.options import (
    NO,
    Branch,
    By,
    Choose,
    Database,
    DryRun,
    Json,
    Now,
    OnDate,
    choices,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
    share,
)
from kitting.wording.language import _, n_

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from sqlalchemy import Engine

    from kitting.services.bookings.findings import Found


def register(root: typer.Typer) -> None:
    """Add the commands."""
    for command in (sure, learned, levels, findings):
        root.command()(command)


def sure(
    registration: Annotated[str | None, typer.Argument(help="The car, by registration.")] = None,
    jobs: Annotated[list[str] | None, typer.Argument(help="Jobs, by code.")] = None,
    model: OfModel = None,
    choose: Choose = None,
    booking: Annotated[str | None, typer.Option("--booking", help="A booking instead.")] = None,
    on: OnDate = None,
    branch: Branch = None,
    target: Annotated[str, typer.Option("--target", help="The chance asked for.")] = "95%",
    short_costs: Annotated[
        str | None, typer.Option("--short-costs", help="What being short costs: '180 GBP' a day.")
    ] = None,
    take: Annotated[
        bool,
        typer.Option("--take", help="Take the spares into the booking, which then needs them."),
    ] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Tell the chance that jobs end with the parts in the kit, and the cheapest spares for more.

    With --take the booking needs the spares as spares: what lies free is promised, `buy` orders the
    rest, and closing asks what became of them. Taking again changes nothing; another --target
    takes anew, and so does a change of the booking.

    Exit code 3 when no spares reach the target, or where the kit is not fine whatever passes.

    Example: kitting sure "PELL 117" J1 J2 --on 2026-04-15 --branch upper --now "2026-04-02 14:20"
    """
    from kitting.cli.render.advice import show_completion
    from kitting.facts.money import parse_money
    from kitting.services.advice.completion import completion_chance
    from kitting.services.advice.weighed_case import Work, work_of_booking
    from kitting.store import reading

    if model is not None and registration is not None:
        registration, jobs = "", [registration, *(jobs or ())]
    if (booking is None) == (registration is None) or (booking is None and not jobs):
        raise typer.BadParameter(
            "name a car and its jobs, jobs with --model, or a booking with --booking"
        )
    if take:
        _refuse_take(booking, short_costs)
    asked, at = share(target, "--target"), moment(now)
    short = parse_money(short_costs) if short_costs is not None else None
    if take and booking is not None:
        from kitting.services.advice.taken_spares import take_spares

        view = take_spares(open_database(database), booking, at, asked)
    else:
        with reading(open_database(database)) as session:
            if booking is not None:
                refuse_choice(choose)
                work = work_of_booking(session, booking)
            else:
                work = Work(
                    registration or "",
                    jobs or [],
                    fitting_date(on),
                    branch,
                    model=model,
                    chosen=choices(choose),
                )
            view = completion_chance(session, work, at, asked, short)
    if as_json:
        print_json(view)
    else:
        show_completion(console(), view)
        if booking is not None:
            from kitting.cli.commands.book import say_prices

            say_prices(open_database(database), [booking], at)
    if view.doubts or not view.reached:
        raise typer.Exit(NO)


def _refuse_take(booking: str | None, short_costs: str | None) -> None:
    """Spares go into a booking, by the chance asked for; raises a usage error otherwise."""
    if booking is None:
        raise typer.BadParameter("--take goes into a booking: name it with --booking")
    if short_costs is not None:
        raise typer.BadParameter("--take is for a chance (--target); look at --short-costs before")


def learned(
    items: Annotated[list[str] | None, typer.Argument(help="Items (all).")] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show what findings taught: how many were inspected, how many failed, the chance now.

    Example: kitting learned
    """
    from kitting.cli.render.advice import show_learned
    from kitting.services.advice.learned_rates import learned as find
    from kitting.store import reading

    with reading(open_database(database)) as session:
        found = find(session, items or ())
    if as_json:
        print_json(found)
    else:
        show_learned(console(), found)


def levels(
    branch: Branch = None,
    target: Annotated[str, typer.Option("--target", help="The chance asked for.")] = "95%",
    budget: Annotated[
        str | None, typer.Option("--budget", help="What may be tied up, instead of a target.")
    ] = None,
    days: Annotated[int, typer.Option("--days", help="How far back.", min=7, max=3650)] = 365,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Tell how much of each item a branch should keep in stock, from what it used.

    Example: kitting levels --branch upper --target 95% --now "2026-04-20 09:00"
    """
    from kitting.cli.render.advice import show_levels
    from kitting.facts.money import parse_money
    from kitting.services.advice.base_stock import stock_levels
    from kitting.store import reading

    money = parse_money(budget) if budget is not None else None
    with reading(open_database(database)) as session:
        view = stock_levels(session, branch, moment(now), share(target, "--target"), money, days)
    if as_json:
        print_json(view)
    else:
        show_levels(console(), view)


def findings(
    booking: Annotated[str | None, typer.Argument(help="The booking of the car.")] = None,
    what: Annotated[
        list[str] | None,
        typer.Argument(
            help="Joint, position and passed, failed or 'renewed without a look'; or several"
            " JOINT:POSITION=RESULT, a failure with its reason: 'JOINT:POSITION=failed: cut', of"
            " several pieces with how many: 'JOINT:POSITION=failed: 1 of 3, cut'.",
            metavar="JOINT POSITION RESULT",
        ),
    ] = None,
    why: Annotated[str | None, typer.Option("--why", help="Why it failed.")] = None,
    files: Annotated[
        list[Path] | None,
        typer.Option("--file", help="A list instead, CSV or XLSX; without a booking, of earlier."),
    ] = None,
    wrong: Annotated[
        str | None,
        typer.Option("--correct", metavar="TEXT", help="Of a closed booking: what was wrong."),
    ] = None,
    told_by: By = None,
    now: Now = None,
    dry_run: DryRun = False,
    database: Database = None,
) -> None:
    """Record what was found at positions, all or none; a failure needs its reason.

    A list with --file is taken over whole or not at all: the findings of a booking, or without one
    those of earlier work. With --correct what a closed booking says is put right, and stays seen.

    Example: kitting findings B0001 intake "port 1" failed --why "cut at the edge"
    """
    engine = open_database(database)
    if files and not (what or why):
        _found_in_lists(engine, booking, files, now, dry_run=dry_run)
        return
    if files or booking is None or not what:
        raise typer.BadParameter(
            "name a booking, joint, position and result, or give a list with --file"
        )
    from kitting.cli.commands.book import say_prices
    from kitting.facts.words import FindingResult
    from kitting.services.bookings.findings import record_findings
    from kitting.wording.findings import found_text

    booking = _whole(engine, booking)
    seen = _seen(what, why)
    if wrong is not None:
        _correct(database, booking, seen, (wrong, told_by), moment(now))
        return
    record_findings(engine, booking, seen, moment(now))
    for one in seen:
        pieces = None if one.failed is None or one.pieces is None else (one.failed, one.pieces)
        told = found_text(FindingResult(one.found), pieces, one.reason)
        print(f"{booking} {one.joint}, {one.position}: {told}")
    say_prices(engine, [booking], moment(now))
    _say_missing(engine, booking, moment(now).date())


def _correct(
    database: str | None,
    booking: str,
    seen: Sequence[Found],
    told: tuple[str, str | None],
    at: datetime,
) -> None:
    """Put right, one by one, what was recorded of a closed booking."""
    from kitting.cli.retry import insisted
    from kitting.services.bookings.correct_finding import correct_finding
    from kitting.services.bookings.kit_events import Told

    said = Told(*told)
    if len(seen) != 1:
        raise typer.BadParameter("correct one position at a time", param_hint="--correct")
    (one,) = seen
    insisted(database, lambda engine, token: correct_finding(engine, booking, one, said, at, token))
    print(
        _(
            "{booking} {joint}, {position}: corrected to {found}",
            booking=booking,
            joint=one.joint,
            position=one.position,
            found=one.found,
        )
    )


def _whole(engine: Engine, number: str) -> str:
    """The whole number of a booking that was named by its last digits."""
    from kitting.services.bookings.states import find_booking
    from kitting.store import reading

    with reading(engine) as session:
        return find_booking(session, number).number


def _seen(what: list[str], why: str | None) -> list[Found]:
    """What was found: one position in three words, or several, each in one."""
    import re

    from kitting.facts.words import FindingResult
    from kitting.services.bookings.findings import as_told

    form = re.compile(rf"([^:]+):(.+?)=({'|'.join(FindingResult)})(?::\s*(\S.*))?", re.IGNORECASE)
    several = [form.fullmatch(text.strip()) for text in what]
    if len(what) == 3 and not any(several):
        return [as_told((what[0], what[1]), what[2], why)]
    for text, match in zip(what, several, strict=True):
        if match is None:
            raise typer.BadParameter(
                f"{text!r}: write JOINT:POSITION=RESULT, the result one of"
                f" {', '.join(FindingResult)}; or joint, position and result in three words"
            )
    return [
        as_told((joint.strip(), position.strip()), found.casefold(), reason or why)
        for joint, position, found, reason in (match.groups() for match in several if match)
    ]


def _say_missing(engine: Engine, number: str, today: date) -> None:
    """What is not fine now that this was found; exit code 3 if anything is not."""
    from kitting.cli.render.bookings import change_texts, lacking_texts
    from kitting.services.bookings.states import find_booking
    from kitting.services.bookings.view import booking_view
    from kitting.store import reading

    with reading(engine) as session:
        view = booking_view(session, find_booking(session, number), today)
    for text in (*lacking_texts(view.doubts), *change_texts(view)):
        remark(text)
    if view.doubts:
        raise typer.Exit(NO)


def _found_in_lists(
    engine: Engine, booking: str | None, files: list[Path], now: str | None, *, dry_run: bool
) -> None:
    """Findings from lists: of a booking at the ramp, or of earlier work."""
    if booking is not None:
        from kitting.services.bookings.findings import load_ramp_findings

        if dry_run:
            raise typer.BadParameter(
                "a dry run is of earlier findings only", param_hint="--dry-run"
            )
        booking = _whole(engine, booking)
        count = load_ramp_findings(engine, booking, files, moment(now))
        print(
            n_("{booking}: {count} finding", "{booking}: {count} findings", count, booking=booking)
        )
        _say_missing(engine, booking, moment(now).date())
        return
    from kitting.services.advice.learned_rates import load_findings

    count = load_findings(engine, files, dry_run)
    print(n_("{count} new finding", "{count} new findings", count))
    if dry_run:
        remark(_("dry run: nothing was kept"))
