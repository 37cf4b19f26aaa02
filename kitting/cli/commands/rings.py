"""Commands about rings: find, gland, set."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands import ring_age, ring_media
from kitting.cli.options import NO, Database, Json, console, open_database, print_json

if TYPE_CHECKING:
    from kitting.calc.rubber.glands import Gland
    from kitting.calc.rubber.ring_sizes import Measured
    from kitting.facts.ring_standards import Ring

app = typer.Typer(
    help="Find the size of a ring, judge its gland, its age and the media that it meets.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
app.command("suits")(ring_media.suits)
app.command("age")(ring_age.age)


def register(root: typer.Typer) -> None:
    """Add the group."""
    root.add_typer(app, name="rings")


Length = Annotated[str, typer.Option(metavar="LENGTH", help="Such as '17.0 mm'.")]
Perhaps = Annotated[str | None, typer.Option(metavar="LENGTH", help="Such as '17.0 mm'.")]
Groove = Annotated[
    str | None,
    typer.Option(metavar="LENGTH", help="Diameter that the ring sits on: piston groove or rod."),
]
Width = Annotated[
    str | None, typer.Option(metavar="LENGTH", help="Width of the groove, for the fill.")
]


def _mm(text: str) -> float:
    from kitting.facts.units import parse_length

    return parse_length(text) / 1000


def _maybe(text: str | None) -> float | None:
    return None if text is None else _mm(text)


def _wrong(reason: str) -> typer.BadParameter:
    return typer.BadParameter(reason)


@app.command()
def find(
    inside: Perhaps = None,
    section: Perhaps = None,
    used: Annotated[
        bool, typer.Option("--used", help="It was fitted: stretched, swollen.")
    ] = False,
    error: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="How far off the ring is taken (0.1 mm).")
    ] = None,
    groove: Groove = None,
    bore: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Diameter that it seals against.")
    ] = None,
    width: Width = None,
    moving: Annotated[bool, typer.Option("--moving", help="The piston or rod moves.")] = False,
    item: Annotated[str | None, typer.Option("--item", help="The same ring as this item.")] = None,
    elastomer: Annotated[str | None, typer.Option("--elastomer", help="By ISO 1629.")] = None,
    hardness: Annotated[int | None, typer.Option("--hardness", help="IRHD or Shore A.")] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Find which ring it is: from the ring as measured, from groove and bore, or from an item.

    Groove and bore decide; a used ring is stretched or swollen. Both can be given together. --item
    finds the same ring, by size, elastomer and hardness, in every branch. Colour is no standard and
    never searched by. Exit code 3 when no item of the catalogue does (with --item: none is free).

    Example: kitting rings find --groove "17.2 mm" --bore "21.3 mm" --width "3.4 mm"
    """
    from kitting.cli.render.rings import show_rings
    from kitting.services.rubber.catalogue_rings import RingQuery
    from kitting.services.rubber.find import find_for_gland, find_measured, find_same
    from kitting.store import reading

    if item is not None:
        _alone(inside, section, error, groove, bore, width, elastomer, hardness, used, moving)
    measured = _measured(inside, section, used, error)
    gland = _gland(groove, bore, width, moving)
    if item is None and measured is None and gland is None:
        raise _wrong("give --inside and --section, or --groove and --bore, or --item")
    asked = RingQuery(elastomer=elastomer, hardness=hardness)
    with reading(open_database(database)) as session:
        if item is not None:
            view = find_same(session, item)
        elif gland is not None:
            use = "reciprocating" if moving else "static"
            view = find_for_gland(session, gland, use, measured, asked)
        elif measured is not None:
            view = find_measured(session, measured, asked)
    if as_json:
        print_json(view)
    else:
        show_rings(console(), view)
    if not view.items or (item is not None and not any(one.stock for one in view.items)):
        raise typer.Exit(NO)


def _alone(*others: object) -> None:
    """Raise a usage error where --item comes with what the item itself says."""
    if any(others):
        raise _wrong(
            "--item takes size, elastomer and hardness from the item; give nothing else with it"
        )


def _measured(
    inside: str | None, section: str | None, used: bool, error: str | None
) -> Measured | None:
    """The ring as measured; raises a usage error for half a ring."""
    from kitting.calc.rubber.ring_sizes import CALLIPER, Measured

    if inside is None and section is None:
        if used or error is not None:
            raise _wrong("--used and --error belong to a measured ring: give --inside, --section")
        return None
    if inside is None or section is None:
        raise _wrong("give --inside and --section together: half a size finds the wrong ring")
    off = _maybe(error)
    return Measured(_mm(inside), _mm(section), used, CALLIPER if off is None else off)


def _gland(groove: str | None, bore: str | None, width: str | None, moving: bool) -> Gland | None:
    """The gland as measured; raises a usage error for half a gland."""
    from kitting.calc.rubber.glands import Gland

    if groove is None and bore is None:
        if width is not None or moving:
            raise _wrong("--width and --moving belong to a gland: give --groove and --bore")
        return None
    if groove is None or bore is None:
        raise _wrong("give --groove and --bore together: the depth is half their difference")
    return Gland(_mm(groove), _mm(bore), _maybe(width))


@app.command()
def gland(
    shallowest: Length,
    deepest: Length,
    section: Perhaps = None,
    tolerance: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the section, ± (as AS568 has it).")
    ] = None,
    size: Annotated[
        str | None,
        typer.Option("--size", metavar="DASH", help="AS568 number instead of lengths: 214."),
    ] = None,
    width: Width = None,
    inside: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the ring, for the stretch.")
    ] = None,
    inside_tolerance: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the inside, ± (as AS568 has it).")
    ] = None,
    groove: Groove = None,
    swell: Annotated[
        float, typer.Option("--swell", help="Percent by volume that the rubber may swell.")
    ] = 0.0,
    use: Annotated[str, typer.Option("--for", help="static, reciprocating or rotary.")] = "static",
    as_json: Json = False,
) -> None:
    """Show squeeze, fill and stretch of a ring in a gland, in the worst cases of its tolerances.

    Each is held against guidance, whose source is named; the maker's gland drawing decides. Exit
    code 3 when a worst case leaves the guidance.

    Example: kitting rings gland --size 214 --shallowest "2.79 mm" --deepest "2.95 mm" --width "4.6 mm"
    """  # noqa: E501  (the example can be copied in one line)
    from kitting.cli.render.rings import show_gland
    from kitting.facts.ring_standards import USES
    from kitting.services.rubber.gland import GlandRequest, judge_gland

    if use not in USES:
        raise _wrong(f"--for {use}: use one of {', '.join(USES)}")
    if size is not None and any((section, tolerance, inside, inside_tolerance)):
        raise _wrong("--size takes section, inside and tolerances from AS568; give no other")
    if size is None and section is None:
        raise _wrong("give --section, or --size for a standard size")
    if size is None and (inside is None) != (groove is None):
        raise _wrong("the stretch needs both --inside and --groove")
    if inside_tolerance is not None and inside is None:
        raise _wrong("--inside-tolerance belongs to --inside")
    if swell and width is None:
        raise _wrong("--swell raises the fill: give --width")
    view = judge_gland(
        GlandRequest(
            ring=_ring(size, section, tolerance, inside, inside_tolerance),
            shallowest=_mm(shallowest),
            deepest=_mm(deepest),
            width=_maybe(width),
            groove=_maybe(groove),
            swell=swell,
            use=use,
            inside_known=size is not None or inside is not None,
        )
    )
    if as_json:
        print_json(view)
    else:
        show_gland(console(), view)
    if not view.within:
        raise typer.Exit(NO)


def _ring(
    size: str | None,
    section: str | None,
    tolerance: str | None,
    inside: str | None,
    inside_tolerance: str | None,
) -> Ring:
    """The ring asked about; without an inside, one that only its section is used of."""
    from kitting.facts.ring_standards import Ring, borrowed, require_size

    if size is not None:
        return require_size(size).ring
    body = _mm(section or "")
    diameter = body if inside is None else _mm(inside)
    standard = borrowed("", diameter, body)
    own = standard.section_tolerance if tolerance is None else _mm(tolerance)
    if inside is None:
        return Ring("", diameter, 0.0, body, own)
    off = standard.inside_tolerance if inside_tolerance is None else _mm(inside_tolerance)
    return Ring("", diameter, off, body, own)


@app.command("set")
def set_command(new: Length, used: Length, depth: Length, as_json: Json = False) -> None:
    """Show the compression set of a used ring from its section new, used, and the gland depth.

    A limit of a material test is no limit for going back on: a static ring is renewed.

    Example: kitting rings set --new "2.50 mm" --used "2.24 mm" --depth "1.95 mm"
    """
    from kitting.calc.rubber.ring_sizes import compression_set
    from kitting.views.rubber import RingSetView

    lengths = (_mm(new), _mm(used), _mm(depth))
    view = RingSetView(*lengths, compression_set(*lengths))
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.rings import show_set

        show_set(view)
