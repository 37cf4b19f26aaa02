"""All texts of reasons: import `say` from here where a reason may be of any part."""

from __future__ import annotations

import kitting.wording.tightening
import kitting.wording.tools  # noqa: F401
from kitting.wording.reasons import as_text, say

__all__ = ["as_text", "say"]
