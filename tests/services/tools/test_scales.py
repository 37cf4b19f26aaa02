"""How close scales are read, from the list to what is set. All tools and figures are invented."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import IntegrityError

from helpers import ON, load, unit
from kitting.facts.tool_words import ToolVerdict
from kitting.facts.verdicts import Verdict
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.services.tools.check import check_tools
from kitting.services.tools.inventory import read_offered
from kitting.services.tools.toolboxes import list_tools, load_offers, load_tools
from kitting.store import reading
from kitting.wording.reasons import say
from kitting.wording.settings import hand_figure, scale_text
from kitting.wording.tools import marks_text, spec_text, train_text

HEADING = "box,code,sort,turns,takes,gives,from,to,resolution,deviation,calibrated to"
TOOLS = (
    "bay,W,torque wrench,,,3/8,5 N·m,25 N·m,0.5 N·m,4 %,2027-01-01",
    "bay,S-13,socket,hexagon 13 mm,3/8",
)
BOLT = "\n  - {code: M8, name: bolt, kind: bolt, thread: M8, head: hexagon 13 mm}"


def garage_with(store: Engine, folder: Path, stage: str, tools: tuple[str, ...] = TOOLS) -> None:
    """One bolt and the tools for it."""
    load(
        store,
        unit(
            f"""
      - code: a
        name: A
        system: engine
        fits:
          - item: M8
            position: lid bolt
            into: steel
            engagement: 12 mm
            tightening: {{stages: [{stage}], thread: dry, source: invented leaflet}}""",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
            items=BOLT,
        ),
    )
    path = folder / "tools.csv"
    path.write_text("\n".join((HEADING, *tools)), encoding="utf-8")
    load_tools(store, [path])


REQUEST = ToolRequest(PlanRequest("PELL 001", ("X1",), ON))


@pytest.mark.parametrize(
    ("stage", "setting", "state"),
    [
        ("75 lbf·in ± 6", "8.5 N·m", ToolVerdict.HAVE),
        ("20 N·m", "20 N·m", ToolVerdict.HAVE),
        ("75 lbf·in", None, ToolVerdict.UNKNOWN),
        ("10.2 N·m ± 0.1", None, ToolVerdict.GAP),
    ],
)
def test_tool_check_and_tightening_sheet_tell_the_same_setting(
    store: Engine, tmp_path: Path, stage: str, setting: str | None, state: ToolVerdict
) -> None:
    garage_with(store, tmp_path, stage)
    with reading(store) as session:
        checked, sheet = check_tools(session, REQUEST), tighten(session, REQUEST)
    (need,) = [need for need in checked.needs if need.what.torque is not None]
    (told,) = sheet.joints[0].rows[0].stages
    assert need.state is state
    if setting is None:
        assert (need.trains, told.train) == ((), None)
        assert need.reasons == told.reasons
        return
    assert told.train is not None
    assert told.train.setting == need.trains[0].setting
    assert hand_figure(told) == setting
    assert f"set {setting}" in train_text(need.trains[0])
    assert scale_text(told.train) == "scale in steps of 0.5 N·m"


def test_a_wrench_whose_steps_nobody_states_is_told_with_its_setting_and_proves_nothing(
    store: Engine, tmp_path: Path
) -> None:
    garage_with(store, tmp_path, "20 N·m", (TOOLS[0].replace("0.5 N·m", ""), TOOLS[1]))
    with reading(store) as session:
        checked, sheet = check_tools(session, REQUEST), tighten(session, REQUEST)
    (need,) = [need for need in checked.needs if need.what.torque is not None]
    (told,) = sheet.joints[0].rows[0].stages
    assert (need.state, told.verdict) == (ToolVerdict.UNKNOWN, Verdict.UNKNOWN)
    assert need.reasons == told.reasons
    assert say(need.reasons[0]).startswith("W: the steps of its scale are not stated")
    assert [train.setting for train in need.trains] == [told.train and told.train.setting]
    assert hand_figure(told) == "20 N·m"
    assert not told.proven
    assert [one.code for one in checked.lay_out if one.settings] == []


def test_lists_tell_the_steps_of_a_scale_and_that_nobody_states_them(
    store: Engine, tmp_path: Path
) -> None:
    unstated = TOOLS[0].replace("bay,W,", "bay,V,").replace("0.5 N·m", "")
    garage_with(store, tmp_path, "20 N·m", (*TOOLS, unstated))
    with reading(store) as session:
        told = {tool.code: marks_text(tool) for tool in list_tools(session, ["bay"])}
    assert told == {
        "S-13": "",
        "V": "5 to 25 N·m, steps not stated",
        "W": "5 to 25 N·m, steps of 0.5 N·m",
    }


def test_a_resolution_of_nothing_is_refused_by_the_table(store: Engine, tmp_path: Path) -> None:
    garage_with(store, tmp_path, "20 N·m")
    with pytest.raises(IntegrityError, match="resolution_positive"), store.begin() as connection:
        connection.execute(text("UPDATE tool SET resolution = 0 WHERE code = 'W'"))


def test_a_wrench_on_offer_says_how_close_its_scale_is_read(store: Engine, tmp_path: Path) -> None:
    garage_with(store, tmp_path, "20 N·m")
    path = tmp_path / "offers.csv"
    path.write_text(
        "offer,supplier,way,price,code,sort,gives,from,to,resolution\n"
        "W5,Fennimuth,buy,60 GBP,W5,torque wrench,3/8,5 N·m,25 N·m,0.5 N·m\n",
        encoding="utf-8",
    )
    load_offers(store, [path])
    with reading(store) as session:
        (offer,) = read_offered(session, ON).offers
    assert spec_text(offer.tools[0]) == "torque wrench 3/8 in 5–25 N·m steps of 0.5 N·m"
