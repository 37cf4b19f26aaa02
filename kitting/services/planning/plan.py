"""Planning: one car, some jobs, one date → the complete kit with a reason for every line."""

from __future__ import annotations

from sqlalchemy.orm import Session

from kitting.services.planning.draft import draft
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.view import plan_view
from kitting.views.plan import PlanView


def plan(session: Session, request: PlanRequest) -> PlanView:
    """The complete kit for some jobs on one car, judged at the fitting date.

    The number of SQL statements does not depend on the size of the plan.
    Raises UnknownNameError and CatalogueCycleError (see `draft`).
    """
    return plan_view(draft(session, request))
