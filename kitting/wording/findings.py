"""What is found at a position in words: what to write, what was recorded, what to type."""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.words import FindingResult
from kitting.views.counted import FindingsView, InspectView
from kitting.wording.figures import amount, day
from kitting.wording.language import N_, _, general_text, n_
from kitting.wording.reasons import as_text
from kitting.wording.work_day import when_text

# Reasons to write after a failure, short enough for a pencil; our own list. Codes never change.
_REASONS: Mapping[str, str] = {
    "CT": N_("cut"), "FL": N_("flat"), "SW": N_("swollen"), "HD": N_("hard"), "CR": N_("cracked"),
    "CO": N_("corroded"), "SP": N_("spread"), "TH": N_("thread"), "WN": N_("worn"),
    "OT": N_("other"),
}  # fmt: skip
RESULTS: Mapping[FindingResult, str] = {
    FindingResult.PASSED: N_("passed"),
    FindingResult.FAILED: N_("failed"),
    FindingResult.NOT_INSPECTED: N_("renewed without a look"),
}
HOW_TO_LOOK = N_(
    "Clean it, let it cool, look in good light. In doubt it fails. 'Renewed without a look' is no"
    " finding: tick it only where nobody looked. Tick each piece by itself."
)
# What can be read at a glance beside a position; longer ones are not printed.
_SHORT = 90


def kit_text(view: FindingsView) -> str:
    """The booking and its kit."""
    return _("{booking} · kit {kit}", booking=view.booking, kit=view.reference)


def about_text(view: FindingsView) -> str:
    """The car and when it is on the ramp."""
    when = f"{day(view.on)}{when_text(view.slot)}"
    return _("{vehicle} · fitting date {when}", vehicle=view.vehicle, when=when)


def reasons_text() -> str:
    """The short reasons with their codes: "Reasons: CT cut · FL flat"."""
    told = " · ".join(f"{code} {_(word)}" for code, word in _REASONS.items())
    return _("Reasons: {reasons}", reasons=told)


def recording_text() -> str:
    """How what was ticked is recorded: one result of a position, of a failure how many pieces."""
    results = ", ".join(FindingResult)
    return _(
        "Recorded is one result for each position, typed after its = sign: {results}. Of a failure"
        " say how many pieces of how many (failed: 1 of 3, cut): only these are renewed, unless a"
        " group is renewed together. Without a number all of them failed.",
        results=results,
    )


def what_text(row: InspectView) -> str:
    """How many of what: "3 × CLIP · connector clip · intake"."""
    return _(
        "{amount} × {item} · {name} · {joint}",
        amount=amount(row.quantity, row.unit), item=row.item, name=row.name, joint=row.joint,
    )  # fmt: skip


def criterion_text(row: InspectView) -> str:
    """What it has to show, and who says so."""
    if not row.criterion:
        return _(
            "NO CRITERION IS STATED: ask who may decide ({source})", source=as_text(row.said_by)
        )
    return _(
        "{criterion} ({source})",
        criterion=general_text(row.criterion), source=as_text(row.said_by),
    )  # fmt: skip


def group_text(row: InspectView) -> str | None:
    """That all of a group are renewed if one fails."""
    return _("One fails: all of its group are renewed.") if row.group else None


def recorded_text(row: InspectView) -> str | None:
    """What was recorded already: "RECORDED: failed, 1 of 3: cut"."""
    if row.recorded is None:
        return None
    shown = row.quantity if row.recorded_quantity is None else row.recorded_quantity
    many = amount(shown, row.unit)
    if row.recorded_failed is not None:
        failed = amount(row.recorded_failed, row.unit)
        many = _("{failed} of {pieces}", failed=failed, pieces=many)
    told = {"result": _(RESULTS[row.recorded]), "amount": many}
    if row.recorded_reason:
        reason = reason_text(row.recorded_reason)
        return _("RECORDED: {result}, {amount}: {reason}", **told, reason=reason)
    return _("RECORDED: {result}, {amount}", **told)


def reason_text(reason: str) -> str:
    """Why it failed, the short codes written out: "FL, at the lip" as "flat, at the lip"."""
    parts = (part.strip() for part in reason.split(","))
    return ", ".join(_(_REASONS[part]) if part in _REASONS else part for part in parts)


def found_text(found: FindingResult, pieces: tuple[int, int] | None, reason: str | None) -> str:
    """What was recorded: "passed", "failed, 1 of 3: flat"; (failed, all) where it was counted."""
    told = _(RESULTS[found])
    if pieces is not None:
        failed, count = pieces
        told = _("{result}, {failed} of {pieces}", result=told, failed=failed, pieces=count)
    return _("{found}: {reason}", found=told, reason=reason_text(reason)) if reason else told


def typed_text(row: InspectView) -> str | None:
    """What to type of a position before its result; None where that is long."""
    words = f"{row.joint}:{row.position}="
    return _("to type: {words}", words=words) if len(words) <= _SHORT else None


def piece_text(number: int, pieces: int) -> str:
    """Which piece of how many."""
    return _("piece {number} of {count}", number=number, count=pieces)


def rest_text(pieces: int) -> str:
    """How many pieces have no row of their own."""
    return n_(
        "{count} more piece: write how many passed and how many failed",
        "{count} more pieces: write how many passed and how many failed",
        pieces,
    )
