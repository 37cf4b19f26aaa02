"""Ring items: rings of the catalogue by size, gland, elastomer and hardness, never by colour."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from kitting.calc.rubber.glands import Gland, Suit
from kitting.calc.rubber.ring_sizes import (
    Decider,
    Match,
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
from kitting.facts.reasons import Reason, because
from kitting.facts.ring_reasons import OtherRing
from kitting.facts.ring_standards import (
    SAME_INSIDE,
    SAME_SECTION,
    Ring,
    borrowed,
    guidance,
    standard_sizes,
)
from kitting.services.rubber.gland import share_view
from kitting.services.stock.lots import find_items
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch
from kitting.views.rubber import (
    FreeView,
    InGlandView,
    OffView,
    RingDeciderView,
    RingItemView,
    RingMatchView,
    RingsView,
    TolerancesView,
)

MOST_SIZES, MOST_MISSES = 5, 3  # how many are worth reading


@dataclass(frozen=True, slots=True)
class RingQuery:
    """Which rings of the catalogue are asked for; lengths in thousandths of a mm, all may be open.

    Raises FigureError for an unknown elastomer.
    """

    inside: int | None = None
    section: int | None = None
    elastomer: str | None = None
    hardness: int | None = None

    def __post_init__(self) -> None:
        """Raise FigureError for an unknown elastomer."""
        if self.elastomer is not None:
            object.__setattr__(self, "elastomer", require_elastomer(self.elastomer))


@dataclass(frozen=True, slots=True)
class RingRow:
    """A ring of the catalogue as it is kept: lengths in thousandths of a mm."""

    id: int
    code: str
    name: str
    inside: int
    section: int
    elastomer: str | None
    hardness: int | None
    colour: str | None

    @property
    def ring(self) -> Ring:
        """The item as a ring; its tolerances are borrowed, the catalogue has none."""
        return borrowed(self.code, self.inside / 1000, self.section / 1000)


_ANY = RingQuery()


def find_measured(session: Session, measured: Measured, asked: RingQuery = _ANY) -> RingsView:
    """What a measured ring may be: standard sizes and the catalogue's own, and items of its size.

    `asked` may narrow the items by elastomer and hardness.
    """
    known = _known_rings(_rows(session, _ANY))
    matches = match_sizes([one.ring for one in known.values()], measured, MOST_SIZES)
    of_its_size = replace(
        asked, inside=round(measured.inside * 1000), section=round(measured.section * 1000)
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
        sizes=tuple(_of_match(one, known[one.size.name]) for one in matches),
        near_misses=(),
        decider=_decider_view(decider(matches, measured)),
        items=ring_items(session, of_its_size),
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
    known = _known_rings(_rows(session, _ANY))
    placed = place([one.ring for one in known.values()], gland, guide, measured)
    rows = {row.code: row for row in _rows(session, asked)}
    suiting = {
        one.suit.ring.name: one
        for one in place([row.ring for row in rows.values()], gland, guide, measured)
        if one.suit.fits
    }
    views = _item_views(session, [rows[code] for code in suiting])
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
        sizes=_of_placed([p for p in placed if p.suit.fits][:MOST_SIZES], known),
        near_misses=_of_placed([p for p in placed if not p.suit.fits][:MOST_MISSES], known),
        decider=_decider_view(gland_decider(placed, used)),
        items=tuple(_placed_item(view, suiting[view.item]) for view in views),
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
            f"{code} has no inside diameter and section in the catalogue: it cannot be compared as"
            " a ring. Load its ring_inside and ring_section"
        )
    sized = _rows(session, RingQuery(found.ring_inside, found.ring_section))
    asked = next(row for row in sized if row.code == found.code)
    differs = {row.code: _differs(asked, row) for row in sized}
    views = _item_views(session, sized)
    return RingsView(
        item=asked.code,
        inside=asked.inside / 1000,
        section=asked.section / 1000,
        fitted_before=False,
        groove=None,
        bore=None,
        width=None,
        depth=None,
        purpose=None,
        sizes=(),
        near_misses=(),
        decider=None,
        items=tuple(view for view in views if differs[view.item] is None),
        not_the_same=tuple(
            replace(view, differs=differs[view.item])
            for view in views
            if differs[view.item] is not None
        ),
    )


def ring_items(session: Session, asked: RingQuery) -> tuple[RingItemView, ...]:
    """Items of a nominal size, in order of their codes, with what is free of each per branch."""
    return _item_views(session, _rows(session, asked))


def _rows(session: Session, asked: RingQuery) -> list[RingRow]:
    """Items that have a ring's size, in order of their codes; narrowed as asked."""
    found = session.execute(
        select(
            Item.id, Item.code, Item.name, Item.ring_inside.label("inside"),
            Item.ring_section.label("section"), Item.elastomer, Item.hardness, Item.colour,
        ).where(Item.ring_inside.is_not(None), *_narrowed(asked))
    )  # fmt: skip
    rows = [RingRow(**row._mapping) for row in found]
    return sorted(rows, key=lambda row: natural_key(row.code))


def _narrowed(asked: RingQuery) -> Iterator[ColumnElement[bool]]:
    if asked.inside is not None:
        yield Item.ring_inside.between(asked.inside - SAME_INSIDE, asked.inside + SAME_INSIDE)
    if asked.section is not None:
        yield Item.ring_section.between(asked.section - SAME_SECTION, asked.section + SAME_SECTION)
    if asked.elastomer is not None:
        yield Item.elastomer == asked.elastomer
    if asked.hardness is not None:
        yield Item.hardness == asked.hardness


def _item_views(session: Session, rows: Sequence[RingRow]) -> tuple[RingItemView, ...]:
    """Items as given, each with what is free per branch: not on hold, not promised."""
    free: dict[int, list[FreeView]] = {}
    for item_id, branch, amount in session.execute(
        select(Lot.item_id, Branch.code, func.sum(Lot.on_hand - Lot.promised))
        .join(Branch, Lot.branch_id == Branch.id)
        .where(
            Lot.item_id.in_([row.id for row in rows]),
            Lot.held.is_(None),
            Lot.on_hand > Lot.promised,
        )
        .group_by(Lot.item_id, Branch.code)
        .order_by(Branch.code)
    ):
        free.setdefault(item_id, []).append(FreeView(branch, int(amount)))
    return tuple(
        RingItemView(
            item=row.code,
            name=row.name,
            inside=row.inside / 1000,
            section=row.section / 1000,
            elastomer=row.elastomer,
            hardness=row.hardness,
            colour=row.colour,
            stock=tuple(free.get(row.id, ())),
        )
        for row in rows
    )


@dataclass(frozen=True, slots=True)
class _Known:
    """A size with the note on its sources; `own` marks one of the catalogue beside the standard."""

    ring: Ring
    note: str | None = None
    own: bool = False

    @property
    def borrowed(self) -> TolerancesView | None:
        return _tolerances(self.ring) if self.own else None


def _known_rings(rows: Sequence[RingRow]) -> dict[str, _Known]:
    """Standard sizes and the catalogue's own sizes beside them, by name."""
    known = {size.name: _Known(size.ring, size.note) for size in standard_sizes()}
    standard = {
        (round(one.ring.inside * 1000), round(one.ring.section * 1000)) for one in known.values()
    }
    for inside, section in sorted({(row.inside, row.section) for row in rows} - standard):
        name = f"{inside / 1000:g} × {section / 1000:g} mm of the catalogue"
        known[name] = _Known(borrowed(name, inside / 1000, section / 1000), own=True)
    return known


def _tolerances(ring: Ring) -> TolerancesView:
    return TolerancesView(ring.inside_tolerance, ring.section_tolerance)


def _differs(asked: RingRow, other: RingRow) -> Reason | None:
    """Why an item of the same size is not the same ring; None if it is."""
    if asked.code == other.code:
        return None
    pairs = ((asked.elastomer, other.elastomer), (asked.hardness, other.hardness))
    if any(one and two and one != two for one, two in pairs):
        return because(OtherRing.OTHER_MATERIAL, other=_material(other), asked=_material(asked))
    unstated = tuple(
        because(code, item=row.code)
        for row in (asked, other)
        for code, value in (
            (OtherRing.NO_ELASTOMER, row.elastomer),
            (OtherRing.NO_HARDNESS, row.hardness),
        )
        if value is None
    )
    return because(OtherRing.NOT_KNOWN, unstated=unstated) if unstated else None


def _material(row: RingRow) -> Reason:
    if row.elastomer is None and row.hardness is None:
        return because(OtherRing.MATERIAL_UNSTATED)
    if row.elastomer is None:
        return because(OtherRing.HARDNESS_ONLY, hardness=row.hardness)
    if row.hardness is None:
        return because(OtherRing.MATERIAL_NO_HARDNESS, elastomer=row.elastomer)
    return because(OtherRing.MATERIAL, elastomer=row.elastomer, hardness=row.hardness)


def _of_match(match: Match, known: _Known) -> RingMatchView:
    return RingMatchView(
        size=match.size.name,
        distance=match.distance,
        gland=None,
        measured=_off(match),
        borrowed=known.borrowed,
        note=known.note,
    )


def _of_placed(placed: Sequence[Placed], known: Mapping[str, _Known]) -> tuple[RingMatchView, ...]:
    return tuple(
        RingMatchView(
            size=one.suit.ring.name,
            distance=one.suit.distance,
            gland=_in_gland(one.suit),
            measured=_off(one.match),
            borrowed=known[one.suit.ring.name].borrowed,
            note=known[one.suit.ring.name].note,
        )
        for one in placed
    )


def _placed_item(view: RingItemView, placed: Placed) -> RingItemView:
    return replace(
        view,
        gland=_in_gland(placed.suit),
        measured=_off(placed.match),
        borrowed=_tolerances(placed.suit.ring),
    )


def _in_gland(suit: Suit) -> InGlandView:
    return InGlandView(
        squeeze=share_view(suit.squeeze),
        stretch=share_view(suit.stretch),
        fill=None if suit.fill is None else share_view(suit.fill),
        ruled_out=suit.ruled_out,
    )


def _off(match: Match | None) -> OffView | None:
    if match is None:
        return None
    return OffView(match.inside_off, match.section_off, match.stretched, match.within)


def _decider_view(found: Decider) -> RingDeciderView:
    return RingDeciderView(
        what=found.what,
        first=found.first,
        second=found.second,
        within=found.within,
        settled=found.settled,
        reason=found.reason,
    )
