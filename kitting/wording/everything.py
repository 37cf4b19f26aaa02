"""All texts of reasons: import `say` from here where a reason may be of any part."""

from __future__ import annotations

import kitting.wording.rubber
import kitting.wording.upkeep  # noqa: F401
from kitting.wording.reasons import say

__all__ = ["say"]
