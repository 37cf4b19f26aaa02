"""Ring items: rings of the catalogue by size, gland, elastomer and hardness, never by colour."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy.orm import Session

from kitting.calc.rubber.glands import Gland
from kitting.calc.rubber.ring_sizes import Measured, decider, gland_decider, match_sizes, place
from kitting.errors import FigureError
from kitting.facts.ring_standards import guidance
from kitting.services.rubber.catalogue_rings import RingQuery, item_views, ring_rows
from kitting.services.rubber.ring_views import (
    decider_view,
    differs,
    known_rings,
    measured_item,
    of_match,
    of_placed,
    placed_item,
)
from kitting.services.stock.lots import find_items
from kitting.views.rubber import RingsView

MOST_SIZES, MOST_MISSES = 5, 3  # how many are worth reading


_ANY = RingQuery()


def find_measured(session: Session, measured: Measured, asked: RingQuery = _ANY) -> RingsView:
    """What a measured ring may be: standard sizes and the catalogue's own, and items within reach.

    `asked` may narrow the items by elastomer and hardness.
    """
    known = known_rings(ring_rows(session, _ANY))
    matches = match_sizes([one.ring for one in known.values()], measured, MOST_SIZES)
    rows = {row.code: row for row in ring_rows(session, asked)}
    found = match_sizes([row.ring for row in rows.values()], measured, len(rows))
    within = {one.size.name: one for one in found if one.within}
    return RingsView(
        item=None,
        inside=measured.inside,
        section=measured.section,
        error=measured.error,
        fitted_before=measured.used,
        groove=None,
        bore=None,
        width=None,
        depth=None,
        purpose=None,
        sizes=tuple(of_match(one, known[one.size.name]) for one in matches),
        near_misses=(),
        decider=decider_view(decider(matches, measured)),
        items=tuple(
            measured_item(view, within[view.item])
            for view in item_views(session, [rows[code] for code in within])
        ),
        not_the_same=(),
    )


def find_for_gland(
    session: Session,
    gland: Gland,
    use: str = "static",
    measured: Measured | None = None,
    asked: RingQuery = _ANY,
) -> RingsView:
    """What suits a gland, sizes and items; groove and bore go before what was measured.

    `asked` may narrow the items by elastomer and hardness. Raises FigureError for an unknown use.
    """
    guide = guidance(use)
    known = known_rings(ring_rows(session, _ANY))
    placed = place([one.ring for one in known.values()], gland, guide, measured)
    rows = {row.code: row for row in ring_rows(session, asked)}
    suiting = {
        one.suit.ring.name: one
        for one in place([row.ring for row in rows.values()], gland, guide, measured)
        if one.suit.fits
    }
    views = item_views(session, [rows[code] for code in suiting])
    used = measured is not None and measured.used
    return RingsView(
        item=None,
        inside=None if measured is None else measured.inside,
        section=None if measured is None else measured.section,
        error=None if measured is None else measured.error,
        fitted_before=used,
        groove=gland.groove,
        bore=gland.bore,
        width=gland.width,
        depth=gland.depth,
        purpose=use,
        sizes=of_placed([p for p in placed if p.suit.fits][:MOST_SIZES], known),
        near_misses=of_placed([p for p in placed if not p.suit.fits][:MOST_MISSES], known),
        decider=decider_view(gland_decider(placed, used)),
        items=tuple(placed_item(view, suiting[view.item]) for view in views),
        not_the_same=(),
    )


def find_same(session: Session, code: str) -> RingsView:
    """The same ring as an item: of its nominal size, elastomer and hardness, with what is free.

    Items of its size whose elastomer or hardness is another, or is not stated, are listed
    separately; colour says nothing. Raises UnknownNameError for an unknown item, FigureError for
    one without a ring's size.
    """
    found = find_items(session, [code])[code]
    if found.ring_inside is None or found.ring_section is None:
        raise FigureError(
            "{code} has no inside diameter and section in the catalogue: it cannot be compared as"
            " a ring. Load its ring_inside and ring_section",
            code=code,
        )
    sized = ring_rows(session, RingQuery(found.ring_inside, found.ring_section))
    asked = next(row for row in sized if row.code == found.code)
    different = {row.code: differs(asked, row) for row in sized}
    views = item_views(session, sized)
    return RingsView(
        item=asked.code,
        inside=asked.inside / 1000,
        section=asked.section / 1000,
        error=None,
        fitted_before=False,
        groove=None,
        bore=None,
        width=None,
        depth=None,
        purpose=None,
        sizes=(),
        near_misses=(),
        decider=None,
        items=tuple(view for view in views if different[view.item] is None),
        not_the_same=tuple(
            replace(view, differs=different[view.item])
            for view in views
            if different[view.item] is not None
        ),
    )
