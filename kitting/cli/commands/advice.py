"""Commands about sureness: sure, learned, hold, findings."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.options import (
    NO,
    Branch,
    Database,
    DryRun,
    Json,
    Now,
    OnDate,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
    share,
)


def register(root: typer.Typer) -> None:
    """Add the commands."""
    for command in (sure, learned, hold, findings):
        root.command()(command)


def sure(
    registration: Annotated[str | None, typer.Argument(help="The car, by registration.")] = None,
    jobs: Annotated[list[str] | None, typer.Argument(help="Jobs, by code.")] = None,
    booking: Annotated[str | None, typer.Option("--booking", help="A booking instead.")] = None,
    on: OnDate = None,
    branch: Branch = None,
    target: Annotated[str, typer.Option("--target", help="The chance asked for.")] = "95%",
    short_costs: Annotated[
        str | None, typer.Option("--short-costs", help="What being short costs: '180 GBP' a day.")
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Tell the chance that jobs end with the parts in the kit, and the cheapest spares for more.

    Exit code 3 when no spares reach the target.

    Example: kitting sure "PELL 117" J1 J2 --on 2026-04-15 --branch upper --now "2026-04-02 14:20"
    """
    from kitting.cli.render.advice import show_sure
    from kitting.facts.money import parse_money
    from kitting.services.advice import completion as sureness
    from kitting.store import reading

    if (booking is None) == (registration is None) or (booking is None and not jobs):
        raise typer.BadParameter("name a car and its jobs, or a booking with --booking")
    asked, at = share(target), moment(now)
    short = parse_money(short_costs).minor if short_costs is not None else None
    with reading(open_database(database)) as session:
        if booking is not None:
            view = sureness.sure_of_booking(session, booking, at, asked, short)
        else:
            day = fitting_date(on)
            view = sureness.sure(
                session, registration or "", jobs or [], day, at, branch, asked, None, short
            )
    if as_json:
        print_json(view)
    else:
        show_sure(console(), view)
    if not view.reached:
        raise typer.Exit(NO)


def learned(
    items: Annotated[list[str] | None, typer.Argument(help="Items (all).")] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show what findings taught: how many were looked at, how many failed, the chance now.

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


def hold(
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
    """Tell how much of each item a branch should hold, from what it used.

    Example: kitting hold --branch upper --target 95% --now "2026-04-20 09:00"
    """
    from kitting.cli.render.advice import show_hold
    from kitting.facts.money import parse_money
    from kitting.services.advice.base_stock import hold as find
    from kitting.store import reading

    money = parse_money(budget).minor if budget is not None else None
    with reading(open_database(database)) as session:
        view = find(session, branch, moment(now), share(target), money, days)
    if as_json:
        print_json(view)
    else:
        show_hold(console(), view)


def findings(
    files: Annotated[list[Path], typer.Argument(help="Lists, CSV or XLSX.")],
    booking: Annotated[
        str | None, typer.Option("--booking", help="Seen on this booking's car, at the ramp.")
    ] = None,
    now: Now = None,
    dry_run: DryRun = False,
    database: Database = None,
) -> None:
    """Take over findings from lists, all rows or none: of before, or of a booking at the ramp.

    Example: kitting findings my-findings.csv --dry-run
    """
    engine = open_database(database)
    if booking is not None:
        from kitting.services.bookings.findings import load_ramp_findings

        count = load_ramp_findings(engine, booking, files, moment(now))
        print(f"{booking}: {count} findings")
        return
    from kitting.services.advice.learned_rates import load_findings

    count = load_findings(engine, files, dry_run)
    print(f"{count} new findings")
    if dry_run:
        remark("dry run: nothing was kept")
