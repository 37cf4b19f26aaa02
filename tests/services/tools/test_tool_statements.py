"""How many statements tools and tightening send beyond the draft of the plan, whatever it holds."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from helpers import ON, counted
from kitting.facts.tool_words import ToolState
from kitting.services.planning.draft import draft
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.cure_times import curing
from kitting.services.tightening.refit import refit
from kitting.services.tightening.sheet import tighten
from kitting.services.tools.check import check_tools
from kitting.services.tools.purchase import buy_tools, check_with_cover
from kitting.services.tools.toolboxes import ToolChange, list_tools, set_state
from kitting.store import reading

ONE = ToolRequest(PlanRequest("PELL 117", ("J6",), ON), ("bay",))
SEVEN = ToolRequest(
    PlanRequest("PELL 117", tuple(f"J{n}" for n in range(1, 8)), ON), ("bay", "van")
)
# Boxes and their tools; offers with what they bring; holes, orders with fronts, systems; what sets.
BEYOND_THE_DRAFT: dict[str, tuple[Callable[[Session, ToolRequest], object], int]] = {
    "toolbox check": (check_tools, 2),
    "toolbox buy": (buy_tools, 3),
    "sheet tools": (check_with_cover, 3),
    "sheet tighten": (tighten, 6),
    "sheet refit": (refit, 6),
    "cure": (lambda session, request: curing(session, request.plan, 60), 1),
}


def sent(engine: Engine, ask: Callable[[Session, ToolRequest], object], asked: ToolRequest) -> int:
    with counted(engine) as statements, reading(engine) as session:
        ask(session, asked)
    return len(statements)


@pytest.mark.parametrize("name", BEYOND_THE_DRAFT)
@pytest.mark.parametrize("asked", [ONE, SEVEN], ids=["one job", "seven jobs"])
def test_they_are_few_and_the_same_for_any_plan(
    lite_garage: Engine, name: str, asked: ToolRequest
) -> None:
    ask, beyond = BEYOND_THE_DRAFT[name]
    drafted = sent(lite_garage, lambda session, request: draft(session, request.plan), asked)
    assert sent(lite_garage, ask, asked) == drafted + beyond


def test_a_list_of_tools_takes_two_statements_and_a_change_three(lite_garage: Engine) -> None:
    with counted(lite_garage) as statements, reading(lite_garage) as session:
        list_tools(session, ["bay", "van"])
    assert len([one for one in statements if one.startswith("SELECT")]) == 2
    with counted(lite_garage) as statements:
        set_state(lite_garage, ToolChange("bay", "GAUGE-ANGLE", ToolState.HERE))
    assert len([one for one in statements if one.startswith(("SELECT", "UPDATE"))]) == 3
