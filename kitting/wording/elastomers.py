"""What rubbers are called."""

from __future__ import annotations

from kitting.facts.elastomers import ELASTOMERS
from kitting.wording.language import p_

# The meaning of their names, for whoever translates them.
CONTEXT = "rubber"


def rubber_name(code: str | None) -> str:
    """What a rubber is called by its code of ISO 1629; "" where the code is not known.

    >>> rubber_name("FKM")
    'fluorocarbon rubber'
    """
    name = ELASTOMERS.get(code or "", "")
    return p_(CONTEXT, name) if name else ""
