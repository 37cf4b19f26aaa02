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
from kitting.wording.language import _, current

if TYPE_CHECKING:
    from kitting.reports.stationery import LabelStock
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

Paper = Annotated[
    str | None,
    typer.Option("--paper", help="A4 or Letter (what is usual in the country of the language)."),
]
Booked = Annotated[
    str | None, typer.Option("--booking", help="Of a booking: with lots, promises, shortages.")
]
# As the first word of a sheet that only bookings have; the option says the same.
BookedFirst = Annotated[
    str | None,
    typer.Argument(
        help="The number of the booking, or its last digits: B0012, 12.", metavar="BOOKING"
    ),
]
Public = Annotated[
    bool, typer.Option("--public", help="Seen by anyone: only the end of the registration.")
]


# The stock of labels where none is asked for, by the paper that is usual: both of two columns.
_USUAL_STOCK = {"A4": "99x67-8", "Letter": "102x85-6"}


def the_booking(first: str | None, named: str | None) -> str:
    """The booking that a sheet is of, as its first word or by --booking. Raises a usage error."""
    if (first is None) == (named is None):
        raise typer.BadParameter("name one booking", param_hint="BOOKING or --booking")
    return first or named or ""


def paper_for(asked: str | None) -> str:
    """The paper asked for, else the one that is usual where the language is spoken."""
    return asked or current().paper


def stock_for(asked: str | None) -> LabelStock:
    """The label stock asked for, else one on the usual paper; raises KittingError if unknown."""
    from kitting.reports.stationery import find_stock

    return find_stock(asked or _USUAL_STOCK[current().paper])


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
