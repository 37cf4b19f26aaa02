"""Words that sheets and labels share."""

from __future__ import annotations

from kitting.wording.language import N_

# A part that is kept goes back on: no square, which would look like a box to tick.
SIGNS = {"renew": "■", "inspect": "◪", "keep": "↩"}
DEFERS = N_(
    "Planning information, not a procedure: the vehicle maker's data, local rules and licensed"
    " practice go before it."
)
DEFERS_SHORT = N_("Planning information: the maker's data goes first.")


def sign(rule: str) -> str:
    """The shape that goes with a rule's word, readable without colour; "" for other words."""
    return SIGNS.get(rule, "")
