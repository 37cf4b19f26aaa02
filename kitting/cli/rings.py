"""Commands about rings: find, gland, set."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import NO, Database, Json, console, open_database, print_json

app = typer.Typer(
    help="Rings: sizes, glands, how far one has set.", no_args_is_help=True, rich_markup_mode=None
)
Length = Annotated[str, typer.Option(metavar="LENGTH", help="Such as '17.0 mm'.")]


def _mm(text: str) -> float:
    from kitting.facts.units import parse_length

    return parse_length(text) / 1000


@app.command()
def find(
    inside: Length,
    section: Length,
    used: Annotated[
        bool, typer.Option("--used", help="It was fitted: stretched, swollen.")
    ] = False,
    elastomer: Annotated[str | None, typer.Option("--elastomer", help="By ISO 1629.")] = None,
    hardness: Annotated[int | None, typer.Option("--hardness", help="IRHD or Shore A.")] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Find what a measured ring may be: standard sizes, and items of that size with their stock.

    Colour is no standard and never searched by. A used ring is stretched or swollen: measure groove
    and bore to decide. Exit code 3 when no item of the catalogue has the size.

    Example: kitting rings find --inside "17.0 mm" --section "2.5 mm" --elastomer FKM
    """
    from kitting.calc.rings import match_sizes
    from kitting.cli.show_rings import show_rings
    from kitting.facts.rings import standard_sizes
    from kitting.services.ring_items import ring_items
    from kitting.store import reading
    from kitting.views import RingMatchView, RingsView

    measured = (_mm(inside), _mm(section))
    matches = match_sizes(standard_sizes(), *measured, used)
    with reading(open_database(database)) as session:
        items = ring_items(
            session, round(measured[0] * 1000), round(measured[1] * 1000), elastomer, hardness
        )
    view = RingsView(
        *measured,
        used,
        tuple(RingMatchView(str(m.size), m.distance, m.why, m.size.note) for m in matches),
        items,
    )
    if as_json:
        print_json(view)
    else:
        show_rings(console(), view)
    if not items:
        raise typer.Exit(NO)


@app.command()
def gland(
    section: Length,
    shallowest: Length,
    deepest: Length,
    tolerance: Length = "0.08 mm",
    width: Annotated[str | None, typer.Option(help="Of the groove, for the fill.")] = None,
    inside: Annotated[str | None, typer.Option(help="Of the ring, for the stretch.")] = None,
    groove: Annotated[str | None, typer.Option(help="Diameter that it sits on.")] = None,
) -> None:
    """Tell squeeze, fill and stretch of a ring in a gland, in the worst cases of its tolerances.

    Example: kitting rings gland --section "3.53 mm" --tolerance "0.10 mm" --shallowest "2.79 mm" --deepest "2.95 mm"
    """  # noqa: E501  (the example can be copied in one line)
    from kitting.calc.rings import fill, squeeze, stretch

    body = (_mm(section), _mm(tolerance))
    depths = (_mm(shallowest), _mm(deepest))
    band = squeeze(*body, *depths)
    print(f"squeeze {band.least:.1f} to {band.most:.1f} %")
    if width is not None:
        filled = fill(*body, *depths, _mm(width))
        print(f"fill {filled.least:.0f} to {filled.most:.0f} %")
    if inside is not None and groove is not None:
        pulled = stretch(_mm(inside), _mm(tolerance), _mm(groove))
        print(f"stretch {pulled.least:.1f} to {pulled.most:.1f} %")


@app.command("set")
def set_command(new: Length, used: Length, depth: Length) -> None:
    """Tell the compression set of a used ring from its section new, used, and the gland depth.

    A limit of a material test is no limit for going back on: a static ring is renewed.

    Example: kitting rings set --new "2.50 mm" --used "2.24 mm" --depth "1.95 mm"
    """
    from kitting.calc.rings import compression_set

    print(f"compression set {compression_set(_mm(new), _mm(used), _mm(depth)):.0f} %")
