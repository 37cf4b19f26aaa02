"""Commands about tools: load, offers, list, lend, back, away, resolution, check, buy, reach."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.catalogue import show_report
from kitting.cli.options import (
    NO,
    Assume,
    Boxes,
    Currency,
    Database,
    DryRun,
    Jobs,
    Json,
    OnDate,
    Policy,
    Registration,
    console,
    fitting_date,
    open_database,
    plan_request,
    print_json,
    remark,
    tool_request,
)
from kitting.facts.tool_words import ToolState
from kitting.wording.language import _

if TYPE_CHECKING:
    from kitting.services.tools.toolboxes import ToolChange

app = typer.Typer(
    help="List tools, check them against a plan, and find what to buy.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


def register(root: typer.Typer) -> None:
    """Add the group."""
    root.add_typer(app, name="toolbox")


Files = Annotated[list[Path], typer.Argument(help="Lists, CSV or XLSX.")]
BoxName = Annotated[str, typer.Argument(help="The toolbox.")]
ToolCode = Annotated[str, typer.Argument(help="The tool, by its code.")]


@app.command()
def load(files: Files, dry_run: DryRun = False, database: Database = None) -> None:
    """Load toolboxes from lists, all of them or nothing.

    A list describes the boxes it names wholly; what is recorded as lent stays so, unless its row
    gives a state.

    Example: kitting toolbox load my-tools.csv --dry-run
    """
    from kitting.services.tools.toolboxes import load_tools

    show_report(load_tools(open_database(database), files, dry_run))


@app.command()
def offers(files: Files, dry_run: DryRun = False, database: Database = None) -> None:
    """Load offers of tools (to buy, hire or borrow) from lists; rows of one offer make a set.

    Example: kitting toolbox offers my-offers.csv --dry-run
    """
    from kitting.services.tools.toolboxes import load_offers

    show_report(load_offers(open_database(database), files, dry_run))


@app.command("list")
def list_command(boxes: Boxes = None, database: Database = None, as_json: Json = False) -> None:
    """List the tools of the boxes, where each is, and until when a wrench is calibrated.

    Example: kitting toolbox list --box van
    """
    from kitting.cli.render.tools import show_list, to_state
    from kitting.services.tools.toolboxes import list_tools
    from kitting.store import reading

    with reading(open_database(database)) as session:
        found = list_tools(session, boxes or ())
    if as_json:
        print_json(found)
    else:
        show_list(console(), found)
        for line in to_state(found):
            remark(line)


@app.command()
def lend(
    box: BoxName,
    tool: ToolCode,
    to: Annotated[str, typer.Option("--to", help="Who has it.")],
    until: Annotated[str | None, typer.Option("--until", help="When it is due back.")] = None,
    dry_run: DryRun = False,
    database: Database = None,
) -> None:
    """Record that a tool is lent; a job it is not back for counts it as missing.

    Example: kitting toolbox lend van V-20-100 --to "Canal Yard" --until 2026-04-10
    """
    from kitting.services.tools.toolboxes import ToolChange

    change = ToolChange(box, tool, ToolState.LENT, lent_to=to, back_on=_due(until))
    _record(database, change, dry_run)


@app.command()
def away(
    box: BoxName,
    tool: ToolCode,
    why: Annotated[str, typer.Option("--why", help="at calibration, or broken.")],
    until: Annotated[str | None, typer.Option("--until", help="When it is due back.")] = None,
    dry_run: DryRun = False,
    database: Database = None,
) -> None:
    """Record that a tool is at calibration or broken.

    Example: kitting toolbox away van V-20-100 --why "at calibration" --until 2026-04-10
    """
    from kitting.services.tools.toolboxes import ToolChange

    if why not in (ToolState.AT_CALIBRATION, ToolState.BROKEN):
        raise typer.BadParameter(
            f"{why!r} is neither 'at calibration' nor 'broken'", param_hint="--why"
        )
    change = ToolChange(box, tool, ToolState(why), back_on=_due(until))
    _record(database, change, dry_run)


@app.command()
def back(box: BoxName, tool: ToolCode, dry_run: DryRun = False, database: Database = None) -> None:
    """Record that a tool is here again.

    Example: kitting toolbox back bay GAUGE-ANGLE
    """
    from kitting.services.tools.toolboxes import ToolChange

    _record(database, ToolChange(box, tool, ToolState.HERE), dry_run)


def _due(until: str | None) -> date | None:
    return fitting_date(until, "--until") if until else None


def _record(database: str | None, change: ToolChange, dry_run: bool) -> None:
    from kitting.services.tools.toolboxes import set_state
    from kitting.wording.tools import recorded_text

    print(recorded_text(set_state(open_database(database), change, dry_run)))
    if dry_run:
        remark(_("dry run: nothing was kept"))


@app.command()
def resolution(
    box: BoxName,
    tool: ToolCode,
    resolution: Annotated[str, typer.Argument(help="How far two marks of it are apart.")],
    dry_run: DryRun = False,
    database: Database = None,
) -> None:
    """State how far two marks of a torque wrench are apart; without, it proves no figure.

    State it in the column 'resolution' of the list of the box as well: the next load of it says
    what the list says.

    Example: kitting toolbox resolution bay W-5-25 "0.25 N·m"
    """
    from kitting.files.lists.tools import parse_resolution
    from kitting.services.tools.toolboxes import set_resolution
    from kitting.wording.tools import resolution_text

    steps = parse_resolution(resolution)
    print(resolution_text(set_resolution(open_database(database), box, tool, steps, dry_run)))
    if dry_run:
        remark(_("dry run: nothing was kept"))


@app.command()
def check(
    registration: Registration,
    jobs: Jobs,
    boxes: Boxes = None,
    on: OnDate = None,
    policy: Policy = "marked",
    assume: Assume = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Check whether the boxes can do the jobs: undo and tighten every fastener, with the reasons.

    Exit code 3 unless everything can be done, for certain. 'kitting sheet tools' prints the same.

    Example: kitting toolbox check "PELL 117" J3 --box bay --on 2026-04-15
    """
    from kitting.facts.verdicts import Verdict
    from kitting.services.tools.check import check_tools
    from kitting.store import reading

    plan = plan_request(registration, jobs, on, assume)
    request = tool_request(plan, boxes, policy)
    with reading(open_database(database)) as session:
        view = check_tools(session, request)
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.tools import show_check, to_state

        show_check(console(), view)
        for line in to_state(view.scales):
            remark(line)
    if view.verdict is not Verdict.FINE:
        raise typer.Exit(NO)


@app.command()
def buy(
    registration: Registration,
    jobs: Jobs,
    boxes: Boxes = None,
    on: OnDate = None,
    policy: Policy = "marked",
    currency: Currency = None,
    assume: Assume = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Find the cheapest purchase that closes every gap, proven, with the next cheapest beside it.

    What cannot be proven with the boxes wants an offer too: its line says what it would prove.

    Prices in several currencies are neither added nor compared: name one with --currency. Exit
    code 3 when some gap is closed by nothing on offer, or something is proven by none or stopped.

    Example: kitting toolbox buy "PELL 117" J2 --box van --on 2026-04-15
    """
    from kitting.services.tools.purchase import buy_tools
    from kitting.store import reading

    plan = plan_request(registration, jobs, on, assume)
    request = tool_request(plan, boxes, policy, currency)
    with reading(open_database(database)) as session:
        view = buy_tools(session, request)
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.tools import show_buy

        show_buy(console(), view)
    if view.not_closed or view.not_proven:
        raise typer.Exit(NO)


@app.command()
def reach(
    boxes: Boxes = None,
    on: OnDate = None,
    policy: Policy = "marked",
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show which tool most jobs of the catalogue depend on, and which offer would open most.

    Example: kitting toolbox reach --box van --on 2026-04-15
    """
    from kitting.cli.render.tools import show_reach
    from kitting.facts.torque_tools import parse_range_policy
    from kitting.services.tools.coverage import reach as find_reach
    from kitting.store import reading

    counted = parse_range_policy(policy)
    with reading(open_database(database)) as session:
        found = find_reach(session, boxes or (), fitting_date(on), counted, fitting_date(None))
    if as_json:
        print_json(found)
    else:
        show_reach(console(), found)
