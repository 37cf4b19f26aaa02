"""What fluids do when a joint is opened: common practice, no source."""

from __future__ import annotations

import pytest

from kitting.facts.strip_down import ComesOut, comes_out


@pytest.mark.parametrize(
    ("fluid", "medium", "system", "out"),
    [
        ("air", "air", "intake", ComesOut.NOTHING),
        ("exhaust-gas", None, "exhaust", ComesOut.NOTHING),
        ("refrigerant", "r134a-pag", "air-conditioning", ComesOut.RECOVERED),
        ("own-gas", "r744-pag", "cooling", ComesOut.RECOVERED),
        ("petrol", "petrol", "fuel", ComesOut.UNDER_PRESSURE),
        ("diesel", "diesel", "high-pressure-fuel", ComesOut.UNDER_PRESSURE),
        # The far side of a fuel pump, and fuel where no pump presses it.
        ("engine-oil", "engine-oil", "high-pressure-fuel", ComesOut.RUNS_OUT),
        ("diesel", "diesel", "engine", ComesOut.RUNS_OUT),
        ("coolant", "glycol-coolant", "cooling", ComesOut.RUNS_OUT),
        ("own-fluid", None, "own-system", ComesOut.RUNS_OUT),
    ],
)
def test_what_comes_out_goes_by_fluid_and_system_and_the_unknown_is_caught(
    fluid: str, medium: str | None, system: str, out: ComesOut
) -> None:
    assert comes_out(fluid, medium, system) is out
