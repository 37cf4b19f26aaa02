"""Rings: what a measured ring may be, and what a gland does to one."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RingItemView:
    """A ring of the catalogue: mm, elastomer and hardness; `colour` is only as supplied."""

    item: str
    name: str
    inside: float
    section: float
    elastomer: str | None
    hardness: int | None
    colour: str | None
    stock: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RingMatchView:
    """A standard size that may have been measured; `note` tells where sources disagree."""

    size: str
    distance: float
    why: str
    note: str | None


@dataclass(frozen=True, slots=True)
class RingsView:
    """What a measured ring may be: standard sizes, likeliest first, and items of that size."""

    inside: float
    section: float
    used: bool
    sizes: tuple[RingMatchView, ...]
    items: tuple[RingItemView, ...]
