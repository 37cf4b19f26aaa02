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
from kitting.wording.figures import amount, day, listed, money
from kitting.wording.language import _, word_text
from kitting.wording.verdicts import doubt_text, verdict_text


def time_left(minutes: int) -> str:
    """A time until a cut-off: "1 h 10 min", "2 d 3 h"."""
    hours, minutes = divmod(minutes, 60)
    days, hours = divmod(hours, 24)
    return (
        f"{days} d {hours} h"
        if days
        else _("{hours} h {minutes:02d} min", hours=hours, minutes=minutes)
    )


def cutoff_there(there: CutoffThere) -> str:
    """By which clock a cut-off is: "; there 17:00, Europe/Paris", or whose zone is not stated."""
    if there.zone is None and there.branch_zone is None:
        return _("; by our clock, no time zone is stated")
    if there.zone is None:
        return _("; by our clock, the supplier's time zone is not stated")
    if there.branch_zone is None:
        return _(
            "; by the supplier's clock ({zone}), the branch's time zone is not stated",
            zone=there.zone,
        )
    if there.zone == there.branch_zone:
        return ""
    return _("; there {at:%a %H:%M}, {zone}", at=there.at, zone=there.zone)


def tax_text(tax: TaxView | None, beside: Sequence[str] = ()) -> str:
    """The tax of goods and carriage: "tax 20 % £3.00 comes on top: £18.00".

    `beside` names what else is in the sum: whether tax goes with that nobody states.
    """
    told = _tax_text(tax)
    if tax is None or not beside:
        return told
    return _(
        "{told} (that is without {listed}: their tax is NOT KNOWN)",
        told=told,
        listed=listed(beside),
    )


def _tax_text(tax: TaxView | None) -> str:
    if tax is None:
        return _("tax not stated")
    if tax.rate is None:
        return _(
            "tax is {value}in the prices, its rate is not stated",
            value="" if tax.included else _("not "),
        )
    rate = format_rate(tax.rate)
    if tax.amount is None or tax.total is None:
        return _("tax {rate}: whether it is in the prices is not stated", rate=rate)
    if tax.included:
        return _(
            "of goods and carriage {amount} is tax {rate}", amount=money(tax.amount), rate=rate
        )
    return _(
        "tax {rate} {amount} comes on top of goods and carriage: {total}",
        rate=rate,
        amount=money(tax.amount),
        total=money(tax.total),
    )


def order_standing(view: OrderView) -> str:
    """Where an order stands: "placed", "placed, OVERDUE"."""
    return _("{state}, OVERDUE", state=view.state) if view.overdue else word_text(view.state)


def taken_over(view: SubstituteForView, asked: str) -> list[str]:
    """What a substitute comes to for a booking: "B0001: NEW goes in, CANNOT BE PROVEN …"."""
    much = amount(view.needed, view.unit)
    if view.verdict is None:
        return [
            _(
                "{booking}: {item} DOES NOT GO IN: {lacks} of {much} {asked} are"
                " lacking, and two kinds are not mixed in one kit",
                booking=view.booking,
                item=view.item,
                lacks=amount(view.lacks, view.unit),
                much=much,
                asked=asked,
            )
        ]
    told = [
        _(
            "{booking}: {much} {item} go in for {asked}: {verdict}",
            booking=view.booking,
            much=much,
            item=view.item,
            asked=asked,
            verdict=verdict_text(view.verdict),
        )
    ]
    return [*told, *(f"  {doubt_text(doubt)}" for doubt in view.doubts)]


def announced(notice: NoticeView, unit: str) -> str:
    """What the supplier announced: "due 2026-04-20, 2 of it once more (said on 2026-04-09)"."""
    again = _(", {again} of it once more", again=amount(notice.again, unit)) if notice.again else ""
    why = f": {notice.why}" if notice.why else ""
    return _(
        "due {due}{again} (said on {at}){why}",
        due=day(notice.due),
        again=again,
        at=day(notice.at),
        why=why,
    )


def came_text(one: ReceiptView) -> str:
    """ "CAME 2026-04-13 10:00, note D7: NUT: 3 in lot L1; 1 damaged"; of a substitute, for what."""
    note = (
        _(", note {note_number}", note_number=one.note_number)
        if one.note_number
        else _(", no note number")
    )
    instead = _(" for {item}", item=one.item) if one.came != one.item else ""
    amounts = (
        (one.good, _("in lot {lot}", lot=one.lot) if one.lot else _("usable")), (one.damaged,
                "damaged"
                ),
        (one.wrong, _("another part")),
        (one.over, _("too much, in lot {over_lot}", over_lot=one.over_lot) if one.over_lot else _(
                "too much"
                )),
    )  # fmt: skip
    told = "; ".join(f"{amount(much, one.unit)} {what}" for much, what in amounts if much)
    remark = f" ({one.remark})" if one.remark else ""
    what, by = (_("KEPT"), _(" of what came too much")) if one.kept else (_("CAME"), note)
    return f"{what} {one.at:%Y-%m-%d %H:%M}{by}: {one.came}{instead}: {told}{remark}"


def expired_text(item: str, one: ExpiredView) -> str:
    """ "EXPIRED WHEN IT CAME RING: lot R1 kept to 2026-01-31 and goes into no car"."""
    told = _("lot {lot} kept to {until} and goes into no car", lot=one.lot, until=day(one.until))
    return _("EXPIRED WHEN IT CAME {item}: {told}", item=item, told=told)


def _answer(one: CreditView) -> str:
    if one.amount.minor:
        return _(
            "{amount} credited by {document} on {at}",
            amount=money(one.amount),
            document=one.document,
            at=day(one.at),
        )
    return _(
        "REFUSED by {document} on {at}: {why}", document=one.document, at=day(one.at), why=one.why
    )


def claim_text(claim: ClaimView) -> str:
    """ "CLAIM 1 core, 2026-04-09: 1 PUMP: handed in. Expected £45.00; NOT ANSWERED YET"."""
    of = _(" of lot {lot}", lot=claim.lot) if claim.lot else ""
    car = f", {claim.vehicle} ({claim.booking})" if claim.booking else ""
    what = f"{amount(claim.quantity, claim.unit)} {claim.item}{of}{car}"
    expected = _("UNKNOWN, ask them") if claim.expected is None else money(claim.expected)
    notes = [_answer(one) for one in claim.answers]
    wrong = [
        _("booked wrongly: {answer} ({undone})", answer=_answer(one), undone=one.undone)
        for one in claim.credits
        if one.undone
    ]
    without = amount(claim.not_owed, claim.unit)
    again = (
        _(" (nothing for {without}: sent once more or never charged)", without=without)
        if claim.not_owed
        else ""
    )
    owed = claim.expected is None or claim.expected.minor
    answered = "; ".join(notes) or (_("NOT ANSWERED YET") if owed else _("nothing is owed"))
    answered = "; ".join((answered, *wrong))
    return _(
        "CLAIM {number} {kind}, {at}: {what}: {why}. Expected {expected}{again}; {answered}",
        number=claim.number,
        kind=claim.kind,
        at=day(claim.at),
        what=what,
        why=claim.why,
        expected=expected,
        again=again,
        answered=answered,
    )
