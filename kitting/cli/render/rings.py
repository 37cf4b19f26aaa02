"""Rings on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.amounts import exact
from kitting.cli.render.days import day_text
from kitting.cli.render.tables import Column, plain_table
from kitting.facts.ring_reasons import GlandShare
from kitting.facts.ring_standards import is_opinion
from kitting.views.rubber import (
    GlandVerdictView,
    RingAgeView,
    RingGlandView,
    RingItemView,
    RingMatchView,
    RingSetView,
    RingsView,
    StorageVerdict,
)
from kitting.wording.language import N_, _, in_figures, word_text
from kitting.wording.reasons import say
from kitting.wording.rubber import (
    GLAND_CAUTION,
    RINGS_CAUTION,
    SET_CAUTION,
    STORAGE_CAUTION,
    STORING,
    STORING_SOURCE,
    borrowed_text,
    limits_text,
    ring_text,
    share_text,
)


def show_rings(console: Console, view: RingsView) -> None:
    """What was asked, standard sizes with what tells them apart, then items."""
    for text in _asked(view):
        console.print(text, style="bold")
    if view.groove is not None:
        _sizes(console, N_("suits, best first"), view.sizes)
        _sizes(console, N_("ruled out, nearest first"), view.near_misses)
    elif view.item is None:
        _sizes(console, N_("size, likeliest first"), view.sizes)
    if view.decider is not None:
        text = say(view.decider.reason)
        console.print(f"{text[0].upper()}{text[1:]}.")
    if view.groove is not None:
        console.print(_(RINGS_CAUTION))
    console.print()
    if view.items:
        _items(console, view.items)
    else:
        what = (
            _("suits this gland") if view.groove is not None else _("is within reach of this size")
        )
        console.print(_("No item of the catalogue {what} (and elastomer).", what=what))
    if view.item is not None and not any(one.stock for one in view.items):
        console.print(_("None of this ring is free in any branch."))
    if view.not_the_same:
        console.print()
        _items(console, view.not_the_same)


def _asked(view: RingsView) -> list[str]:
    asked = []
    if view.inside is not None and view.section is not None:
        size = _(
            "{inside} × {section} mm",
            inside=in_figures(f"{view.inside:g}"),
            section=in_figures(f"{view.section:g}"),
        )
        how = _("used") if view.fitted_before else _("new")
        asked.append(
            _("The same ring as {item}: {size}", item=view.item, size=size)
            if view.item
            else _(
                "{size}, measured {how}, each ±{error} mm",
                size=size,
                how=how,
                error=in_figures(f"{view.error:g}"),
            )
        )
    if view.groove is not None and view.bore is not None and view.depth is not None:
        width = (
            _("not known")
            if view.width is None
            else _("{width} mm", width=in_figures(f"{view.width:g}"))
        )
        asked.append(
            _(
                "Gland of {groove} in {bore} mm: {depth} mm deep, width {width}, {purpose}",
                groove=in_figures(f"{view.groove:g}"),
                bore=in_figures(f"{view.bore:g}"),
                depth=in_figures(f"{view.depth:.2f}"),
                width=width,
                purpose=_(view.purpose or ""),
            )
        )
    return asked


def _sizes(console: Console, heading: str, sizes: Sequence[RingMatchView]) -> None:
    if not sizes:
        console.print(_("{heading}: none", heading=_(heading)))
        return
    notes = [_note(one) for one in sizes]
    table = plain_table(
        Column(lambda: _(heading)), headings.WHY, *([headings.NOTE] if any(notes) else [])
    )
    for one, note in zip(sizes, notes, strict=True):
        why = ring_text(one.gland, one.measured)
        table.add_row(one.size, why, *([note] if any(notes) else []))
    console.print(table)


def _note(size: RingMatchView) -> str:
    return borrowed_text(size.borrowed) if size.borrowed else size.note or ""


def _items(console: Console, items: Sequence[RingItemView]) -> None:
    table = plain_table(
        headings.ITEM, headings.SIZE, headings.ELASTOMER, headings.COLOUR_AS_SUPPLIED, headings.FREE
    )
    for item in items:
        hard = f" {item.hardness}" if item.hardness else _(", hardness not stated")
        table.add_row(
            item.item,
            f"{item.inside:g} × {item.section:g}",
            f"{item.elastomer or _('not stated')}{hard}",
            item.colour,
            ", ".join(_free(item)) or _("none"),
        )
    console.print(table)
    for item in items:
        why = (
            ring_text(item.gland, item.measured, item.borrowed)
            if item.differs is None
            else say(item.differs)
        )
        if why:
            console.print(f"{item.item}: {why}")


def _free(item: RingItemView) -> list[str]:
    return [
        _("{quantity} in {branch}", quantity=exact(one.quantity, "each"), branch=one.branch)
        for one in item.stock
    ]


def show_gland(console: Console, view: RingGlandView) -> None:
    """The shares in their worst cases, each verdict with its source, and who decides."""
    for name, share, without, digits in (
        (GlandShare.SQUEEZE, view.squeeze, "", 1),
        (GlandShare.FILL, view.fill, N_("no width given"), 0),
        (GlandShare.STRETCH, view.stretch, N_("no groove given"), 1),
    ):
        if share is None:
            console.print(_("{name} unknown: {without}", name=name, without=_(without)))
        else:
            console.print(f"{word_text(name)} {share_text(share, digits)}")
    if view.swell:
        console.print(
            _(
                "the most fill allows for {swell} % of swelling by volume",
                swell=in_figures(f"{view.swell:g}"),
            )
        )
    console.print()
    table = plain_table(
        headings.BARE, Column(lambda: _(view.purpose)), headings.GUIDANCE, headings.SOURCE
    )
    for one in view.verdicts:
        mark = _("kept") if not one.broken else _out(one) if one.decides else _("off")
        about = f" ({one.about})" if one.about else ""
        source = one.source if one.source == one.certainty else f"{one.source} ({one.certainty})"
        limits = limits_text(one.least, one.most)
        table.add_row(mark, one.quantity, f"{limits}{about}", source)
    console.print(table)
    for one in view.verdicts:
        if one.decides and one.broken:
            told = "; ".join(map(say, one.broken))
            asked = (
                _(", {certainty}: ask the maker", certainty=one.certainty)
                if is_opinion(one.certainty)
                else ""
            )
            console.print(f"{_out(one)}: {told}{asked}")
    for one in view.verdicts:
        if not one.decides and one.broken:
            console.print(_("off advice only: {broken}", broken="; ".join(map(say, one.broken))))
    console.print(_(GLAND_CAUTION))


def _out(one: GlandVerdictView) -> str:
    """The mark of a row that decides and is broken: what nobody has read rules nothing out."""
    return _("ASK") if is_opinion(one.certainty) else _("OUT")


def show_set(view: RingSetView) -> None:
    """How far a ring has set, and what that is no leave for."""
    print(
        _(
            "compression set {compression_set} %",
            compression_set=in_figures(f"{view.compression_set:.0f}"),
        )
    )
    print(_(SET_CAUTION))


def show_age(console: Console, view: RingAgeView) -> None:
    """Policy by policy: the limit, the extension, where it is written; then how to store."""
    console.print(
        _(
            "{elastomer}, made up to {made}, to be fitted on {on}",
            elastomer=view.elastomer,
            made=view.made,
            on=day_text(view.on),
        ),
        style="bold",
    )
    table = plain_table(
        headings.POLICY,
        headings.MAY_BE_FITTED,
        headings.KEEPS_TO,
        headings.WITH_AN_INSPECTION,
        headings.SOURCE,
    )
    for one in view.policies:
        unlimited = one.limit is None and one.fit is StorageVerdict.YES
        keeps = (
            day_text(one.limit) if one.limit else _("unlimited") if unlimited else say(one.reason)
        )
        longer = (
            _("+{extension} years, {extended}", extension=one.extension, extended=one.extended)
            if one.extension
            else _("no extension")
        )
        source = one.source or ""
        if one.dispute:
            source += f"; {one.dispute}"
        table.add_row(one.policy, word_text(one.fit).upper(), keeps, longer, source)
    console.print(table)
    console.print(_("Stored as it should be ({source}):", source=_(STORING_SOURCE)))
    for text in STORING:
        console.print(f"  {_(text)}")
    console.print(_(STORAGE_CAUTION))
