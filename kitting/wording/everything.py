"""All texts of reasons: import `say` from here where a reason may be of any part."""

from __future__ import annotations

import kitting.wording.advice
import kitting.wording.bookings
import kitting.wording.catalogue
import kitting.wording.kit
import kitting.wording.plan
import kitting.wording.purchasing
import kitting.wording.rubber
import kitting.wording.stock
import kitting.wording.tightening
import kitting.wording.tools
import kitting.wording.upkeep  # noqa: F401
from kitting.wording.reasons import as_text, say

__all__ = ["as_text", "say"]
