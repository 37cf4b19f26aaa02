"""What the commands that print share: paper, whose eyes it is for, and writing it to its file."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from kitting.cli.options import moment, remark, write_file
from kitting.wording.language import _

if TYPE_CHECKING:
    from kitting.views.counted import FindingsView, RemovalView
    from kitting.views.kit import KitView, PickView
    from kitting.views.refit import RefitView
    from kitting.views.seal_map import SealMapView
    from kitting.views.strip import StripView
    from kitting.views.tightening import TightenView
    from kitting.views.tools import ToolCheckView

    _View = TypeVar(
        "_View",
        KitView,
        PickView,
        SealMapView,
        FindingsView,
        RemovalView,
        RefitView,
        StripView,
        TightenView,
        ToolCheckView,
    )

Paper = Annotated[str, typer.Option("--paper", help="A4 or Letter.")]
Public = Annotated[
    bool, typer.Option("--public", help="Seen by anyone: only the end of the registration.")
]


def shown(view: _View, public: bool) -> _View:
    """A view as it is printed: what anyone may see has only the end of the registration."""
    return replace(view, vehicle=view.vehicle_shortened) if public else view


def shown_on_labels(view: KitView, public: bool) -> KitView:
    """The same for labels, on which the plate has a line of its own."""
    return replace(shown(view, public), plate=view.plate_shortened) if public else view


@contextmanager
def printing(now: str | None = None) -> Iterator[BytesIO]:
    """Where to draw a sheet, which says on every page when it was printed."""
    from kitting.reports.stamp import printed_at

    with printed_at(moment(now)):
        yield BytesIO()


def keep(path: Path, target: BytesIO) -> None:
    """Write a sheet whole, and say where."""
    write_file(path, target.getvalue())
    remark(_("wrote {path}", path=path))
