"""Orders in words: how long there is to order, and what happened to an order since."""

from __future__ import annotations

from collections.abc import Sequence

from kitting.facts.tax_rates import format_rate
from kitting.views.orders import (
    ClaimView,
    CreditView,
    CutoffThere,
    ExpiredView,
    NoticeView,
    OrderView,
    ReceiptView,
    SubstituteForView,
    TaxView,
)
from kitting.wording.figures import amount, day, money
from kitting.wording.verdicts import doubt_text, verdict_text


def time_left(minutes: int) -> str:
    """A time until a cut-off: "1 h 10 min", "2 d 3 h"."""
    hours, minutes = divmod(minutes, 60)
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if days else f"{hours} h {minutes:02d} min"


def cutoff_there(there: CutoffThere) -> str:
    """By which clock a cut-off is: "; there 17:00, Europe/Paris", or whose zone is not stated."""
    if there.zone is None and there.branch_zone is None:
        return "; by our clock, no time zone is stated"
    if there.zone is None:
        return "; by our clock, the supplier's time zone is not stated"
    if there.branch_zone is None:
        return f"; by the supplier's clock ({there.zone}), the branch's time zone is not stated"
    if there.zone == there.branch_zone:
        return ""
    return f"; there {there.at:%a %H:%M}, {there.zone}"


def tax_text(tax: TaxView | None, beside: Sequence[str] = ()) -> str:
    """The tax of goods and carriage: "tax 20 % £3.00 comes on top: £18.00".

    `beside` names what else is in the sum: whether tax goes with that nobody states.
    """
    told = _tax_text(tax)
    if tax is None or not beside:
        return told
    return f"{told} (that is without {' and '.join(beside)}: their tax is NOT KNOWN)"


def _tax_text(tax: TaxView | None) -> str:
    if tax is None:
        return "tax not stated"
    if tax.rate is None:
        return f"tax is {'' if tax.included else 'not '}in the prices, its rate is not stated"
    rate = format_rate(tax.rate)
    if tax.amount is None or tax.total is None:
        return f"tax {rate}: whether it is in the prices is not stated"
    if tax.included:
        return f"of goods and carriage {money(tax.amount)} is tax {rate}"
    return f"tax {rate} {money(tax.amount)} comes on top of goods and carriage: {money(tax.total)}"


def order_standing(view: OrderView) -> str:
    """Where an order stands: "placed", "placed, OVERDUE"."""
    return f"{view.state}, OVERDUE" if view.overdue else str(view.state)


def taken_over(view: SubstituteForView, asked: str) -> list[str]:
    """What a substitute comes to for a booking: "B0001: NEW goes in, CANNOT BE PROVEN …"."""
    much = amount(view.needed, view.unit)
    if view.verdict is None:
        return [
            f"{view.booking}: {view.item} DOES NOT GO IN: {amount(view.lacks, view.unit)} of {much}"
            f" {asked} are lacking, and two kinds are not mixed in one kit"
        ]
    told = [f"{view.booking}: {much} {view.item} go in for {asked}: {verdict_text(view.verdict)}"]
    return [*told, *(f"  {doubt_text(doubt)}" for doubt in view.doubts)]


def announced(notice: NoticeView, unit: str) -> str:
    """What the supplier announced: "due 2026-04-20, 2 of it once more (said on 2026-04-09)"."""
    again = f", {amount(notice.again, unit)} of it once more" if notice.again else ""
    why = f": {notice.why}" if notice.why else ""
    return f"due {day(notice.due)}{again} (said on {day(notice.at)}){why}"


def came_text(one: ReceiptView) -> str:
    """ "CAME 2026-04-13 10:00, note D7: NUT: 3 in lot L1; 1 damaged"; of a substitute, for what."""
    note = f", note {one.note_number}" if one.note_number else ", no note number"
    instead = f" for {one.item}" if one.came != one.item else ""
    amounts = (
        (one.good, f"in lot {one.lot}" if one.lot else "usable"), (one.damaged, "damaged"),
        (one.wrong, "another part"),
        (one.over, f"too much, in lot {one.over_lot}" if one.over_lot else "too much"),
    )  # fmt: skip
    told = "; ".join(f"{amount(much, one.unit)} {what}" for much, what in amounts if much)
    remark = f" ({one.remark})" if one.remark else ""
    what, by = ("KEPT", " of what came too much") if one.kept else ("CAME", note)
    return f"{what} {one.at:%Y-%m-%d %H:%M}{by}: {one.came}{instead}: {told}{remark}"


def expired_text(item: str, one: ExpiredView) -> str:
    """ "EXPIRED WHEN IT CAME RING: lot R1 kept to 2026-01-31 and goes into no car"."""
    told = f"lot {one.lot} kept to {day(one.until)} and goes into no car"
    return f"EXPIRED WHEN IT CAME {item}: {told}"


def _answer(one: CreditView) -> str:
    if one.amount.minor:
        return f"{money(one.amount)} credited by {one.document} on {day(one.at)}"
    return f"REFUSED by {one.document} on {day(one.at)}: {one.why}"


def claim_text(claim: ClaimView) -> str:
    """ "CLAIM 1 core, 2026-04-09: 1 PUMP: handed in. Expected £45.00; NOT ANSWERED YET"."""
    of = f" of lot {claim.lot}" if claim.lot else ""
    car = f", {claim.vehicle} ({claim.booking})" if claim.booking else ""
    what = f"{amount(claim.quantity, claim.unit)} {claim.item}{of}{car}"
    expected = "UNKNOWN, ask them" if claim.expected is None else money(claim.expected)
    notes = [_answer(one) for one in claim.answers]
    wrong = [
        f"booked wrongly: {_answer(one)} ({one.undone})" for one in claim.credits if one.undone
    ]
    without = amount(claim.not_owed, claim.unit)
    again = f" (nothing for {without}: sent once more or never charged)" if claim.not_owed else ""
    owed = claim.expected is None or claim.expected.minor
    answered = "; ".join(notes) or ("NOT ANSWERED YET" if owed else "nothing is owed")
    answered = "; ".join((answered, *wrong))
    return (
        f"CLAIM {claim.number} {claim.kind}, {day(claim.at)}: {what}: {claim.why}. Expected"
        f" {expected}{again}; {answered}"
    )
