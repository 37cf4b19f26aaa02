"""Sureness: chances of failing, spares worth bringing, what was learned, stock to hold."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class RiskView:
    """What may fail of one item in a plan.

    `pieces` are inspected at `positions`; `chance` is that of one piece, learned from `looked`
    pieces of which `failed` did, with its 90 % spread; `shifts` says what moved it. `price` is of
    one piece, `loss` what is lost if a spare stays unused; both None where nobody offers it.
    `spares` is how many to bring; `group` means that one failure renews all. `any_fails` is the
    chance that at least one fails; where the cost of being short was told, `worth_above` is the
    chance above which one spare is worth bringing by itself.
    """

    item: str
    name: str
    positions: tuple[str, ...]
    pieces: int
    chance: float
    low: float
    high: float
    looked: int
    failed: int
    shifts: tuple[str, ...]
    group: bool
    price: str | None
    loss: str | None
    in_stock: int
    spares: int
    worth_above: float | None = None
    any_fails: float = 0.0


@dataclass(frozen=True, slots=True)
class FrontierView:
    """One efficient choice of spares: its cost if nothing fails, and the chance it gives."""

    cost: str
    chance: float
    spares: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EstimateView:
    """What the parts cost: now, on average, and the figure kept with 90 %; money as text."""

    now: str
    expected: str
    upper: str
    unpriced: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SureView:
    """The chance that some jobs end with the parts in the kit, and the spares that raise it.

    `without` is the chance with no spare, `chance` with the spares recommended (with all that can
    be had, where the target is not `reached`), `independent` the same if the seals of one car did
    not fail together. `unknown` names kinds without any figure.
    `stop` tells when a part could be here if one fails, and where to stop before.
    """

    vehicle: str
    jobs: tuple[str, ...]
    on: date
    target: float
    risks: tuple[RiskView, ...]
    without: float
    chance: float
    independent: float
    cost: str | None
    reached: bool
    frontier: tuple[FrontierView, ...]
    estimate: EstimateView | None
    unknown: tuple[str, ...]
    stop: str | None


@dataclass(frozen=True, slots=True)
class LearnedView:
    """What findings taught about an item in a unit (None: in any)."""

    item: str
    name: str
    kind: str
    unit: str | None
    looked: int
    failed: int
    prior: float
    chance: float
    low: float
    high: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HoldLineView:
    """How much of an item to hold; amounts are whole pieces (or packs)."""

    item: str
    name: str
    yearly: float
    lead_days: int
    mean: float
    level: int
    on_hand: int
    price: str
    why: str


@dataclass(frozen=True, slots=True)
class HoldView:
    """Levels per item of a branch for a target, or for a budget; money as text.

    `chance` is that no item is short in a lead time; `refused` names slow short-lived stock.
    `replay` tells what the levels would have done with the history, `pooled` what one stock for
    all branches would tie up instead.
    """

    branch: str
    target: float | None
    budget: str | None
    lines: tuple[HoldLineView, ...]
    value: str
    chance: float
    refused: tuple[str, ...]
    unpriced: tuple[str, ...]
    replay: str | None
    pooled: str | None
