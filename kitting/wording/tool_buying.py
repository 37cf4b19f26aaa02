"""What closes the gaps of toolboxes, in words: offers, what they close, what is left open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from kitting.facts.names import natural_key
from kitting.views.tools import (
    BoughtView,
    BuyView,
    GapView,
    LeftOutView,
    OpeningView,
    ToolCheckView,
)
from kitting.wording.figures import money
from kitting.wording.language import _
from kitting.wording.reasons import say
from kitting.wording.tools import gap_text, spec_text


def closing_text(gap: GapView) -> str:
    """What a purchase does about a gap: "would prove 20 N·m on hexagon 10 mm" of one in doubt."""
    return _("would prove {gap}", gap=gap_text(gap)) if gap.unproven else gap_text(gap)


def aim_text(gaps: Iterable[GapView]) -> str:
    """What a purchase is for: gaps, what cannot be proven, or both."""
    doubtful = {gap.unproven for gap in gaps}
    if doubtful == {False, True}:
        return _("close the gaps and prove what cannot be proven")
    return _("prove what cannot be proven") if True in doubtful else _("close the gaps")


def brings_texts(bought: BoughtView) -> list[str]:
    """What an offer brings, by name."""
    return sorted((spec_text(spec) for spec in bought.brings), key=natural_key)


def left_out_text(offer: LeftOutView) -> str:
    """An offer in another currency than the one asked for."""
    return f"{offer.offer}: {offer.name}, {offer.supplier}, {money(offer.price)}"


def opening_text(view: OpeningView) -> str:
    """What is missing: an offer (to buy, hire or borrow), or a gap that no offer closes."""
    if view.offer is not None:
        return f"{view.offer.code}: {view.offer.name} ({view.offer.way})"
    if view.gap is None:
        return ""
    return gap_text(view.gap) + (_(": cannot be proven") if view.gap.unproven else "")


def cover_texts(view: ToolCheckView) -> tuple[str, ...]:
    """The cheapest purchase that closes the gaps, line by line; or why none is named."""
    if view.no_cover is not None:
        return (say(view.no_cover),)
    return () if view.cover is None else tuple(_cover(view.cover))


def _cover(cover: BuyView) -> Iterator[str]:
    for bought in cover.bought:
        proves = [gap_text(gap) for gap in bought.closes if gap.unproven]
        would = _("; would prove {listed}", listed=", ".join(proves)) if proves else ""
        yield f"{money(bought.price)} {bought.way} {bought.offer}: {bought.name}{would}"
    if cover.total is not None:
        yield _("{total} in all, proven the cheapest", total=money(cover.total))
    for gap in cover.not_closed:
        yield _("not on offer: {gap}", gap=gap_text(gap))
    for offer in cover.left_out:
        yield _("not compared, in another currency: {left_out}", left_out=left_out_text(offer))
