"""What a supplier credits for claims, or refuses: once for each paper, no more than is claimed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money, format_money
from kitting.facts.names import same_number
from kitting.facts.words import ClaimKind
from kitting.services.db.idempotency import earlier, record
from kitting.services.purchasing.claim_views import charge_of
from kitting.services.purchasing.claimed_before import not_sent_back
from kitting.services.purchasing.order_times import require_after
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.stock.over_goods import OF_OVER
from kitting.store import writing
from kitting.tables.order_history import CREDIT_HOLDS, Claim, CreditNote, CreditUndone
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Supplier
from kitting.views.orders import OrderView


@dataclass(frozen=True, slots=True)
class Credit:
    """What a supplier credited for a claim, by its number; None, with the reason, if refused."""

    claim: int
    amount: Money | None
    document: str
    why: str | None = None


def credit(
    engine: Engine, number: str, given: Credit, at: datetime, token: str | None = None
) -> OrderView:
    """Write down a credit note, or that a claim was refused; the total of the order follows.

    Raises UnknownNameError for a claim that the order does not have; KittingError for another
    currency, for more than is claimed, for a paper that is booked for the claim already, and for a
    refusal without its reason.
    """
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"credit {order.number} {given}"
        if earlier(session, token, request) is not None:
            return order_view(session, order, at.date())
        claim, line = _claim(session, order, given.claim)
        require_after(f"claim {claim.id} was made", claim.at, at, "its credit")
        supplier = session.get_one(Supplier, order.supplier_id)
        amount = given.amount or Money(0, supplier.currency)
        if amount.currency != supplier.currency:
            raise KittingError(
                "{name} is paid in {currency}, not in {amount_currency}",
                name=supplier.name,
                currency=supplier.currency,
                amount_currency=amount.currency,
            )
        why = (given.why or "").strip() or None
        if amount.minor == 0 and why is None:
            raise KittingError("a claim that is refused needs the reason: say what they say")
        document = given.document.strip()
        if not 0 < len(document) <= 40:
            raise KittingError("give the number on the paper, 40 characters at most")
        notes = _notes(session, claim)
        _require_new(order, claim, document, notes, supplier.currency)
        most = _most(session, claim, line)
        credited = sum(note.amount for note in notes)
        if not amount.minor and 0 < most <= credited:
            raise KittingError(
                "claim {id} of {number} is credited in full, {money}: there is nothing left to"
                " refuse",
                id=claim.id,
                number=order.number,
                money=format_money(credited, supplier.currency),
                then=[next_step(Action.SHOW_ORDER, order=order.number)],
            )
        if amount.minor and not 0 < amount.minor <= most - credited:
            _refuse_beyond(order, claim, (most, credited), supplier.currency)
        session.add(
            CreditNote(claim_id=claim.id, at=at, amount=amount.minor, document=document, why=why)
        )
        record(session, token, request, order.branch_id, at)
        session.flush()
        view = order_view(session, order, at.date())
        session.commit()
        return view


@dataclass(frozen=True, slots=True)
class TakeBack:
    """A credit note, by its number, that was booked wrongly for a claim, and why."""

    claim: int
    document: str
    why: str


def take_back_credit(
    engine: Engine, number: str, wrong: TakeBack, at: datetime, token: str | None = None
) -> OrderView:
    """Take back a credit note or a refusal that was booked wrongly: an entry beside it says so.

    It counts as nothing from then on and stays on record; the paper may be booked anew. Raises
    UnknownNameError for a claim or a paper that is not booked, KittingError without a reason.
    """
    why = wrong.why.strip()
    if not why:
        raise KittingError("a reason is required: say what was recorded wrongly")
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"credit taken back {order.number} {wrong}"
        if earlier(session, token, request) is not None:
            return order_view(session, order, at.date())
        claim, _ = _claim(session, order, wrong.claim)
        notes = _notes(session, claim)
        note = next((one for one in notes if same_number(one.document, wrong.document)), None)
        if note is None:
            known = ", ".join(one.document for one in notes) or "none"
            raise UnknownNameError(
                "claim {id} of {number} has no credit note {document!r}. It has: {known}",
                id=claim.id,
                number=order.number,
                document=wrong.document.strip(),
                known=known,
            )
        require_after(f"{note.document} was booked", note.at, at, "its taking back")
        session.add(CreditUndone(note_id=note.id, at=at, why=why))
        record(session, token, request, order.branch_id, at)
        session.flush()
        view = order_view(session, order, at.date())
        session.commit()
        return view


def _notes(session: Session, claim: Claim) -> Sequence[CreditNote]:
    """What is booked for a claim and was not taken back, the first first."""
    return session.scalars(
        select(CreditNote)
        .where(CreditNote.claim_id == claim.id, CREDIT_HOLDS)
        .order_by(CreditNote.id)
    ).all()


def _claim(session: Session, order: PurchaseOrder, number: int) -> tuple[Claim, OrderLine]:
    """A claim of an order by its number, with its line; raises UnknownNameError."""
    rows = session.execute(
        select(Claim, OrderLine)
        .join(OrderLine, Claim.order_line_id == OrderLine.id)
        .where(OrderLine.order_id == order.id)
        .order_by(Claim.id)
    ).all()
    for claim, line in rows:
        if claim.id == number:
            return claim, line
    known = ", ".join(str(claim.id) for claim, _ in rows) or "none"
    raise UnknownNameError(
        "{number} has no claim {other_number}. It has: {known}",
        number=order.number,
        other_number=number,
        known=known,
    )


def _most(session: Session, claim: Claim, line: OrderLine) -> int:
    """What a claim is worth at most, minor units: what was charged for it, with no share kept.

    Of what came beyond the order nothing was charged; under warranty nothing is owed for what was
    sent back since the claim was refused.
    """
    charge = charge_of(line)
    if session.scalar(select(OF_OVER).where(Claim.id == claim.id)):
        return 0
    if claim.kind is ClaimKind.RETURN:
        return charge.share(claim.quantity)
    if claim.kind is ClaimKind.CORE:
        return charge.cores(claim.quantity)
    lot = claim.lot_id and session.get(Lot, claim.lot_id)
    item = lot.item_id if lot else line.item_id
    return charge.goods(min(claim.quantity, not_sent_back(session, line, item, but=claim.id)))


def _require_new(
    order: PurchaseOrder, claim: Claim, document: str, notes: Sequence[CreditNote], currency: str
) -> None:
    """Refuses a paper that is booked for the claim already, however it is spelled."""
    for note in notes:
        if same_number(note.document, document):
            what = format_money(note.amount, currency) if note.amount else "a refusal"
            raise KittingError(
                "{document} is booked for claim {id} already: {what} on {at:%Y-%m-%d}. If this is"
                " another paper, give the number that stands on it",
                document=note.document,
                id=claim.id,
                what=what,
                at=note.at,
                then=[next_step(Action.SHOW_ORDER, order=order.number)],
            )


def _refuse_beyond(
    order: PurchaseOrder, claim: Claim, sums: tuple[int, int], currency: str
) -> None:
    most, credited = (format_money(minor, currency) for minor in sums)
    before = f", of which {credited} is credited" if sums[1] else ""
    raise KittingError(
        "claim {id} of {number} is worth {most} at most{before}: no more than that is credited."
        " Give what the paper says of this claim; what it says of other goods belongs to their"
        " claims",
        id=claim.id,
        number=order.number,
        most=most,
        before=before,
        then=[next_step(Action.SHOW_ORDER, order=order.number)],
    )
