"""Making a fact unknown never turns a verdict to fine: each fact left out is missed by name."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import ON, said
from helpers import load as load_text
from kitting.errors import KittingError
from kitting.facts.verdicts import Aspect, Verdict
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.store import reading
from kitting.views.plan import PlanView

# Everything of it is stated: NBR stands engine oil with high certainty by the general table.
WHOLE = """
fluids:
  - {code: own-oil, name: own oil, medium: engine-oil}
items:
  - {code: R, name: ring, kind: o-ring, elastomer: NBR, ring_inside: 20 mm, ring_section: 2 mm}
  - {code: B, name: bolt, kind: bolt, thread: M8, property_class: "8.8", head: hexagon 13 mm}
  - {code: OIL, name: oil, kind: assembly-lubricant, unit: ml, medium: engine-oil}
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: lubrication
        fluids: [own-oil]
        fits:
          - {item: R, position: ring, lubricant: {item: OIL, amount: 1 ml, source: maker, reference: x}}
          - {item: B, position: bolt, tightening: {stages: [20 N·m], thread: dry, source: x}}
    steps: [{code: S, name: s, hours: 1 h, opens: [j]}]
    jobs: [{code: J, name: job, needs: [S]}]
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: C 1, model: m}]
"""


BY_MAKER = "rules: [{rule: keep, source: maker, reference: x}], tightening: {"


def planned(engine: Engine, text: str) -> PlanView:
    load_text(engine, text)
    with reading(engine) as session:
        return plan(session, PlanRequest("C 1", ("J",), ON))


def test_what_is_wholly_stated_is_fine(lite: Engine) -> None:
    view = planned(lite, WHOLE)
    assert (view.verdict, said(doubt.because for doubt in view.doubts)) == (Verdict.FINE, [])


@pytest.mark.parametrize(
    ("fact", "instead", "aspect", "entry"),
    [
        (", medium: engine-oil}\nitems", "}\nitems", Aspect.RUBBER, "nobody says what medium"),
        ("        fluids: [own-oil]\n", "", Aspect.RUBBER, "(fluids: of the joint)"),
        (", elastomer: NBR", "", Aspect.RUBBER, "(elastomer: of the item)"),
        (", head: hexagon 13 mm", "", Aspect.HEAD, "(head: of the item)"),
        (", tightening: {stages: [20 N·m], thread: dry, source: x}", "", Aspect.FIGURE,
         "(tightening:)"),
        ("stages: [20 N·m], ", "", Aspect.FIGURE, "(tightening:)"),
        ("thread: dry, ", "", Aspect.FIGURE, "(thread: dry, oiled or locked"),
        ("thread: dry", "thread: locked", Aspect.FIGURE, "(uses: of the joint, or"),
        ("unit: ml, medium: engine-oil", "unit: ml", Aspect.RUBBER, "nobody says what medium"),
        ("elastomer: NBR", "elastomer: FKM", Aspect.RUBBER, "certainty medium"),
        ("elastomer: NBR", "elastomer: NR", Aspect.RUBBER, ""),
    ],
)  # fmt: skip
def test_a_fact_left_out_is_missed_by_name(
    lite: Engine, fact: str, instead: str, aspect: Aspect, entry: str
) -> None:
    assert fact in WHOLE
    view = planned(lite, WHOLE.replace(fact, instead))
    assert view.verdict in (Verdict.UNKNOWN, Verdict.NO)
    assert any(
        doubt.aspect is aspect and entry in text
        for doubt in view.doubts
        for text in said([doubt.because])
    ), said(doubt.because for doubt in view.doubts)
    assert view.tally[Verdict.FINE] < 3


LOCKER = """
  - {code: L, name: lock, kind: threadlocker, medium: anaerobic-adhesive, unit: ml}
units:"""
LEAFLET = "media: [{medium: anaerobic-adhesive, rating: suitable, source: leaflet, reference: x}]"
STANDS_IT = WHOLE.replace("elastomer: NBR,", f"elastomer: NBR, {LEAFLET},")


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        (STANDS_IT, Verdict.FINE),
        (WHOLE, Verdict.UNKNOWN),
        (STANDS_IT.replace("position: bolt,", "position: bolt, into: plastic,"), Verdict.UNKNOWN),
    ],
)
def test_threadlocker_beside_rubber_or_in_plastic_waits_for_what_their_makers_say(
    lite: Engine, text: str, verdict: Verdict
) -> None:
    """Common practice, no source: it cracks some plastics."""
    with_lock = (
        text.replace("thread: dry", "thread: locked")
        .replace("units:", LOCKER, 1)
        .replace("    steps:", "        uses: [{item: L, amount: 0.1 ml}]\n    steps:")
    )
    view = planned(lite, with_lock)
    assert view.verdict is verdict
    assert ("plastic" in " ".join(said(d.because for d in view.doubts))) is ("plastic" in text)


@pytest.mark.parametrize(
    ("kind", "verdict"),
    [("threadlocker", Verdict.FINE), ("cleaner", Verdict.UNKNOWN)],
)
def test_a_locked_thread_is_fine_with_what_locks_threads_at_its_joint(
    lite: Engine, kind: str, verdict: Verdict
) -> None:
    used = LOCKER.replace("kind: threadlocker", f"kind: {kind}")
    text = (
        STANDS_IT.replace("thread: dry", "thread: locked")
        .replace("units:", used, 1)
        .replace("    steps:", "        uses: [{item: L, amount: 0.1 ml}]\n    steps:")
    )
    assert planned(lite, text).verdict is verdict


OTHER = """
      - code: k
        name: other
        system: engine
        fits: [{item: B, position: k1, tightening: {stages: [20 N·m], thread: STATE, source: x}}]
    steps:"""


@pytest.mark.parametrize(
    ("opens", "state", "verdict"),
    [
        ("[j]", "locked", Verdict.FINE),
        ("[j, k]", "dry", Verdict.FINE),
        # Of two joints with threads to lock nobody says which gets it.
        ("[j, k]", "locked", Verdict.UNKNOWN),
    ],
)
def test_what_a_step_uses_locks_the_threads_of_the_joint_that_it_opens(
    lite: Engine, opens: str, state: str, verdict: Verdict
) -> None:
    text = (
        STANDS_IT.replace("thread: dry", "thread: locked")
        .replace("units:", LOCKER, 1)
        .replace("    steps:", OTHER.replace("STATE", state).lstrip("\n"), 1)
        .replace("opens: [j]", f"opens: {opens}, uses: [{{item: L, amount: 0.1 ml}}]")
    )
    assert planned(lite, text).verdict is verdict


def test_replacements_that_run_in_a_ring_are_not_fine(lite: Engine) -> None:
    ring = (
        ", replaced: {by: [{item: R2, quantity: 1 each}], old_stock: scrap}}\n"
        "  - {code: R2, name: two, kind: o-ring, elastomer: NBR,"
        " replaced: {by: [{item: R, quantity: 1 each}], old_stock: scrap}}"
    )
    view = planned(lite, WHOLE.replace("ring_section: 2 mm}", f"ring_section: 2 mm{ring}"))
    assert [doubt.aspect for doubt in view.doubts] == [Aspect.REPLACEMENT]


def test_old_stock_that_may_be_used_up_is_fine_only_if_what_replaces_it_is(lite: Engine) -> None:
    """Which of both comes is not known before the kit is made."""
    text = WHOLE.replace(
        "ring_section: 2 mm}",
        "ring_section: 2 mm, replaced: {by: [{item: R2, quantity: 1 each}], old_stock: use up}}\n"
        "  - {code: R2, name: two, kind: o-ring, elastomer: EPDM, ring_inside: 20 mm,"
        " ring_section: 2 mm}",
    )
    view = planned(lite, text)
    ring = next(line for line in view.lines if line.item == "R")
    assert ring.verdict is Verdict.NO
    assert said([ring.doubts[0].because])[0].startswith("if old stock is not enough, R2 comes: ")


@pytest.mark.parametrize(("rule", "verdict"), [("renew", Verdict.FINE), ("keep", Verdict.UNKNOWN)])
def test_a_coated_bolt_locks_its_thread_only_while_it_is_new(
    lite: Engine, rule: str, verdict: Verdict
) -> None:
    coated = WHOLE.replace("kind: bolt", "kind: patch-bolt").replace(
        "thread: dry, source: x}",
        f"thread: locked, source: x}}, rules: [{{rule: {rule}, source: maker, reference: x}}]",
    )
    assert planned(lite, coated).verdict is verdict


def test_an_opened_joint_of_which_nothing_is_described_is_not_fine(lite: Engine) -> None:
    text = WHOLE.replace(
        "    steps: [{code: S, name: s, hours: 1 h, opens: [j]}]",
        "      - {code: bare, name: bare, system: lubrication}\n"
        "    steps: [{code: S, name: s, hours: 1 h, opens: [j, bare]}]",
    )
    view = planned(lite, text)
    assert view.verdict is Verdict.UNKNOWN
    assert (view.tally[Verdict.UNKNOWN], [doubt.aspect for doubt in view.doubts]) == (
        1, [Aspect.CATALOGUE],
    )  # fmt: skip
    assert said([view.doubts[0].because]) == [
        "what bare takes is not described (its fits and uses; or it is not opened: opens)"
    ]


RENEWED = "rules: [{rule: renew, source: maker, reference: x}]"
REPLACED = ", replaced: {by: [{item: %s, quantity: 1 each}], old_stock: scrap}}\n  - %s}"


@pytest.mark.parametrize(
    ("asked", "instead", "told"),
    [
        ("head: hexagon 13 mm", '{code: B2, name: bolt, kind: bolt, thread: M8,'
         ' property_class: "10.9", head: hexagon 13 mm',
         "B2 has another property class (10.9) than j: bolt asks for (8.8)"),
        ("head: hexagon 13 mm",
         "{code: B2, name: bolt, kind: bolt, thread: M8, head: hexagon 13 mm",
         "the property class of B2 is not stated; j: bolt asks for 8.8 (property_class:"
         " of the item)"),
        ("ring_section: 2 mm, hardness: 70", "{code: B2, name: ring, kind: o-ring, elastomer: NBR,"
         " ring_inside: 20 mm, ring_section: 2 mm, hardness: 90",
         "B2 is harder or softer (90) than j: ring asks for (70)"),
        ("ring_section: 2 mm, hardness: 70", "{code: B2, name: ring, kind: o-ring, elastomer: NBR,"
         " ring_inside: 20 mm, ring_section: 2 mm",
         "the hardness of B2 is not stated; j: ring asks for 70 (hardness: of the item)"),
    ],
)  # fmt: skip
def test_what_replaces_a_part_is_judged_by_its_material_too(
    lite: Engine, asked: str, instead: str, told: str
) -> None:
    whole = WHOLE.replace("ring_section: 2 mm}", "ring_section: 2 mm, hardness: 70}")
    whole = whole.replace("{item: B, position", f"{{item: B, {RENEWED}, position")
    view = planned(lite, whole.replace(f"{asked}}}", asked + REPLACED % ("B2", instead)))
    assert view.verdict is Verdict.UNKNOWN
    assert told in said(doubt.because for doubt in view.doubts)


def test_what_two_options_take_is_told_apart_not_added_up(lite: Engine) -> None:
    text = WHOLE.replace(
        "    joints:",
        "    splits: [{code: sump, question: which, check: look,"
        " options: [{code: small, name: small}, {code: big, name: big}]}]\n    joints:",
    ).replace(
        "        fits:",
        "        uses:\n"
        "          - {item: OIL, amount: 3 l, option: sump/small}\n"
        "          - {item: OIL, amount: 2 l, option: sump/big}\n"
        "        fits:",
    )
    view = planned(lite, text)
    assert view.verdict is Verdict.STOPPED
    stopped = {
        said(use.notes)[0]: use.quantity for use in view.uses if use.verdict is Verdict.STOPPED
    }
    assert stopped == {"only with sump/small": 3_000_000, "only with sump/big": 2_000_000}


@pytest.mark.parametrize(
    ("instead", "told"),
    [
        ("kind: engine-oil, unit: ml, medium: engine-oil", "engine oil (engine-oil)"),
        ("kind: assembly-lubricant, unit: ml", "assembly lubricant (no medium is stated)"),
        ("kind: assembly-lubricant, unit: ml, medium: silicone-grease", "(silicone-grease)"),
    ],
)
@pytest.mark.parametrize("old_stock", ["scrap", "use up"])
def test_another_product_does_not_stand_in_as_if_it_were_the_same(
    lite: Engine, instead: str, told: str, old_stock: str
) -> None:
    text = WHOLE.replace(
        "unit: ml, medium: engine-oil}",
        "unit: ml, medium: engine-oil,"
        f" replaced: {{by: [{{item: OIL2, quantity: 1 ml}}], old_stock: {old_stock}}}}}\n"
        f"  - {{code: OIL2, name: other, {instead}}}",
    )
    view = planned(lite, text)
    assert view.verdict in (Verdict.UNKNOWN, Verdict.NO)
    assert any(
        doubt.aspect is Aspect.REPLACEMENT and "would stand in" in words and told in words
        for doubt in view.doubts
        for words in said([doubt.because])
    ), said(doubt.because for doubt in view.doubts)


@pytest.mark.parametrize(
    ("stages", "why"),
    [
        ("60 N·m", "beyond its yield point"),
        ("20 N·m, 10 N·m", "is less than stage 1"),
        ("20 N·m, +400°", "more than a whole turn"),
        ("12 ± 7 N·m", "more than half of 12 N·m"),
        ("25 ± 5 N·m", "30 N·m, the upper end of 25 N·m ± 5 N·m, takes a M8"),
    ],
)
def test_an_odd_figure_is_not_fine(lite: Engine, stages: str, why: str) -> None:
    # Invented figures of an M8 8.8, each odd in a way of its own.
    figure = f"{BY_MAKER}stages: [{stages}]"
    view = planned(lite, WHOLE.replace("tightening: {stages: [20 N·m]", figure))
    assert view.verdict is Verdict.UNKNOWN
    (doubt,) = view.doubts
    assert doubt.aspect is Aspect.FIGURE
    (text,) = said([doubt.because])
    assert text.startswith("the figure of j: bolt (B) is odd, look it up again: ")
    assert why in text


FIGURED = 'thread: M8, property_class: "8.8"'


@pytest.mark.parametrize("system", ["lubrication", "suspension", "body"])
@pytest.mark.parametrize("stages", ["20 N·m", "35 N·m", "2.5 N·m", "20 ± 8 N·m", "20 N·m, +90°"])
@pytest.mark.parametrize(
    "left",
    ["thread: M8", 'property_class: "8.8"', ""],
)
def test_what_is_not_stated_of_a_bolt_never_proves_its_figure(
    lite: Engine, system: str, stages: str, left: str
) -> None:
    """M8 8.8 dry: 20 N·m alone is usual; the others are too much, too little, or turned on."""
    assert FIGURED in WHOLE
    text = WHOLE.replace("system: lubrication", f"system: {system}").replace("20 N·m", stages)
    text = text.replace("{item: B, position", f"{{item: B, {RENEWED}, position")
    usual = stages in ("20 N·m", "20 N·m, +90°")
    assert (planned(lite, text).verdict is Verdict.FINE) == usual
    view = planned(lite, text.replace(FIGURED, left or "bin: x"))
    assert view.verdict is Verdict.UNKNOWN or (usual and left == "thread: M8")
    told = said(doubt.because for doubt in view.doubts)
    if "M8" not in left:
        assert [doubt.aspect for doubt in view.doubts] == [Aspect.FIGURE]
        assert told[0].startswith("the figure of j: bolt (B): ")
        assert told[0].endswith("cannot be checked: no thread is stated (thread: of the item)")


@pytest.mark.parametrize(
    ("kind", "fine"), [("screw-cap", True), ("banjo-bolt", False), ("worm-drive-clamp", True)]
)
def test_what_nothing_could_prove_is_told_and_no_doubt(lite: Engine, kind: str, fine: bool) -> None:
    """A doubt names the entry that would settle it; of a cap there is none."""
    text = WHOLE.replace("kind: bolt", f"kind: {kind}").replace(FIGURED, "bin: x")
    text = text.replace("{item: B, position", f"{{item: B, {RENEWED}, position")
    view = planned(lite, text)
    assert (view.verdict is Verdict.FINE) == fine
    (row,) = view.tightenings
    (remark,) = said(row.remarks)
    assert remark.startswith("20 N·m cannot be checked: ")


def test_the_state_of_a_thread_is_asked_of_a_part_that_states_one(lite: Engine) -> None:
    text = WHOLE.replace("kind: bolt", "kind: brake-hose, elastomer: EPDM")
    without = text.replace("thread: dry, ", "")
    assert "(thread: dry, oiled or locked" in str(
        said(doubt.because for doubt in planned(lite, without).doubts)
    )


@pytest.mark.parametrize("system", ["engine", "body", "lubrication"])
def test_what_is_tightened_by_an_angle_goes_back_only_as_the_maker_says(
    lite: Engine, system: str
) -> None:
    """An invented figure; by a general rule it would be kept, by workshop policy too."""
    by_angle = WHOLE.replace("system: lubrication", f"system: {system}")
    by_angle = by_angle.replace("stages: [20 N·m]", "stages: [20 N·m, +45°]")
    workshop = BY_MAKER.replace("maker", "workshop")
    for text in (by_angle, by_angle.replace("tightening: {", workshop)):
        (doubt,) = planned(lite, text).doubts
        assert (doubt.verdict, doubt.aspect) == (Verdict.UNKNOWN, Aspect.FIGURE)
        (told,) = said([doubt.because])
        assert told.startswith("j: bolt (B) is tightened by an angle, and the maker does not say")
    assert planned(lite, by_angle.replace("tightening: {", BY_MAKER)).verdict is Verdict.FINE
    renewed = BY_MAKER.replace("rule: keep", "rule: renew")
    assert planned(lite, by_angle.replace("tightening: {", renewed)).verdict is Verdict.FINE


@pytest.mark.parametrize("kind", ["bolt", "nut", "stud", "locking-nut"])
@pytest.mark.parametrize("system", ["steering", "suspension", "high-voltage"])
def test_a_plain_fastener_of_what_steers_and_carries_goes_back_only_as_the_maker_says(
    lite: Engine, system: str, kind: str
) -> None:
    text = WHOLE.replace("system: lubrication", f"system: {system}")
    text = text.replace("kind: bolt", f"kind: {kind}")
    for source, renewed in ((None, True), ("workshop", True), ("leaflet", True), ("maker", False)):
        told = BY_MAKER.replace("maker", source) if source else "tightening: {"
        view = planned(lite, text.replace("tightening: {", told))
        (line,) = (one for one in view.lines if one.item == "B")
        assert (line.rule == "renew") == renewed, source
        assert line.verdict is Verdict.FINE


@pytest.mark.parametrize(
    ("figure", "fine"), [("16 N·m", True), ("30 N·m", False), ("60 N·m", False)]
)
@pytest.mark.parametrize("kind", ["brake-pipe", "union", "banjo-bolt"])
def test_the_end_of_a_pipe_is_checked_as_hollow(
    lite: Engine, kind: str, figure: str, fine: bool
) -> None:
    """M10×1 without a class: 30 N·m a solid one of class 5.8 would bear (VDI 2230)."""
    text = WHOLE.replace("kind: bolt", f"kind: {kind}").replace(FIGURED, "thread: M10x1")
    text = text.replace("{item: B, position", f"{{item: B, {RENEWED}, position")
    view = planned(lite, text.replace("20 N·m", figure))
    assert (view.verdict is Verdict.FINE) == fine
    assert {doubt.aspect for doubt in view.doubts} == (set() if fine else {Aspect.FIGURE})


@pytest.mark.parametrize("system", ["lubrication", "brakes", "steering", "suspension", "wheels"])
@pytest.mark.parametrize("into", ["plastic", "steel"])
def test_a_thread_in_plastic_is_never_fine_where_no_general_figure_is(
    lite: Engine, system: str, into: str
) -> None:
    """Common practice, no source: the maker's data alone decide there."""
    text = WHOLE.replace("position: bolt,", f"position: bolt, into: {into}, {RENEWED},")
    view = planned(lite, text.replace("system: lubrication", f"system: {system}"))
    told = [
        words
        for doubt in view.doubts
        for words in said([doubt.because])
        if doubt.aspect is Aspect.FIGURE
    ]
    if into == "steel" or system == "lubrication":
        assert told == []
    else:
        assert told[0].startswith("the thread of j: bolt (B) is in plastic, and belongs to ")


def test_a_kind_brings_the_system_that_it_always_belongs_to(lite: Engine) -> None:
    text = WHOLE.replace("kind: bolt", "kind: restraint-bolt").replace(
        "position: bolt,", "position: bolt, into: plastic,"
    )
    view = planned(lite, text)
    assert "belongs to airbags and belts" in " ".join(said(d.because for d in view.doubts))
    assert [(one.code, one.asked_by) for one in view.licences] == [("restraints", ("item B",))]
    assert [one.code for one in view.cautions if one.word == "QUALIFIED ONLY"] == ["restraints"]


@pytest.mark.parametrize(
    ("figure", "place", "told"),
    [
        ("30 N·m", "into: aluminium", None),
        ("45 N·m", "into: steel", None),
        ("45 N·m", "into: aluminium", "(engagement: of the position)"),
        ("45 N·m", "into: aluminium, engagement: 16 mm", None),
        ("45 N·m", "into: aluminium, engagement: 10 mm", "45 N·m strips a thread of M8"),
        ("45 N·m", "into: magnesium", "(engagement: of the position)"),
        ("45 N·m", "access: open", "(into: of the position)"),
    ],
)
def test_a_figure_that_a_soft_thread_may_not_bear_waits_for_how_far_it_is_engaged(
    lite: Engine, figure: str, place: str, told: str | None
) -> None:
    """M8 12.9, dry: 45 N·m is usual in steel, and more than 8 mm of aluminium bear."""
    text = WHOLE.replace('"8.8"', '"12.9"').replace("20 N·m", figure)
    view = planned(lite, text.replace("position: bolt,", f"position: bolt, {place},"))
    words = said(doubt.because for doubt in view.doubts)
    assert (view.verdict is Verdict.FINE) == (told is None), words
    assert told is None or told in words[0]


@pytest.mark.parametrize(("fluid", "rubber"), [("petrol", "FKM"), ("diesel", "FKM")])
@pytest.mark.parametrize("kind", ["injector-seal", "fuel-quick-connector"])
def test_what_seals_fuel_is_of_a_stated_material(
    lite: Engine, kind: str, fluid: str, rubber: str
) -> None:
    text = WHOLE.replace("system: lubrication", "system: high-pressure-fuel").replace(
        "medium: engine-oil}\nitems", f"medium: {fluid}}}\nitems"
    )
    text = text.replace("kind: o-ring, elastomer: NBR, ", f"kind: {kind}, ")
    view = planned(lite, text)
    told = said(doubt.because for doubt in view.doubts)
    assert "the rubber of j: ring (R) is not stated (elastomer: of the item)" in told
    stated = text.replace(f"kind: {kind}, ", f"kind: {kind}, elastomer: {rubber}, ")
    named = said(doubt.because for doubt in planned(lite, stated).doubts)
    assert not any("is not stated (elastomer: of the item)" in one for one in named)
    # All of metal, it is another kind, and no rubber is asked for.
    metal = {"injector-seal": "injector-washer"}.get(kind, "fuel-connector-retainer")
    of_metal = planned(lite, text.replace(f"kind: {kind}", f"kind: {metal}"))
    other = said(doubt.because for doubt in of_metal.doubts)
    assert not any("elastomer:" in one for one in other)


@pytest.mark.parametrize(
    ("kind", "grade", "told"),
    [
        ("bolt", "4.6", "class 4.6 is none that kind bolt is made in (8.8 to 12.9)"),
        ("bolt", "A2-70", "class A2-70 is none that kind bolt is made in (8.8 to 12.9)"),
        ("drain-plug", "12.9", "class 12.9 is none that kind drain-plug is made in (4.6 to 8.8)"),
        ("bolt", "14.9", "'14.9' is no property class"),
        ("mild-or-stainless", "4.6", None),
        ("mild-or-stainless", "A2-70", None),
        ("banjo-bolt", "A2-70", None),
    ],
)
def test_a_class_that_its_kind_is_not_made_in_is_refused(
    lite: Engine, kind: str, grade: str, told: str | None
) -> None:
    text = WHOLE.replace("kind: bolt", f"kind: {kind}").replace('"8.8"', f'"{grade}"')
    if told is None:
        load_text(lite, text)
        return
    with pytest.raises(KittingError) as refused:
        load_text(lite, text)
    assert told in str(refused.value)


@pytest.mark.parametrize("grade", ["4.6", "5.8", "A2-50", "A2-70", "8.8", "10.9"])
def test_leaving_out_the_class_of_mild_or_stainless_steel_proves_nothing(
    lite: Engine, grade: str
) -> None:
    """M8, dry: 20 N·m is usual of class 8.8, and too much of mild steel."""
    text = WHOLE.replace("kind: bolt", "kind: mild-or-stainless")
    stated = planned(lite, text.replace('"8.8"', f'"{grade}"'))
    assert (stated.verdict is Verdict.FINE) == (grade in ("8.8", "10.9"))
    without = planned(lite, text.replace(', property_class: "8.8"', ""))
    assert without.verdict is Verdict.UNKNOWN
    assert "(property_class: of the item)" in " ".join(said(d.because for d in without.doubts))
