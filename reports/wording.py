"""Words that sheets and labels share."""

from __future__ import annotations

from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.reasons import Reason
from kitting.wording.everything import as_text

SIGNS = {"renew": "■", "inspect": "◪", "keep": "□"}
DEFERS = (
    "Planning information, not a procedure: the vehicle maker's data, local rules and licensed"
    " practice go before it."
)
DEFERS_SHORT = "Planning information: the maker's data goes first."


def sign(rule: str) -> str:
    """The shape that goes with a rule's word, readable without colour; "" for other words."""
    return SIGNS.get(rule, "")


def goes_dry(lubricant: str | Reason | None) -> bool:
    """Whether a position goes together dry: that is said on every label."""
    if isinstance(lubricant, Reason):
        return lubricant.code == LubricantReason.DRY
    return lubricant == "DRY"


def lubricant_text(lubricant: str | Reason) -> str:
    """How a ring goes in: the product, or that it goes in dry."""
    return "FIT DRY, no lubricant" if lubricant == "DRY" else as_text(lubricant)
