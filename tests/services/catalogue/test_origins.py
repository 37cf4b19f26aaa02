"""Who wrote what: kept at each load, carried by an export, told where another wrote it before."""

from __future__ import annotations

from sqlalchemy import Engine, select

from helpers import load, source
from kitting.files.catalogue.canonical import catalogue_text
from kitting.services.catalogue.exporting.catalogue import exported, origins_of
from kitting.services.catalogue.load import LoadReport, load_sources
from kitting.services.catalogue.origins import read_origins
from kitting.services.catalogue.things import Thing
from kitting.store import reading
from kitting.tables.editions import CatalogueOrigin
from kitting.views.catalogue import LoadRemark, OriginView
from kitting.wording.reasons import say

ITEM = "items: [{code: BOLT, name: Bolt, kind: bolt, thread: M8x1.25}]\n"
UNIT = """
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: engine
        fits: [{item: BOLT, position: p, tightening: {stages: [20 N·m], source: invented}}]
"""
A1 = OriginView("A. Sample", "handbook", "1", "may be copied")
HEAD_A = "about: {author: A. Sample, source: handbook, version: '1', licence: may be copied}\n"
HEAD_B = "about: {author: B. Other}\n"
BOLT, U = Thing("items", "BOLT"), Thing("units", "u")


def origins(engine: Engine) -> dict[Thing, OriginView]:
    with reading(engine) as session:
        return read_origins(session, [BOLT, U])


def heads(engine: Engine) -> list[str]:
    with reading(engine) as session:
        return sorted(session.scalars(select(CatalogueOrigin.author)))


def told(report: LoadReport) -> list[str]:
    asked = (LoadRemark.WRITTEN_BY_ANOTHER, LoadRemark.MORE_BY_ANOTHER)
    return [say(one) for one in report.remarks if one.code in asked]


def text_of(engine: Engine) -> str:
    with reading(engine) as session:
        return catalogue_text(exported(session, (), everything=True), [])


def test_what_a_file_describes_is_known_as_its_authors(store: Engine) -> None:
    report = load(store, HEAD_A + ITEM + UNIT)
    assert origins(store) == {BOLT: A1, U: A1}
    assert report.counts["origins"].added == 2
    again = load(store, HEAD_A + ITEM + UNIT).counts["origins"]
    assert (again.added, again.changed, again.same, again.removed) == (0, 0, 2, 0)


def test_a_dry_run_keeps_no_author(store: Engine) -> None:
    load_sources(store, [source(HEAD_A + ITEM)], dry_run=True)
    assert (origins(store), heads(store)) == ({}, [])


def test_several_files_of_one_load_have_each_its_own_author(store: Engine) -> None:
    load_sources(store, [source(HEAD_A + ITEM, "a.yaml"), source(HEAD_B + UNIT, "b.yaml")])
    assert origins(store) == {BOLT: A1, U: OriginView("B. Other")}


def test_the_latest_file_that_names_a_thing_is_its_origin_and_no_head_is_left_over(
    store: Engine,
) -> None:
    load(store, HEAD_A + ITEM + UNIT)
    load(store, HEAD_B + ITEM)
    assert origins(store) == {BOLT: OriginView("B. Other"), U: A1}
    assert heads(store) == ["A. Sample", "B. Other"]
    load(store, HEAD_B + UNIT)
    assert heads(store) == ["B. Other"]


def test_a_file_without_a_head_leaves_the_author_of_what_it_does_not_change(store: Engine) -> None:
    load(store, HEAD_A + ITEM + UNIT)
    report = load(store, ITEM + UNIT.replace("20 N·m", "22 N·m"))
    assert origins(store) == {BOLT: A1}
    assert report.counts["origins"].removed == 1
    assert told(report) == [
        "unit u: changed joint j position p tightening.stages. Author before: A. Sample, version 1;"
        " author now: not stated"
    ]


def test_what_another_author_wrote_is_not_changed_in_silence(store: Engine) -> None:
    load(store, HEAD_A + ITEM)
    changed = ITEM.replace("name: Bolt", "name: Screw").replace("M8x1.25", "M8x1")
    assert told(load(store, HEAD_B + changed)) == [
        "item BOLT: changed name, thread. Author before: A. Sample, version 1; author now: B. Other"
    ]


def test_a_shared_file_that_changes_what_one_wrote_himself_says_so(store: Engine) -> None:
    load(store, ITEM)
    assert told(load(store, HEAD_B + ITEM.replace("name: Bolt", "name: Screw"))) == [
        "item BOLT: changed name. Author before: not stated; author now: B. Other"
    ]
    assert told(load(store, ITEM.replace("name: Bolt", "name: Pin"))) == [
        "item BOLT: changed name. Author before: B. Other; author now: not stated"
    ]


def test_a_new_version_of_the_same_author_and_the_same_words_are_no_remark(store: Engine) -> None:
    load(store, HEAD_A + ITEM)
    second = HEAD_A.replace("'1'", "'2'")
    assert told(load(store, second + ITEM.replace("name: Bolt", "name: Screw"))) == []
    assert origins(store)[BOLT].version == "2"
    assert told(load(store, HEAD_B + ITEM.replace("name: Bolt", "name: Screw"))) == []


def test_many_changes_are_counted_and_the_first_named(store: Engine) -> None:
    def items(name: str) -> str:
        return "items:\n" + "".join(
            f"  - {{code: B{number}, name: {name}, kind: bolt}}\n" for number in range(7)
        )

    load(store, HEAD_A + items("Bolt"))
    remarks = told(load(store, HEAD_B + items("Screw")))
    assert len(remarks) == 6
    assert remarks[0].startswith("item B0: changed name. Author before: A. Sample, version 1;")
    assert remarks[5].startswith("changed as well: 2 things. Author before: A. Sample, version 1;")


def test_an_export_of_one_author_has_his_head(store: Engine) -> None:
    load(store, HEAD_A + ITEM + UNIT)
    text = text_of(store)
    assert source(text).catalogue.about == source(HEAD_A).catalogue.about
    counts = load(store, text).counts.values()
    assert {(one.added, one.changed, one.removed) for one in counts} == {(0, 0, 0)}


def test_an_export_of_several_authors_has_no_head_and_says_who_wrote_what(store: Engine) -> None:
    load_sources(store, [source(HEAD_A + ITEM, "a.yaml"), source(UNIT, "own.yaml")])
    text = text_of(store)
    assert source(text).catalogue.about is None
    with reading(store) as session:
        assert origins_of(session, exported(session, (), everything=True)) == {
            A1: [BOLT],
            None: [U],
        }
    load(store, text)
    assert origins(store) == {BOLT: A1}


def test_an_own_policy_that_a_shared_file_takes_out_is_told(store: Engine) -> None:
    kind = "kinds: [{code: clip-own, name: Clip, family: clip, rules: [{rule: keep}%s]}]"
    own = kind % ", {rule: renew, source: workshop, reference: own policy}"
    load(store, HEAD_B + kind % "")
    assert told(load(store, own)) == [
        "kind clip-own: changed rules. Author before: B. Other; author now: not stated"
    ]
    assert told(load(store, HEAD_B + kind % "")) == [
        "kind clip-own: changed rules. Author before: not stated; author now: B. Other"
    ]
