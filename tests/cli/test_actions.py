"""What to do next, from the action to the command of it."""

from __future__ import annotations

from typing import Any

import pytest
import typer

from kitting.actions import Action, next_step
from kitting.cli.actions import COMMANDS, command, with_steps
from kitting.cli.main import app


def test_every_action_has_its_command() -> None:
    assert set(COMMANDS) == set(Action)


@pytest.mark.parametrize("action", [a for a in Action if not COMMANDS[a].startswith("--")])
def test_the_command_of_an_action_is_one_that_there_is(action: Action) -> None:
    first, *words = COMMANDS[action].split()
    assert first == "kitting"
    found: Any = typer.main.get_command(app)
    while hasattr(found, "get_command"):
        found = found.get_command(None, words.pop(0))
    assert found is not None


def test_a_step_shows_its_values_and_in_capitals_what_is_to_be_filled_in() -> None:
    assert command(next_step(Action.COUNT_STOCK, item="RING", lot="R1")) == (
        "kitting stock count BRANCH RING R1 QUANTITY"
    )


def test_steps_follow_one_another_and_an_option_is_another_way_out() -> None:
    back_up, set_up = next_step(Action.BACK_UP), next_step(Action.SET_UP)
    elsewhere = next_step(Action.NAME_DATABASE)
    assert with_steps("too old", ()) == "too old"
    assert with_steps("too old.", (back_up, set_up)) == (
        "too old. Next: kitting backup FILE, then kitting setup"
    )
    assert with_steps("none there", (set_up, elsewhere)) == (
        "none there. Next: kitting setup, or the same command with --database URL"
    )
    assert with_steps("which branch?", (next_step(Action.NAME_BRANCH),)) == (
        "which branch? Next: the same command with --branch BRANCH"
    )
