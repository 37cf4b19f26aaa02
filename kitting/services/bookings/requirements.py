"""What a plan asks for, written down with its booking: needs, licences, doubts, what stands in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from sqlalchemy import bindparam, delete, insert, select, update
from sqlalchemy.orm import Session

from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import because
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import NeedRule, Source
from kitting.services.bookings.edition import EDITION
from kitting.services.bookings.finding_items import place_findings
from kitting.services.bookings.kit_record import kit_records, request_of
from kitting.services.bookings.planned import as_text
from kitting.services.bookings.states import BookingFacts
from kitting.services.bookings.supersession import stand_ins
from kitting.services.db.reason_text import reason_as_text
from kitting.services.planning.draft import judged
from kitting.services.planning.facts import PlanFacts
from kitting.services.planning.judged import Draft, JudgedPart, JudgedUse
from kitting.services.planning.read import read_plan
from kitting.services.planning.stand_ins import KitRecord
from kitting.services.planning.view import plan_view
from kitting.tables.bookings import (
    Booking,
    BookingDoubt,
    BookingLicence,
    BookingNeed,
    BookingStandIn,
)
from kitting.tables.items import Item
from kitting.tables.vocabulary import Licence
from kitting.views.plan import PlanView

_ITEMS = select(Item.code, Item.id).where(Item.code.in_(bindparam("codes", expanding=True)))
_EDITION_OF = select(Booking.edition, Booking.planned).where(Booking.id == bindparam("booking"))
_LICENCES = select(Licence.code, Licence.id).where(
    Licence.code.in_(bindparam("codes", expanding=True))
)


def needs_of(planned: PlanView) -> dict[tuple[str, NeedRule], int]:
    """What a plan takes: (item code, rule) → thousandths. Spares for inspections included."""
    needs: dict[tuple[str, NeedRule], int] = defaultdict(int)
    for line in planned.lines:
        if line.wanted and not line.stopped_by:
            needs[line.item, NeedRule(line.rule)] += line.wanted
    for use in planned.uses:
        if use.to_take and not use.stopped_by:
            needs[use.item, NeedRule.USE] += use.to_take
    return dict(needs)


def draft_of(session: Session, booking: BookingFacts) -> Draft:
    """The draft of a booking by the catalogue and the shelves as they are now."""
    recorded = kit_records(session, [booking.id])[booking.id]
    facts = read_plan(session, request_of(session, booking, recorded))
    return draft_kit(session, booking, facts, recorded)


def draft_kit(
    session: Session, booking: BookingFacts, facts: PlanFacts, recorded: KitRecord
) -> Draft:
    """Judge what was read for a booking.

    What the joints ask for is judged first, to know how much of each is needed; then what stands
    for it.
    """
    asked = judged(session, facts, KitRecord(failed=recorded.failed, passed=recorded.passed))
    keys = {item.code: key for key, item in asked.contents.items.items()}
    needs = {
        (keys[code], rule): amount for (code, rule), amount in needs_of(plan_view(asked)).items()
    }
    kit = stand_ins(session, booking, asked, needs, recorded)
    return judged(session, asked, kit) if kit.stands else asked


def plan_again(session: Session, booking: BookingFacts, outdated: bool) -> None:
    """Write down what a booking needs by what was found since.

    Where it was `outdated` before, it stays known that it was planned by the former catalogue.
    """
    known = session.execute(_EDITION_OF, {"booking": booking.id}).one()
    write_plan(session, booking, draft_of(session, booking))
    if outdated:
        _keep(session, booking, known.edition, known.planned)


def write_plan(session: Session, booking: BookingFacts, planned: Draft) -> None:
    """Write down what a draft asks for, instead of what was planned before."""
    for table in (BookingNeed, BookingLicence, BookingDoubt, BookingStandIn):
        session.execute(delete(table).where(table.booking_id == booking.id))
    view = plan_view(planned)
    place_findings(session, booking.id, view)
    _write(session, BookingNeed, booking, _needs(session, view))
    _write(session, BookingStandIn, booking, _stand_ins(planned))
    _write(session, BookingLicence, booking, _licences(session, view))
    _write(session, BookingDoubt, booking, _doubts(view))
    _keep(session, booking, session.execute(EDITION).scalar_one(), as_text(view))


def _keep(session: Session, booking: BookingFacts, edition: int | None, text: str | None) -> None:
    """Keep by which edition of the catalogue it was planned, and what that said."""
    session.execute(
        update(Booking)
        .where(Booking.id == booking.id)
        .values(edition=edition, planned=text)
        .execution_options(synchronize_session=False)
    )


def _write(
    session: Session, table: type[Any], booking: BookingFacts, rows: Iterable[Mapping[str, Any]]
) -> None:
    if found := [{"booking_id": booking.id, **row} for row in rows]:
        session.execute(insert(table), found)


def _needs(session: Session, planned: PlanView) -> Iterator[dict[str, Any]]:
    needs = needs_of(planned)
    codes = sorted({item for item, _ in needs})
    ids = dict(session.execute(_ITEMS, {"codes": codes}).all())
    for (code, rule), amount in sorted(needs.items()):
        yield {"item_id": ids[code], "rule": rule, "quantity": amount}


def _stand_ins(planned: Draft) -> Iterator[dict[str, Any]]:
    judged_lines: tuple[tuple[JudgedPart | JudgedUse, NeedRule], ...] = (
        *((part, NeedRule(part.ruling.rule)) for part in planned.parts),
        *((use, NeedRule.USE) for use in planned.uses),
    )
    found = {
        (line.asked.key, rule, line.item.key)
        for line, rule in judged_lines
        if line.item.key != line.asked.key
    }
    for asked, rule, item in sorted(found):
        yield {"asked_id": asked, "rule": rule, "item_id": item}


def _licences(session: Session, planned: PlanView) -> Iterator[dict[str, Any]]:
    """What the work asks of the people who do it."""
    if not planned.licences:
        return
    codes = [licence.code for licence in planned.licences]
    ids = dict(session.execute(_LICENCES, {"codes": codes}).all())
    for licence in planned.licences:
        yield {"licence_id": ids[licence.code], "asked_by": ", ".join(licence.asked_by)}


def plan_doubts(planned: PlanView) -> tuple[tuple[str | None, Doubt], ...]:
    """What is in doubt of a plan, each once with the item of its line; of a joint with none."""
    of_lines = ((line.item, doubt) for line in planned.entries for doubt in line.doubts)
    of_joints = ((None, doubt) for joint in planned.joints for doubt in joint.doubts)
    return tuple(dict.fromkeys((*of_lines, *of_joints, *_failed_and_open(planned))))


def _failed_and_open(planned: PlanView) -> Iterator[tuple[str | None, Doubt]]:
    """What did not pass its look, and an open variant decides what is renewed."""
    for line in planned.lines:
        if line.source is Source.FINDING and line.stopped_by:
            for place in line.positions:
                reason = because(
                    DoubtReason.FAILED_AND_OPEN,
                    joint=place.joint, position=place.position, stopped=line.stopped_by,
                )  # fmt: skip
                yield None, Doubt(Verdict.NO, Aspect.FINDING, reason)


def _doubts(planned: PlanView) -> Iterator[dict[str, Any]]:
    for seq, (item, doubt) in enumerate(plan_doubts(planned)):
        yield {
            "seq": seq, "item": item, "verdict": doubt.verdict, "aspect": doubt.aspect,
            "reason": reason_as_text(doubt.because),
        }  # fmt: skip
