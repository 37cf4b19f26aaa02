"""Everything that touches a rubber is judged, wherever the catalogue says that it does."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import line_of, load, planned, said, unit, use_of
from kitting.facts.verdicts import Verdict
from kitting.services.kit.bags import kit_view
from kitting.services.kit.pick import pick_view
from kitting.views.plan import PlanView
from kitting.wording.verdicts import doubt_text

SIZE = "ring_inside: 20 mm, ring_section: 2 mm"
ITEMS = f"""
  - {{code: EPDM, name: Ring, kind: o-ring, elastomer: EPDM, {SIZE}}}
  - {{code: NBR, name: Ring, kind: o-ring, elastomer: NBR, {SIZE}}}
  - {{code: FKM, name: Ring, kind: o-ring, elastomer: FKM, {SIZE}}}
  - {{code: WHAT, name: Ring, kind: o-ring, {SIZE}}}
  - {{code: SET, name: Set, kind: o-ring, contents: [{{item: EPDM, quantity: 4 each}}]}}
  - {{code: BOX, name: Box, kind: o-ring, contents: [{{item: SET, quantity: 1 each}}]}}
  - {{code: PAPER, name: Gasket, kind: paper-gasket}}
  - {{code: MINERAL, name: Grease, kind: assembly-lubricant, medium: petroleum-grease, unit: ml, pack: 50 ml}}
  - {{code: SILICONE, name: Grease, kind: assembly-lubricant, medium: silicone-grease, unit: ml, pack: 50 ml}}
  - {{code: NOBODY, name: Grease, kind: assembly-lubricant, unit: ml, pack: 50 ml}}
  - {{code: OIL, name: Oil, kind: engine-oil, medium: engine-oil, unit: ml, pack: 1 L}}
"""


def shown(
    engine: Engine, fits: str, step: str = "", items: str = ITEMS, car: str = "", **joint: str
) -> PlanView:
    """The plan of a joint: what its step uses, what is said of the car and else of the joint."""
    more = "".join(f"\n        {name}: {value}" for name, value in joint.items())
    text = unit(
        f"\n      - code: a\n        name: A\n        system: engine{more}\n        fits: [{fits}]",
        f"      - {{code: S1, name: One, hours: 1 h, opens: [a], uses: [{step}]}}",
        "      - {code: X1, name: One, needs: [S1]}",
        items,
    )
    load(engine, text.replace("units: [grebe]}", f"units: [grebe], {car}}}") if car else text)
    return planned(engine, "PELL 001", "X1")


def clashes(view: PlanView) -> list[tuple[str, str, str]]:
    return [(clash.item, clash.elastomer, clash.what) for clash in view.clashes]


def doubts(view: PlanView) -> list[str]:
    return said(doubt.because for doubt in view.doubts)


def test_a_grease_that_the_joint_uses_touches_its_rings(lite: Engine) -> None:
    view = shown(
        lite, "{item: EPDM, position: p}", fluids="[coolant]",
        uses="[{item: MINERAL, amount: 5 ml, note: on the seals}]",
    )  # fmt: skip
    assert clashes(view) == [("EPDM", "EPDM", "MINERAL")]
    assert (use_of(view, "MINERAL").verdict, use_of(view, "MINERAL").to_take) == (Verdict.NO, 0)


def test_what_a_step_fills_into_its_joint_touches_its_rings(lite: Engine) -> None:
    view = shown(
        lite, "{item: EPDM, position: p}", step="{item: OIL, amount: 1 L, note: filled in}",
        fluids="[brake-fluid]",
    )  # fmt: skip
    assert clashes(view) == [("EPDM", "EPDM", "OIL")]
    assert use_of(view, "OIL").verdict is Verdict.NO


def test_what_is_filled_in_where_it_is_the_fluid_of_the_joint_is_judged_as_that(
    lite: Engine,
) -> None:
    view = shown(
        lite, "{item: NBR, position: p}", step="{item: OIL, amount: 1 L, note: filled in}",
        fluids="[engine-oil]",
    )  # fmt: skip
    assert [(c.what, c.state) for c in view.contacts] == [("engine oil", "suits")]
    assert view.verdict is Verdict.FINE


@pytest.mark.parametrize("packet", ["SET", "BOX"])
def test_a_ring_inside_a_packet_touches_what_the_packet_is_fitted_to(
    lite: Engine, packet: str
) -> None:
    """Also where the packet lies in another one."""
    view = shown(lite, f"{{item: {packet}, position: p}}", fluids="[petrol]")
    assert clashes(view) == [("EPDM", "EPDM", "petrol")]
    assert view.contacts[0].packet == packet
    assert line_of(view, packet).verdict is Verdict.NO
    assert line_of(view, packet).to_take == 0


@pytest.mark.parametrize(
    ("fit", "fluids", "entry"),
    [
        ("{item: WHAT, position: p}", "[coolant]", "(elastomer: of the item)"),
        ("{item: EPDM, position: p}", "[]", "(fluids: of the joint)"),
        ("{item: EPDM, position: p, lubricant: {item: NOBODY, amount: 1 ml}}", "[coolant]",
         "nobody says what medium NOBODY is (medium: of the item)"),
        ("{item: EPDM, position: p}", "[exhaust-gas]",
         "nobody says what medium exhaust gas is (medium: of the fluid, or fluids: of the car)"),
        ("{item: FKM, position: p}", "[engine-oil]",
         "Molded Dimensions, table of resistance (oil and gasoline), certainty medium; also from memory"),
        ("{item: FKM, position: p}", "[engine-oil]", "settles it (media: of FKM)"),
    ],
)  # fmt: skip
def test_what_is_not_known_of_rubber_cannot_be_proven_and_names_the_entry(
    lite: Engine, fit: str, fluids: str, entry: str
) -> None:
    view = shown(lite, fit, fluids=fluids)
    assert view.verdict is Verdict.UNKNOWN
    assert any(entry in text for text in doubts(view)), doubts(view)


def test_other_rings_are_tried_against_the_heat_and_the_grease_of_the_place_too(
    lite: Engine,
) -> None:
    """NBR stands the oil and FKM the heat as well; FKM in engine oil is an opinion."""
    heat = "{hottest: 180 °C, source: measured}"
    hot = shown(lite, "{item: EPDM, position: p}", fluids="[engine-oil]", temperature=heat)
    (clash,) = hot.clashes
    assert (clash.instead, clash.perhaps) == ((), ("FKM",))
    greased = "{item: FKM, position: p, lubricant: {item: MINERAL, amount: 1 ml}}"
    brakes = shown(lite, greased, fluids="[brake-fluid]").contacts
    # EPDM stands brake fluid, but not the mineral grease that is named there.
    assert all("EPDM" not in (*one.instead, *one.perhaps) for one in brakes)
    cold = shown(lite, "{item: EPDM, position: p}", fluids="[engine-oil]")
    assert cold.clashes[0].instead == ("NBR",)


@pytest.mark.parametrize(
    ("hottest", "verdict"), [(95, Verdict.FINE), (105, Verdict.UNKNOWN), (230, Verdict.NO)]
)
def test_heat_far_beyond_the_limit_stops_a_ring_and_a_little_beyond_is_asked(
    lite: Engine, hottest: int, verdict: Verdict
) -> None:
    """The limit of NBR, 100 °C: kitting/facts/service_ranges.csv."""
    heat = f"{{hottest: {hottest} °C, source: measured}}"
    view = shown(lite, "{item: NBR, position: p}", fluids="[engine-oil]", temperature=heat)
    assert (line_of(view, "NBR").verdict, line_of(view, "NBR").to_take) == (
        verdict, 0 if verdict is Verdict.NO else 1000,
    )  # fmt: skip


def test_heat_within_a_range_from_memory_cannot_be_proven(lite: Engine) -> None:
    """ACM has one from memory only; that it stands hydrocarbon oil was read."""
    items = ITEMS.replace("elastomer: NBR,", "elastomer: ACM,")
    for heat, verdict in (("60", Verdict.UNKNOWN), (None, Verdict.FINE)):
        stated = f"{{hottest: {heat} °C, source: measured}}" if heat else "null"
        view = shown(
            lite, "{item: NBR, position: p}", items=items, fluids="[engine-oil]",
            temperature=stated,
        )  # fmt: skip
        assert line_of(view, "NBR").verdict is verdict
        told = "ACM at 60 °C (measured): general-purpose grades serve from -15 to 150 °C"
        assert any(told in text for text in doubts(view)) is (heat is not None)


def test_that_the_maker_overrules_a_certain_no_is_told_on_the_plan_and_on_every_sheet(
    lite: Engine,
) -> None:
    word = "media: [{medium: engine-oil, rating: suitable, source: maker, reference: sheet 4}]"
    items = ITEMS.replace("elastomer: EPDM,", f"elastomer: EPDM, {word},")
    view = shown(lite, "{item: EPDM, position: p}", items=items, fluids="[engine-oil]")
    (contact,) = view.contacts
    assert contact.state == "ask"
    told = "suitable. maker: sheet 4, AGAINST not suitable by the general table"
    assert any(told in text for text in doubts(view))
    for sheet in (kit_view(view), pick_view(view)):
        assert any(told in doubt_text(doubt) for doubt in sheet.doubts)


def test_a_grease_that_stands_in_and_whose_medium_nobody_states_is_not_fine(lite: Engine) -> None:
    fit = "{item: EPDM, position: p, lubricant: {item: SILICONE, amount: 1 ml}}"
    assert shown(lite, fit, fluids="[coolant]").verdict is Verdict.FINE
    for old_stock in ("scrap", "use up"):
        by = f"replaced: {{by: [{{item: NOBODY, quantity: 1 ml}}], old_stock: {old_stock}}}"
        items = ITEMS.replace("medium: silicone-grease,", f"medium: silicone-grease, {by},")
        view = shown(lite, fit, items=items, fluids="[coolant]")
        (use,) = view.uses
        assert use.verdict is Verdict.UNKNOWN
        assert "nobody says what medium NOBODY is" in said(d.because for d in use.doubts)[0]


def test_a_ring_for_a_ring_whose_rubber_is_not_stated_is_unknown_not_another(
    lite: Engine,
) -> None:
    by = "replaced: {by: [{item: WHAT, quantity: 1 each}], old_stock: scrap}"
    items = ITEMS.replace("elastomer: EPDM,", f"elastomer: EPDM, {by},")
    told = doubts(shown(lite, "{item: EPDM, position: p}", items=items, fluids="[coolant]"))
    assert told == ["the rubber of a: p (WHAT) is not stated (elastomer: of the item)"]


def test_a_gasket_for_a_ring_is_another_kind_of_part(lite: Engine) -> None:
    by = "replaced: {by: [{item: PAPER, quantity: 1 each}], old_stock: scrap}"
    items = ITEMS.replace("elastomer: EPDM,", f"elastomer: EPDM, {by},")
    told = doubts(shown(lite, "{item: EPDM, position: p}", items=items, fluids="[coolant]"))
    assert len(told) == 1
    assert told[0].startswith("PAPER is another kind of part than EPDM, which a: p asks for")


def test_a_grease_is_picked_for_the_bag_of_the_ring_that_it_is_named_for(lite: Engine) -> None:
    """Two rings of one joint, each with its own grease: the wrong one would ruin the other."""
    view = shown(
        lite,
        "{item: EPDM, position: p, lubricant: {item: SILICONE, amount: 1 ml}},"
        " {item: NBR, position: q, lubricant: {item: MINERAL, amount: 1 ml}}",
        uses="[{item: SILICONE, amount: 1 ml, note: on the lid}]",
    )
    bags = {line.content.item: line.bags for line in pick_view(view).lines}
    assert bags["MINERAL"] == bags["NBR"] != bags["EPDM"]
    assert bags["SILICONE"] == (1, 2)
    alone = shown(
        lite,
        "{item: EPDM, position: p, lubricant: {item: SILICONE, amount: 1 ml}},"
        " {item: NBR, position: q, lubricant: {item: MINERAL, amount: 1 ml}}",
    )
    bags = {line.content.item: line.bags for line in pick_view(alone).lines}
    assert (bags["SILICONE"], bags["MINERAL"]) == (bags["EPDM"], bags["NBR"])


def test_what_a_ring_is_oiled_with_as_the_car_s_maker_names_it_for_a_fluid_is_judged_too(
    lite: Engine,
) -> None:
    """Named for a fluid is not named for the rubber of this position."""
    fit = "{item: EPDM, position: p, lubricant: {item: SILICONE, amount: 1 ml, cars_own: true}}"
    assert shown(lite, fit, fluids="[coolant]").verdict is Verdict.FINE
    named = (
        "fluids: [{fluid: coolant, medium: glycol-coolant, lubricant: MINERAL, reference: label}]"
    )
    view = shown(lite, fit, fluids="[coolant]", car=named)
    assert clashes(view) == [("EPDM", "EPDM", "MINERAL")]
    assert [use.item for use in view.uses] == ["MINERAL"]
    assert view.uses[0].to_take == 0


def test_a_ring_that_stays_is_judged_as_well(lite: Engine) -> None:
    kept = "rules: [{rule: keep, source: maker, reference: page 3}]"
    by_maker = f"{{item: NBR, position: p, {kept}}}"
    view = shown(lite, by_maker, fluids="[engine-oil]", uses="[{item: NOBODY, amount: 1 ml}]")
    assert view.verdict is Verdict.UNKNOWN
    assert any("nobody says what medium NOBODY is" in text for text in doubts(view))


BOLT = "  - {code: GUIDE, name: Guide, kind: bolt, thread: M8, head: hexagon 13 mm}\n"
GREASE = "lubricant: {item: MINERAL, amount: 1 ml}"
GUIDE = f"{{item: GUIDE, position: guide, {GREASE}}}"


@pytest.mark.parametrize("beside", [GUIDE, f"{{item: NBR, position: q, {GREASE}}}"])
def test_what_is_put_on_anything_of_a_joint_comes_to_every_rubber_of_it(
    lite: Engine, beside: str
) -> None:
    """The same grease in the same bag gets the same answer as where the joint uses it."""
    view = shown(
        lite, f"{{item: EPDM, position: boot}}, {beside}", fluids="[brake-fluid]",
        items=ITEMS + BOLT,
    )  # fmt: skip
    assert ("EPDM", "EPDM", "MINERAL") in clashes(view)
    use = use_of(view, "MINERAL")
    assert (use.verdict, use.to_take) == (Verdict.NO, 0)
    other = "GUIDE" if "GUIDE" in beside else "NBR"
    (position,) = line_of(view, other).positions
    assert position.lubricant is not None
    assert said([position.lubricant]) == ["NOT MINERAL on EPDM: ask the maker instead"]


def test_positions_that_touch_different_fluids_are_apart(lite: Engine) -> None:
    view = shown(
        lite,
        "{item: EPDM, position: water side, fluids: [coolant]},"
        f" {GUIDE.replace('guide,', 'guide, fluids: [engine-oil],')}",
        fluids="[coolant, engine-oil]",
        items=ITEMS + BOLT,
    )
    assert clashes(view) == []


def test_what_would_do_instead_is_tried_on_every_rubber_that_the_product_comes_to(
    lite: Engine,
) -> None:
    """Engine oil suits the ring that is greased, and would spoil the one beside it."""
    items = ITEMS.replace(
        "medium: petroleum-grease, unit: ml, pack: 50 ml",
        "medium: petroleum-grease, unit: ml, pack: 50 ml,"
        " alternatives: [{item: OIL}, {item: SILICONE}]",
    )
    view = shown(
        lite,
        "{item: EPDM, position: p}, {item: NBR, position: q,"
        " lubricant: {item: MINERAL, amount: 1 ml}}",
        fluids="[brake-fluid]", items=items,
    )  # fmt: skip
    instead = {code for clash in view.clashes for code in (*clash.instead, *clash.perhaps)}
    assert "OIL" not in instead


INSTEAD = "medium: petroleum-grease, unit: ml, pack: 50 ml, alternatives: [{item: SILICONE}]"


def named(view: PlanView) -> set[str]:
    return {code for clash in view.clashes for code in (*clash.instead, *clash.perhaps)}


SOAPED = "lubricant: {item: SOAP, amount: 1 ml}"
GREASED = "{item: EPDM, position: p, lubricant: {item: MINERAL, amount: 1 ml}}"


@pytest.mark.parametrize(
    ("fits", "joint", "does"),
    [
        (GREASED, {}, True),
        # What is planned is asked about near paint: so is what would do instead.
        (GREASED, {"near": "[paint]"}, False),
        (GREASED, {"near": "[exhaust sensor]"}, False),
        # What is certain to spoil a rubber beside it is not named; what has its own bag is apart.
        (f"{GREASED}, {{item: SAID, position: q}}", {}, False),
        (f"{GREASED}, {{item: SAID, position: q, {SOAPED}}}", {}, True),
        # Of a rubber that nobody states it cannot be told.
        (f"{GREASED}, {{item: WHAT, position: q}}", {}, False),
        ("{item: EPDM, position: p}", {"uses": "[{item: MINERAL, amount: 5 ml}]"}, True),
        ("{item: EPDM, position: p}",
         {"uses": "[{item: MINERAL, amount: 5 ml}]", "near": "[paint]"}, False),
    ],
)  # fmt: skip
def test_another_product_is_named_only_where_the_plan_with_it_would_be_fine(
    lite: Engine, fits: str, joint: dict[str, str], does: bool
) -> None:
    items = ITEMS.replace("medium: petroleum-grease, unit: ml, pack: 50 ml", INSTEAD) + MORE
    view = shown(lite, fits, fluids="[brake-fluid]", items=items, **joint)
    assert ("EPDM", "EPDM", "MINERAL") in clashes(view)
    assert ("SILICONE" in named(view)) is does


MORE = """
  - code: SAID
    name: Ring
    kind: o-ring
    elastomer: VMQ
    media: [{medium: silicone-grease, rating: not suitable, source: leaflet, reference: page 2}]
  - {code: SOAP, name: Soap, kind: assembly-lubricant, medium: water-based-lubricant, unit: ml}
"""


def test_another_ring_is_named_only_where_it_is_as_the_joint_asks_for_it(lite: Engine) -> None:
    """Of another hardness the plan with it could not be proven; nor without a stated fluid."""
    hard = ITEMS.replace(f"elastomer: EPDM, {SIZE}", f"elastomer: EPDM, hardness: 70, {SIZE}")
    same = hard.replace(f"elastomer: NBR, {SIZE}", f"elastomer: NBR, hardness: 70, {SIZE}")
    fit = "{item: EPDM, position: p}"
    assert named(shown(lite, fit, fluids="[engine-oil]", items=same)) == {"NBR"}
    assert named(shown(lite, fit, fluids="[engine-oil]", items=hard)) == set()
    heat = "{hottest: 180 °C, source: measured}"
    assert named(shown(lite, fit, fluids="[]", temperature=heat)) == set()


def test_what_a_step_uses_is_replaced_by_what_suits_at_all_that_the_step_opens(
    lite: Engine,
) -> None:
    items = ITEMS.replace("medium: petroleum-grease, unit: ml, pack: 50 ml", INSTEAD) + MORE
    joints = "\n".join(
        f"      - code: {code}\n        name: A\n        system: brakes\n"
        f"        fluids: [brake-fluid]{near}\n        fits: [{{item: EPDM, position: p}}]"
        for code, near in (("a", ""), ("b", "\n        near: [paint]"))
    )
    for opens, does in (("[a]", True), ("[a, b]", False)):
        step = (
            "{code: S1, name: One, hours: 1 h, opens: OPENS, uses: [{item: MINERAL, amount: 5 ml}]}"
        )
        load(
            lite,
            unit(
                f"\n{joints}", f"      - {step.replace('OPENS', opens)}",
                "      - {code: X1, name: One, needs: [S1]}", items,
            ),
        )  # fmt: skip
        view = planned(lite, "PELL 001", "X1")
        assert (bool(clashes(view)), "SILICONE" in named(view)) == (True, does)


USED = """
  - {code: COPPER, name: Paste, kind: anti-seize, unit: g}
  - {code: WAX, name: Wax, kind: wax, unit: ml}
  - {code: SPRAY, name: Spray, kind: contact-spray}
  - {code: CLEAN, name: Cleaner, kind: cleaner, unit: ml}
  - {code: OWN, name: Paste, kind: own-paste, unit: g}
  - {code: LOCK, name: Locker, kind: threadlocker, unit: ml}
  - {code: WIPE, name: Wipe, kind: own-paste}
  - {code: CAP, name: Cap, kind: caps-and-plugs}
  - code: BEAD
    name: Sealant
    kind: sealant
    unit: ml
    pack: 70 ml
    nozzle_waste: 5 ml
    times: {open: 10 min, cure: 24 h, laying: 1 m/min, source: sheet}
"""
OWN_KIND = "kinds: [{code: own-paste, name: own paste, family: consumable}]\n"


@pytest.mark.parametrize(
    ("use", "verdict"),
    [
        ("{item: COPPER, amount: 5 g}", Verdict.UNKNOWN),
        ("{item: WAX, amount: 5 ml}", Verdict.UNKNOWN),
        ("{item: SPRAY, amount: 1 each}", Verdict.UNKNOWN),
        ("{item: CLEAN, amount: 5 ml}", Verdict.UNKNOWN),
        ("{item: OWN, amount: 5 g}", Verdict.UNKNOWN),
        ("{item: BEAD, amount: 5 ml}", Verdict.UNKNOWN),
        ("{item: BEAD, bead: {diameter: 2 mm, length: 100 mm}}", Verdict.UNKNOWN),
        ("{item: LOCK, amount: 1 ml}", Verdict.UNKNOWN),
        ("{item: WIPE, amount: 1 each}", Verdict.UNKNOWN),
        ("{item: CAP, amount: 2 each}", Verdict.FINE),
    ],
)
def test_what_is_used_at_a_rubber_without_a_medium_is_not_fine_unless_it_stays_where_it_is_put(
    lite: Engine, use: str, verdict: Verdict
) -> None:
    load(lite, OWN_KIND)
    items = ITEMS + USED
    fluids, uses = "[brake-fluid]", f"[{use}]"
    view = shown(lite, "{item: EPDM, position: p}", items=items, fluids=fluids, uses=uses)
    assert view.verdict is verdict
    asked = "nobody says what medium"
    assert (asked in " ".join(doubts(view))) is (verdict is Verdict.UNKNOWN)
    no_rubber = shown(lite, "{item: PAPER, position: p}", items=items, fluids=fluids, uses=uses)
    assert asked not in " ".join(doubts(no_rubber))
