"""Loading catalogue files: checked together, then written in one transaction or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, Table, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from kitting.calc.planning.access import find_ring
from kitting.calc.tightening.torque_plausibility import remark
from kitting.errors import FileProblemsError, Problem, StoreError
from kitting.facts.reasons import Reason, because
from kitting.facts.tightening_reasons import TorqueRemark
from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.source import Source, read_catalogue
from kitting.services.catalogue.check import SECTIONS, Known, check
from kitting.services.catalogue.rows import items as item_rows
from kitting.services.catalogue.rows import trade as term_rows
from kitting.services.catalogue.rows import units as unit_rows
from kitting.services.catalogue.rows import vehicles as car_rows
from kitting.services.catalogue.rows import vocabulary as word_rows
from kitting.services.catalogue.rows.book import Book
from kitting.services.db.sync import Count, Row, Shape, Sync, chunks
from kitting.store import writing
from kitting.tables.base import Base
from kitting.tables.items import Item, Successor
from kitting.tables.units import Joint, Split, SplitOption, Unit
from kitting.tables.vocabulary import Kind
from kitting.tables.work import JobNeed, Step, StepNeed

TABLES: Mapping[str, Table] = Base.metadata.tables
_TABLE_OF = {section: section.removesuffix("s") for section in SECTIONS} | {"tools": "general_tool"}


@dataclass(frozen=True, slots=True)
class LoadReport:
    """What a load did, by sort of entry; `remarks` are worth reading but stop nothing."""

    counts: Mapping[str, Count]
    remarks: tuple[str | Reason, ...]
    files: tuple[str, ...]
    dry_run: bool


def read_files(paths: Sequence[Path]) -> list[Source]:
    """Read catalogue files; raises FileProblemsError with every fault of their shape."""
    sources, problems = [], []
    for path in paths:
        source, faults = read_catalogue(path)
        problems += faults
        if source is not None:
            sources.append(source)
    if problems:
        raise FileProblemsError(problems)
    return sources


def check_sources(session: Session | None, sources: Sequence[Source]) -> list[Problem]:
    """Every fault of meaning, with the names of the database (if there is one) taken as known."""
    known = read_known(session, sources) if session is not None else Known()
    return check(sources, known)


def load_sources(engine: Engine, sources: Sequence[Source], dry_run: bool = False) -> LoadReport:
    """Check and load sources in one transaction; loading again changes nothing.

    What a file says of a unit, an item or a car replaces what was said of it before; what the
    files do not name is left alone. `dry_run` does everything but keep it.
    Raises FileProblemsError (nothing loaded), StoreError when something still in use would go.
    """
    with writing(engine) as session:
        problems = check_sources(session, sources)
        if problems:
            raise FileProblemsError(problems)
        report = _write(session, sources, dry_run)
        if not dry_run:
            session.commit()
    return report


def _write(session: Session, sources: Sequence[Source], dry_run: bool) -> LoadReport:
    sync = Sync(session)
    book = Book([source.catalogue for source in sources])
    try:
        for write in (_vocabulary, _items, _units, _cars, _terms):
            write(sync, book)
        sync.finish()
    except IntegrityError as error:
        raise StoreError(
            "the files no longer describe something that recorded work still refers to"
            f" ({str(error.orig).splitlines()[0]}). Put it back into the file; nothing was changed"
        ) from error
    return LoadReport(
        dict(sync.counts),
        tuple(_remarks(session, book)),
        tuple(source.name for source in sources),
        dry_run,
    )


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
    sync.sync(_shape(table, *key, owner=key[0]), found, owners)


def _vocabulary(sync: Sync, book: Book) -> None:
    columns: dict[str, tuple[str, ...]] = {
        "cautions": ("code", "title", "text", "word"),
        "fluids": ("code", "name", "medium"),
        "systems": ("code", "name", "general_torque"),
        "licences": ("code", "name", "text"),
        "tools": ("code", "name"),
        "kinds": ("code", "name", "family", "threaded", "general_torque", "chance"),
    }
    for section, names in columns.items():
        _top(sync, book, section, _TABLE_OF[section], word_rows.vocabulary(book, section, names))
    kinds = [book.id("kind", kind.code) for kind in book.each("kinds")]
    sync.sync(
        _shape("kind_rule", "kind_id", "seq", owner="kind_id"),
        word_rows.kind_rules(book),
        kinds,
        "rules",
    )
    _links(sync, kinds, "kind_dry", ("kind_id", "elastomer"), word_rows.kind_dry(book))
    book.ids["tool"] = book.ids["general_tool"]
    found = word_rows.links(book, "kinds", "kind", "tool")
    _links(sync, kinds, "kind_tool", ("kind_id", "tool_id"), found)
    for section in ("kinds", "fluids", "systems"):
        owner = _TABLE_OF[section]
        owners = [book.id(owner, entry.code) for entry in book.each(section)]
        found = word_rows.links(book, section, owner, "caution")
        _links(sync, owners, f"{owner}_caution", (f"{owner}_id", "caution_id"), found)


def _items(sync: Sync, book: Book) -> None:
    _top(sync, book, "items", "item", item_rows.items(book))
    owners = [book.id("item", item.code) for item in book.each("items")]
    parts: list[tuple[str, tuple[str, ...], Callable[[Book], Iterator[Row]], str]] = [
        ("item_content", ("packet_id", "item_id"), item_rows.item_contents, "packet contents"),
        ("item_rule", ("item_id", "source"), item_rows.item_rules, "rules"),
        ("item_medium", ("item_id", "medium", "source"), item_rows.item_media, "media"),
        ("succession", ("item_id",), item_rows.successions, "replacements"),
        ("successor", ("item_id", "by_item_id"), item_rows.successors, "replacements"),
        ("alternative", ("item_id", "other_id"), item_rows.alternatives, "alternatives"),
    ]
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
    sync.sync(_shape("stage", "fit_id", "seq", owner="fit_id"), unit_rows.stages(book), fits)
    steps = part("step", unit_rows.steps(book), in_unit, units, "steps")
    _links(sync, steps, "step_need", ("step_id", "code"), unit_rows.step_needs(book))
    _links(sync, steps, "opening", ("step_id", "joint_id"), unit_rows.openings(book))
    for attribute, other, table in (
        ("tools", "tool", "general_tool"),
        ("cautions",) + ("caution",) * 2,
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


def _terms(sync: Sync, book: Book) -> None:
    _top(sync, book, "branches", "branch", term_rows.branches(book))
    _top(sync, book, "suppliers", "supplier", term_rows.suppliers(book))
    branches = [book.id("branch", branch.code) for branch in book.each("branches")]
    held = term_rows.branch_licences(book)
    _links(sync, branches, "branch_licence", ("branch_id", "licence_id"), held)
    suppliers = [book.id("supplier", supplier.code) for supplier in book.each("suppliers")]
    cutoffs, closings = term_rows.cutoffs(book), term_rows.closings(book)
    _links(sync, suppliers, "supplier_cutoff", ("supplier_id", "at"), cutoffs)
    _links(sync, suppliers, "supplier_closing", ("supplier_id", "day"), closings)


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


def read_known(session: Session, sources: Sequence[Source]) -> Known:
    """The names that the database has, and the facts of items that the files refer to."""
    by_unit = {
        table: _grouped(
            session.execute(select(Unit.code, table.code).join(Unit, table.unit_id == Unit.id))
        )
        for table in (Step, Joint)
    }
    options: dict[str, dict[str, set[str]]] = {}
    for unit, split, option in session.execute(
        select(Unit.code, Split.code, SplitOption.code)
        .join(Split, Split.unit_id == Unit.id)
        .join(SplitOption, SplitOption.split_id == Split.id)
    ):
        options.setdefault(unit, {}).setdefault(split, set()).add(option)
    units, threads = {}, {}
    for some in chunks(sorted(_items_named(source.catalogue for source in sources))):
        for code, unit, thread, strength in session.execute(
            select(Item.code, Item.unit, Item.thread, Item.property_class).where(
                Item.code.in_(some)
            )
        ):
            units[code] = unit
            threads[code] = (thread, strength)
    return Known(
        names={
            section: frozenset(session.scalars(select(TABLES[_TABLE_OF[section]].c.code)))
            for section in SECTIONS
        },
        steps=by_unit[Step],
        joints=by_unit[Joint],
        options={u: {s: frozenset(o) for s, o in sp.items()} for u, sp in options.items()},
        item_units=units,
        item_threads=threads,
    )


def _grouped(pairs: Any) -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for unit, code in pairs:
        found.setdefault(unit, set()).add(code)
    return {unit: frozenset(codes) for unit, codes in found.items()}


def _items_named(catalogues: Iterator[Catalogue]) -> set[str]:
    named: set[str] = set()
    for catalogue in catalogues:
        for item in catalogue.items:
            named.update(content.item for content in item.contents)
        for unit in catalogue.units:
            named.update(use.item for joint in unit.joints for use in joint.uses)
            named.update(use.item for step in unit.steps for use in step.uses)
            for joint in unit.joints:
                named.update(fit.item for fit in joint.fits)
                named.update(
                    fit.lubricant.item
                    for fit in joint.fits
                    if fit.lubricant is not None and fit.lubricant != "dry"
                )
    return named


def _remarks(session: Session, book: Book) -> Iterator[str | Reason]:
    """What is worth telling: rings that the loaded items are in, needs that nobody meets now."""
    codes = dict(session.execute(select(Item.id, Item.code)).all())
    loaded = {book.id("item", item.code) for item in book.each("items")}
    replaced: dict[int, list[int]] = {}
    for item, by in session.execute(select(Successor.item_id, Successor.by_item_id)):
        replaced.setdefault(item, []).append(by)
    while ring := find_ring(replaced):
        if loaded.intersection(ring):
            named = " → ".join(codes[key] for key in ring)
            yield (
                f"replacements run in a ring: {named}. Neither can be trusted as the current part:"
                " ask the supplier which one is"
            )
        for key in ring[:-1]:
            del replaced[key]
    yield from _odd_torques(session, book)
    described = select(Step.code)
    for table, owner in ((StepNeed, "a step"), (JobNeed, "a job")):
        lacking = select(table.code).where(table.code.not_in(described)).distinct()
        for code in session.scalars(lacking.order_by(table.code)):
            yield f"{owner} needs step {code}, which no unit describes: it cannot be planned"


def _odd_torques(session: Session, book: Book) -> Iterator[Reason]:
    """Last torques of ordinary bolts that overstress them or hold hardly anything."""
    fits = [
        (f"{unit.code}/{joint.code} {fit.all_positions[0]!r}", fit.item, fit.tightening)
        for unit in book.each("units")
        for joint in unit.joints
        for fit in joint.fits
        if fit.tightening is not None and fit.tightening.stages
    ]
    bolts: dict[str, tuple[str, str | None]] = {}
    for codes in chunks(sorted({item for _, item, _ in fits})):
        for code, thread, property_class in session.execute(
            select(Item.code, Item.thread, Item.property_class)
            .join(Kind, Item.kind_id == Kind.id)
            .where(Item.code.in_(codes), Item.thread.is_not(None), Kind.general_torque)
        ):
            bolts[code] = (thread or "", property_class)
    for place, item, tightening in fits:
        last = tightening.stages[-1].torque
        if item in bolts and last is not None:
            odd = remark(last, *bolts[item], tightening.thread)
            if odd is not None:
                yield because(TorqueRemark.AT, place=place, remark=odd)
