"""Stock in words."""

from __future__ import annotations

from kitting.views.stock import StorageReason
from kitting.wording.reasons import register

EXTENSION_WARNING = (
    "Whether, how and by whom a lot may be inspected and its storage extended is a matter of the"
    " standard and of the customer; read both. From memory the inspection belongs at the end of the"
    " first period, and there is no second one. The maker's data come first."
)

register(
    {
        StorageReason.STILL_ON_HOLD: "on hold: {reason}",
        StorageReason.IN_A_KIT: ("{quantity} of it in the kit of {booking}: inspect those too"),
    }
)
