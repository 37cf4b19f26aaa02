"""What is put on and has to set: where, how much, how long it may be worked and must be left.

Times are whole minutes, by the product's own data; None where nobody states them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason


@dataclass(frozen=True, slots=True)
class LaidView:
    """Where a product is put on: a joint or a step by code and name, how the amount arose."""

    where: str
    name: str
    how: Reason
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class ProductView:
    """A product of a plan that has to set. `told` says both times in words, with the source.

    A time that nobody states is None and told as NOT STATED: LOOK IT UP. `verdict` (enough, not
    enough, unknown) is None where no parking time was asked about; `why` gives its reason.
    """

    item: str
    name: str
    kind: str
    unit: str
    quantity: Thousandths
    places: tuple[LaidView, ...]
    open_minutes: int | None
    cure_minutes: int | None
    source: str | None
    told: str
    verdict: str | None
    why: str | None


@dataclass(frozen=True, slots=True)
class CuringView:
    """What has to set on a plan, and whether the car stands long enough for it.

    `parked_minutes` is how long it can stand after the last joint is closed; without it `verdict`
    is None; otherwise it is the worst of the products', or "nothing to set" where none is known.
    `stopped` names jobs whose products are not known yet: with any, nothing is enough.
    """

    reference: str
    on: date
    vehicle: str
    jobs: tuple[str, ...]
    products: tuple[ProductView, ...]
    parked_minutes: int | None
    verdict: str | None
    stopped: tuple[Reason, ...]
    remark: str


@dataclass(frozen=True, slots=True)
class PutOnView:
    """A product at one joint as the tightening sheet prints it; `times` as ProductView.told."""

    product: str
    amount: str | Reason
    times: str
