"""How many statements each action sends: one table for the whole product.

A row is an action and the most statements that it may send, on the demo garage, on either engine.
The number may not grow with candidates, orders, rows or stops: a second table gives a smaller and a
larger case of the same action, which send the same number. The BEGIN of a transaction, which SQLite
is sent and PostgreSQL gets with the first statement, is not counted.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from conftest import COMPILED
from helpers import NOW, ON, counted
from kitting.facts.money import Money
from kitting.services.advice.additional_work import meanwhile
from kitting.services.advice.learned_rates import learned
from kitting.services.day.today import TodayRequest, today
from kitting.services.planning.draft import draft
from kitting.services.planning.explain import why
from kitting.services.planning.jobs import list_jobs
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.services.purchasing.order_view import list_orders
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.services.purchasing.shortages import shortage
from kitting.store import reading

Action = Callable[[Engine], object]
RATE = Money(6000, "GBP")


def asked(*jobs: str, car: str = "PELL 117") -> PlanRequest:
    """Some jobs on a car of the demo."""
    return PlanRequest(car, jobs, ON)


def reads(question: Callable[[Session], object]) -> Action:
    """A question that is asked in a session of its own and changes nothing."""

    def action(engine: Engine) -> None:
        with reading(engine) as session:
            question(session)

    return action


def statements(engine: Engine, action: Action) -> list[str]:
    """What an action sends, but for the BEGIN of its transactions."""
    with counted(engine) as sent:
        action(engine)
    return [text for text in sent if not text.startswith("BEGIN")]


ONE, ALL = ("J1",), ("J1", "J2", "J3", "J4", "J5", "J6", "J7")
# Something of J7 clashes: four statements more ask what might do instead, and what that is.
AT_MOST: dict[str, tuple[Action, int]] = {
    "plan": (reads(lambda s: plan(s, asked(*ALL[:3]))), 13),
    "plan, something clashes": (reads(lambda s: plan(s, asked(*ALL))), 17),
    "plan, a variant is open": (reads(lambda s: plan(s, asked("J2", car="PELL 042"))), 13),
    "draft": (reads(lambda s: draft(s, asked(*ALL[:3]))), 13),
    "why": (reads(lambda s: why(plan(s, asked(*ALL[:3])), "SEAL-INTAKE")), 13),
    "jobs": (reads(lambda s: list_jobs(s, "PELL 117", ON)), 5),
    "today, three branches": (reads(lambda s: today(s, TodayRequest(), NOW)), 54),
    "order list": (reads(list_orders), 8),
    "shortage": (reads(lambda s: shortage(s, ["B0001"])), 6),
    "buy": (reads(lambda s: buy(s, ["B0001"], NOW, ON)), 40),
    "dates": (reads(lambda s: dates(s, ["B0001"], NOW)), 29),
    "learned": (reads(learned), 4),
    "meanwhile": (reads(lambda s: meanwhile(s, asked(*ONE))), 18),
    "meanwhile --rate": (reads(lambda s: meanwhile(s, asked(*ONE), RATE)), 19),
}
# Fewer and more of what the number may not grow with.
STEADY: dict[str, tuple[Action, Action]] = {
    "plan, with jobs": (
        reads(lambda s: plan(s, asked("J3"))), reads(lambda s: plan(s, asked(*ALL[:6]))),
    ),
    "meanwhile --rate, with candidates": (
        reads(lambda s: meanwhile(s, asked(*ALL[:6]), RATE)),
        reads(lambda s: meanwhile(s, asked(*ONE), RATE)),
    ),
}  # fmt: skip


@pytest.mark.parametrize("action", AT_MOST)
def test_an_action_sends_no_more_statements_than_it_may(garage: Engine, action: str) -> None:
    work, most = AT_MOST[action]
    sent = statements(garage, work)
    assert len(sent) <= most, "\n\n".join(sent)


@pytest.mark.parametrize("action", STEADY)
def test_the_number_of_statements_does_not_grow(garage: Engine, action: str) -> None:
    fewer, more = STEADY[action]
    assert len(statements(garage, more)) == len(statements(garage, fewer))


def test_no_plan_makes_or_compiles_a_statement_anew(garage: Engine) -> None:
    for jobs in (ALL, ONE):
        reads(lambda s, jobs=jobs: plan(s, asked(*jobs)))(garage)
    known = set(COMPILED)
    assert len(known) >= 13
    for jobs in (("J2", "J5"), ("J3",), ALL[1:]):
        reads(lambda s, jobs=jobs: plan(s, asked(*jobs)))(garage)
    assert set(COMPILED) == known
