"""The audit, backups and roles in words."""

from __future__ import annotations

from kitting.views.group import GroupRole
from kitting.views.upkeep import (
    AuditAdvice,
    AuditCheck,
    AuditFault,
    AuditFaultView,
    AuditRemark,
    AuditSubject,
    AuditView,
    BackupView,
)
from kitting.wording.figures import listed, many, show_quantity
from kitting.wording.language import N_, _
from kitting.wording.reasons import register, say

MEANINGS: dict[AuditCheck, str] = {
    AuditCheck.FILE: N_("every page can be read and every index fits its table"),
    AuditCheck.RULES: N_("every row keeps the rules of its table, and no movement can be altered"),
    AuditCheck.REFERENCES: N_("what a row refers to is there"),
    AuditCheck.BALANCES: N_("a lot holds the sum of its movements"),
    AuditCheck.RUNNING_BALANCES: N_("the running balance matches the movements"),
    AuditCheck.PROMISED: N_("a lot promises what bookings wait for"),
    AuditCheck.THERE: N_("nothing is promised that is not there"),
    AuditCheck.ARRIVALS: N_("an order line promises what bookings wait for"),
    AuditCheck.GOODS_IN: N_("what was received is the sum of its receipts"),
    AuditCheck.ORDERS: N_("received, lost and promised stay within what was ordered"),
    AuditCheck.KITS: N_("a kit holds what was picked less what was put back"),
    AuditCheck.STATES: N_("a finished kit is accounted for, an open one is not yet"),
    AuditCheck.PLACES: N_("bookings are promised their own items in their own branch"),
    AuditCheck.TRANSFERS: N_("what was sent and arrived was moved"),
    AuditCheck.ENDS_OF_TRANSFERS: N_("one item in two branches"),
    AuditCheck.OPENED_PACKS: N_("what leaves a lot as opened comes into another"),
    AuditCheck.LOST: N_("what was lost from a kit is told with a reason"),
    AuditCheck.NOT_NEEDED: N_("no more is promised or used than is needed, unless told why"),
    AuditCheck.UNMET: N_("what had to be renewed or used up was, or a reason is on record"),
    AuditCheck.STAYS_OPENED: N_("what was opened never counts as sealed again"),
    AuditCheck.CAUSES: N_("nothing came back that was not picked before"),
}

ROLES: dict[GroupRole, str] = {
    GroupRole.READER: N_("reads the catalogue and prices, and what belongs to its branches"),
    GroupRole.HAND: (
        N_("reads as a reader; books, picks, counts, sends, orders, receives for its branches")
    ),
    GroupRole.KEEPER: (
        N_("reads as a reader; changes the catalogue, cars, toolboxes, suppliers and prices")
    ),
}

register(
    {
        AuditFault.DAMAGED: "{text}",
        AuditFault.RULE_BROKEN: "{text}",
        AuditFault.MOVEMENTS_UNGUARDED: (
            "the trigger that keeps movements from being altered is gone"
        ),
        AuditFault.PARENT_LOST: "{row} refers to a row of {parent} that is not there",
        AuditFault.PARENTS_LOST: (
            "{table}: {rows:many row} referring to a row of {parent} that is not there"
        ),
        AuditFault.BALANCE: "its balance is not the sum of its movements",
        AuditFault.RUNNING_BALANCE: "its running balance is not the sum of the movements up to it",
        AuditFault.PROMISED: "what it says is promised is not what bookings wait for",
        AuditFault.OVER_PROMISED: "negative, or more promised than is there",
        AuditFault.ARRIVAL_PROMISED: "what it promises is not what bookings wait for",
        AuditFault.RECEIVED: "what was received is not the sum of its receipts",
        AuditFault.OVER_ORDERED: (
            "received, lost and promised come to more than was ordered, or it was cancelled"
        ),
        AuditFault.KIT: "what lies in its kit is not what was taken from the lot less what was put"
        " back",
        AuditFault.KIT_STATE: "what became of its kit does not fit its state",
        AuditFault.PLACE: "promised from another branch, or of another item than it says",
        AuditFault.MOVED: "what transfers say was sent or arrived is not what was moved",
        AuditFault.TRANSFER_ENDS: (
            "its two lots are not one item in the two branches that it names"
        ),
        AuditFault.OPENED: "what was opened in one lot did not come into another",
        AuditFault.LOST: "what it says is lost is not what was told of its kit",
        AuditFault.PROMISED_NEEDLESSLY: "more is promised than it needs, and nobody said why",
        AuditFault.USED_NEEDLESSLY: "more was used than it needed, and nobody said why",
        AuditFault.UNMET: "closed without all that had to be renewed or used up, and without a"
        " reason",
        AuditFault.SEALED_AGAIN: "the opened part of what came back lies among what is sealed",
        AuditFault.SENT_SEALED: "what was sent opened arrived as sealed",
        AuditFault.BEFORE_PICKING: "it came back before it was picked",
    }
)
_RESTORE = N_("restore the newest backup whose audit is clean")
register(
    {
        AuditAdvice.RESTORE: _RESTORE,
        AuditAdvice.STOP_WRITING: f"stop writing to it; {_RESTORE}",
        AuditAdvice.RECOUNT: f"hold the lot and count it; {_RESTORE}, and enter the count there",
        AuditAdvice.COMPARE_NOTES: f"compare the delivery notes, then {_RESTORE}",
        AuditAdvice.CHECK_KIT: f"look into the kit, then {_RESTORE}",
        AuditAdvice.CHECK_BOOKING: (
            "look into the kit, or at what is known of the car; put a closed booking right beside"
            " what was written"
        ),
        AuditAdvice.ASK_BRANCHES: f"ask both branches, then {_RESTORE}",
    }
)
register(
    {
        AuditRemark.CLOCK_SET_BACK: (
            "movements with an earlier time than one before: {movements}. A clock was set back, or"
            " the time was given by hand. Balances go by number"
        ),
        AuditRemark.TIME_TO_COME: (
            "movements with a time that is still to come: {movements}. Check the clock of this"
            " computer"
        ),
        AuditRemark.BEFORE_CAUSE: (
            "entries with an earlier time than their cause: {movements} (picked before the booking"
            " was made, arrived before it was sent, received before it was ordered). Compare the"
            " papers; amounts go by number"
        ),
    }
)


def verdict(view: AuditView) -> str:
    """An audit in a line: "16 checks, no fault", "3 faults in kits and states"."""
    faults = sum(check.faults for check in view.checks)
    if not faults:
        return _("{many}, no fault", many=many(len(view.checks), "check"))
    return _(
        "{many} in {listed}",
        many=many(faults, "fault"),
        listed=listed([c.check for c in view.checks if c.faults]),
    )


def backup_verdict(view: BackupView) -> str:
    """How the books of a backup stand, or why they were not checked."""
    if view.audit is None:
        return _("not audited: revision {revision} is older", revision=view.revision)
    return verdict(view.audit)


def fault_text(fault: AuditFaultView) -> str:
    """A fault in a line: what it is of, where, what is wrong, what is recorded and recomputed."""
    where = ", ".join(
        text
        for text in (
            fault.item,
            fault.lot and _("lot {lot}", lot=fault.lot),
            fault.place and _("in {place}", place=fault.place),
        )
        if text
    )
    thing = "" if fault.subject is AuditSubject.LOT and fault.lot else _thing(fault)
    named = ": ".join(text for text in (thing, where, say(fault.fault)) if text)
    if fault.recorded is None or fault.recomputed is None:
        return named
    unit = fault.unit or "each"
    recorded, recomputed = (show_quantity(n, unit) for n in (fault.recorded, fault.recomputed))
    return _(
        "{named}: {recorded} recorded, {recomputed} recomputed",
        named=named,
        recorded=recorded,
        recomputed=recomputed,
    )


def _thing(fault: AuditFaultView) -> str:
    if fault.subject in (AuditSubject.DATABASE, AuditSubject.TABLE):
        return ""
    if fault.subject is AuditSubject.ORDER_LINE:
        return _("order {value}, part {value2}", value=fault.name or "?", value2=fault.part or "?")
    named = None if fault.name == fault.lot else fault.name
    return " ".join(text for text in (fault.subject, named) if text)
