"""What goes on paper of a plan or a booking, with the photos that belong to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import typer

from kitting.cli.options import moment, open_database, plan_request

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from kitting.views.kit import KitView, PickView
    from kitting.views.photos import Photographs
    from kitting.views.plan import PlanView
    from kitting.views.seal_map import SealMapView
    from kitting.views.strip import StripView

_View = TypeVar("_View")


@dataclass(frozen=True, slots=True)
class Asked:
    """What a sheet was asked of: a car, its jobs and day, or a booking. Raises a usage error."""

    registration: str | None
    jobs: list[str] | None
    booking: str | None
    on: str | None
    assume: list[str] | None
    now: str | None

    def __post_init__(self) -> None:
        unclear = (self.booking is None) == (self.registration is None)
        if unclear or (self.booking is None and not self.jobs):
            raise typer.BadParameter("name a car and its jobs, or a booking with --booking")

    def plan(self, session: Session) -> PlanView:
        """The plan of the car and its jobs, or of the booking."""
        if self.booking is not None:
            from kitting.services.bookings.kit_record import plan_of
            from kitting.services.bookings.states import find_booking

            return plan_of(session, find_booking(session, self.booking))
        from kitting.services.planning.plan import plan

        request = plan_request(self.registration or "", self.jobs or [], self.on, self.assume)
        return plan(session, request)


def kit_for_paper(asked: Asked, database: str | None) -> tuple[KitView, Photographs]:
    """The kit of a plan, or of a booking with what was promised to it."""
    from kitting.services.bookings.kit_sheets import labels_of
    from kitting.services.kit.bags import kit_view

    return _for_paper(asked, database, labels_of, lambda _, plan: kit_view(plan))


def pick_for_paper(asked: Asked, database: str | None) -> tuple[PickView, Photographs]:
    """What to pick for a plan, or for a booking from its lots."""
    from kitting.services.bookings.kit_sheets import pick_of
    from kitting.services.kit.pick import pick_view

    return _for_paper(asked, database, pick_of, lambda _, plan: pick_view(plan))


def seals_for_paper(asked: Asked, database: str | None) -> tuple[SealMapView, Photographs]:
    """The seals of a plan, or of a booking with what is short of them."""
    from kitting.services.bookings.seal_sheet import seals_of
    from kitting.services.kit.seal_map import seal_map

    return _for_paper(asked, database, seals_of, seal_map)


def _for_paper(
    asked: Asked,
    database: str | None,
    of_booking: Callable[..., _View],
    of_plan: Callable[[Session, PlanView], _View],
) -> tuple[_View, Photographs]:
    from kitting.services.catalogue.photos import any_photo, photographs_of
    from kitting.store import reading
    from kitting.views.photos import NO_PHOTOGRAPHS

    with reading(open_database(database)) as session:
        if asked.booking is None:
            planned = asked.plan(session)
            return of_plan(session, planned), photographs_of(session, planned)
        view = of_booking(session, asked.booking, moment(asked.now).date())
        if not any_photo(session):
            return view, NO_PHOTOGRAPHS
        return view, photographs_of(session, asked.plan(session))


def strip_for_paper(asked: Asked, database: str | None) -> tuple[StripView, Photographs]:
    """What comes off the car of a plan, or of a booking with the old seals counted so far."""
    from kitting.services.bookings.strip_sheet import strip_of
    from kitting.services.catalogue.photos import any_photo, photographs_of
    from kitting.services.tightening.strip import strip
    from kitting.store import reading
    from kitting.views.photos import NO_PHOTOGRAPHS

    with reading(open_database(database)) as session:
        if asked.booking is not None:
            view = strip_of(session, asked.booking, moment(asked.now).date())
        else:
            jobs = asked.jobs or []
            request = plan_request(asked.registration or "", jobs, asked.on, asked.assume)
            view = strip(session, request)
        if not any_photo(session):
            return view, NO_PHOTOGRAPHS
        return view, photographs_of(session, asked.plan(session))
