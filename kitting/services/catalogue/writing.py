"""Writing catalogue files: every table in turn made equal to what the files say."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.words import Source
from kitting.services.catalogue.check_words import CALLED
from kitting.services.catalogue.rows import items as item_rows
from kitting.services.catalogue.rows import trade as term_rows
from kitting.services.catalogue.rows import units as unit_rows
from kitting.services.catalogue.rows import vehicles as car_rows
from kitting.services.catalogue.rows import vocabulary as word_rows
from kitting.services.catalogue.rows.book import Book
from kitting.services.catalogue.sections import TABLE_OF, TABLES
from kitting.services.db.sync import Row, Shape, Sync
from kitting.tables.units import Joint, Split, SplitOption


def write_all(sync: Sync, book: Book) -> bool:
    """Sync every table, parents before children; what went is removed by `sync.finish`.

    Returns whether anything changed that plans are made of: not so suppliers and rates of tax.
    """
    for write in (_vocabulary, _items, _units, _cars, _branches):
        write(sync, book)
    plans_changed = sync.differs
    _terms(sync, book)
    return plans_changed


def _shape(table: str, *key: str, owner: str | None = None, keep: bool = False) -> Shape:
    return Shape(TABLES[table], key, owner, keep)


def _top(
    sync: Sync, book: Book, section: str, table: str, found: Iterator[Row], key: str = "code"
) -> None:
    """Sync a table that stands on its own, and learn the ids of all that the files refer to."""
    ids = sync.sync(_shape(table, key), found, (), section)
    book.ids[table] = _all_ids(sync.session, table, key) | ids


def _all_ids(session: Session, table: str, key: str) -> dict[tuple[Any, ...], int]:
    column = TABLES[table].c[key]
    return {(code,): row_id for code, row_id in session.execute(select(column, TABLES[table].c.id))}


def _links(
    sync: Sync, owners: Sequence[int], table: str, key: tuple[str, str], found: Iterator[Row]
) -> None:
    sync.sync(_shape(table, *key, owner=key[0]), found, owners, "links")


def _vocabulary(sync: Sync, book: Book) -> None:
    columns: dict[str, tuple[str, ...]] = {
        "cautions": ("code", "title", "text", "word"),
        "fluids": ("code", "name", "medium"),
        "systems": ("code", "name", "general_torque"),
        "licences": ("code", "name", "text"),
        "tools": ("code", "name"),
        "kinds": (
            *("code", "name", "family", "threaded", "general_torque", "rubber", "locks_threads"),
            *("chance", "weakest_class", "strongest_class"),
        ),
    }
    for section, names in columns.items():
        _top(sync, book, section, TABLE_OF[section], word_rows.vocabulary(book, section, names))
    kinds = [book.id("kind", kind.code) for kind in book.each("kinds")]
    _kind_rules(sync, book)
    _links(sync, kinds, "kind_dry", ("kind_id", "elastomer"), word_rows.kind_dry(book))
    for section in CALLED:
        owner = TABLE_OF[section]
        owners = [book.id(owner, entry.code) for entry in book.each(section)]
        said = word_rows.other_words(book, section, owner)
        _links(sync, owners, "other_word", (f"{owner}_id", "word"), said)
    book.ids["tool"] = book.ids["general_tool"]
    found = word_rows.links(book, "kinds", "kind", "tool")
    _links(sync, kinds, "kind_tool", ("kind_id", "tool_id"), found)
    found = word_rows.links(book, "kinds", "kind", "system")
    _links(sync, kinds, "kind_system", ("kind_id", "system_id"), found)
    for section in ("kinds", "fluids", "systems"):
        owner = TABLE_OF[section]
        owners = [book.id(owner, entry.code) for entry in book.each(section)]
        found = word_rows.links(book, section, owner, "caution")
        _links(sync, owners, f"{owner}_caution", (f"{owner}_id", "caution_id"), found)
    systems = [book.id("system", system.code) for system in book.each("systems")]
    found = word_rows.links(book, "systems", "system", "licence")
    _links(sync, systems, "system_licence", ("system_id", "licence_id"), found)


def _kind_rules(sync: Sync, book: Book) -> None:
    """Rules of the kinds, source by source.

    A file that only tells the policy of the workshop leaves the general rules, and what they bar,
    as they are. The general rules that come with the program leave the policy.
    """
    for source in word_rows.FIRST:
        if source == Source.WORKSHOP and book.general:
            continue
        owners = [
            book.id("kind", kind.code)
            for kind in book.each("kinds")
            if source == Source.WORKSHOP or any(rule.source == source for rule in kind.rules)
        ]
        shape = Shape(TABLES["kind_rule"], ("kind_id", "seq"), "kind_id", only=("source", source))
        sync.sync(shape, word_rows.kind_rules(book, source), owners, "rules")


def _items(sync: Sync, book: Book) -> None:
    _top(sync, book, "items", "item", item_rows.items(book))
    owners = [book.id("item", item.code) for item in book.each("items")]
    parts: list[tuple[str, tuple[str, ...], Callable[[Book], Iterator[Row]], str]] = [
        ("item_content", ("packet_id", "item_id"), item_rows.item_contents, "packet contents"),
        ("item_name", ("item_id", "language"), item_rows.item_names, "names in other languages"),
        ("item_rule", ("item_id", "source"), item_rows.item_rules, "rules"),
        ("item_medium", ("item_id", "medium", "source"), item_rows.item_media, "media"),
        ("succession", ("item_id",), item_rows.successions, "replacements"),
        ("successor", ("item_id", "by_item_id"), item_rows.successors, "replacements"),
        ("alternative", ("item_id", "other_id"), item_rows.alternatives, "alternatives"),
    ]
    numbers = Shape(TABLES["item_gtin"], ("item_id", "gtin"), "item_id", at_once=True)
    sync.sync(numbers, item_rows.item_gtins(book), owners, "numbers of packets")
    for table, key, found, sort in parts:
        sync.sync(_shape(table, *key, owner=key[0]), found(book), owners, sort)
    found_links = word_rows.links(book, "items", "item", "caution")
    _links(sync, owners, "item_caution", ("item_id", "caution_id"), found_links)


def _units(sync: Sync, book: Book) -> None:
    _top(sync, book, "units", "unit", _codes_and_names(book, "units"))
    units = [book.id("unit", unit.code) for unit in book.each("units")]

    def part(
        table: str,
        found: Iterator[Row],
        key: tuple[str, ...],
        owners: Sequence[int],
        sort: str,
    ) -> list[int]:
        ids = sync.sync(_shape(table, *key, owner=key[0]), found, owners, sort)
        book.ids.setdefault(table, {}).update(ids)
        return list(ids.values())

    in_unit = ("unit_id", "code")
    splits = part("split", unit_rows.splits(book), in_unit, units, "variants")
    part("split_option", unit_rows.split_options(book), ("split_id", "code"), splits, "options")
    joints = part("joint", unit_rows.joints(book), in_unit, units, "joints")
    for other in ("fluid", "caution"):
        found = unit_rows.joint_links(book, other)
        _links(sync, joints, f"joint_{other}", ("joint_id", f"{other}_id"), found)
    _links(sync, joints, "joint_near", ("joint_id", "thing"), unit_rows.joint_near(book))
    place = ("joint_id", "position", "option_id")
    fits = part("fit", unit_rows.fits(book), place, joints, "fits")
    part("fit_rule", unit_rows.fit_rules(book), ("fit_id", "source"), fits, "rules")
    sync.sync(_shape("hole", "fit_id", "seq", owner="fit_id"), unit_rows.holes(book), fits, "holes")
    _links(sync, fits, "fit_fluid", ("fit_id", "fluid_id"), unit_rows.fit_fluids(book))
    _links(sync, joints, "joint_order", ("joint_id", "place"), unit_rows.joint_orders(book))
    tightened = unit_rows.tightenings(book)
    sync.sync(_shape("tightening", "fit_id", owner="fit_id"), tightened, fits, "tightenings")
    sync.sync(
        _shape("stage", "fit_id", "seq", owner="fit_id"), unit_rows.stages(book), fits, "stages"
    )
    steps = part("step", unit_rows.steps(book), in_unit, units, "steps")
    asked_on = unit_rows.step_options(book)
    sync.sync(_shape("step_option", "step_id", owner="step_id"), asked_on, steps, "steps")
    _links(sync, steps, "step_need", ("step_id", "code"), unit_rows.step_needs(book))
    _links(sync, steps, "opening", ("step_id", "joint_id"), unit_rows.openings(book))
    for attribute, other, table in (
        ("tools", "tool", "general_tool"),
        ("cautions", "caution", "caution"),
    ):
        found = unit_rows.step_links(book, attribute, table, f"{other}_id")
        _links(sync, steps, f"step_{other}", ("step_id", f"{other}_id"), found)
    sync.sync(
        _shape("use", "joint_id", "seq", owner="joint_id"),
        unit_rows.joint_uses(book),
        joints,
        "uses",
    )
    sync.sync(
        _shape("use", "step_id", "seq", owner="step_id"), unit_rows.step_uses(book), steps, "uses"
    )
    jobs = part("job", unit_rows.jobs(book), in_unit, units, "jobs")
    _links(sync, jobs, "job_need", ("job_id", "code"), unit_rows.job_needs(book))
    _links(sync, jobs, "job_renewal", ("job_id", "seq"), unit_rows.job_renewals(book))
    _links(sync, jobs, "job_service", ("job_id", "name"), unit_rows.job_services(book))


def _codes_and_names(book: Book, section: str) -> Iterator[Row]:
    return word_rows.vocabulary(book, section, ("code", "name"))


def _cars(sync: Sync, book: Book) -> None:
    _top(sync, book, "models", "model", _codes_and_names(book, "models"))
    models = [book.id("model", model.code) for model in book.each("models")]
    _links(sync, models, "model_unit", ("model_id", "unit_id"), car_rows.model_units(book))
    _links(sync, models, "model_fluid", ("model_id", "fluid_id"), car_rows.model_fluids(book))
    _top(sync, book, "vehicles", "vehicle", car_rows.vehicles(book), key="registration_key")
    _learn_units(sync.session, book)
    cars = [car_id for _, car_id in car_rows.each_car(book)]
    _links(sync, cars, "vehicle_unit", ("vehicle_id", "unit_id"), car_rows.vehicle_units(book))
    _links(sync, cars, "vehicle_fluid", ("vehicle_id", "fluid_id"), car_rows.vehicle_fluids(book))
    _links(sync, cars, "equipment", ("vehicle_id", "code"), car_rows.equipment(book))
    recorded = _shape("settled_variant", "vehicle_id", "split_id", owner="vehicle_id", keep=True)
    sync.sync(recorded, car_rows.settled(book), cars, "settled variants")
    place = ("vehicle_id", "joint_id", "position", "on_date")
    history = _shape("removal", *place, owner="vehicle_id", keep=True)
    sync.sync(history, car_rows.removals(book), cars, "earlier removals")


def _branches(sync: Sync, book: Book) -> None:
    _top(sync, book, "branches", "branch", term_rows.branches(book))
    held = term_rows.branch_licences(book)
    _links(sync, _of_branches(book), "branch_licence", ("branch_id", "licence_id"), held)


def _of_branches(book: Book) -> list[int]:
    return [book.id("branch", branch.code) for branch in book.each("branches")]


def _terms(sync: Sync, book: Book) -> None:
    _top(sync, book, "suppliers", "supplier", term_rows.suppliers(book))
    suppliers = [book.id("supplier", supplier.code) for supplier in book.each("suppliers")]
    cutoffs, closings = term_rows.cutoffs(book), term_rows.closings(book)
    _links(sync, suppliers, "supplier_cutoff", ("supplier_id", "at"), cutoffs)
    _links(sync, suppliers, "supplier_closing", ("supplier_id", "day"), closings)
    for section, owner, owners in (
        ("branches", "branch", _of_branches(book)), ("suppliers", "supplier", suppliers),
    ):  # fmt: skip
        rates = term_rows.taxes(book, section, owner)
        _links(sync, owners, f"{owner}_tax", (f"{owner}_id", "valid_from"), rates)


def _learn_units(session: Session, book: Book) -> None:
    """Ids of splits, options and joints of units that only the cars of these files name."""
    named = {
        text.partition("/")[0]
        for car in book.each("vehicles")
        for text in (*car.settled, *(removal.joint for removal in car.history))
    }
    units = [book.id("unit", code) for code in sorted(named)]
    for table, key in ((Split, "split"), (Joint, "joint")):
        found = session.execute(
            select(table.unit_id, table.code, table.id).where(table.unit_id.in_(units))
        )
        book.ids.setdefault(key, {}).update({(unit, code): i for unit, code, i in found})
    options = session.execute(
        select(SplitOption.split_id, SplitOption.code, SplitOption.id)
        .join(Split, SplitOption.split_id == Split.id)
        .where(Split.unit_id.in_(units))
    )
    book.ids.setdefault("split_option", {}).update({(s, code): i for s, code, i in options})
