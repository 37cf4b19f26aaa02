"""The seal map of a booking: the plan's, with what is short said at each seal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from kitting.services.bookings.bag_lots import shares_of_ends
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.states import find_booking
from kitting.services.kit.seal_map import seal_map_of_kit
from kitting.views.kit import EndLabel, KitView
from kitting.views.seal_map import SealJointView, SealMapView


def seals_of(session: Session, number: str, today: date | None = None) -> SealMapView:
    """The seal map of a booking. Raises KittingError for one that is over."""
    kit, listed = labels_of(session, number, today), pick_of(session, number, today)
    plan = plan_of(session, find_booking(session, number))
    view = seal_map_of_kit(session, plan, kit)
    view = replace(view, joints=tuple(_with_shares(joint, kit) for joint in view.joints))
    seals = {place.label.content.item for joint in view.joints for place in joint.places}
    short = [line for line in listed.lines if not line.complete or line.spares_lacking]
    here = tuple(line for line in short if line.content.item in seals)
    also = sum(1 for line in short if line.lacks and line.content.item not in seals)
    return replace(view, short=here, also_short=also, slot=listed.slot)


def _with_shares(joint: SealJointView, kit: KitView) -> SealJointView:
    """Each seal of a joint with its share of what its bag has, as the labels tell it."""
    shared: dict[int, Iterator[EndLabel]] = {}
    for bag in kit.bags:
        labels = tuple(place.label for place in joint.places if place.bag == bag.number)
        for line in bag.lines if labels else ():
            labels = shares_of_ends(labels, line)
        shared[bag.number] = iter(labels)
    places = (replace(place, label=next(shared[place.bag])) for place in joint.places)
    return replace(joint, places=tuple(places))
