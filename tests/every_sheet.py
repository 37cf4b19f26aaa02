"""Every sheet and label of some jobs, made as the commands make them, to be drawn again and again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from io import BytesIO
from typing import Any

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from helpers import NOW, ON
from kitting.errors import KittingError
from kitting.facts.torque_tools import parse_range_policy
from kitting.facts.words import BookingState
from kitting.reports.labels.labels import draw_kit_labels
from kitting.reports.sheets.dates import KitAsked, draw_dates
from kitting.reports.sheets.findings import draw_findings
from kitting.reports.sheets.order import draw_order
from kitting.reports.sheets.pick_list import draw_pick_list
from kitting.reports.sheets.plan import OfBooking, draw_plan
from kitting.reports.sheets.refit import draw_refit
from kitting.reports.sheets.removal_count import draw_removal
from kitting.reports.sheets.seal_map import draw_seal_map
from kitting.reports.sheets.strip import draw_strip
from kitting.reports.sheets.tightening import draw_tightening
from kitting.reports.sheets.tool_check import draw_tool_check
from kitting.reports.stamp import printed_at
from kitting.reports.stationery import LabelStock
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.bookings.findings_sheet import findings_view
from kitting.services.bookings.kit_record import plan_of, request_of
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals, refit_of, removal_view
from kitting.services.bookings.seal_sheet import seals_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.strip_sheet import strip_of
from kitting.services.kit.bags import kit_view
from kitting.services.kit.pick import pick_view
from kitting.services.kit.seal_map import seal_map
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.safe_dates import DAYS, BookedRequest, dates_booked
from kitting.services.tightening.refit import refit
from kitting.services.tightening.sheet import tighten
from kitting.services.tightening.strip import strip
from kitting.services.tools.purchase import check_with_cover
from kitting.store import reading
from kitting.tables.supply import PurchaseOrder
from kitting.views.kit import KitView

SURE = "it is only a test"
Draw = Callable[..., object]


@dataclass(frozen=True)
class Sheets:
    """What draws each sheet, by its command; it takes a target and `paper`. And the kit."""

    sheets: dict[str, Draw]
    kit: KitView

    def sheet(self, name: str, paper: str = "A4") -> bytes:
        """A sheet as the command would print it."""
        target = BytesIO()
        with printed_at(NOW):
            self.sheets[name](target, paper=paper)
        return target.getvalue()

    def labels(self, stock: LabelStock) -> bytes | None:
        """The labels on a stock; None where it is refused as too small."""
        target = BytesIO()
        try:
            with printed_at(NOW):
                draw_kit_labels(self.kit, stock, target)
        except KittingError as error:
            assert "is too small for" in str(error)  # noqa: PT017
            return None
        return target.getvalue()


def of_plan(engine: Engine, car: str, jobs: Sequence[str]) -> Sheets:
    """The sheets of a plan."""
    asked = PlanRequest(car, tuple(jobs), ON, {})
    with reading(engine) as session:
        planned = plan(session, asked)
        tools = _tools(asked)
        views: dict[str, tuple[Callable[..., object], Any]] = {
            "plan": (draw_plan, planned),
            "pick": (draw_pick_list, pick_view(planned)),
            "tools": (draw_tool_check, check_with_cover(session, tools)),
            "tighten": (draw_tightening, tighten(session, tools)),
            "strip": (draw_strip, strip(session, asked)),
            "refit": (draw_refit, refit(session, tools)),
        }
        seals = seal_map(session, planned)
        if seals.joints:
            views["seals"] = (draw_seal_map, seals)
        drawn = {name: partial(draw, view) for name, (draw, view) in views.items()}
        return Sheets(drawn, kit_view(planned))


def of_booking(engine: Engine, car: str, jobs: Sequence[str], branch: str) -> Sheets:
    """The sheets of a booking: what is short is ordered, the rest picked, old seals counted."""
    made = book(engine, BookingRequest(car, tuple(jobs), ON, branch, again=True), NOW)
    number = made.number
    place(engine, (number,), NOW)
    with reading(engine) as session:
        dates = dates_booked(session, BookedRequest((number,), None), NOW, 0.95, DAYS, None)
    pick(engine, number, NOW)
    step_to(engine, number, BookingState.CONFIRMED, SURE)
    step_to(engine, number, BookingState.ON_THE_RAMP, SURE)
    with reading(engine) as session:
        counted = {
            joint.joint: joint.expected
            for joint in removal_view(session, find_booking(session, number)).joints
        }
    count_seals(engine, number, counted, NOW)
    with reading(engine) as session:
        drawn = dict(_of_booking(session, number, NOW.date()))
        planned = plan_of(session, find_booking(session, number))
        jobs_named = tuple(f"{job.code} {job.name}" for job in planned.jobs)
        kit = KitAsked(number, planned.reference, planned.vehicle.whole_name, jobs_named)
        drawn["dates"] = partial(draw_dates, dates, kits=(kit,))
        for order in session.scalars(select(PurchaseOrder)):
            shown = order_view(session, find_order(session, order.number))
            drawn[f"order {order.number}"] = partial(draw_order, shown)
            drawn[f"order {order.number} inside"] = partial(draw_order, shown, inside=True)
        return Sheets(drawn, labels_of(session, number, NOW.date()))


def _of_booking(session: Session, number: str, today: date) -> Iterator[tuple[str, Draw]]:
    booking = find_booking(session, number)
    picked = pick_of(session, number, today)
    asked = refit_of(session, number, today)
    tools = _tools(asked.request)
    whole = plan_of(session, booking)
    yield "plan", partial(draw_plan, whole, booking=OfBooking(number, picked.lines))
    yield "pick", partial(draw_pick_list, picked)
    seals = seals_of(session, number, today)
    if seals.joints:
        yield "seals", partial(draw_seal_map, seals)
    checked = check_with_cover(session, _tools(request_of(session, booking)))
    yield "tools", partial(draw_tool_check, replace(checked, booking=number))
    view = replace(tighten(session, tools), slot=asked.slot, booking=number)
    yield "tighten", partial(draw_tightening, view)
    yield "strip", partial(draw_strip, strip_of(session, number, today))
    kit = labels_of(session, number, today)
    trays = {bag.number: bag.tray for bag in kit.bags}
    again = refit(session, tools)
    bags = tuple(
        bag if bag.bag is None else replace(bag, tray=trays.get(bag.bag)) for bag in again.bags
    )
    again = replace(again, booking=number, shortages=kit.shortages, slot=asked.slot, bags=bags)
    yield "refit", partial(draw_refit, again)
    yield "removal", partial(draw_removal, removal_view(session, booking))
    yield "findings", partial(draw_findings, findings_view(session, number))


def _tools(asked: PlanRequest) -> ToolRequest:
    return ToolRequest(asked, (), parse_range_policy("marked"), None, NOW.date())
