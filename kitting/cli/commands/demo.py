"""The demo garage in one command."""

from __future__ import annotations

import io
import os
import shlex
import shutil
import sys
from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.options import console, moment, remark, write_file
from kitting.views.plan import PlanView

_NAME = "kitting"
_STOPPED = 'plan "PELL 042" J1 J2'  # a car of which too little is known


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(demo)


def demo(
    folder: Annotated[Path, typer.Argument(help="Where to put it.")] = Path("kitting-demo"),
) -> None:
    """Set up the demo garage in a folder and plan two jobs on one of its cars.

    Writes the database, the plan (text and JSON), the pick list and the labels. Running it again
    brings the folder up to date and touches nothing else in it.

    Example: kitting demo my-demo
    """
    from kitting.cli.render.plan_short import show_short
    from kitting.services.demo import CAR, FITTING_DATE, JOBS, prepare_demo
    from kitting.services.planning.plan import plan
    from kitting.services.planning.request import PlanRequest
    from kitting.store import reading
    from kitting.wording.language import _
    from kitting.wording.reasons import say

    engine, report = prepare_demo(folder)
    with reading(engine) as session:
        view = plan(session, PlanRequest(CAR, tuple(JOBS), FITTING_DATE))
    engine.dispose()
    show_short(console(), view)
    for reason in report.remarks:
        remark(_("note: {text}", text=say(reason)))
    for name, content in _papers(view).items():
        write_file(folder / name, content)
        remark(_("wrote {file}", file=folder / name))
    kitting = program_from(folder, sys.argv[0])
    remark(_("Open first: {file}, a label for every bag and ring end.", file=folder / "labels.pdf"))
    remark(_("Then: {file}, what to fetch from which bin.", file=folder / "pick-list.pdf"))
    remark(_("Next: copy these lines:"))
    for line in (f"cd {shlex.quote(str(folder))}", f"{kitting} jobs", f"{kitting} {_STOPPED}"):
        remark(f"  {line}")


def program_from(folder: Path, called: str) -> str:
    """How the program is called from a folder: by its name where that finds it, else by its path.

    `called` is how it was called now.
    """
    here = Path(called).absolute()
    found = shutil.which(_NAME)
    if here.stem != _NAME or not here.exists() or (found and Path(found).samefile(here)):
        return _NAME
    return shlex.quote(os.path.relpath(here, folder.absolute()))


def _papers(view: PlanView) -> dict[str, bytes]:
    from kitting.cli.commands.sheet_options import paper_for, stock_for
    from kitting.cli.render.plan import show_plan
    from kitting.cli.screen import console_on
    from kitting.files.output.plain import as_plain, json_text
    from kitting.reports.labels.labels import draw_kit_labels
    from kitting.reports.sheets.pick_list import draw_pick_list
    from kitting.reports.stamp import printed_at
    from kitting.services.kit.bags import kit_view
    from kitting.services.kit.pick import pick_view

    text = io.StringIO()
    show_plan(console_on(text, 132), view)
    pick_list, labels = io.BytesIO(), io.BytesIO()
    with printed_at(moment(None)):
        draw_pick_list(pick_view(view), pick_list, paper_for(None))
        draw_kit_labels(kit_view(view), stock_for(None), labels)
    return {
        "plan.txt": text.getvalue().encode(),
        "plan.json": json_text(as_plain(view)).encode() + b"\n",
        "pick-list.pdf": pick_list.getvalue(),
        "labels.pdf": labels.getvalue(),
    }
