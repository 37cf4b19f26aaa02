"""Faults of the figures of a catalogue file: what no such fastener bears, or is made in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeAlias

from kitting.calc.tightening.held import Held
from kitting.calc.tightening.torque_plausibility import doubt
from kitting.errors import Problem
from kitting.facts.ring_standards import MOST_SECTION
from kitting.files.catalogue.document import Tightening
from kitting.files.catalogue.item_shapes import Item
from kitting.files.catalogue.lines import Place
from kitting.files.catalogue.source import Source

MadeIn: TypeAlias = Mapping[str, tuple[str | None, str | None]]
"""The weakest and the strongest property class that each kind is made in (None: any)."""


def class_faults(source: Source, place: Place, item: Item, made_in: MadeIn) -> Iterator[Problem]:
    """A property class that its kind is not made in.

    What is not stated is taken to lie between those classes: a stated one has to as well, or
    leaving it out would prove a figure.
    """
    weakest, strongest = made_in.get(item.kind, (None, None))
    thread = item.thread.name if item.thread else None
    if not Held(thread, item.property_class, weakest, strongest).of_its_kind:
        yield source.problem(
            (*place, "property_class"),
            f"item {item.code}",
            f"class {item.property_class} is none that kind {item.kind} is made in ({weakest} to"
            f" {strongest})",
            "Look at its head again; if it is of that class, widen 'classes' of the kind, or give a"
            " bolt, nut or stud of mild or stainless steel the kind mild-or-stainless",
        )


def no_ring(source: Source, place: Place, item: Item) -> Iterator[Problem]:
    """A section that no published ring of that inside has: the two are swapped or mistyped."""
    inside, section = item.ring_inside, item.ring_section
    if inside is not None and section is not None and section > MOST_SECTION * inside:
        yield source.problem(
            (*place, "ring_section"),
            f"item {item.code}",
            f"a section of {section / 1000:g} mm on an inside of {inside / 1000:g} mm: no published"
            f" ring has more than {MOST_SECTION:g} times its inside",
            "Measure it again; ring_inside is the hole, ring_section the thickness of the cord",
        )


def figure_faults(
    source: Source, place: Place, thing: str, tightening: Tightening, held: Held
) -> Iterator[Problem]:
    """Stages whose torque would break what it is for."""
    for number, stage in enumerate(tightening.stages):
        reason = doubt(stage, held, tightening.thread)
        if reason is not None:
            yield source.problem((*place, "stages", number), thing, *reason)
