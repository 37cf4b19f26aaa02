"""Ring items: rings of the catalogue by size, gland, elastomer and hardness, never by colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.calc.rubber.glands import Gland
from kitting.calc.rubber.ring_sizes import (
    Decider,
    Measured,
    Placed,
    decider,
    gland_decider,
    match_sizes,
    place,
)
from kitting.errors import FigureError
from kitting.facts.elastomers import require_elastomer
from kitting.facts.names import natural_key
from kitting.facts.ring_standards import (
    SAME_INSIDE,
    SAME_SECTION,
    Ring,
    borrowed,
    guidance,
    standard_sizes,
)
from kitting.facts.units import format_quantity
from kitting.services.stock.lots import find_items
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch
from kitting.views.rubber import RingDeciderView, RingItemView, RingMatchView, RingsView

MOST_SIZES, MOST_MISSES = 5, 3  # how many are worth reading


def find_measured(
    session: Session,
    measured: Measured,
    elastomer: str | None = None,
    hardness: int | None = None,
) -> RingsView:
    """What a measured ring may be: standard sizes and the catalogue's own, and items of its size.

    Raises FigureError for an unknown elastomer.
    """
    rings, notes = _known_rings(_items(session))
    matches = match_sizes(
        rings.values(), measured.inside, measured.section, measured.used, measured.error, MOST_SIZES
    )
    return RingsView(
        item=None,
        inside=measured.inside,
        section=measured.section,
        fitted_before=measured.used,
        groove=None,
        bore=None,
        width=None,
        depth=None,
        purpose=None,
        sizes=tuple(
            RingMatchView(one.size.name, one.distance, one.why, notes[one.size.name])
            for one in matches
        ),
        near_misses=(),
        decider=_decider_view(decider(matches, measured)),
        items=ring_items(
            session,
            round(measured.inside * 1000),
            round(measured.section * 1000),
            elastomer,
            hardness,
        ),
        not_the_same=(),
    )


def find_for_gland(
    session: Session,
    gland: Gland,
    use: str = "static",
    measured: Measured | None = None,
    elastomer: str | None = None,
    hardness: int | None = None,
) -> RingsView:
    """What suits a gland, sizes and items; groove and bore go before what was measured.

    Raises FigureError for an unknown use or elastomer.
    """
    rows = guidance(use)
    known, notes = _known_rings(_items(session))
    placed = place(known.values(), gland, rows, measured)
    items = _items(session, elastomer, hardness)
    rings = {item.code: _ring(item) for item in items}
    placed_items = [one for one in place(rings.values(), gland, rows, measured) if one.suit.fits]
    by_code = {item.code: item for item in items}
    suiting = [by_code[one.suit.ring.name] for one in placed_items]
    why = {one.suit.ring.name: _item_words(one) for one in placed_items}
    used = measured is not None and measured.used
    return RingsView(
        item=None,
        inside=None if measured is None else measured.inside,
        section=None if measured is None else measured.section,
        fitted_before=used,
        groove=gland.groove,
        bore=gland.bore,
        width=gland.width,
        depth=gland.depth,
        purpose=use,
        sizes=_match_views([p for p in placed if p.suit.fits][:MOST_SIZES], notes),
        near_misses=_match_views([p for p in placed if not p.suit.fits][:MOST_MISSES], notes),
        decider=_decider_view(gland_decider(placed, used)),
        items=_item_views(session, suiting, why),
        not_the_same=(),
    )


def find_same(session: Session, code: str) -> RingsView:
    """The same ring as an item: of its nominal size, elastomer and hardness, with what is free.

    Items of its size whose elastomer or hardness is another, or is not stated, are told apart;
    colour says nothing. Raises UnknownNameError for an unknown item, FigureError for one without a
    ring's size.
    """
    asked = find_items(session, [code])[code]
    if asked.ring_inside is None or asked.ring_section is None:
        raise FigureError(
            f"{code} has no inside diameter and section in the catalogue: it cannot be compared as"
            " a ring. Load its ring_inside and ring_section"
        )
    sized = _items(session, inside=asked.ring_inside, section=asked.ring_section)
    why = {item.code: _other_words(asked, item) for item in sized}
    return RingsView(
        item=asked.code,
        inside=asked.ring_inside / 1000,
        section=asked.ring_section / 1000,
        fitted_before=False,
        groove=None,
        bore=None,
        width=None,
        depth=None,
        purpose=None,
        sizes=(),
        near_misses=(),
        decider=None,
        items=_item_views(session, [item for item in sized if why[item.code] is None]),
        not_the_same=_item_views(session, [i for i in sized if why[i.code] is not None], why),
    )


def ring_items(
    session: Session,
    inside: int,
    section: int,
    elastomer: str | None = None,
    hardness: int | None = None,
) -> tuple[RingItemView, ...]:
    """Items of a nominal size (thousandths of a mm), with what is free of each per branch.

    Raises FigureError for an unknown elastomer.
    """
    return _item_views(session, _items(session, elastomer, hardness, inside, section))


def _items(
    session: Session,
    elastomer: str | None = None,
    hardness: int | None = None,
    inside: int | None = None,
    section: int | None = None,
) -> list[Item]:
    """Items that have a ring's size, in order of their codes; narrowed as asked."""
    wanted = select(Item).where(Item.ring_inside.is_not(None))
    if inside is not None:
        wanted = wanted.where(Item.ring_inside.between(inside - SAME_INSIDE, inside + SAME_INSIDE))
    if section is not None:
        wanted = wanted.where(
            Item.ring_section.between(section - SAME_SECTION, section + SAME_SECTION)
        )
    if elastomer is not None:
        wanted = wanted.where(Item.elastomer == require_elastomer(elastomer))
    if hardness is not None:
        wanted = wanted.where(Item.hardness == hardness)
    return sorted(session.scalars(wanted), key=lambda item: natural_key(item.code))


def _item_views(
    session: Session, items: Sequence[Item], why: Mapping[str, str | None] | None = None
) -> tuple[RingItemView, ...]:
    """Items as given, each with what is free per branch: not held, not promised."""
    free: dict[int, list[str]] = {}
    for item_id, branch, amount in session.execute(
        select(Lot.item_id, Branch.code, func.sum(Lot.on_hand - Lot.promised))
        .join(Branch, Lot.branch_id == Branch.id)
        .where(
            Lot.item_id.in_([item.id for item in items]),
            Lot.held.is_(None),
            Lot.on_hand > Lot.promised,
        )
        .group_by(Lot.item_id, Branch.code)
        .order_by(Branch.code)
    ):
        free.setdefault(item_id, []).append(f"{format_quantity(int(amount), 'each')} in {branch}")
    return tuple(
        RingItemView(
            item.code,
            item.name,
            (item.ring_inside or 0) / 1000,
            (item.ring_section or 0) / 1000,
            item.elastomer,
            item.hardness,
            item.colour,
            tuple(free.get(item.id, ())),
            (why or {}).get(item.code),
        )
        for item in items
    )


def _known_rings(items: Sequence[Item]) -> tuple[dict[str, Ring], dict[str, str | None]]:
    """Standard sizes and the catalogue's own sizes beside them, by name, each with its note."""
    rings = {str(size): size.ring for size in standard_sizes()}
    notes = {str(size): size.note for size in standard_sizes()}
    standard = {(round(ring.inside * 1000), round(ring.section * 1000)) for ring in rings.values()}
    sizes = sorted({(item.ring_inside or 0, item.ring_section or 0) for item in items})
    for inside, section in sizes:
        if (inside, section) not in standard:
            name = f"{inside / 1000:g} × {section / 1000:g} mm of the catalogue"
            rings[name] = ring = borrowed(name, inside / 1000, section / 1000)
            notes[name] = (
                f"tolerances ±{ring.inside_tolerance:.2f} and ±{ring.section_tolerance:.2f} mm"
                " borrowed from AS568"
            )
    return rings, notes


def _ring(item: Item) -> Ring:
    """An item as a ring; its tolerances are borrowed, the catalogue has none."""
    return borrowed(item.code, (item.ring_inside or 0) / 1000, (item.ring_section or 0) / 1000)


def _item_words(placed: Placed) -> str:
    ring = placed.suit.ring
    return (
        f"{placed.why}; tolerances ±{ring.inside_tolerance:.2f} and ±{ring.section_tolerance:.2f}"
        " mm borrowed from AS568"
    )


def _other_words(asked: Item, other: Item) -> str | None:
    """Why an item of the same size is not the same ring; None if it is."""
    if asked.code == other.code:
        return None
    pairs = ((asked.elastomer, other.elastomer), (asked.hardness, other.hardness))
    if any(one and two and one != two for one, two in pairs):
        return f"same size, NOT the same ring: {_material(other)} instead of {_material(asked)}"
    unstated = [
        f"{item.code} states no {what}"
        for item in (asked, other)
        for what, value in (("elastomer", item.elastomer), ("hardness", item.hardness))
        if value is None
    ]
    if unstated:
        return f"same size, NOT KNOWN to be the same ring: {', '.join(unstated)}"
    return None


def _material(item: Item) -> str:
    hard = "hardness not stated" if item.hardness is None else str(item.hardness)
    return f"{item.elastomer or 'rubber not stated,'} {hard}"


def _match_views(
    placed: Sequence[Placed], notes: Mapping[str, str | None]
) -> tuple[RingMatchView, ...]:
    return tuple(
        RingMatchView(
            one.suit.ring.name, one.suit.distance, one.why, notes[one.suit.ring.name]
        )
        for one in placed
    )  # fmt: skip


def _decider_view(found: Decider) -> RingDeciderView:
    return RingDeciderView(
        found.what, found.first, found.second, found.within, found.settled, found.words
    )
