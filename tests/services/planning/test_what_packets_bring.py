"""What a packet brings beside what is asked for is judged where the rest of it goes."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, load, planned, said, stock, unit
from kitting.facts.verdicts import Verdict
from kitting.services.bookings.booking import BookingRequest, book
from kitting.views.plan import LineView, PlanView

ITEMS = """
  - {code: PISTON, name: Seal, kind: caliper-seal, elastomer: EPDM, sold_singly: false}
  - {code: BESIDE, name: Ring, kind: o-ring, elastomer: EPDM}
  - {code: SLEEVE, name: Sleeve, kind: crush-sleeve}
  - {code: MINERAL, name: Sachet, kind: bearing-grease, medium: petroleum-grease, unit: g}
  - {code: SILICONE, name: Sachet, kind: brake-lubricant, medium: silicone-grease, unit: g}
  - {code: NOBODY, name: Sachet, kind: joint-grease, unit: g}
  - {code: COPPER, name: Sachet, kind: anti-seize, unit: g}
  - {code: FLUID, name: Bottle, kind: brake-fluid, medium: glycol-brake-fluid, unit: ml}
  - {code: CAP, name: Cap, kind: caps-and-plugs}
  - {code: LOCK, name: Drop, kind: threadlocker, unit: ml}
"""
UNITS = {"FLUID": "ml", "LOCK": "ml", "CAP": "each"}
PISTON = "{item: PISTON, position: piston}"


def packet(code: str, *contents: str, more: str = "") -> str:
    inside = ", ".join(f"{{item: {one}, quantity: {amount(one)}}}" for one in contents)
    return f"  - {{code: {code}, name: {code}, kind: caliper-seal, contents: [{inside}]{more}}}\n"


def amount(item: str) -> str:
    is_sachet = f"code: {item}, name: Sachet" in ITEMS
    return "5 g" if is_sachet else f"1 {UNITS.get(item, 'each')}"


def catalogue(packets: str, fits: str, other: str = "") -> str:
    """A caliper, and a hub that is opened with it."""
    return unit(
        "\n      - {code: caliper, name: Caliper, system: brakes, fluids: [brake-fluid],"
        f" fits: [{fits}]}}"
        f"\n      - {{code: hub, name: Hub, system: driveline, fluids: [axle-oil], fits: [{other}]}}",
        "      - {code: S1, name: One, hours: 1 h, opens: [caliper, hub]}",
        "      - {code: X1, name: One, needs: [S1]}",
        ITEMS + packets,
    )


def shown(engine: Engine, packets: str, fits: str = PISTON, other: str = "") -> PlanView:
    load(engine, catalogue(packets, fits, other or "{item: SLEEVE, position: sleeve}"))
    return planned(engine, "PELL 001", "X1")


def clashes(view: PlanView) -> list[tuple[str, str]]:
    return [(clash.item, clash.what) for clash in view.clashes]


def doubts(view: PlanView) -> str:
    return " ".join(said(doubt.because for doubt in view.doubts))


@pytest.mark.parametrize(
    "fits",
    [PISTON, "{item: PISTON, position: piston, lubricant: dry}", "{item: BAG, position: all}"],
)
def test_grease_in_the_packet_of_a_seal_that_it_spoils_is_told(lite: Engine, fits: str) -> None:
    view = shown(lite, packet("BAG", "PISTON", "MINERAL"), fits)
    assert clashes(view) == [("PISTON", "MINERAL")]
    assert said([view.clashes[0].because])[0].startswith("BAG brings MINERAL; EPDM in petroleum")
    assert view.verdict is Verdict.NO


@pytest.mark.parametrize("sachet", ["NOBODY", "COPPER", "LOCK"])
def test_a_sachet_whose_medium_nobody_states_is_not_fine(lite: Engine, sachet: str) -> None:
    view = shown(lite, packet("BAG", "PISTON", sachet))
    assert view.verdict is Verdict.UNKNOWN
    assert f"BAG brings {sachet}; nobody says what medium {sachet} is" in doubts(view)


@pytest.mark.parametrize("sachet", ["SILICONE", "FLUID", "CAP"])
def test_what_suits_or_stays_where_it_is_put_is_fine(lite: Engine, sachet: str) -> None:
    assert shown(lite, packet("BAG", "PISTON", sachet)).verdict is Verdict.FINE


@pytest.mark.parametrize(
    ("sachet", "verdict"), [("MINERAL", Verdict.NO), ("NOBODY", Verdict.UNKNOWN)]
)
@pytest.mark.parametrize("bags", [("BAG",), ("PLAIN", "SACK")])
def test_a_sachet_in_a_packet_in_a_packet_is_judged_too(
    lite: Engine, sachet: str, verdict: Verdict, bags: tuple[str, ...]
) -> None:
    """Also where the seal lies in another packet of the box."""
    apart = ", sold_singly: false"
    inner = {
        "BAG": packet("BAG", "PISTON", sachet, more=apart),
        "PLAIN": packet("PLAIN", "PISTON", more=apart),
        "SACK": packet("SACK", sachet, more=apart),
    }
    view = shown(lite, "".join(inner[bag] for bag in bags) + packet("BOX", *bags))
    assert view.verdict is verdict
    told = " ".join(said(contact.because for contact in view.contacts))
    assert f"BOX brings {sachet}" in told


def test_every_rubber_of_the_joints_that_a_packet_goes_to_is_judged_and_no_other(
    lite: Engine,
) -> None:
    bag, ring = packet("BAG", "PISTON", "MINERAL"), "{item: BESIDE, position: beside}"
    view = shown(lite, bag, f"{PISTON}, {ring}")
    assert sorted(clashes(view)) == [("BESIDE", "MINERAL"), ("PISTON", "MINERAL")]
    view = shown(lite, bag, PISTON, other=ring)
    assert [c for c in clashes(view) if c[1] == "MINERAL"] == [("PISTON", "MINERAL")]


def test_a_sachet_that_the_catalogue_names_there_is_judged_at_its_place(lite: Engine) -> None:
    """At a joint without rubber it spoils nothing; on the seal it is a lubricant."""
    greased = "{item: SLEEVE, position: sleeve, lubricant: {item: MINERAL, amount: 1 g}}"
    box = packet("BOX", "PISTON", "SLEEVE", "MINERAL")
    assert clashes(shown(lite, box)) == [("PISTON", "MINERAL")]
    assert clashes(shown(lite, box, other=greased)) == []
    seal = "{item: PISTON, position: piston, lubricant: {item: SILICONE, amount: 1 g}}"
    view = shown(lite, packet("BOX", "PISTON", "SLEEVE", "SILICONE"), seal)
    assert [c.against for c in view.contacts if c.what == "SILICONE"] == ["lubricant"]


def test_a_packet_that_is_not_taken_brings_nothing(lite: Engine) -> None:
    """The seal comes from the packet with less in it."""
    packets = packet("BAG", "PISTON", "MINERAL") + packet("PLAIN", "PISTON")
    view = shown(lite, packets)
    assert "PLAIN" in {line.item for line in view.lines}
    assert clashes(view) == []


def test_what_comes_if_old_packets_are_not_enough_is_asked_about(lite: Engine) -> None:
    replaced = ", replaced: {by: [{item: BAG, quantity: 1 each}], old_stock: use up}"
    packets = packet("BAG", "PISTON", "MINERAL") + packet("OLD", "PISTON", more=replaced)
    view = shown(lite, packets, "{item: OLD, position: all}")
    assert (clashes(view), view.verdict) == ([], Verdict.UNKNOWN)
    assert "BAG, which comes if old stock is not enough, brings MINERAL; EPDM" in doubts(view)


def test_a_booking_whose_packet_brings_what_spoils_its_seals_is_not_ready(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, catalogue(packet("BAG", "PISTON", "MINERAL"), PISTON) + SUPPLY)
    stock(lite, tmp_path, "yard,BAG,L1,3 each")
    view = book(lite, BookingRequest("PELL 001", ("X1",), ON, "yard"), NOW)
    assert not view.ready
    assert "BAG brings MINERAL" in " ".join(said(d.because for d in view.doubts))


def of(view: PlanView, item: str) -> LineView:
    return next(line for line in view.lines if line.item == item)


@pytest.mark.parametrize(
    ("sachet", "verdict", "why"),
    [
        ("MINERAL", Verdict.NO, "BAG brings MINERAL; EPDM in petroleum"),
        ("NOBODY", Verdict.UNKNOWN, "BAG brings NOBODY; nobody says what medium"),
        ("SILICONE", Verdict.FINE, ""),
    ],
)
@pytest.mark.parametrize("fits", [PISTON, "{item: BAG, position: all}"])
def test_the_line_of_a_packet_is_no_better_than_what_it_brings(
    lite: Engine, fits: str, sachet: str, verdict: Verdict, why: str
) -> None:
    line = of(shown(lite, packet("BAG", "PISTON", sachet), fits), "BAG")
    assert (line.verdict, line.to_take) == (verdict, 1000)
    assert why in " ".join(said(doubt.because for doubt in line.doubts))


def test_also_where_what_it_brings_is_spoilt_by_something_else(lite: Engine) -> None:
    """The ring is stopped, the sleeve needs the packet all the same."""
    items = (
        "  - {code: EPDM-APART, name: Ring, kind: o-ring, elastomer: EPDM, sold_singly: false}\n"
    )
    sleeve = "  - {code: CRUSH, name: Sleeve, kind: crush-sleeve, sold_singly: false}\n"
    packets = items + sleeve + packet("BAG", "EPDM-APART", "CRUSH") + packet("OTHER", "PISTON")
    other = "{item: CRUSH, position: sleeve}, {item: EPDM-APART, position: ring}"
    view = shown(lite, packets, other=other)
    assert clashes(view) == [("EPDM-APART", "axle oil")]
    assert (of(view, "BAG").verdict, of(view, "OTHER").verdict) == (Verdict.NO, Verdict.FINE)


def test_what_it_brings_is_kept_from_what_is_near_too(lite: Engine) -> None:
    text = catalogue(packet("BAG", "PISTON", "SILICONE"), PISTON, "{item: SLEEVE, position: s}")
    load(lite, text.replace("fluids: [brake-fluid],", "fluids: [brake-fluid], near: [paint],"))
    line = of(planned(lite, "PELL 001", "X1"), "BAG")
    assert line.verdict is Verdict.UNKNOWN
    assert "paint" in " ".join(said(doubt.because for doubt in line.doubts))


RINGS = "".join(
    f"  - {{code: {code}, name: Ring, kind: o-ring, sold_singly: false{rubber}}}\n"
    for code, rubber in (("BARE", ""), ("RB", ", elastomer: EPDM"), ("RC", ", elastomer: EPDM"))
)


@pytest.mark.parametrize("where", ["caliper", "hub"])
def test_what_lies_in_several_packets_counts_for_each_of_them(lite: Engine, where: str) -> None:
    """Either may be the one that it is taken from; a packet without it is not worse for it."""
    packets = packet("BAG-1", "BARE", "RB") + packet("BAG-2", "BARE", "RC")
    bare = "{item: BARE, position: bare}"
    fits = "{item: RB, position: b}, {item: RC, position: c}, " + PISTON
    here, there = (f"{fits}, {bare}", "") if where == "caliper" else (fits, bare)
    view = shown(lite, RINGS + packets + packet("OTHER", "PISTON"), here, there)
    lines = {line.item: (line.verdict, line.to_take) for line in view.lines}
    for bag in ("BAG-1", "BAG-2"):
        assert lines[bag] == (Verdict.UNKNOWN, 1000)
        assert "rubber" in " ".join(said(doubt.because for doubt in of(view, bag).doubts))
    assert lines["OTHER"] == (Verdict.FINE, 1000)
