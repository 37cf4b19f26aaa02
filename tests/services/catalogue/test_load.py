"""Loading: all faults at once, all or nothing, the same again changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine, func, select

from helpers import CAR, line_of, load, planned, shop, source, stock, unit
from kitting.errors import FileProblemsError
from kitting.facts.ring_standards import MOST_SECTION, standard_sizes
from kitting.services.catalogue.load import LoadReport, load_sources
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.db.sync import Count
from kitting.services.demo import FILES
from kitting.store import reading
from kitting.tables.all import Base
from kitting.tables.items import Item, ItemGtin
from kitting.tables.units import Fit
from kitting.tables.vehicles import Removal
from kitting.wording.reasons import say

SIMPLE = unit(
    "      - {code: a, name: A, system: engine, fits: [{item: RING, position: p1}]}",
    "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
    "      - {code: X1, name: One, needs: [S1]}",
)


def said(report: LoadReport) -> tuple[str, ...]:
    return tuple(say(remark) for remark in report.remarks)


def rows(engine: Engine) -> dict[str, int]:
    with reading(engine) as session:
        return {
            name: session.scalar(select(func.count()).select_from(table)) or 0
            for name, table in Base.metadata.tables.items()
        }


def test_loading_the_same_files_again_changes_nothing(garage: Engine) -> None:
    before = rows(garage)
    report = load_sources(garage, seeds((*GENERAL, *FILES)))
    touched = {k: c for k, c in report.counts.items() if c.added or c.changed or c.removed}
    assert touched == {}
    assert rows(garage) == before


def test_a_changed_entry_is_counted_and_kept(store: Engine) -> None:
    load(store, SIMPLE)
    report = load(store, SIMPLE.replace("name: Ring,", "name: Better ring,"))
    assert report.counts["items"] == Count(added=0, changed=1, same=1, removed=0)
    assert line_of(planned(store, "PELL 001", "X1"), "RING").name == "Better ring"


def test_what_a_unit_no_longer_names_is_taken_out(store: Engine) -> None:
    load(store, SIMPLE)
    report = load(store, SIMPLE.replace("position: p1", "position: p2"))
    assert report.counts["fits"] == Count(added=1, changed=0, same=0, removed=1)
    with reading(store) as session:
        assert list(session.scalars(select(Fit.position))) == ["p2"]


def test_a_number_of_a_packet_moves_from_one_item_to_another(store: Engine) -> None:
    here, there = ', gtins: ["00000012345670"]', ""  # an invented number, its check digit reckoned
    items = "items: [{code: A, name: A, kind: o-ring%s}, {code: B, name: B, kind: o-ring%s}]"
    load(store, items % (here, there))
    load(store, items % (there, here))
    with reading(store) as session:
        owner = select(Item.code).join(ItemGtin, ItemGtin.item_id == Item.id)
        assert list(session.scalars(owner)) == ["B"]


def test_what_the_files_do_not_name_is_left_alone(garage: Engine) -> None:
    before = rows(garage)["item"]
    load(garage, "items: [{code: NEW-ITEM, name: New, kind: o-ring}]")
    assert rows(garage)["item"] == before + 1


def test_a_dry_run_reports_the_same_and_keeps_nothing(store: Engine) -> None:
    before = rows(store)
    dry = load_sources(store, [source(SIMPLE)], dry_run=True)
    assert rows(store) == before
    assert load(store, SIMPLE).counts == dry.counts


def test_one_fault_and_nothing_is_loaded(store: Engine) -> None:
    before = rows(store)
    with pytest.raises(FileProblemsError):
        load(store, SIMPLE.replace("item: RING, position", "item: RINGG, position"))
    assert rows(store) == before


def test_files_may_name_each_other_in_any_order(store: Engine) -> None:
    first = "vehicles: [{registration: PELL 009, model: pell}]"
    second = SIMPLE.replace(CAR, "models: [{code: pell, name: Pell, units: [grebe]}]")
    load_sources(store, [source(first, "a.yaml"), source(second, "b.yaml")])
    assert planned(store, "PELL 009", "X1").vehicle.model == "Pell"


HISTORY = (
    "vehicles: [{registration: PELL 001, model: pell, history:"
    " [{joint: grebe/JOINT, position: POSITION, on: 2025-05-20, outcome: refitted}]}]"
)


@pytest.mark.parametrize("before", [True, False])
@pytest.mark.parametrize(
    ("joint", "position", "told"),
    [
        (
            "a",
            "p-1",
            "vehicle PELL 001: position at joint grebe/a 'p-1': unknown name. Did you mean p1",
        ),
        ("aa", "p1", "vehicle PELL 001: joint 'grebe/aa': unknown name. Did you mean grebe/a"),
    ],
)
def test_history_of_an_unknown_joint_or_position_is_refused_with_its_line(
    store: Engine, joint: str, position: str, told: str, before: bool
) -> None:
    history = HISTORY.replace("JOINT", joint).replace("POSITION", position)
    cars = CAR.partition("vehicles:")[2]
    text = SIMPLE.replace("vehicles:" + cars, history)
    if before:  # the unit stands in the database already
        load(store, SIMPLE)
        text = history
    with pytest.raises(FileProblemsError) as caught:
        load(store, text)
    (problem,) = caught.value.problems
    assert problem.file == "test.yaml"
    assert problem.line == 1 + text[: text.index("[{joint:")].count("\n")
    assert told in str(problem)
    with reading(store) as session:
        assert session.scalars(select(Removal)).all() == []


def test_history_of_a_known_position_is_loaded(store: Engine) -> None:
    load(store, SIMPLE)
    load(store, HISTORY.replace("JOINT", "a").replace("POSITION", "p1"))
    with reading(store) as session:
        assert [removal.position for removal in session.scalars(select(Removal))] == ["p1"]


def test_a_position_that_a_car_has_a_history_at_stays(store: Engine) -> None:
    load(store, SIMPLE)
    load(
        store,
        "vehicles: [{registration: PELL 001, model: pell, history: [{joint: grebe/a,"
        " position: p1, on: 2024-01-01, outcome: renewed}]}]",
    )
    with pytest.raises(FileProblemsError, match="the history of PELL 001 has 'p1' renewed"):
        load(
            store,
            """
units: [{code: grebe, name: Grebe}]
""",
        )
    assert planned(store, "PELL 001", "X1").lines != ()


def test_a_ring_of_replacements_and_a_need_nobody_describes_are_remarked(store: Engine) -> None:
    report = load(
        store,
        """
items:
  - {code: A, name: A, kind: o-ring, replaced: {by: [{item: B, quantity: 1 each}], old_stock: scrap}}
  - {code: B, name: B, kind: o-ring, replaced: {by: [{item: A, quantity: 1 each}], old_stock: scrap}}
""",
    )
    assert said(report) == (
        "replacements run in a ring: A → B → A. Neither can be trusted as the current part:"
        " ask the supplier which one is",
    )


def test_a_step_that_others_need_may_go_but_not_in_silence(store: Engine) -> None:
    other = "  - {code: o, name: O, steps: [{code: S2, name: Two, hours: 1 h}]}\nmodels:"
    load(store, SIMPLE.replace("opens: [a]", "opens: [a], needs: [S2]").replace("models:", other))
    assert said(load(store, "units: [{code: o, name: O}]")) == (
        "unit o no longer has step S2",
        "a step needs step S2, which no unit describes: it cannot be planned",
    )


FAULTY = """\
items:
  - {code: RING-1, name: Ring, kind: o-rng}
  - {code: RING-1, name: Ring again, kind: o-ring}
  - {code: SEALANT-1, name: Sealant, kind: sealant, unit: ml, pack: 10 each}
units:
  - code: grebe
    name: Grebe
    joints:
      - code: a
        name: A
        system: engin
        fits:
          - {item: RING-1, position: p1}
          - {item: RING-2, position: p1}
        uses:
          - {item: SEALANT-1, drops: {thread: M20, threads: 2}}
    steps:
      - {code: S1, name: One, hours: 1 h, needs: [S2], opens: [b]}
      - {code: S2, name: Two, hours: 1 h, needs: [S1]}
    jobs:
      - {code: X1, name: One, needs: [S9]}
vehicles:
  - {registration: PELL 001, model: pell}
"""


def test_every_fault_of_meaning_is_told_with_its_line(lite: Engine) -> None:
    with pytest.raises(FileProblemsError) as refused:
        load(lite, FAULTY)
    told = {(p.line, p.thing, p.reason) for p in refused.value.problems}
    assert told == {
        (2, "item RING-1: kind 'o-rng'", "unknown name"),
        (3, "item RING-1", "described a second time (first in test.yaml)"),
        (4, "item SEALANT-1", "given in each, but stocked in ml"),
        (11, "unit grebe joint a: system 'engin'", "unknown name"),
        (14, "unit grebe joint a position p1: item 'RING-2'", "unknown name"),
        (
            14,
            "unit grebe joint a position 'p1'",
            "the position is described twice for the same cars",
        ),
        (
            16,
            "use of SEALANT-1",
            "no number of drops is known for a thread of M20; give an amount such as '0.5 ml'",
        ),
        (18, "unit grebe", "steps need one another in a ring: S1 → S2 → S1"),
        (18, "unit grebe step S1: joint 'b'", "unknown name"),
        (21, "unit grebe job X1: step 'S9'", "unknown name"),
        (23, "vehicle PELL 001: model 'pell'", "unknown name"),
    }
    steps = {p.thing: p.next_step for p in refused.value.problems}
    assert steps["item RING-1: kind 'o-rng'"] == "Did you mean o-ring?"
    assert steps["unit grebe joint a: system 'engin'"] == "Did you mean engine?"
    assert steps["unit grebe joint a position p1: item 'RING-2'"] == (
        "Describe the item first. RING-1 is of another side, size or rubber"
    )


@pytest.mark.parametrize(
    ("entry", "reason"),
    [
        ("rules: [{rule: renew, source: maker, reference: x}, {rule: keep, source: maker, reference: y}]",
         "source 'maker' is given twice"),
        ("lubricant: {item: RING, amount: 1 ml}", "given in ml, but stocked in each"),
        ("option: cooler/late", "unknown name"),
        ("quantity: 5 ml", "given in ml, but stocked in each"),
    ],
)  # fmt: skip
def test_a_fit_that_contradicts_itself_is_refused(lite: Engine, entry: str, reason: str) -> None:
    with pytest.raises(FileProblemsError) as refused:
        load(lite, SIMPLE.replace("position: p1", f"position: p1, {entry}"))
    assert reason in {problem.reason for problem in refused.value.problems}


def test_an_item_not_sold_singly_needs_a_packet_that_brings_it(lite: Engine) -> None:
    with pytest.raises(FileProblemsError, match="no packet of these files brings it"):
        load(lite, "items: [{code: X, name: X, kind: o-ring, sold_singly: false}]")


def test_a_ring_thicker_than_any_published_one_is_refused(lite: Engine) -> None:
    text = "items:\n  - {code: R, name: R, kind: o-ring, ring_inside: IN mm, ring_section: SEC mm}"
    with pytest.raises(FileProblemsError, match=r"a section of 17 mm on an inside of 2\.5 mm"):
        load(lite, text.replace("IN", "2.5").replace("SEC", "17"))
    for size in standard_sizes():  # SAE AS568 as in kitting/facts/as568.csv
        assert size.section <= MOST_SECTION * size.inside


def test_a_sealant_of_which_no_unit_is_stated_is_told_both_ways(lite: Engine) -> None:
    text = """
items: [{code: PASTE, name: Paste, kind: sealant}]
units:
  - code: u
    name: U
    joints: [{code: j, name: J, system: engine, uses: [{item: PASTE, amount: 5 ml}]}]
"""
    with pytest.raises(FileProblemsError) as caught:
        load(lite, text)
    (problem,) = caught.value.problems
    assert (problem.line, problem.reason, problem.next_step) == (
        6,
        "given in ml, but stocked in each",
        "Give it in each; or, if the item is stocked in ml, state 'unit: ml' of it",
    )
    load(lite, text.replace("kind: sealant", "kind: sealant, unit: ml"))


def test_options_of_one_split_may_share_a_position(lite: Engine) -> None:
    split = """{code: c, question: Which?, check: Look., options: [
        {code: e, name: E}, {code: l, name: L}]}"""
    text = unit(
        """
      - code: a
        name: A
        system: engine
        fits: [{item: RING, position: p1, option: c/e}, {item: BOLT, position: p1, option: c/l}]""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        splits=split,
    )
    load(lite, text)
    assert planned(lite, "PELL 001", "X1", assumed={"c": "l"}).lines[0].item == "BOLT"


def test_codes_with_capitals_apart_are_different_items(lite: Engine) -> None:
    load(lite, "items: [{code: x, name: a, kind: o-ring}, {code: X, name: b, kind: o-ring}]")
    with reading(lite) as session:
        found = session.scalars(select(Item.code).where(Item.name.in_(["a", "b"])))
        assert set(found) == {"x", "X"}


OUTER = "  - {code: KIT-A, name: A, kind: bracket, contents: [{item: KIT-B, quantity: 1 each}]}\n"
INNER = "  - {code: KIT-B, name: B, kind: bracket, contents: [{item: KIT-A, quantity: 1 each}]}\n"


def test_packets_that_hold_one_another_are_refused_with_their_line(lite: Engine) -> None:
    with pytest.raises(FileProblemsError) as refused:
        load(lite, f"items:\n{OUTER}{INNER}")
    (problem,) = refused.value.problems
    assert (problem.line, problem.reason) == (
        2,
        "packets hold one another in a ring: KIT-A → KIT-B → KIT-A",
    )
    # The other half stands in the database already.
    load(lite, f"items:\n{OUTER}" + INNER.replace("KIT-A, q", "RING-X, q") + RING_X)
    with pytest.raises(FileProblemsError) as refused:
        load(lite, f"items:\n{INNER}")
    (problem,) = refused.value.problems
    assert "in a ring: KIT-A → KIT-B → KIT-A" in problem.reason


RING_X = "  - {code: RING-X, name: x, kind: o-ring}\n"


def test_p15_the_unit_of_what_is_counted_somewhere_stays(lite: Engine, tmp_path: Path) -> None:
    """Pieces on a shelf would become millilitres."""
    load(lite, shop({"X1": {"RING": 1}}))
    other = "items: [{code: RING, name: Ring, kind: o-ring, elastomer: FKM, unit: ml}]"
    stock(lite, tmp_path, "yard,RING,A,38 each,1Q26")
    with pytest.raises(FileProblemsError) as refused:
        load(lite, other)
    (problem,) = refused.value.problems
    assert (problem.thing, problem.line) == ("item RING", 1)
    assert "count it in each" in problem.reason
    named = "items: [{code: RING, name: Another name, kind: o-ring, elastomer: FKM}]"
    assert load(lite, named).counts["items"].changed == 1
