"""Rows of units: splits, joints, fits, tightenings, steps, jobs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from kitting.files.catalogue.document import Fit, Joint
from kitting.files.catalogue.work_shapes import Use
from kitting.services.catalogue.rows.book import Book
from kitting.services.catalogue.rows.vocabulary import stated
from kitting.services.db.sync import Row


def splits(book: Book) -> Iterator[Row]:
    """Variant splits of the units."""
    for unit in book.each("units"):
        for split in unit.splits:
            yield {
                "unit_id": book.id("unit", unit.code),
                "code": split.code,
                "question": split.question,
                "check_text": split.check,
                "settled_by": split.settled_by,
            }


def split_options(book: Book) -> Iterator[Row]:
    """Their options, in order."""
    for unit in book.each("units"):
        unit_id = book.id("unit", unit.code)
        for split in unit.splits:
            for seq, option in enumerate(split.options):
                yield {
                    "split_id": book.id("split", unit_id, split.code),
                    "code": option.code,
                    "seq": seq,
                    "name": option.name,
                    "built_from": option.built_from,
                    "built_before": option.built_before,
                    "equipment": option.equipment,
                    "without": option.without,
                    "seen": option.seen,
                }


def each_joint(book: Book) -> Iterator[tuple[int, int, Joint]]:
    """Every joint with its unit's id and its place in the file."""
    for unit in book.each("units"):
        for seq, joint in enumerate(unit.joints):
            yield book.id("unit", unit.code), seq, joint


def joints(book: Book) -> Iterator[Row]:
    """Joints, in the order of the file."""
    for unit_id, seq, joint in each_joint(book):
        yield {
            "unit_id": unit_id,
            "code": joint.code,
            "seq": seq,
            "name": joint.name,
            "system_id": book.id("system", joint.system),
            "front": joint.front,
            "seen_from": joint.seen_from,
            "temperature": joint.temperature and joint.temperature.hottest,
            "temperature_source": joint.temperature and joint.temperature.source,
        }


def joint_links(book: Book, other: str) -> Iterator[Row]:
    """Fluids or cautions of joints."""
    for unit_id, _, joint in each_joint(book):
        for code in dict.fromkeys(getattr(joint, f"{other}s")):
            yield {
                "joint_id": book.id("joint", unit_id, joint.code),
                f"{other}_id": book.id(other, code),
            }


def joint_near(book: Book) -> Iterator[Row]:
    """What is near joints that a medium may spoil."""
    for unit_id, _, joint in each_joint(book):
        for thing in dict.fromkeys(joint.near):
            yield {"joint_id": book.id("joint", unit_id, joint.code), "thing": thing}


def _option(book: Book, unit_id: int, option: str | None) -> int | None:
    if option is None:
        return None
    split, _, code = option.partition("/")
    return book.id("split_option", book.id("split", unit_id, split), code)


def each_fit(book: Book) -> Iterator[tuple[Fit, str, int, int | None, int]]:
    """Every single position: fit, position, joint id, option id, place in the joint."""
    for unit_id, _, joint in each_joint(book):
        joint_id = book.id("joint", unit_id, joint.code)
        seq = 0
        for fit in joint.fits:
            option = _option(book, unit_id, fit.option)
            for position in fit.all_positions:
                yield fit, position, joint_id, option, seq
                seq += 1


def fits(book: Book) -> Iterator[Row]:
    """Fits, one row per position."""
    for fit, position, joint_id, option, seq in each_fit(book):
        lubricant = None if fit.lubricant in (None, "dry") else fit.lubricant
        yield {
            "joint_id": joint_id,
            "position": position,
            "option_id": option,
            "seq": seq,
            "item_id": book.id("item", fit.item),
            "quantity": fit.quantity.thousandths,
            "end": fit.end,
            "group_code": fit.group,
            "heat": fit.heat,
            "refit_limit": fit.refit_limit,
            "dry": fit.lubricant == "dry",
            "lubricant_id": lubricant and book.id("item", lubricant.item),  # type: ignore[union-attr]
            "lubricant_amount": lubricant and lubricant.amount.thousandths,  # type: ignore[union-attr]
            "lubricant_source": lubricant and lubricant.source,  # type: ignore[union-attr]
            "lubricant_reference": lubricant and lubricant.reference,  # type: ignore[union-attr]
            "lubricant_cars_own": lubricant is not None and lubricant.cars_own,  # type: ignore[union-attr]
            "recess": fit.recess,
            "access": fit.access,
            "protrusion": fit.protrusion,
            "threaded_into": fit.into,
            "engagement": fit.engagement,
        }


def fit_fluids(book: Book) -> Iterator[Row]:
    """What the items of single positions touch."""
    for fit, position, joint_id, option, _ in each_fit(book):
        for code in dict.fromkeys(fit.fluids):
            yield {
                "fit_id": book.id("fit", joint_id, position, option),
                "fluid_id": book.id("fluid", code),
            }


def holes(book: Book) -> Iterator[Row]:
    """Where the fasteners sit."""
    for fit, position, joint_id, option, _ in each_fit(book):
        for seq, (x, y) in enumerate(fit.holes):
            yield {
                "fit_id": book.id("fit", joint_id, position, option),
                "seq": seq,
                "x": round(x * 1000),
                "y": round(y * 1000),
            }


def joint_orders(book: Book) -> Iterator[Row]:
    """The maker's order of tightening."""
    for unit_id, _, joint in each_joint(book):
        for place, hole in enumerate(joint.order):
            yield {"joint_id": book.id("joint", unit_id, joint.code), "place": place, "hole": hole}


def fit_rules(book: Book) -> Iterator[Row]:
    """What sources say about positions."""
    for fit, position, joint_id, option, _ in each_fit(book):
        yield from stated("fit_id", book.id("fit", joint_id, position, option), fit.rules)


def tightenings(book: Book) -> Iterator[Row]:
    """How positions are tightened."""
    for fit, position, joint_id, option, _ in each_fit(book):
        if fit.tightening is not None:
            yield {
                "fit_id": book.id("fit", joint_id, position, option),
                "thread_state": fit.tightening.thread,
                "pattern": fit.tightening.pattern,
                "stage_order": fit.tightening.stage_order,
                "source": fit.tightening.source,
            }


def stages(book: Book) -> Iterator[Row]:
    """The stages, the figure kept as published."""
    for fit, position, joint_id, option, _ in each_fit(book):
        for seq, stage in enumerate(fit.tightening.stages if fit.tightening else ()):
            key = book.id("fit", joint_id, position, option)
            yield {"fit_id": key, "seq": seq, **stage.columns}


def steps(book: Book) -> Iterator[Row]:
    """Steps, in the order of the file."""
    for unit in book.each("units"):
        for seq, step in enumerate(unit.steps):
            yield {
                "unit_id": book.id("unit", unit.code),
                "code": step.code,
                "seq": seq,
                "name": step.name,
                "hours": step.hours,
                "licence_id": book.maybe("licence", step.licence),
            }


def each_step(book: Book) -> Iterator[tuple[Any, int, int]]:
    """Every step with its unit's id and its own."""
    for unit in book.each("units"):
        unit_id = book.id("unit", unit.code)
        for step in unit.steps:
            yield step, unit_id, book.id("step", unit_id, step.code)


def step_options(book: Book) -> Iterator[Row]:
    """The options that steps are done for only."""
    for step, unit_id, step_id in each_step(book):
        if step.option is not None:
            yield {"step_id": step_id, "option_id": _option(book, unit_id, step.option)}


def step_needs(book: Book) -> Iterator[Row]:
    """What steps need first, by code."""
    for step, _, step_id in each_step(book):
        for code in step.needs:
            yield {"step_id": step_id, "code": code}


def openings(book: Book) -> Iterator[Row]:
    """Which joints steps open."""
    for step, unit_id, step_id in each_step(book):
        for opening in step.openings:
            yield {
                "step_id": step_id,
                "joint_id": book.id("joint", unit_id, opening.joint),
                "times": opening.times,
                "reopened": opening.reopened,
            }


def step_links(book: Book, attribute: str, table: str, column: str) -> Iterator[Row]:
    """Tools or cautions of steps."""
    for step, _, step_id in each_step(book):
        for code in dict.fromkeys(getattr(step, attribute)):
            yield {"step_id": step_id, column: book.id(table, code)}


def _use(book: Book, unit_id: int, use: Use, seq: int) -> Row:
    bead, film, drops = use.bead, use.film, use.drops
    return {
        "joint_id": None,
        "step_id": None,
        "seq": seq,
        "item_id": book.id("item", use.item),
        "option_id": _option(book, unit_id, use.option),
        "amount": use.amount and use.amount.thousandths,
        "bead_diameter": bead and bead.diameter,
        "bead_length": bead and bead.length,
        "film_area": film and film.area,
        "film_thickness": film and film.thickness,
        "drops_thread": drops and drops.thread.name,
        "drops_count": drops and drops.threads,
        "note": use.note,
    }


def joint_uses(book: Book) -> Iterator[Row]:
    """Consumables of joints."""
    for unit_id, _, joint in each_joint(book):
        for seq, use in enumerate(joint.uses):
            row = _use(book, unit_id, use, seq)
            yield row | {"joint_id": book.id("joint", unit_id, joint.code)}


def step_uses(book: Book) -> Iterator[Row]:
    """Consumables of steps."""
    for step, unit_id, step_id in each_step(book):
        for seq, use in enumerate(step.uses):
            yield _use(book, unit_id, use, seq) | {"step_id": step_id}


def jobs(book: Book) -> Iterator[Row]:
    """Jobs, in the order of the file."""
    for unit in book.each("units"):
        for seq, job in enumerate(unit.jobs):
            unit_id = book.id("unit", unit.code)
            yield {"unit_id": unit_id, "code": job.code, "seq": seq, "name": job.name}


def job_needs(book: Book) -> Iterator[Row]:
    """The steps that jobs need in the end, by code."""
    for unit in book.each("units"):
        for job in unit.jobs:
            job_id = book.id("job", book.id("unit", unit.code), job.code)
            for code in job.needs:
                yield {"job_id": job_id, "code": code}


def job_renewals(book: Book) -> Iterator[Row]:
    """What jobs renew by their own wish, in order."""
    for unit in book.each("units"):
        unit_id = book.id("unit", unit.code)
        for job in unit.jobs:
            for seq, one in enumerate(job.renews):
                joint = None if one.joint is None else book.id("joint", unit_id, one.joint)
                yield {
                    "job_id": book.id("job", unit_id, job.code),
                    "seq": seq,
                    "kind_id": book.maybe("kind", one.kind),
                    "item_id": book.maybe("item", one.item),
                    "joint_id": joint,
                    "position": one.position,
                }


def job_services(book: Book) -> Iterator[Row]:
    """Work from outside."""
    for unit in book.each("units"):
        unit_id = book.id("unit", unit.code)
        for job in unit.jobs:
            for service in job.services:
                yield {
                    "job_id": book.id("job", unit_id, job.code),
                    "name": service.name,
                    "timing": service.timing,
                    "licence_id": book.maybe("licence", service.licence),
                    "option_id": _option(book, unit_id, service.option),
                }
