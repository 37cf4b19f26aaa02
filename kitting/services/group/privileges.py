"""Who may do what with which table, on a server that several logins share.

Every table is decided here: its rows belong to a branch (and the database separates branches by
row-level security, revision 0005), or it is shared, for a reason. A test holds this to the tables.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kitting.views.group import GroupRole

READER, HAND, KEEPER = GroupRole.READER, GroupRole.HAND, GroupRole.KEEPER
_ALL = "INSERT, UPDATE, DELETE"

# What a branch hand may do with rows of the own branch. A movement is never altered; an amount on
# the way is not altered by who gets it.
BY_BRANCH: Mapping[str, str] = {
    # To another branch a booking is moved by who works for both.
    "booking": (
        "INSERT, UPDATE (branch_id, fit_on, state, override, closed_at, edition, planned,"
        " shelf_policy)"
    ),
    "booking_job": "INSERT, DELETE",
    "booking_choice": "INSERT, DELETE",
    "booking_licence": "INSERT, DELETE",
    "booking_doubt": "INSERT, DELETE",
    "booking_stand_in": "INSERT, DELETE",
    "booking_need": "INSERT, DELETE",
    "booking_sure": "INSERT, DELETE",
    "booking_spare": "INSERT, DELETE",
    "booking_slot": "INSERT, DELETE",
    "booking_technician": "INSERT, DELETE",
    # What was agreed stays on record.
    "booking_price": "INSERT",
    "promise": "INSERT, DELETE, UPDATE (waiting, picked, used, returned, scrapped, lost)",
    "kit_event": "INSERT",
    "kit_tray": "INSERT, DELETE",
    "seal_count": "INSERT, DELETE",
    "finding": "INSERT, DELETE",
    "finding_correction": "INSERT",
    "lot": (
        "INSERT, UPDATE (bin, made_on, expires_on, opened_on, on_hand, promised, held,"
        " inspected_on, inspection)"
    ),
    "movement": "INSERT",
    "transfer": "INSERT, UPDATE (to_lot_id, arrived_at)",
    "purchase_order": "INSERT, UPDATE (cancelled_at)",
    "order_line": "INSERT, UPDATE (received, lost, promised)",
    "receipt": "INSERT",
    "order_notice": "INSERT",
    "receipt_goods": "INSERT",
    "receipt_undone": "INSERT",
    "customer_lot": "INSERT",
    "claim": "INSERT",
    "credit_note": "INSERT",
    "credit_undone": "INSERT",
    "handled": "INSERT",
}


@dataclass(frozen=True, slots=True)
class Shared:
    """Tables without a branch: why, and what a hand may do with some of them beside reading."""

    because: str
    tables: tuple[str, ...]
    hand: Mapping[str, str]


SHARED: tuple[Shared, ...] = (
    Shared(
        "what an item is, and what work asks for, is the same in every branch",
        (
            "caution", "fluid", "system", "licence", "general_tool", "kind", "kind_rule",
            "kind_dry", "other_word", "kind_tool", "kind_caution", "kind_system", "fluid_caution",
            "system_caution",
            "system_licence",
            "item", "item_gtin", "item_name", "item_content",
            "item_rule", "item_medium", "item_caution", "succession",
            "successor", "alternative",
            "unit", "split", "split_option", "joint", "joint_order", "joint_fluid", "joint_near",
            "joint_caution", "fit", "fit_fluid", "hole", "fit_rule", "tightening", "stage",
            "step", "step_option", "step_need", "opening",
            "step_tool", "step_caution", "use", "job", "job_need",
            "job_renewal", "job_service", "catalogue_origin", "origin_of",
        ),
        {},
    ),
    Shared(
        "every plan knows by which edition of the catalogue it was made",
        ("catalogue_edition",),
        {"catalogue_edition": "INSERT"},
    ),
    Shared(
        "a car comes to whichever branch has room; what was seen at it is true there too",
        (
            "model", "model_unit", "model_fluid", "vehicle", "vehicle_unit", "vehicle_fluid",
            "equipment", "removal", "refit", "settled_variant", "declined", "car_told", "car_note",
            "found_part", "photo",
        ),
        {
            "vehicle": "INSERT, UPDATE (model_id, vin, build_date, weight, weight_is)",
            "vehicle_unit": "INSERT, DELETE",
            "equipment": "INSERT, UPDATE (present)",
            "car_told": "INSERT",
            "car_note": "INSERT",
            "found_part": "INSERT, UPDATE (taken_back)",
            "photo": "INSERT, DELETE",
            "refit": "INSERT",
            "settled_variant": "INSERT, UPDATE (option_id, reason)",
            "declined": "INSERT",
        },
    ),
    Shared(
        "a toolbox goes with a person, who may work in several branches",
        ("toolbox", "tool", "tool_offer"),
        {"tool": "UPDATE (state, lent_to, back_on)"},
    ),
    Shared(
        "a batch that is on hold is so in every branch, whoever says so",
        ("batch_hold", "hold_release"),
        {"batch_hold": "INSERT", "hold_release": "INSERT"},
    ),
    Shared(
        "suppliers and their price lists are agreed for the whole group",
        (
            "supplier", "supplier_cutoff", "supplier_closing", "supplier_tax", "offer",
            "offer_price",
        ),
        {},
    ),
    Shared(
        "goods are sent to branches by name, by their vans and on their working days",
        ("branch", "branch_licence", "branch_tax"),
        {},
    ),
    Shared(
        "whoever books a car sees which branch has a ramp and somebody who may do the work",
        ("ramp", "technician", "technician_hours", "technician_licence", "absence"),
        {},
    ),
)  # fmt: skip
# Read by everybody (of branch_member only the own rows), written by the owner of the database.
OWNERS: Mapping[str, str] = {
    "branch_member": "who could write it would let himself into any branch",
}
# Personal data: nobody else reads it, and it may be forgotten.
PERSONAL: Mapping[str, Mapping[GroupRole, str]] = {
    # Who takes a booking calls the owner; for plans, prices and catalogues nobody has to.
    "car_owner": {HAND: "SELECT, INSERT, UPDATE, DELETE"},
}
# Functions of the database: drawing a number, finding the lot that goods go to, and whether the one
# that they came from was put on hold meanwhile.
FUNCTIONS: Mapping[str, tuple[GroupRole, ...]] = {
    "own_branches()": (READER, HAND, KEEPER),
    "newest_id(text)": (HAND,),
    "lot_in_branch(integer, integer, date)": (HAND,),
    "held_at_origin(integer)": (HAND,),
}


def writes(role: GroupRole) -> dict[str, str]:
    """The tables that a role may write, each with the privileges as SQL names them."""
    shared = [(table, group) for group in SHARED for table in group.tables]
    personal = {table: roles[role] for table, roles in PERSONAL.items() if role in roles}
    if role == HAND:
        return {**BY_BRANCH, **{t: g.hand[t] for t, g in shared if t in g.hand}, **personal}
    if role == KEEPER:
        return {**{table: _ALL for table, _ in shared}, "finding": "INSERT", **personal}
    return personal
