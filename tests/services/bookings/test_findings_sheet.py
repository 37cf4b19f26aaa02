"""What a position has to show: the pieces that sit there, and what was recorded of them."""

from __future__ import annotations

from sqlalchemy import Engine

from helpers import NOW, SUPPLY, booked, load, unit
from kitting.services.bookings.findings import as_told, record_findings
from kitting.services.bookings.findings_sheet import findings_view
from kitting.store import reading
from kitting.views.counted import InspectView

LOOK = "rules: [{rule: inspect, source: workshop, criterion: whole, reference: test}]"
CATALOGUE = (
    unit(
        f"""
      - code: duct
        name: duct
        system: intake
        fits:
          - {{item: CLIP, position: clips, quantity: 3 each, {LOOK}}}
""",
        "      - {code: S1, name: duct off, hours: 1 h, opens: [{joint: duct, reopened: 1}]}",
        "      - {code: X1, name: duct, needs: [S1]}",
        "  - {code: CLIP, name: clip, kind: circlip}",
    )
    + SUPPLY
)


def rows_of(engine: Engine, number: str) -> tuple[InspectView, ...]:
    with reading(engine) as session:
        return findings_view(session, number).rows


def test_each_piece_that_sits_at_a_position_is_looked_at_and_what_was_recorded_is_of_all(
    lite: Engine,
) -> None:
    load(lite, CATALOGUE)
    number = booked(lite, "X1").number
    (row,) = rows_of(lite, number)
    assert (row.pieces, row.recorded, row.recorded_quantity) == (3, None, None)
    assert row.bag_code.endswith("-01")
    record_findings(lite, number, [as_told(("duct", "clips"), "failed", "1 of 3, cut")], NOW)
    (row,) = rows_of(lite, number)
    assert (row.recorded, row.recorded_reason, row.recorded_quantity) == (
        "failed", "cut", 3000,
    )  # fmt: skip
