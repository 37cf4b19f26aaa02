"""Chemistry in plans and bookings: clashes are held back, each with what would do instead."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import (
    NOW,
    ON,
    SUPPLY,
    booked,
    line_of,
    load,
    needed,
    planned,
    said,
    stock,
    unit,
    use_of,
)
from kitting.actions import Action, next_step
from kitting.errors import FileProblemsError
from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.reasons import because
from kitting.facts.verdicts import Verdict
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import renew_promises, step_to
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.kit.bags import kit_view
from kitting.services.kit.pick import pick_view
from kitting.store import reading
from kitting.views.bookings import BookingView
from kitting.views.plan import PlanView
from kitting.wording.plan import stopped_text
from kitting.wording.reasons import as_text, say
from kitting.wording.verdicts import doubt_text

ITEMS = """
  - {code: EPDM-20, name: Ring, kind: o-ring, elastomer: EPDM, ring_inside: 20 mm, ring_section: 2 mm}
  - {code: NBR-20, name: Ring, kind: o-ring, elastomer: NBR, ring_inside: 20 mm, ring_section: 2 mm}
  - {code: FKM-21, name: Ring, kind: o-ring, elastomer: FKM, ring_inside: 21 mm, ring_section: 2 mm}
  - {code: LIP, name: Seal, kind: shaft-seal, elastomer: PTFE}
  - {code: SOAP, name: Soap, kind: assembly-lubricant, medium: water-based-lubricant, unit: ml, pack: 100 ml}
  - {code: SILICONE, name: Silicone, kind: assembly-lubricant, medium: silicone-grease, unit: ml, pack: 100 ml}
  - code: MINERAL
    name: Grease
    kind: assembly-lubricant
    medium: petroleum-grease
    unit: ml
    pack: 100 ml
    alternatives: [{item: SOAP}, {item: SILICONE}, {item: BOLT}]
"""
GREASED = "{item: EPDM-20, position: p1, lubricant: {item: MINERAL, amount: 1 ml}}"


def joint(fit: str, more: str = "", items: str = ITEMS, **joint: str) -> str:
    """A catalogue of one joint; `joint` holds its fluids and what else is said of it."""
    said = "".join(f"\n        {name}: {value}" for name, value in joint.items())
    return unit(
        f"\n      - code: a\n        name: A\n        system: cooling{said}"
        f"\n        fits: [{fit}]\n        uses: [{more}]",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        items,
    )


def told(view: PlanView) -> list[tuple[str, str, str, tuple[str, ...]]]:
    return [(c.elastomer, c.what, c.state, c.instead) for c in view.contacts]


def test_petroleum_grease_on_epdm_is_held_back_and_the_listed_alternatives_named(
    lite: Engine,
) -> None:
    """Common practice, no source; the rating: encyclopaedia article "O-ring"."""
    load(lite, joint(GREASED, fluids="[coolant]"))
    view = planned(lite, "PELL 001", "X1")
    assert told(view) == [
        ("EPDM", "MINERAL", "clash", ("SOAP", "SILICONE")),
        ("EPDM", "coolant", "suits", ()),
    ]
    assert [clash.what for clash in view.clashes] == ["MINERAL"]
    use, ring = use_of(view, "MINERAL"), line_of(view, "EPDM-20")
    assert (use.to_take, stopped_text(use.stopped_by)) == (0, "STOPPED by MINERAL on EPDM. ")
    # The ring itself is right: it is taken, and its label says what must not go on it.
    assert (ring.to_take, ring.stopped_by) == (1000, ())
    (bag,) = kit_view(view).bags
    (end,) = bag.ends
    assert as_text(end.lubricant) == "NOT MINERAL on EPDM: SOAP or SILICONE instead"
    picked = pick_view(view)
    assert [line.content.item for line in picked.lines] == ["EPDM-20"]
    assert doubt_text(picked.doubts[0]).startswith(
        "NO: MINERAL is left off: MINERAL on EPDM at p1 (EPDM-20)"
    )


def test_a_ring_of_the_wrong_rubber_is_held_back_and_one_of_its_size_that_suits_is_named(
    lite: Engine,
) -> None:
    load(lite, joint("{item: EPDM-20, position: p1}", fluids="[engine-oil]"))
    view = planned(lite, "PELL 001", "X1")
    assert told(view) == [("EPDM", "engine oil", "clash", ("NBR-20",))]
    line = line_of(view, "EPDM-20")
    assert (line.to_take, stopped_text(line.stopped_by)) == (0, "STOPPED by EPDM in engine oil. ")
    assert pick_view(view).lines == ()


def test_fuel_on_one_side_and_coolant_on_the_other_both_count(lite: Engine) -> None:
    load(lite, joint("{item: NBR-20, position: p1}", fluids="[petrol, coolant]"))
    assert told(planned(lite, "PELL 001", "X1")) == [
        ("NBR", "coolant", "ask", ()),
        ("NBR", "petrol", "ask", ()),
    ]


def test_a_ring_that_touches_one_of_two_fluids_is_judged_by_that_one(lite: Engine) -> None:
    fit = "{item: EPDM-20, position: p1, fluids: [coolant]}"
    load(lite, joint(fit, fluids="[engine-oil, coolant]"))
    assert told(planned(lite, "PELL 001", "X1")) == [("EPDM", "coolant", "suits", ())]


def test_it_cannot_touch_what_its_joint_does_not_hold_back(lite: Engine) -> None:
    fit = "{item: EPDM-20, position: p1, fluids: [petrol]}"
    with pytest.raises(FileProblemsError) as caught:
        load(lite, joint(fit, fluids="[coolant]"))
    assert "touches fluid 'petrol', which its joint does not hold back" in str(caught.value)
    assert "Name one of the joint's: coolant" in str(caught.value)


def test_a_lip_of_ptfe_goes_on_dry(lite: Engine) -> None:
    """Common practice, no source."""
    fit = "{item: LIP, position: p1, lubricant: {item: SOAP, amount: 1 ml}}"
    load(lite, joint(fit))
    view = planned(lite, "PELL 001", "X1")
    assert told(view) == [("PTFE", "SOAP", "clash", ())]
    assert line_of(view, "LIP").positions[0].lubricant == because(LubricantReason.DRY)


def test_unless_the_maker_names_what_goes_on(lite: Engine) -> None:
    by_maker = "{item: SOAP, amount: 1 ml, source: maker, reference: page 3}"
    load(lite, joint(f"{{item: LIP, position: p1, lubricant: {by_maker}}}"))
    view = planned(lite, "PELL 001", "X1")
    assert told(view) == [("PTFE", "SOAP", "suits", ())]
    lubricant = line_of(view, "LIP").positions[0].lubricant
    assert lubricant is not None
    assert say(lubricant) == "Soap (SOAP), 1 ml"


def test_a_hot_joint_is_asked_about(lite: Engine) -> None:
    fit = "{item: EPDM-20, position: p1, lubricant: {item: SILICONE, amount: 1 ml}}"
    heat = '{hottest: 140 °C, source: "measured (invented)"}'
    load(lite, joint(fit, temperature=heat, fluids="[coolant]"))
    assert [(c.against, c.what, c.state, c.rating) for c in planned(lite, "PELL 001", "X1").contacts] == [
        ("temperature", "140 °C", "ask", "doubtful"),
        ("fluid", "coolant", "suits", "suitable"),
        ("lubricant", "SILICONE", "suits", "suitable"),
    ]  # fmt: skip


def test_the_maker_of_the_car_says_what_its_refrigerant_is_and_what_its_rings_are_oiled_with(
    lite: Engine,
) -> None:
    """Makers differ on ring oil: it is data of the car with a source, common practice."""
    fit = "{item: EPDM-20, position: p1, lubricant: {item: SOAP, amount: 1 ml}}"
    text = joint(fit, fluids="[refrigerant]")
    load(lite, text)
    unsaid = planned(lite, "PELL 001", "X1")
    assert told(unsaid) == [
        ("EPDM", "refrigerant and its oil", "ask", ()),
        ("EPDM", "SOAP", "suits", ()),
    ]
    assert "not stated which" in say(unsaid.contacts[0].because)
    named = (
        "fluids: [{fluid: refrigerant, medium: r134a-pag, lubricant: SILICONE, reference: label}]"
    )
    said = text.replace("units: [grebe]}", f"units: [grebe], {named}}}")
    load(lite, said)
    # What the joint names goes on; that the car's maker names another is told.
    of_joint = planned(lite, "PELL 001", "X1")
    assert told(of_joint)[1] == ("EPDM", "SOAP", "suits", ())
    (doubt,) = [d for d in line_of(of_joint, "EPDM-20").doubts if "SILICONE" in doubt_text(d)]
    assert (doubt.verdict, "cars_own:" in doubt_text(doubt)) == (Verdict.UNKNOWN, True)
    load(
        lite,
        said.replace("{item: SOAP, amount: 1 ml}", "{item: SOAP, amount: 1 ml, cars_own: true}"),
    )
    of_model = planned(lite, "PELL 001", "X1")
    assert told(of_model) == [
        ("EPDM", "refrigerant and its oil", "ask", ()),
        ("EPDM", "SILICONE", "suits", ()),
    ]
    assert use_of(of_model, "SILICONE").quantity == 1000
    own = said.replace(
        "build_date: 2021-03-14}",
        "build_date: 2021-03-14, fluids: [{fluid: refrigerant, medium: engine-oil, reference: refilled"
        " wrongly}]}",
    )
    load(lite, own)
    clash = planned(lite, "PELL 001", "X1").contacts[0]
    # Nitrile stands the oil; that it stands what it is assembled with is an opinion.
    assert (clash.elastomer, clash.state, clash.instead, clash.perhaps) == (
        "EPDM", "clash", (), ("NBR-20",),
    )  # fmt: skip


def test_a_leaflet_of_the_very_ring_settles_an_opinion(lite: Engine) -> None:
    stands = (
        "media: [{medium: glycol-coolant, rating: suitable, source: leaflet, reference: leaf 2}]"
    )
    load(lite, joint("{item: FKM-21, position: p1}", fluids="[coolant]"))
    assert told(planned(lite, "PELL 001", "X1"))[0][2] == "ask"
    items = ITEMS.replace("ring_inside: 21 mm,", f"ring_inside: 21 mm, {stands},")
    load(lite, joint("{item: FKM-21, position: p1}", items=items, fluids="[coolant]"))
    (contact,) = planned(lite, "PELL 001", "X1").contacts
    assert (contact.state, say(contact.because)) == (
        "suits", "FKM in ethylene-glycol coolant: suitable. leaflet: leaf 2",
    )  # fmt: skip


def test_one_source_does_not_speak_twice_of_one_medium(lite: Engine) -> None:
    word = "{medium: petrol, rating: suitable, source: maker, reference: p}"
    items = ITEMS.replace("ring_inside: 21 mm,", f"ring_inside: 21 mm, media: [{word}, {word}],")
    with pytest.raises(FileProblemsError, match="'maker on petrol' is given twice"):
        load(lite, joint("{item: FKM-21, position: p1}", items=items))


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def test_a_booking_is_not_ready_while_something_clashes_and_is_once_it_is_mended(
    store: Engine, tmp_path: Path
) -> None:
    load(store, joint(GREASED, fluids="[coolant]") + SUPPLY)
    stock(store, tmp_path, "yard,EPDM-20,A,5 each,1Q25", "yard,SOAP,S,100 ml,,2027-01-01")
    view = booked(store, "X1")
    assert (view.ready, [need.item for need in view.needs]) == (False, ["EPDM-20"])
    assert view.verdict is Verdict.NO
    assert said(view.lacking)[0].startswith("MINERAL on EPDM at p1 (EPDM-20): EPDM in petroleum")
    assert step_to(store, "B0001", BookingState.CONFIRMED).state == "provisional"
    load(store, joint(GREASED.replace("MINERAL", "SOAP"), fluids="[coolant]"))
    changed = shown(store, "B0001")
    assert not changed.ready
    assert changed.lacking[-1].then == (next_step(Action.PROMISE, booking="B0001"),)
    assert "NEW SOAP: 1 ml" in said(changed.changes)
    mended = renew_promises(store, "B0001")
    assert (mended.ready, needed(mended, "SOAP").on_shelf) == (True, 1000)
    assert step_to(store, "B0001", BookingState.CONFIRMED).state == "confirmed"


def test_the_person_may_override_a_clash_with_a_reason(store: Engine, tmp_path: Path) -> None:
    load(store, joint(GREASED) + SUPPLY)
    stock(store, tmp_path, "yard,EPDM-20,A,5 each,1Q25")
    booked(store, "X1", on=ON, at=NOW)
    view = step_to(store, "B0001", BookingState.CONFIRMED, "the right grease is on the van")
    assert (view.state, view.override) == ("confirmed", "the right grease is on the van")


def test_the_demo_holds_back_the_mineral_grease_of_one_caliper_boot(garage: Engine) -> None:
    view = planned(garage, "PELL 117", "J7")
    (clash,) = view.clashes
    assert (clash.joint, clash.elastomer, clash.what, clash.instead) == (
        "caliper-right", "EPDM", "GREASE-MULTI", ("GREASE-BRAKE-RUBBER",),
    )  # fmt: skip
    # Two piston seals and the other boot still take theirs.
    assert use_of(view, "GREASE-BRAKE-RUBBER").quantity == 3000


def test_no_other_job_of_the_demo_clashes(garage: Engine) -> None:
    for option in ("early", "late"):
        jobs = ("J1", "J2", "J3", "J4", "J5", "J6")
        view = planned(garage, "PELL 042", *jobs, assumed={"cooler": option})
        assert view.clashes == ()
        assert {c.state for c in view.contacts} == {"ask", "suits"}
    for car, job in (("PELD 207", "J8"), ("TANS 311", "J9")):
        assert planned(garage, car, job).clashes == ()
