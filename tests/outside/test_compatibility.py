"""How rubbers stand media, against the lines that are sure (data/README.md)."""

from __future__ import annotations

import pytest
from published import rows

from kitting.calc.rubber.compatibility import stands
from kitting.facts.elastomers import ELASTOMERS
from kitting.facts.rubber_media import MEDIA, SERVICE_RANGE, compatibility
from kitting.wording.reasons import as_text

FLUIDS = {
    "petrol (gasoline, up to E10)": "petrol",
    "diesel fuel (mineral)": "diesel",
    "engine oil (mineral or synthetic hydrocarbon)": "engine-oil",
    "automatic transmission fluid": "transmission-fluid",
    "ethylene-glycol / water coolant": "glycol-coolant",
    "glycol-ether brake fluid DOT 3 / DOT 4 / DOT 5.1": "glycol-brake-fluid",
    "refrigerant R134a with PAG oil": "r134a-pag",
    "refrigerant R1234yf with PAG oil": "r1234yf-pag",
    "silicone grease or silicone oil": "silicone-grease",
    "petroleum (mineral-oil) grease, petrolatum": "petroleum-grease",
    "water-based rubber assembly lubricant (soap / surfactant emulsion, no mineral oil)": (
        "water-based-lubricant"
    ),
}
LINES = rows("compatibility.csv")
SURE = [row for row in LINES if row["confidence"] == "high"]
OPINIONS = [row for row in LINES if row["confidence"] != "high"]


def test_there_are_lines_of_both_sorts() -> None:
    assert (len(LINES), len(SURE), len(OPINIONS)) == (88, 59, 29)


@pytest.mark.parametrize(
    ("row", "state"),
    [(row, {"1": "suits", "4": "clash"}[row["rating_1_to_4"]]) for row in SURE],
    ids=lambda value: (
        f"{value['elastomer']}-{value['fluid']}" if isinstance(value, dict) else value
    ),
)
def test_a_sure_line_suits_or_clashes(row: dict[str, str], state: str) -> None:
    assert stands(row["elastomer"], FLUIDS[row["fluid"]]).state == state


def test_an_opinion_neither_stops_nor_comforts_anybody() -> None:
    for row in OPINIONS:
        answer = stands(row["elastomer"], FLUIDS[row["fluid"]])
        assert (answer.state, answer.certainty) == ("ask", row["confidence"])


def test_petroleum_grease_on_epdm_is_certain_to_be_wrong() -> None:
    """Encyclopaedia article "O-ring": unsuitable with mineral-oil products."""
    answer = stands("EPDM", "petroleum-grease")
    assert (answer.state, answer.rating, answer.certainty) == ("clash", "not suitable", "high")
    assert 'also encyclopaedia article "O-ring"' in as_text(answer.said_by)


def test_what_no_line_rates_is_unknown() -> None:
    assert stands("CR", "petrol").state == "unknown"
    assert stands("AEM", "glycol-coolant").state == "unknown"


def test_the_table_speaks_only_of_media_and_materials_that_are_named() -> None:
    assert {medium for medium, _ in compatibility()} <= set(MEDIA)
    assert {elastomer for _, elastomer in compatibility()} <= set(ELASTOMERS)
    assert set(SERVICE_RANGE) <= set(ELASTOMERS)
    assert all(cold < hot for cold, hot in SERVICE_RANGE.values())
