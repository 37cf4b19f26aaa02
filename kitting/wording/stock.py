"""Stock in words."""

from __future__ import annotations

from kitting.views.low_stock import NoLevelsView
from kitting.views.stock import StorageReason
from kitting.wording.language import N_, _
from kitting.wording.reasons import register

EXTENSION_WARNING = N_(
    "Whether, how and by whom a lot may be inspected and its storage extended is a"
    " matter of the standard and of the customer; read both. From memory the inspection"
    " belongs at the end of the first period, and there is no second one. The maker's"
    " data come first."
)

register(
    {
        StorageReason.STILL_ON_HOLD: "on hold: {reason}",
        StorageReason.IN_A_KIT: (
            "{quantity:rounded} of it in the kit of {booking}: inspect those too"
        ),
    }
)


def no_level_texts(one: NoLevelsView, days: int) -> list[str]:
    """What has no level in a branch, and why, a line each."""
    if one.nothing_used:
        return [
            _(
                "{branch} has used nothing in the last {days} days: no level follows",
                branch=one.branch,
                days=days,
            )
        ]
    texts = []
    if one.unpriced:
        texts.append(
            _(
                "NO LEVEL in {branch}, for want of a price: {listed}",
                branch=one.branch,
                listed=", ".join(one.unpriced),
            )
        )
    if one.refused:
        rare = ", ".join(one.refused)
        texts.append(
            _(
                "NO LEVEL in {branch}, used too rarely to be kept: {rare}",
                branch=one.branch,
                rare=rare,
            )
        )
    return texts
