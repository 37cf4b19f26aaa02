"""Commands that plan: plan, why, meanwhile."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import (
    NO,
    Assume,
    Database,
    Jobs,
    Json,
    OnDate,
    Registration,
    console,
    fitting_date,
    open_database,
    plan_request,
    print_json,
)
from kitting.facts.verdicts import Verdict
from kitting.views.plan import PlanView
from kitting.wording.language import _


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command("plan")(plan_command)
    app.command("why")(why_command)
    app.command("meanwhile")(meanwhile_command)
    app.command("declined")(declined_command)


def make_plan(
    registration: str,
    jobs: list[str],
    on: str | None,
    assume: list[str] | None,
    database: str | None,
) -> PlanView:
    """The plan that the shared arguments ask for."""
    from kitting.services.planning.plan import plan
    from kitting.store import reading

    request = plan_request(registration, jobs, on, assume)
    with reading(open_database(database)) as session:
        return plan(session, request)


def plan_command(
    registration: Registration,
    jobs: Jobs,
    on: OnDate = None,
    assume: Assume = None,
    database: Database = None,
    as_json: Json = False,
    full: Annotated[
        bool, typer.Option("--full", help="Show every line with its reason, not only the counts.")
    ] = False,
) -> None:
    """Plan the complete kit for some jobs on a car: what it comes to, and what is not fine.

    Every line is fine, no, cannot be proven, or stopped by an open variant; exit code 3 unless all
    are fine. Nothing is ordered past a variant, or where a fluid or grease is certain to spoil a
    rubber. With --full every line is shown, with the reason for it.

    Example: kitting plan "PELL 117" J1 J2 --on 2026-04-15
    """
    view = make_plan(registration, jobs, on, assume, database)
    if as_json:
        print_json(view)
    elif full:
        from kitting.cli.render.plan import show_plan

        show_plan(console(), view)
    else:
        from kitting.cli.render.plan_short import show_short

        asked = _words(registration, *jobs, *(("--on", on) if on else ()))
        show_short(console(), view, asked, assume or ())
    if view.verdict is not Verdict.FINE:
        raise typer.Exit(NO)


def _words(*words: str) -> str:
    """Words as they are typed after a command."""
    from kitting.cli.actions import as_word

    return " ".join(map(as_word, words))


def why_command(
    registration: Registration,
    jobs: Jobs,
    about: Annotated[
        str, typer.Option("--about", help="An item, step, joint, position or tool of the plan.")
    ],
    on: OnDate = None,
    assume: Assume = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Explain a line of a plan: who decided, who was overruled, and every way that leads to it.

    Example: kitting why "PELL 117" J1 J2 --about SEAL-INTAKE
    """
    from kitting.services.item_numbers import code_of
    from kitting.services.planning.explain import why
    from kitting.store import reading

    view = make_plan(registration, jobs, on, assume, database)
    with reading(open_database(database)) as session:
        found = why(view, code_of(session, about))
    if as_json:
        print_json(found)
        return
    from kitting.cli.render.answers import show_why

    show_why(console(), found)


def meanwhile_command(
    registration: Registration,
    jobs: Jobs,
    on: OnDate = None,
    rate: Annotated[
        str | None, typer.Option("--rate", help="Per hour, such as '60 GBP': weighs each job.")
    ] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Rank other jobs by what they would add while the car is stripped this far.

    Nothing is added to the plan: offer it, and let the customer say. With --rate each is weighed
    against coming back for it.

    Example: kitting meanwhile "PELL 117" J1 --rate "60 GBP"
    """
    from kitting.facts.money import parse_money
    from kitting.services.advice.additional_work import meanwhile
    from kitting.store import reading

    money = parse_money(rate) if rate is not None else None
    request = plan_request(registration, jobs, on, None)
    with reading(open_database(database)) as session:
        view = meanwhile(session, request, money)
    if as_json:
        print_json(view)
        return
    from kitting.cli.render.answers import show_meanwhile

    show_meanwhile(console(), view)


def declined_command(
    registration: Registration,
    job: Annotated[str, typer.Argument(help="The job that was offered.")],
    why: Annotated[str | None, typer.Option("--why", help="What the customer said.")] = None,
    on: OnDate = None,
    database: Database = None,
) -> None:
    """Record that further work was offered and declined; meanwhile shows it next time.

    Example: kitting declined "PELL 117" J2 --why "after the holidays" --on 2026-04-15
    """
    from kitting.services.advice.additional_work import decline

    name = decline(open_database(database), registration, job, fitting_date(on), why)
    print(_("{registration}: {name} declined", registration=registration, name=name))
