"""A ring in a gland: its shares in the worst cases of its tolerances, held against guidance."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.calc.rubber.glands import Band, fill, judge, squeeze, stretch, thinned
from kitting.errors import FigureError
from kitting.facts.ring_reasons import GlandShare
from kitting.facts.ring_standards import Ring, guidance
from kitting.views.rubber import GlandVerdictView, RingGlandView, ShareView


@dataclass(frozen=True, slots=True)
class GlandRequest:
    """A ring and its gland; lengths in mm, `swell` in percent by volume.

    `inside_known` is False where only the section of the ring was stated.
    """

    ring: Ring
    shallowest: float
    deepest: float
    width: float | None = None
    groove: float | None = None
    swell: float = 0.0
    use: str = "static"
    inside_known: bool = True


def judge_gland(asked: GlandRequest) -> RingGlandView:
    """What the gland does to the ring, held against guidance for its use.

    Raises FigureError for lengths that make no sense, and for a swell without a width.
    """
    ring = asked.ring
    shares = _shares(asked)
    verdicts = tuple(
        GlandVerdictView(
            quantity=one.guidance.quantity,
            least=one.guidance.least,
            most=one.guidance.most,
            about=one.guidance.about,
            decides=one.guidance.decides,
            broken=one.broken,
            source=one.guidance.source,
            certainty=one.guidance.certainty,
        )
        for one in judge(shares, guidance(asked.use))
    )
    views = {share: share_view(band) for share, band in shares.items()}
    return RingGlandView(
        size=ring.name or None,
        purpose=asked.use,
        section=ring.section,
        section_tolerance=ring.section_tolerance,
        inside=ring.inside if asked.inside_known else None,
        inside_tolerance=ring.inside_tolerance if asked.inside_known else None,
        groove=asked.groove,
        shallowest=asked.shallowest,
        deepest=asked.deepest,
        width=asked.width,
        swell=asked.swell,
        squeeze=views[GlandShare.SQUEEZE],
        stretch=views.get(GlandShare.STRETCH),
        fill=views.get(GlandShare.FILL),
        verdicts=verdicts,
        within=not any(one.decides and one.broken for one in verdicts),
    )


def _shares(asked: GlandRequest) -> dict[GlandShare, Band]:
    ring, depths = asked.ring, (asked.shallowest, asked.deepest)
    body = (ring.section, ring.section_tolerance)
    shares = {GlandShare.SQUEEZE: squeeze(*body, *depths)}
    if asked.groove is not None:
        pulled = stretch(ring.inside, ring.inside_tolerance, asked.groove)
        shares[GlandShare.STRETCH] = pulled
        shares[GlandShare.SQUEEZE] = squeeze(*thinned(ring, pulled), *depths)
    if asked.width is not None:
        shares[GlandShare.FILL] = fill(*body, *depths, asked.width, asked.swell)
    elif asked.swell:
        raise FigureError("a swell raises the fill, which needs the width of the groove")
    return shares


def share_view(band: Band) -> ShareView:
    """A share in the worst cases, as it is shown."""
    return ShareView(band.least, band.most, band.nominal)
