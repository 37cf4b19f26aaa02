"""A share of a gland against its guidance, exactly at the limits and just beyond them."""

from __future__ import annotations

import pytest

from kitting.calc.rubber.glands import Band, judge
from kitting.facts.ring_reasons import GlandFault, GlandShare
from kitting.facts.ring_standards import Guidance

# Invented limits: 10 to 30 percent.
ROW = Guidance(GlandShare.SQUEEZE, 10.0, 30.0, True, "worst", "test", "invented", "certain")


@pytest.mark.parametrize(
    ("least", "most", "faults", "over"),
    [
        (10.0, 30.0, (), 0.0),
        # What the machine rounds is no fault: 0.1 + 0.2 is not 0.3 to it.
        (10 - 1e-12, 30 + 1e-12, (), 0.0),
        (10 - 1e-6, 30.0, (GlandFault.NARROWLY_BELOW,), 1e-6),
        (10.0, 30 + 1e-6, (GlandFault.NARROWLY_ABOVE,), 1e-6),
        (9.0, 30.0, (GlandFault.BELOW,), 1.0),
        (10.0, 32.0, (GlandFault.ABOVE,), 2.0),
        (9.0, 32.0, (GlandFault.BELOW, GlandFault.ABOVE), 2.0),
    ],
)
def test_a_share_that_is_exactly_at_its_limit_keeps_it(
    least: float, most: float, faults: tuple[GlandFault, ...], over: float
) -> None:
    (found,) = judge({GlandShare.SQUEEZE: Band(least, most, 20.0)}, [ROW])
    assert tuple(reason.code for reason in found.broken) == faults
    assert found.over == pytest.approx(over, abs=1e-9)


@pytest.mark.parametrize(
    ("nominal", "kept"), [(10.0, True), (30.0, True), (9.9, False), (30.1, False)]
)
def test_a_limit_of_the_nominal_share_leaves_the_worst_cases_aside(
    nominal: float, kept: bool
) -> None:
    row = Guidance(GlandShare.SQUEEZE, 10.0, 30.0, True, "nominal", "test", "invented", "certain")
    (found,) = judge({GlandShare.SQUEEZE: Band(0.0, 50.0, nominal)}, [row])
    assert (found.broken == ()) is kept
