"""Rings, glands and storage life in words."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.facts.ring_reasons import (
    DeciderReason,
    GaugeReason,
    GlandCase,
    GlandFault,
    OtherRing,
    RingDifference,
)
from kitting.facts.shelf_life import NO_EXTENSION_TEXTS, ShelfReason
from kitting.views.rubber import InGlandView, OffView, ShareView, TolerancesView
from kitting.wording.language import N_, _, in_figures
from kitting.wording.reasons import register, say

GLAND_CAUTION = N_("Guidance only: the maker's gland drawing decides.")
RINGS_CAUTION = N_("Guidance only: the maker's part number and gland drawing decide.")
# What a gland is for, as it is asked of the command.
PURPOSES = (N_("static"), N_("reciprocating"), N_("rotary"))
SET_CAUTION = N_("A limit of a material test is no limit for going back on: renew a static ring.")
# How seals have to lie for the years to count: ISO 2230:2002, from memory, in our own words.
STORING = (
    N_("below 25 °C, away from heaters, and dry"),
    N_("dark: no sunlight, no strong lamps, packets that let no light through"),
    N_("away from ozone: no motors or switches that spark, no chargers, no welding"),
    N_("without strain: not stretched, bent, pressed or hung on hooks"),
    N_("in closed packets one by one, away from oil, fuel, solvent and bare copper"),
    N_("each packet with its date; first in, first out"),
)
STORING_SOURCE = N_("ISO 2230:2002, from memory")
STORAGE_CAUTION = N_(
    "Years count only for seals stored as the standard asks; an extension needs an"
    " inspection, and how and by whom is a matter of the standard and of the customer."
    " The maker's data come first."
)

_PRINTED = "printed on the packet: {printed:%d %b %Y}"
register(
    {
        ShelfReason.STANDARD: "{edition}",
        ShelfReason.STANDARD_GROUP: "{edition} group {group}",
        ShelfReason.STANDARD_DISPUTED: "{edition}; {dispute}",
        ShelfReason.YEARS: "{made:%d %b %Y} + {years} years ({standard})",
        ShelfReason.YEARS_EXTENDED: (
            "{made:%d %b %Y} + {years} + {added} years ({standard}, inspected {inspected})"
        ),
        ShelfReason.YEARS_NOT_EXTENDED: (
            "{made:%d %b %Y} + {years} years ({standard}; inspected {inspected}, not extended:"
            " {why})"
        ),
        ShelfReason.UNLIMITED: "unlimited ({standard})",
        ShelfReason.MONTHS: "{made:%d %b %Y} + {months} months",
        ShelfReason.AGELESS: "does not age",
        ShelfReason.PRINTED: _PRINTED,
        ShelfReason.PRINTED_NOT_EXTENDED: (
            _PRINTED + ", which the inspection of {inspected} does not extend"
        ),
        ShelfReason.PRINTED_ONLY: _PRINTED + "; by {policy} {why}",
        ShelfReason.OPENED: "opened {opened:%d %b %Y} + {days:many day}",
        ShelfReason.STANDARD_FROM_MEMORY: "{edition}, from memory: ask its maker",
        ShelfReason.SEALED_OPENED_LIFE_UNKNOWN: "{sealed}; opened life {why}",
        ShelfReason.OPENED_SINCE_UNKNOWN: (
            "not known: it is no whole number of packs, so one is opened, and nobody says since"
            " when"
        ),
        ShelfReason.OPENED_LIFE_UNKNOWN: (
            "not known: opened {opened:%d %b %Y}, and no opened life is given"
        ),
        ShelfReason.NO_PRINTED_DATE: "not known: no date is printed on the packet",
        ShelfReason.NO_MATERIAL: "not known: no material is given",
        ShelfReason.NO_YEARS: "not known: {policy} gives no years for {elastomer}",
        ShelfReason.NO_CURE_DATE: (
            "not known: no date of making is given, for {years} years ({standard})"
        ),
        ShelfReason.NO_DATES: "not known: no date of making and none printed",
        ShelfReason.NO_SHELF_LIFE: "age not known: no shelf life stated",
        ShelfReason.NO_SHELF_LIFE_RECEIVED: (
            "age not known: no shelf life stated, received {received:%d %b %Y}"
        ),
    },
    entries={
        ShelfReason.OPENED_SINCE_UNKNOWN: "opened: of the stock list",
    },
)
register(NO_EXTENSION_TEXTS)
register(
    {
        GlandCase.NOMINAL: "the nominal sizes",
        GlandCase.THIN_IN_DEEP: "the thinnest section in the deepest gland",
        GlandCase.THICK_IN_SHALLOW: "the thickest section in the shallowest gland",
        GlandCase.WIDEST: "the widest ring",
        GlandCase.NARROWEST: "the narrowest ring",
    }
)
register(
    {
        GlandFault.BELOW: "{share} {value:.1f} % ({case}) is below {limit:g} %",
        GlandFault.NARROWLY_BELOW: "{share} {value:.3g} % ({case}) is below {limit:g} %",
        GlandFault.ABOVE: "{share} {value:.1f} % ({case}) is above {limit:g} %",
        GlandFault.NARROWLY_ABOVE: "{share} {value:.3g} % ({case}) is above {limit:g} %",
    }
)
register(
    {
        GaugeReason.CLOSE_ENOUGH: "groove and bore measured to ±{within:.2f} mm are close enough",
        GaugeReason.FINER: (
            "±{within:.2f} mm does not decide: measure groove and bore to ±{gauge} mm"
        ),
        GaugeReason.NONE_DECIDES: (
            "it lies on the edge of guidance: no gauge decides, the maker's gland drawing does"
        ),
    }
)
_MODEL = (
    "stretched by {stretch} %, swollen by {swell} % of its volume and set by {set} % (our model)"
)
_USED = f"groove and bore decide, not the ring: a used one may have {_MODEL}"
_TWO = "{first} or {second}"
_LENGTHS = "{one:.2f} or {other:.2f} mm"
register(
    {
        DeciderReason.NO_SIZE: "no size to tell apart",
        DeciderReason.ONLY_ONE: "no other size to tell apart",
        DeciderReason.USED: _USED,
        DeciderReason.USED_TWO: f"{_USED} (the first two differ by their {{what}}, {_LENGTHS})",
        DeciderReason.OUT_OF_REACH: (
            "no size known here is within reach of what was measured: the ring may be metric, the"
            " maker's own, or used; groove and bore decide"
        ),
        DeciderReason.USED_OUT_OF_REACH: (
            "no size known here is within reach of what was measured, though the ring may have"
            f" {_MODEL}: it may be metric or the maker's own; groove and bore decide"
        ),
        DeciderReason.DECIDED: (
            f"{_TWO}: {{what}} decides, {_LENGTHS}; measured to ±{{error:.2f}} mm it does"
        ),
        DeciderReason.OVERLAPPING: (
            f"{_TWO}: measuring the ring cannot decide, {{what}} {_LENGTHS} lie within their"
            " tolerances; groove and bore decide"
        ),
        DeciderReason.MEASURE_FINER: (
            f"{_TWO}: {{what}} decides, {_LENGTHS}; measure it to ±{{within:.2f}} mm"
            " (±{error:.2f} mm was taken, which cannot decide: a finer gauge, or groove and bore)"
        ),
        DeciderReason.NOTHING_SUITS: (
            "nothing in this list suits: measure groove and bore again, and check whether the use"
            " is right"
        ),
        DeciderReason.USED_IN_GLAND: f"{_USED}; {{gauge}}",
        DeciderReason.ONLY_FIRST_SUITS: ("groove and bore decide: only the first suits; {gauge}"),
        DeciderReason.BOTH_SUIT_ALIKE: (
            f"{_TWO} both suit and lie within each other's tolerances ({{what}} {_LENGTHS}): no"
            " measuring tells them apart, the maker's number does; {gauge}"
        ),
        DeciderReason.BOTH_SUIT: (
            f"{_TWO} both suit: {{what}} decides, {_LENGTHS}; measure a ring known to be right to"
            " ±{within:.2f} mm; {gauge}"
        ),
    }
)
register(
    {
        OtherRing.OTHER_MATERIAL: "same size, NOT the same ring: {other} instead of {asked}",
        OtherRing.NOT_KNOWN: "same size, NOT KNOWN to be the same ring: {unstated:, }",
        OtherRing.NO_ELASTOMER: "{item} states no elastomer",
        OtherRing.NO_HARDNESS: "{item} states no hardness",
        OtherRing.MATERIAL: "{elastomer} {hardness}",
        OtherRing.MATERIAL_NO_HARDNESS: "{elastomer}, hardness not stated",
        OtherRing.HARDNESS_ONLY: "rubber not stated, hardness {hardness}",
        OtherRing.MATERIAL_UNSTATED: "rubber and hardness not stated",
    }
)

_ASK = N_("ask before fitting")
register(
    {
        RingDifference.DIFFERS: "{parts}",
        RingDifference.PERHAPS: f"{{parts}}: {_ASK}",
        RingDifference.SAME: f"same size and rubber by the data: {_ASK}",
        RingDifference.SECTION: "section {mine:mm}, not {other:mm}",
        RingDifference.INSIDE: "inside {mine:mm}, not {other:mm}",
        RingDifference.RUBBER: "{mine}, not {other}",
        RingDifference.HARDNESS: "hardness {mine}, not {other}",
        RingDifference.COLOUR: "as supplied {mine}, the other {other}",
        RingDifference.NO_SIZE: "size not stated",
        RingDifference.NO_RUBBER: "rubber not stated",
        RingDifference.NO_HARDNESS: "hardness not stated",
        RingDifference.OTHER_NO_SIZE: "the other's size not stated",
        RingDifference.OTHER_NO_RUBBER: "the other's rubber not stated",
        RingDifference.OTHER_NO_HARDNESS: "the other's hardness not stated",
    }
)


def share_text(share: ShareView, digits: int = 1) -> str:
    """A share in its worst cases: "14.0 to 23.1 %"."""
    least, most = (in_figures(f"{value:.{digits}f}") for value in (share.least, share.most))
    return _("{least} to {most} %", least=least, most=most)


def limits_text(least: float | None, most: float | None) -> str:
    """Limits in percent: "10 to 40 %", "at most 85 %", "at least 60 %"."""
    if least is None:
        return _("at most {most:g} %", most=most)
    if most is None:
        return _("at least {least:g} %", least=least)
    return _("{least:g} to {most:g} %", least=least, most=most)


def ring_text(
    gland: InGlandView | None, measured: OffView | None, borrowed: TolerancesView | None = None
) -> str:
    """What a ring does in a gland, how far the measured one is off it, and whose its tolerances."""
    return "; ".join(_ring_parts(gland, measured, borrowed))


def _ring_parts(
    gland: InGlandView | None, measured: OffView | None, borrowed: TolerancesView | None
) -> Iterable[str]:
    if gland is not None:
        filled = _("unknown") if gland.fill is None else share_text(gland.fill)
        yield (
            _(
                "squeeze {share}, stretch {share2}, fill {filled}",
                share=share_text(gland.squeeze),
                share2=share_text(gland.stretch),
                filled=filled,
            )
        )
        yield from map(say, gland.ruled_out)
        if gland.remarks:
            yield _("off advice only: {listed}", listed=", ".join(map(say, gland.remarks)))
    if measured is not None:
        said = _("measured ") if gland is not None else ""
        yield _(
            "{said}inside {inside:+.2f}, section {section:+.2f} mm",
            said=said,
            inside=measured.inside,
            section=measured.section,
        )
        if measured.stretched:
            yield _("stretched or swollen")
        if not measured.within:
            yield _("out of reach of its tolerance")
    if borrowed is not None:
        yield borrowed_text(borrowed)


def borrowed_text(borrowed: TolerancesView) -> str:
    """Whose tolerances a ring that is no standard size is judged with."""
    return _(
        "tolerances ±{inside:.2f} and ±{section:.2f} mm borrowed from AS568",
        inside=borrowed.inside,
        section=borrowed.section,
    )
