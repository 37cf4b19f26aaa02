"""What packets bring stands on the lines of a plan, of parts and of what is used up."""

from __future__ import annotations

from io import StringIO

from rich.console import Console
from sqlalchemy import Engine

from helpers import load, planned, unit
from kitting.cli.render.plan import show_plan

ITEMS = """
  - {code: GREASE, name: grease, kind: assembly-lubricant, unit: ml, pack: 100 ml}
  - {code: R1, name: ring, kind: o-ring, sold_singly: false}
  - {code: INNER, name: inner kit, kind: bracket, contents: [{item: R1, quantity: 2 each}]}
  - code: KIT
    name: kit
    kind: bracket
    contents: [{item: INNER, quantity: 2 each}, {item: GREASE, quantity: 20 ml}]
"""


def test_a_plan_says_which_packet_brings_what(lite: Engine) -> None:
    text = unit(
        "      - {code: a, name: A, system: engine, fits: [{item: R1, positions: [p1, p2, p3]}],"
        " uses: [{item: GREASE, amount: 5 ml}]}",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        items=ITEMS,
    )
    load(lite, text)
    paper = StringIO()
    show_plan(Console(file=paper, width=300, markup=False), planned(lite, "PELL 001", "X1"))
    lines = [" ".join(line.split()) for line in paper.getvalue().splitlines()]
    assert any(line.startswith("5 ml GREASE grease, 5 ml in KIT") for line in lines), lines
    (packet,) = [line for line in lines if line.startswith("1 KIT")]
    # It holds the ring in a packet of its own: no "why" begins with a bare mark.
    assert " packet; each brings " in packet
    assert " ; " not in packet
