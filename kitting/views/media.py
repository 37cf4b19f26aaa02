"""How a rubber stands fluids and greases."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StandsView:
    """One medium: what it comes to (clash, ask, unknown, suits), the rating, who says so."""

    medium: str
    name: str
    state: str
    rating: str
    certainty: str
    said_by: str
    note: str | None


@dataclass(frozen=True, slots=True)
class SuitsView:
    """A rubber and the media asked about; `serves` is coldest and hottest in °C, from memory."""

    elastomer: str
    serves: tuple[int, int] | None
    media: tuple[StandsView, ...]
