"""A joint whose fluids are all of another system is told: its rubber was judged against them."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import load, planned, said, unit
from kitting.facts.rubber_media import MEDIA
from kitting.facts.system_media import MEDIA_OF_SYSTEM
from kitting.facts.verdicts import Verdict

FIT = "{position: ring, item: RING, lubricant: dry}"


def told(engine: Engine, system: str, fluids: str) -> list[str]:
    joint = f"      - {{code: j, name: J, system: {system}, fluids: [{fluids}], fits: [{FIT}]}}"
    steps = "      - {code: S, name: s, hours: 1 h, opens: [j]}"
    jobs = "      - {code: J, name: j, needs: [S]}"
    load(engine, unit(joint, steps, jobs))
    view = planned(engine, "PELL 001", "J")
    found = [one for one in view.doubts if one.because.code == "fluid of another system"]
    assert not found or view.verdict in (Verdict.UNKNOWN, Verdict.NO)
    return said([one.because for one in found])


@pytest.mark.parametrize(
    ("system", "fluids", "odd"),
    [
        ("high-pressure-fuel", "coolant", True),
        ("brakes", "coolant", True),
        ("steering", "brake-fluid", True),
        ("fuel", "brake-fluid, coolant", True),
        ("high-pressure-fuel", "petrol", False),
        ("high-pressure-fuel", "engine-oil", False),  # towards the engine, behind the pump
        ("brakes", "brake-fluid", False),
        ("brakes", "air", False),
        ("high-pressure-fuel", "petrol, coolant", False),
        ("cooling", "petrol", False),  # nothing is said of this system
        ("brakes", "", False),  # nothing is stated: that the rubber waits for it is told elsewhere
        ("brakes", "screen-wash", False),  # nobody knows what it is
    ],
)
def test_one_fluid_at_least_is_of_the_system(
    lite: Engine, system: str, fluids: str, odd: bool
) -> None:
    found = told(lite, system, fluids)
    assert bool(found) is odd
    for text in found:
        assert text.startswith("j is of ")
        assert text.endswith("Look up its fluids (fluids: or system: of the joint)")


def test_every_medium_of_the_table_is_known() -> None:
    assert frozenset().union(*MEDIA_OF_SYSTEM.values()) <= MEDIA.keys()
