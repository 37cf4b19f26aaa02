"""What silicone may spoil near a joint is told whatever it is put on (common practice, no source)."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import load, planned, said, unit, use_of
from kitting.facts.verdicts import Verdict

ITEMS = """
  - {code: SILICONE, name: grease, kind: assembly-lubricant, medium: silicone-grease, unit: ml}
  - {code: SPRAY, name: spray, kind: cleaner, medium: silicone-grease, unit: ml}
  - {code: SOAP, name: soap, kind: assembly-lubricant, medium: water-based-lubricant, unit: ml}
  - {code: NOBODY, name: grease, kind: assembly-lubricant, unit: ml}
  - {code: EPDM, name: ring, kind: o-ring, elastomer: EPDM}
"""
ON_RING = "{item: EPDM, position: p, lubricant: {item: %s, amount: 1 ml}}"
ON_BOLT = ON_RING.replace("EPDM", "BOLT")
USED = "{item: %s, amount: 1 ml}"


def catalogue(fit: str, use: str, step: str, near: str) -> str:
    return unit(
        f"""
      - code: a
        name: A
        system: cooling
        fluids: [coolant]
        near: [{near}]
        fits: [{fit}]
        uses: [{use}]""",
        f"      - {{code: S1, name: One, hours: 1 h, opens: [a], uses: [{step}]}}",
        "      - {code: X1, name: One, needs: [S1]}",
        ITEMS,
    )


PLACES = [(ON_RING, "", ""), (ON_BOLT, "", ""), ("", USED, ""), ("", "", USED)]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("product", ["SILICONE", "SPRAY"])
def test_silicone_near_paint_or_a_sensor_is_told_wherever_it_goes(
    lite: Engine, place: tuple[str, str, str], product: str
) -> None:
    fit, use, step = (text.replace("%s", product) for text in place)
    load(lite, catalogue(fit, use, step, "exhaust sensor, paint"))
    used = use_of(planned(lite, "PELL 001", "X1"), product)
    told = [text for text in said(doubt.because for doubt in used.doubts) if " near " in text]
    assert used.verdict is Verdict.UNKNOWN
    assert [text.split(" at a")[0] for text in told] == [
        f"silicone grease or oil ({product}) near paint",
        f"silicone grease or oil ({product}) near exhaust sensor",
    ]


@pytest.mark.parametrize("place", PLACES)
def test_a_product_of_which_nobody_says_what_it_is_may_spoil_what_is_near(
    lite: Engine, place: tuple[str, str, str]
) -> None:
    fit, use, step = (text.replace("%s", "NOBODY") for text in place)
    load(lite, catalogue(fit, use, step, "paint"))
    used = use_of(planned(lite, "PELL 001", "X1"), "NOBODY")
    told = said(doubt.because for doubt in used.doubts)
    assert (
        "nobody says what medium NOBODY is, and paint near a may be spoiled (medium: of the item)"
        in told
    )


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(("product", "near"), [("SOAP", "paint"), ("SILICONE", "")])
def test_what_spoils_nothing_or_has_nothing_near_is_fine(
    lite: Engine, place: tuple[str, str, str], product: str, near: str
) -> None:
    fit, use, step = (text.replace("%s", product) for text in place)
    load(lite, catalogue(fit, use, step, near))
    used = use_of(planned(lite, "PELL 001", "X1"), product)
    assert (used.verdict, said(doubt.because for doubt in used.doubts)) == (Verdict.FINE, [])


@pytest.mark.parametrize(("medium", "mixed"), [("silicone", True), ("glycol", False)])
@pytest.mark.parametrize("place", PLACES)
def test_brake_fluids_that_do_not_mix_are_refused_wherever_they_come_to_the_circuit(
    lite: Engine, place: tuple[str, str, str], medium: str, mixed: bool
) -> None:
    fit, use, step = (text.replace("%s", "FLUID") for text in place)
    text = catalogue(fit, use, step, "").replace("system: cooling", "system: brakes")
    fluid = f"  - {{code: FLUID, name: fluid, kind: brake-fluid, medium: {medium}-brake-fluid, unit: ml}}"
    load(lite, text.replace("[coolant]", "[brake-fluid]").replace("\nunits:", f"\n{fluid}\nunits:"))
    used = use_of(planned(lite, "PELL 001", "X1"), "FLUID")
    told = [text for text in said(doubt.because for doubt in used.doubts) if "mixed" in text]
    assert bool(told) is mixed
    assert not mixed or used.verdict is Verdict.NO
