"""Stock below its level: how much is missing, and what of it is on its way."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.amounts import Thousandths


@dataclass(frozen=True, slots=True)
class LowLineView:
    """An item of which less is free than its level; amounts are thousandths of `unit`.

    `free` is certain to be fit today and promised to nobody, `age_unknown` lies there too and is
    not counted. `coming` is on order or on a van, and not promised; `overdue` is on order too, but
    later than its late day: nobody knows whether it comes, and it is not counted. `missing` is what
    even with what is coming is lacking of the level.
    """

    branch: str
    item: str
    name: str
    unit: str
    level: Thousandths
    free: Thousandths
    age_unknown: Thousandths
    coming: Thousandths
    missing: Thousandths
    overdue: Thousandths = 0


@dataclass(frozen=True, slots=True)
class NoLevelsView:
    """What has no level in a branch: all, if nothing was used there; or items, by code.

    `unpriced` has no price, `refused` is used too rarely to be kept.
    """

    branch: str
    nothing_used: bool
    unpriced: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LowStockView:
    """What is below its level, by what was used in the last `days`, for the chance `target`."""

    target: float
    days: int
    lines: tuple[LowLineView, ...]
    no_levels: tuple[NoLevelsView, ...]
